package bench

import (
	"cardback/internal/fields"
)

// Bounds of what a printer states; beyond them is a slip of unit. A litre is more
// than any vat keeps back; a layer takes from a second to some minutes; the
// quickest hot ends melt some 50 mm³/s (common practice, no source).
const (
	leastVat, mostVat     = 1, 2000
	leastLayer, mostLayer = 0.5, 300
	leastFlow, mostFlow   = 0.1, 100
	// Heating takes up to half an hour for a large bed; a layer is moved for and cooled for
	// up to a minute; a vat has up to 50 first layers.
	leastSeconds, mostWarmUp, mostMove, mostFirst = 0.1, 1800, 60, 50
)

// plates reads plates.yaml's entries, for these processes.
type plates []*Process

// read reads what m names on top of p.
func (known plates) read(id string, m *fields.Map, p Plate, need fields.Need) (Plate, bool) {
	p.ID = id
	set(m, "name", &p.Name, m.Text, need)
	setProcess(m, id, known, &p.Process, need)
	set(m, "width", &p.Width, m.Length, fields.Optional)
	set(m, "depth", &p.Depth, m.Length, fields.Optional)
	set(m, "height", &p.Height, m.Length, need)
	set(m, "margin", &p.Margin, m.LengthOrZero, fields.Optional)
	set(m, "standard", &p.Standard, m.Bool, fields.Optional)
	set(m, "vat_least", &p.VatLeast, within(m, leastVat, mostVat), fields.Optional)
	set(m, "layer_seconds", &p.LayerSeconds, within(m, leastLayer, mostLayer), fields.Optional)
	set(m, "flow", &p.Flow, within(m, leastFlow, mostFlow), fields.Optional)
	set(m, "first_layer_seconds", &p.FirstLayerSeconds, within(m, leastLayer, mostLayer), fields.Optional)
	if n := m.Count("first_layers", fields.Optional, 0); n > mostFirst {
		m.Errorf("first_layers", "first_layers %d is more than any vat takes; expected up to %d", n, mostFirst)
		p.FirstLayers, p.FirstLayerSeconds = 0, 0
	} else if m.Has("first_layers") {
		p.FirstLayers = n
	}
	if !p.Process.paced(ByFlow) && (p.FirstLayers > 0 && p.FirstLayerSeconds == 0 || p.FirstLayerSeconds > 0 && (p.FirstLayers == 0 || p.LayerSeconds == 0)) {
		m.Errorf("first_layers", "plate %q states a time for its first layers without the rest; expected layer_seconds, first_layers and first_layer_seconds", id)
		p.FirstLayers, p.FirstLayerSeconds = 0, 0
	}
	set(m, "warm_up_seconds", &p.WarmUpSeconds, within(m, leastSeconds, mostWarmUp), fields.Optional)
	set(m, "move_seconds", &p.MoveSeconds, within(m, leastSeconds, mostMove), fields.Optional)
	set(m, "least_layer_seconds", &p.LeastLayerSeconds, within(m, leastSeconds, mostMove), fields.Optional)
	set(m, "note", &p.Note, m.Text, fields.Optional)
	diameter := m.Length("diameter", fields.Optional)
	sides := m.Has("width") || m.Has("depth")
	switch {
	case m.Has("diameter") && sides:
		m.Errorf("diameter", "plate %q has a diameter and also a width or depth; expected either a diameter (round) or both a width and a depth", id)
	case m.Has("diameter"):
		p.Width, p.Depth, p.Round = diameter, diameter, true
	case sides && p.Round, need == fields.Required && (!m.Has("width") || !m.Has("depth")):
		if !m.Has("width") || !m.Has("depth") {
			m.Errorf("id", "plate %q has no full footprint; expected width and depth, or diameter for a round plate", id)
		}
		p.Round = false
	}
	if least := min(p.Width, p.Depth); least > 0 && 2*p.Margin >= least {
		m.Errorf("margin", "margin %g mm on both sides leaves nothing of the plate's %g mm; expected less than half", p.Margin, least)
	}
	foreign := func(form string, has func(*Process) bool, names ...string) {
		for _, name := range names {
			if p.Process != nil && !has(p.Process) && m.Has(name) {
				m.Errorf(name, form, p.Process, id, name, namesOf(known, has))
			}
		}
	}
	foreign("%s plate %q has %s, which is for %s; remove it", (*Process).Blends, "vat_least")
	foreign("%s plate %q has %s, which is for %s; remove it", func(q *Process) bool { return q.paced(ByLayer) }, "layer_seconds", "first_layers", "first_layer_seconds")
	foreign("%s plate %q has a %s, which is for %s; remove it", func(q *Process) bool { return q.paced(ByFlow) }, "flow", "warm_up_seconds", "move_seconds", "least_layer_seconds")
	return p, id != "" && p.Name != "" && p.Process != nil && p.Width > 0 && p.Depth > 0 && p.Height > 0 && 2*p.Margin < min(p.Width, p.Depth)
}

// set reads a field into v where the table names it, and says that it is missing
// where it is needed.
func set[T any](m *fields.Map, name string, v *T, read func(string, fields.Need) T, need fields.Need) {
	got := read(name, need)
	if m.Has(name) || need == fields.Required {
		*v = got
	}
}

// within is a reader of numbers between two bounds.
func within(m *fields.Map, lo, hi float64) func(string, fields.Need) float64 {
	return func(name string, need fields.Need) float64 { return m.Number(name, need, lo, hi) }
}

// oneOf is a reader of one of some words.
func oneOf[T ~string](m *fields.Map, allowed ...T) func(string, fields.Need) T {
	words := make([]string, len(allowed))
	for i, a := range allowed {
		words[i] = string(a)
	}
	return func(name string, need fields.Need) T { return T(m.Enum(name, need, words...)) }
}

// setProcess reads the process; a shipped entry keeps its own, because its other
// values were found for that.
func setProcess(m *fields.Map, id string, known []*Process, p **Process, need fields.Need) {
	was := *p
	read := func(name string, need fields.Need) *Process {
		return ProcessOf(known, m.Enum(name, need, ProcessIDs(known)...))
	}
	set(m, "process", p, read, need)
	if need == fields.Optional && *p != was {
		if *p != nil {
			m.Errorf("process", "%q is a shipped entry for %s and stays so; give one for %s an id of its own", id, was, *p)
		}
		*p = was
	}
}
