package bench

import (
	"slices"

	"cardback/internal/fields"
)

// Kinds lists the classes of hardware in the order pages show them.
var Kinds = []HardwareKind{Rod, Wire, Cord, Magnet, Screw, Bearing, Spring, Adhesive}

// Cuttable reports whether the kind is sold by length and cut to fit.
func (k HardwareKind) Cuttable() bool { return k == Rod || k == Wire || k == Cord }

// Bounds of a plausible entry: no saw for small stock takes more than mostKerf
// (common practice, no source). Discs for figures have a flux index from 3 to
// some hundreds (check values 3.3).
const (
	mostKerf         = 5 // mm
	minFlux, maxFlux = 0.1, 1e5
)

// hardware reads what m names on top of h.
func hardware(id string, m *fields.Map, h Hardware, need fields.Need) (Hardware, bool) {
	h.ID = id
	was := h.Kind
	set(m, "name", &h.Name, m.Text, need)
	set(m, "kind", &h.Kind, oneOf(m, Kinds...), need)
	if need == fields.Optional && h.Kind != was {
		if h.Kind != "" {
			m.Errorf("kind", "%q is a shipped %s and stays so; give the %s an id of its own", id, was, h.Kind)
		}
		h.Kind = was
	}
	set(m, "diameter", &h.Diameter, m.Length, fields.Optional)
	set(m, "thickness", &h.Thickness, m.Length, fields.Optional)
	set(m, "length", &h.Length, m.Length, fields.Optional)
	set(m, "bore", &h.Bore, m.Length, fields.Optional)
	set(m, "stock_length", &h.StockLength, m.Length, fields.Optional)
	set(m, "kerf", &h.Kerf, m.LengthOrZero, fields.Optional)
	set(m, "flux_index", &h.FluxIndex, within(m, minFlux, maxFlux), fields.Optional)
	set(m, "note", &h.Note, m.Text, fields.Optional)
	set(m, "caution", &h.Caution, m.Text, fields.Optional)
	if h.Kind == "" {
		return h, false
	}
	if h.Kind != Adhesive && h.Diameter == 0 && !m.Has("diameter") {
		m.Errorf("kind", "%s %q has no diameter; add a line that begins with diameter:", h.Kind, id)
	}
	if h.Kind == Adhesive && m.Has("diameter") {
		m.Errorf("diameter", "adhesive %q has a diameter; remove it", id)
	}
	thick, long := h.Kind == Magnet || h.Kind == Bearing, h.Kind == Screw || h.Kind == Spring
	for _, f := range []struct {
		name, noun string
		value      float64
		has        bool
		who        string
	}{
		{"thickness", "thickness", h.Thickness, thick, "magnets and bearings"},
		{"length", "length", h.Length, long, "screws and springs"},
		{"bore", "bore", h.Bore, h.Kind == Bearing, "bearings"},
	} {
		switch {
		case f.has && f.value == 0 && !m.Has(f.name):
			m.Errorf("kind", "%s %q has no %s; add a line that begins with %s:", h.Kind, id, f.noun, f.name)
		case !f.has && m.Has(f.name) && f.name == "length" && h.Kind.Cuttable():
			m.Errorf(f.name, "%s %q has a length, which only %s have; what it is sold in is its stock_length", h.Kind, id, f.who)
		case !f.has && m.Has(f.name):
			m.Errorf(f.name, "%s %q has a %s, which only %s have; remove it", h.Kind, id, f.noun, f.who)
		}
	}
	if h.Bore > 0 && h.Diameter > 0 && h.Bore >= h.Diameter {
		m.Errorf("bore", "bearing %q has a bore of %g mm in a diameter of %g mm; expected the bore to be smaller", id, h.Bore, h.Diameter)
		h.Bore = 0
	}
	if h.Kind != Magnet && m.Has("flux_index") {
		m.Errorf("flux_index", "%s %q has a flux index, which only magnets have; remove it", h.Kind, id)
	}
	switch {
	case h.Kind.Cuttable() || !m.Has("stock_length"):
	case long:
		m.Errorf("stock_length", "%s %q has a stock length, which only rod, wire and cord have; its own is written length:", h.Kind, id)
	default:
		m.Errorf("stock_length", "%s %q has a stock length, which only rod, wire and cord have; remove it", h.Kind, id)
	}
	switch {
	case !h.Kind.Cuttable() && m.Has("kerf"):
		m.Errorf("kerf", "%s %q has a kerf, which only rod, wire and cord have; remove it", h.Kind, id)
	case h.Kerf > mostKerf:
		m.Errorf("kerf", "\"kerf\" is %g mm, more than any saw for small stock takes; expected at most %g mm", h.Kerf, float64(mostKerf))
		h.Kerf = 0
	}
	return h, id != "" && h.Name != "" && slices.Contains(Kinds, h.Kind)
}
