package bench

import (
	"slices"
	"strings"

	"cardback/internal/fields"
	"cardback/internal/words"
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
	// Of a kilogram or a litre, in any currency that counts so.
	minPrice, maxPrice = 0.01, 1e7
	maxWaste           = 300 // per cent of the part
	// °C. Wax melts at 60; no plastic that is printed keeps its shape at 400.
	minSoftens, maxSoftens = 30, 400
)

// materials reads materials.yaml's entries; checks come when all are known.
type materials struct {
	processes []*Process
	currency  string
	blends    map[string][]placed // by id of the material
}

// placed is a blend and where it is written.
type placed struct {
	blend Blend
	good  bool
	at    *fields.Map
}

// read reads what m names on top of t.
func (r *materials) read(id string, m *fields.Map, t Material, need fields.Need) (Material, bool) {
	t.ID = id
	set(m, "name", &t.Name, m.Text, need)
	setProcess(m, id, r.processes, &t.Process, need)
	set(m, "stiffness", &t.Stiffness, oneOf(m, Rigid, SemiRigid, Flexible), need)
	set(m, "density", &t.Density, within(m, minDensity, maxDensity), need)
	set(m, "wall_min", &t.WallMin, m.Length, need)
	set(m, "pin_min", &t.PinMin, m.Length, need)
	set(m, "hole_allowance", &t.HoleAllowance, m.LengthOrZero, need)
	percent(m, "shrinkage", &t.Shrinkage, minShrinkage, maxShrinkage)
	set(m, "price", &t.Price, within(m, minPrice, maxPrice), fields.Optional)
	percent(m, "waste", &t.Waste, 0, maxWaste)
	set(m, "softens", &t.Softens, within(m, minSoftens, maxSoftens), fields.Optional)
	set(m, "source", &t.Source, m.Text, need)
	set(m, "note", &t.Note, m.Text, fields.Optional)
	if list := m.Tables("blends", fields.Optional); m.Has("blends") {
		t.Blends, r.blends[id] = nil, nil
		for _, b := range list {
			r.blends[id] = append(r.blends[id], readBlend(b))
		}
	}
	limit := func(name string, v, most float64) {
		if v > most {
			m.Errorf(name, "%q is %g mm, more than any print material needs; expected at most %g mm", name, v, most)
		}
	}
	cures := func(p *Process) bool { return p.Cures }
	if t.Process != nil && !cures(t.Process) && m.Has("shrinkage") {
		m.Errorf("shrinkage", "%s %q has a shrinkage, which is for liquid %s; remove it", t.Process, id, namesOf(r.processes, cures))
	}
	if t.Process != nil && !t.Process.Blends() && m.Has("blends") {
		m.Errorf("blends", "%s %q has blends, which are for liquid %s; remove them", t.Process, id, namesOf(r.processes, (*Process).Blends))
	}
	limit("wall_min", t.WallMin, maxFeature)
	limit("pin_min", t.PinMin, maxFeature)
	limit("hole_allowance", t.HoleAllowance, maxAllowance)
	return t, id != "" && t.Name != "" && t.Process != nil && t.Stiffness != "" && t.Density > 0 &&
		t.WallMin > 0 && t.WallMin <= maxFeature && t.PinMin > 0 && t.PinMin <= maxFeature && t.HoleAllowance <= maxAllowance
}

// percent reads a share that is written in per cent.
func percent(m *fields.Map, name string, v *float64, lo, hi float64) {
	whole := *v * 100
	set(m, name, &whole, within(m, lo, hi), fields.Optional)
	if m.Has(name) {
		*v = whole / 100
	}
}

// readBlend reads one entry of blends.
func readBlend(m *fields.Map) placed {
	var b Blend
	set(m, "with", &b.With, m.Text, fields.Required)
	from := m.Number("from", fields.Required, 0, 100)
	to := m.Number("to", fields.Required, 0, 100)
	set(m, "becomes", &b.Stiffness, oneOf(m, Rigid, SemiRigid, Flexible), fields.Required)
	b.Least, b.Most = from/100, to/100
	if m.OK("from") && m.OK("to") && from >= to {
		m.Errorf("to", "the share goes from %g to %g per cent; expected it to begin below where it ends", from, to)
	}
	return placed{blend: b, good: m.OK("with") && m.OK("from") && m.OK("to") && m.OK("becomes"), at: m}
}

// check reads the currency and holds blends to the materials there are. A blend
// with an error is left out.
func (r *materials) check(top *fields.Map, entries []entry[Material]) {
	r.currency = top.Text("currency", fields.Optional)
	if r.currency != "" && !isCurrency(r.currency) {
		top.Errorf("currency", "currency %q is not a currency's code; expected three capital letters by ISO 4217, such as EUR", r.currency)
		r.currency = ""
	}
	var ids []string
	for _, e := range entries {
		ids = append(ids, e.value.ID)
		if e.at != nil && e.at.OK("price") && !top.Has("currency") {
			e.at.Errorf("price", "material %q has a price, and no currency is stated; add a line at the top of the file such as currency: EUR", e.value.ID)
		}
	}
	for i := range entries {
		t := &entries[i].value
		for _, p := range r.blends[t.ID] {
			if entries[i].at != nil && t.Process != nil && t.Process.Blends() && r.partner(t, p, ids, entries) {
				t.Blends = append(t.Blends, p.blend)
			}
		}
	}
}

// partner reports whether the blend is sound and its other half is on the bench.
func (r *materials) partner(t *Material, p placed, ids []string, entries []entry[Material]) bool {
	with := p.blend.With
	if !p.at.OK("with") {
		return false
	}
	j := slices.Index(ids, with)
	switch {
	case with == t.ID:
		p.at.Errorf("with", "material %q is blended with itself; expected another", with)
	case j < 0:
		p.at.Errorf("with", "material %q is not on the bench; %s", with, fields.Suggest(with, ids))
	case entries[j].value.Process != nil && entries[j].value.Process != t.Process:
		p.at.Errorf("with", "material %q is %s and cannot be stirred into %s; expected another %s", with, entries[j].value.Process, t.Process, t.Process)
	case p.good:
		return true
	}
	return false
}

func isCurrency(s string) bool {
	return len(s) == 3 && !slices.ContainsFunc([]byte(s), func(c byte) bool { return c < 'A' || c > 'Z' })
}

// Named lists materials for a sentence. Neighbours whose names end in one word
// share it: "rigid and tough filament, rigid and tough resin".
func Named(materials []Material) string {
	var groups [][]string
	tail := ""
	for _, m := range materials {
		name := words.Inside(m.Name)
		last := tailOf(name)
		if k := len(groups) - 1; k >= 0 && last == tail && last != name && strings.HasSuffix(groups[k][len(groups[k])-1], " "+last) {
			groups[k] = append(groups[k], name)
			continue
		}
		groups, tail = append(groups, []string{name}), last
	}
	var out []string
	shared := false
	for _, g := range groups {
		for i := range g[:len(g)-1] {
			g[i] = strings.TrimSuffix(g[i], " "+tailOf(g[i]))
		}
		shared = shared || len(g) > 1
		out = append(out, words.List(g))
	}
	if shared {
		return strings.Join(out, ", ") // "and" joins within the groups
	}
	return words.List(out)
}

func tailOf(name string) string { return name[strings.LastIndex(name, " ")+1:] }
