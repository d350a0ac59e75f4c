package release

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/fields"
	"cardback/internal/infile"
)

// LogFile is the name of a release's print log.
const LogFile = "prints.yaml"

// MostLog is the largest log read, in bytes: some thousand prints.
const MostLog = 1 << 20

// loadLog reads the print log of the release in the folder rel, where there is
// one. The release's parts are known by now.
func (l *loader) loadLog(r *Release, rel string) {
	file := path.Join(rel, LogFile)
	if _, err := l.root.Lstat(filepath.FromSlash(file)); errors.Is(err, fs.ErrNotExist) {
		l.misnamedLog(rel)
		return
	}
	data, err := l.read(file, MostLog)
	if err != nil {
		l.problem(file, "cannot be read (%s); expected a list of prints", err)
		return
	}
	r.Log = l.readLog(*r, rel, data)
}

// misnamedLog reports a file that was meant as the print log.
func (l *loader) misnamedLog(rel string) {
	entries, err := l.list(rel)
	if err != nil {
		return // told where the notes are read
	}
	for _, e := range entries {
		name := strings.ToLower(e.Name())
		switch ext := path.Ext(name); ext {
		case ".yaml", ".yml":
			if stem := strings.TrimSuffix(name, ext); stem == "prints" || stem == "print" || stem == "print-log" {
				l.problem(path.Join(rel, e.Name()), "file %q is not read; did you mean %q?", e.Name(), LogFile)
			}
		}
	}
}

// CheckLog reads data as the print log of r, a release of s, without looking at
// the file that is there. The error, where there is one, is a fields.Errors.
func CheckLog(s *Site, r Release, data []byte) ([]Print, error) {
	l, rel, err := reopen(s, r)
	if err != nil {
		return nil, err
	}
	defer l.root.Close()
	file := path.Join(rel, LogFile)
	if len(data) > MostLog {
		l.problem(file, "the log would be larger than %d KiB; begin it anew and keep the old one elsewhere", MostLog>>10)
		return nil, l.errs.Err()
	}
	var out []Print
	l.guarded(file, func() { out = l.readLog(r, rel, data) })
	return out, l.errs.Err()
}

// CheckPhoto says what is wrong with a photo of r, a release of s: a path
// relative to its folder.
func CheckPhoto(s *Site, r Release, file string) error {
	l, rel, err := reopen(s, r)
	if err != nil {
		return err
	}
	defer l.root.Close()
	return l.checkPhoto(file, rel)
}

// reopen makes a loader for one release of a site that was read before. Who calls
// closes its root.
func reopen(s *Site, r Release) (l *loader, rel string, err error) {
	root, err := infile.OpenRoot(s.Root)
	if err != nil {
		return nil, "", fmt.Errorf("the content folder cannot be opened (%w)", reason(err))
	}
	l = &loader{root: root, abs: s.Root, shown: filepath.ToSlash(s.Root), site: Site{Bench: s.Bench}}
	return l, path.Dir(r.SourceFile), nil
}

func (l *loader) readLog(r Release, rel string, data []byte) []Print {
	d, entries := fields.ParseEntries(path.Join(l.shown, rel, LogFile), data, "prints")
	slugs := l.partFolders(r, rel)
	var out []Print
	for _, m := range entries {
		if p, ok := l.print(m, rel, d, slugs); ok {
			out = append(out, p)
		}
	}
	l.finish(d)
	return out
}

// partFolders are the slugs that an entry may name, whether or not the part is
// in order.
func (l *loader) partFolders(r Release, rel string) []string {
	var out []string
	for _, p := range r.Parts {
		out = append(out, p.Slug)
	}
	entries, _ := l.list(path.Join(rel, "parts")) // told with the parts
	for _, e := range entries {
		if e.IsDir() && !slices.Contains(out, e.Name()) {
			out = append(out, e.Name())
		}
	}
	return out
}

// print reads one entry; ok is false where it says too little to stand.
func (l *loader) print(m *fields.Map, rel string, d *fields.Document, slugs []string) (Print, bool) {
	p := Print{Date: m.Date("date", fields.Required)}
	p.Line, _ = m.At("")
	var words []string
	for _, o := range Outcomes {
		words = append(words, string(o))
	}
	p.Stock = l.stock(m)
	p.Outcome = Outcome(m.Enum("outcome", fields.Required, words...))
	var proc *bench.Process
	if len(p.Stock) > 0 {
		proc = p.Stock[0].Material.Process
	}
	p.Meshes = l.meshesUsed(m, d, proc)
	l.printedParts(m, &p, d, slugs)
	p.Plate = l.plateOf(m, proc)
	p.Layer = l.layer(m, proc)
	p.Tilt = m.Angle("tilt", fields.Optional, -180, 180)
	p.TiltAbout = m.Enum("about", fields.Optional, "x", "y")
	switch tilted := m.OK("tilt"); {
	case tilted && p.TiltAbout == "" && p.Tilt == 0 && !m.Has("about"):
		p.TiltAbout = "x" // no turn is the same about any axis; an empty one would mean that nothing is stated
	case tilted && p.TiltAbout == "" && !m.Has("about"):
		m.Errorf("tilt", "tilt %g has no axis; add a line that says about: x or about: y", p.Tilt)
		p.Tilt = 0
	case !m.Has("tilt") && p.TiltAbout != "":
		m.Errorf("about", "an axis without a tilt says nothing; add a line such as tilt: 30, or remove this one")
		p.TiltAbout = ""
	}
	p.Supports = m.Text("supports", fields.Optional)
	p.Remark = m.Text("remark", fields.Optional)
	if photo := m.Text("photo", fields.Optional); photo != "" && l.photoFile(m, "photo", photo, rel) {
		p.Photo = photo
	}
	return p, !p.Date.IsZero() && p.Outcome != "" && len(p.Stock) > 0 && (p.Whole || len(p.Parts) > 0)
}

