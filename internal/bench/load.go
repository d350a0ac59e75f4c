package bench

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"regexp"
	"slices"

	"cardback/internal/fields"
)

// Bounds of a plausible entry. Unfilled and filled print materials lie between
// about 0.9 (polypropylene) and 1.5 g/cm³; metal-filled filament reaches about
// 4 (common practice, no source). A value outside 0.3 to 8 is a slip of unit:
// kg/m³ are a thousand times larger.
const (
	minDensity, maxDensity = 0.3, 8
	maxFeature             = 20 // mm; a wall or pin limit above this is a slip of unit
	maxAllowance           = 2  // mm
	// Per cent of volume: acrylate resins lose 7 to 11 (Polymers 17(5) 610, 2025).
	// More than twice that is a slip; what does not shrink leaves the field out.
	minShrinkage, maxShrinkage = 0.1, 25
)

var idPattern = regexp.MustCompile(`^[a-z0-9]+(?:[.-][a-z0-9]+)*$`)

// Load reads plates.yaml, materials.yaml and hardware.yaml from the folder
// "bench" of fsys. shown is the path of fsys that errors begin with. The error,
// where there is one, is a fields.Errors; the Bench then holds what was good.
func Load(fsys fs.FS, shown string) (Bench, error) {
	l := loader{fsys: fsys, shown: shown}
	var b Bench
	l.file("plates.yaml", "plates", func(id string, m *fields.Map) {
		if p, ok := plate(id, m); ok {
			b.Plates = append(b.Plates, p)
		}
	})
	l.file("materials.yaml", "materials", func(id string, m *fields.Map) {
		if t, ok := material(id, m); ok {
			b.Materials = append(b.Materials, t)
		}
	})
	l.file("hardware.yaml", "hardware", func(id string, m *fields.Map) {
		if h, ok := hardware(id, m); ok {
			b.Hardware = append(b.Hardware, h)
		}
	})
	return b, l.errs.Err()
}

type loader struct {
	fsys  fs.FS
	shown string
	errs  fields.Errors
}

// file reads one table and hands each of its entries to read.
func (l *loader) file(base, list string, read func(id string, m *fields.Map)) {
	name := path.Join(l.shown, "bench", base)
	data, err := readAll(l.fsys, path.Join("bench", base))
	if err != nil {
		l.errs = append(l.errs, fields.Error{File: name, Message: fmt.Sprintf("cannot be read (%s); expected a file with a list of %s", err, list)})
		return
	}
	doc := fields.Parse(name, data)
	ids := map[string]int{}
	standards := map[string]string{}
	for _, m := range doc.Map().Tables(list, fields.Required) {
		id := m.Text("id", fields.Required)
		line, _ := m.At("id")
		switch first, seen := ids[id]; {
		case id == "":
		case !idPattern.MatchString(id):
			m.Errorf("id", "id %q has other characters than a to z, 0 to 9, dot and hyphen; expected an id such as rod-1.5", id)
		case seen:
			m.Errorf("id", "id %q is used twice; the first is on line %d, give each entry its own", id, first)
		default:
			ids[id] = line
		}
		read(id, m)
		if list == "plates" && m.Bool("standard", fields.Optional) {
			proc := m.Text("process", fields.Optional)
			if first, seen := standards[proc]; seen && m.OK("process") {
				m.Errorf("standard", "plate %q is a second design standard for %s; %q already is, expected at most one for a process", id, proc, first)
			} else if !seen {
				standards[proc] = id
			}
		}
	}
	l.errs = append(l.errs, doc.Finish()...)
}

// readAll reads a regular file of a size that a table can have.
func readAll(fsys fs.FS, name string) ([]byte, error) {
	st, err := fs.Stat(fsys, name)
	if err != nil {
		return nil, orNear(fsys, name, plain(err))
	}
	if !st.Mode().IsRegular() {
		return nil, errors.New("not a regular file")
	}
	f, err := fsys.Open(name)
	if err != nil {
		return nil, plain(err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, fields.MaxYAML+1))
	return data, plain(err)
}

// orNear adds to "no such file" the name beside it that may have been meant.
func orNear(fsys fs.FS, name string, err error) error {
	entries, _ := fs.ReadDir(fsys, path.Dir(name)) // without the folder there is no name to offer
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	base := path.Base(name)
	near, ok := fields.Nearest(base, names)
	if !ok || near == base {
		return err
	}
	return fmt.Errorf("%w, but there is %q", err, near)
}

// plain drops the operation and path from a file error: the message names the
// file already, the way the designer wrote it.
func plain(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	if errors.Is(err, fs.ErrNotExist) {
		return errors.New("no such file")
	}
	return err
}

func process(m *fields.Map) Process {
	return Process(m.Enum("process", fields.Required, string(Filament), string(Resin)))
}

func plate(id string, m *fields.Map) (Plate, bool) {
	p := Plate{
		ID: id, Name: m.Text("name", fields.Required), Process: process(m),
		Width: m.Length("width", fields.Optional), Depth: m.Length("depth", fields.Optional),
		Height:   m.Length("height", fields.Required),
		Margin:   m.LengthOrZero("margin", fields.Optional),
		Standard: m.Bool("standard", fields.Optional),
		Note:     m.Text("note", fields.Optional),
	}
	diameter := m.Length("diameter", fields.Optional)
	sides := m.Has("width") || m.Has("depth")
	switch {
	case m.Has("diameter") && sides:
		m.Errorf("diameter", "plate %q has a diameter and also a width or depth; expected either a diameter (round) or both a width and a depth", id)
	case m.Has("diameter"):
		p.Width, p.Depth, p.Round = diameter, diameter, true
	case !m.Has("width") || !m.Has("depth"):
		m.Errorf("id", "plate %q has no full footprint; expected width and depth, or diameter for a round plate", id)
	}
	if least := min(p.Width, p.Depth); least > 0 && 2*p.Margin >= least {
		m.Errorf("margin", "margin %g mm on both sides leaves nothing of the plate's %g mm; expected less than half", p.Margin, least)
	}
	return p, id != "" && p.Name != "" && p.Process != "" && p.Width > 0 && p.Depth > 0 && p.Height > 0 && 2*p.Margin < min(p.Width, p.Depth)
}

func material(id string, m *fields.Map) (Material, bool) {
	t := Material{
		ID: id, Name: m.Text("name", fields.Required), Process: process(m),
		Stiffness: Stiffness(m.Enum("stiffness", fields.Required, string(Rigid), string(SemiRigid), string(Flexible))),
		Density:   m.Number("density", fields.Required, minDensity, maxDensity),
		WallMin:   m.Length("wall_min", fields.Required), PinMin: m.Length("pin_min", fields.Required),
		HoleAllowance: m.LengthOrZero("hole_allowance", fields.Required),
		Shrinkage:     m.Number("shrinkage", fields.Optional, minShrinkage, maxShrinkage) / 100,
		Source:        m.Text("source", fields.Required),
		Note:          m.Text("note", fields.Optional),
	}
	limit := func(name string, v, most float64) {
		if v > most {
			m.Errorf(name, "%q is %g mm, more than any print material needs; expected at most %g mm", name, v, most)
		}
	}
	if t.Process == Filament && m.Has("shrinkage") {
		m.Errorf("shrinkage", "filament %q has a shrinkage, which is for liquid resin; remove it", id)
	}
	limit("wall_min", t.WallMin, maxFeature)
	limit("pin_min", t.PinMin, maxFeature)
	limit("hole_allowance", t.HoleAllowance, maxAllowance)
	return t, id != "" && t.Name != "" && t.Process != "" && t.Stiffness != "" && t.Density > 0 &&
		t.WallMin > 0 && t.WallMin <= maxFeature && t.PinMin > 0 && t.PinMin <= maxFeature && t.HoleAllowance <= maxAllowance
}

// Kinds lists the classes of hardware in the order pages show them.
var Kinds = []HardwareKind{Rod, Wire, Cord, Magnet, Screw, Adhesive}

// Cuttable reports whether the kind is sold by length and cut to fit.
func (k HardwareKind) Cuttable() bool { return k == Rod || k == Wire || k == Cord }

func hardware(id string, m *fields.Map) (Hardware, bool) {
	var kinds []string
	for _, k := range Kinds {
		kinds = append(kinds, string(k))
	}
	h := Hardware{
		ID: id, Name: m.Text("name", fields.Required),
		Kind:     HardwareKind(m.Enum("kind", fields.Required, kinds...)),
		Diameter: m.Length("diameter", fields.Optional), Thickness: m.Length("thickness", fields.Optional),
		StockLength: m.Length("stock_length", fields.Optional),
		Note:        m.Text("note", fields.Optional), Caution: m.Text("caution", fields.Optional),
	}
	if h.Kind == "" {
		return h, false
	}
	if h.Kind != Adhesive && !m.Has("diameter") {
		m.Errorf("kind", "%s %q has no diameter; add a line that begins with diameter:", h.Kind, id)
	}
	if h.Kind == Adhesive && m.Has("diameter") {
		m.Errorf("diameter", "adhesive %q has a diameter; remove it", id)
	}
	if h.Kind == Magnet && !m.Has("thickness") {
		m.Errorf("kind", "magnet %q has no thickness; add a line that begins with thickness:", id)
	}
	if h.Kind != Magnet && m.Has("thickness") {
		m.Errorf("thickness", "%s %q has a thickness, which only magnets have; remove it", h.Kind, id)
	}
	if !h.Kind.Cuttable() && h.Kind != Screw && m.Has("stock_length") {
		m.Errorf("stock_length", "%s %q has a stock length, which only rod, wire, cord and screws have; remove it", h.Kind, id)
	}
	return h, id != "" && h.Name != "" && slices.Contains(Kinds, h.Kind)
}