// stock reads the material or the blend; nil where there is neither or it is
// wrong.
func (l *loader) stock(m *fields.Map) []Share {
	switch {
	case m.Has("material") && m.Has("blend"):
		m.Text("material", fields.Optional)
		l.blend(m, "blend", nil)
		m.Errorf("blend", "both material and blend are given; remove one of them")
	case m.Has("blend"):
		m.Text("material", fields.Optional)
		return l.blend(m, "blend", nil)
	default:
		id := m.Text("material", fields.Required)
		m.Table("blend", fields.Optional)
		if id == "" {
			return nil
		}
		if material, ok := l.material(id); ok {
			return []Share{{Material: material, Share: 1}}
		}
		if !l.benchFailed("materials.yaml") {
			m.Errorf("material", "material %q is not on the bench; %s", id, fields.Suggest(id, l.materialIDs()))
		}
	}
	return nil
}

// printedParts reads whole or parts: exactly one of them.
func (l *loader) printedParts(m *fields.Map, p *Print, d *fields.Document, slugs []string) {
	whole := m.Bool("whole", fields.Optional)
	list := m.Texts("parts", fields.Optional)
	switch {
	case whole && m.Has("parts"):
		m.Errorf("whole", "both whole and parts are given; whole is all parts of the release, so remove one of them")
		return
	case whole:
		p.Whole = true
		return
	case len(list) == 0:
		if m.Has("parts") && m.OK("parts") {
			m.Errorf("parts", "the list of parts is empty; expected part folders, as in [torso], or whole: true")
		} else if !m.Has("parts") && (!m.Has("whole") || m.OK("whole")) {
			m.Errorf("whole", "neither parts nor whole is given; add a line such as parts: [torso] or whole: true")
		}
		return
	}
	known := slices.Clone(slugs)
	for _, u := range p.Meshes {
		if !slices.Contains(known, u.Part) {
			known = append(known, u.Part)
		}
	}
	for _, at := range list {
		switch {
		case slices.Contains(p.Parts, at.Text):
			d.Errorf(at.Line, at.Column, "part %q is listed twice; remove one", at.Text)
		case !slices.Contains(known, at.Text):
			d.Errorf(at.Line, at.Column, "part %q is neither a folder of this release nor among this entry's meshes; %s", at.Text, fields.Suggest(at.Text, known))
		default:
			p.Parts = append(p.Parts, at.Text)
		}
	}
	for _, u := range p.Meshes {
		if !slices.ContainsFunc(list, func(at fields.Located) bool { return at.Text == u.Part }) {
			m.Errorf("meshes", "mesh %q is of a part that this entry does not list; add %q to parts, or remove the mesh", u.Part+"/"+string(u.Cut), u.Part)
		}
	}
}

// meshesUsed reads the table of fingerprints, in its order. proc is that of the
// material; empty where it is not known.
func (l *loader) meshesUsed(m *fields.Map, d *fields.Document, proc *bench.Process) []MeshUsed {
	t := m.Table("meshes", fields.Optional)
	if t == nil {
		return nil
	}
	var out []MeshUsed
	for _, at := range t.Names() {
		print := t.Text(at.Text, fields.Required)
		slug, kind, ok := strings.Cut(at.Text, "/")
		u := MeshUsed{Part: slug, Cut: CutKind(kind), Fingerprint: print}
		switch {
		case !ok || !slugPattern.MatchString(slug) || !slices.Contains(l.cutKinds(), u.Cut):
			d.Errorf(at.Line, at.Column, "%q is not a part and its cut; expected one such as torso/resin, with the cut %s", at.Text, l.kindsInWords())
		case print == "":
		case !fingerprintPattern.MatchString(print):
			t.Errorf(at.Text, "fingerprint %q of %q is not 64 digits of 0 to 9 and a to f; run cardback record, which measures it", print, at.Text)
		case proc != nil && !u.Cut.IsFor(proc):
			d.Errorf(at.Line, at.Column, "mesh %q is the %s cut and the material is for %s; expected the cut %s, flexible or any", at.Text, u.Cut, proc, proc.ID)
		default:
			out = append(out, u)
		}
	}
	return out
}

// plateOf reads the plate; it must be of the material's process.
func (l *loader) plateOf(m *fields.Map, proc *bench.Process) string {
	id := m.Text("plate", fields.Optional)
	if id == "" {
		return ""
	}
	var ids []string
	for _, p := range l.site.Bench.Plates {
		if p.ID == id {
			if proc != nil && p.Process != proc {
				m.Errorf("plate", "plate %q is for %s and the material is for %s; expected a plate for %s", id, p.Process, proc, proc)
				return ""
			}
			return id
		}
		if proc == nil || p.Process == proc {
			ids = append(ids, p.ID)
		}
	}
	if !l.benchFailed("plates.yaml") {
		m.Errorf("plate", "plate %q is not on the bench; %s", id, fields.Suggest(id, ids))
	}
	return ""
}
