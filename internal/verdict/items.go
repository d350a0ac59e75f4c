package verdict

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"cardback/internal/bench"
	"cardback/internal/measure/bore"
	"cardback/internal/release"
)

// A hole is taken for an item's when its free diameter lies between shareBelow
// of the item's diameter, and shareOver of it and a drill's step or two more: a
// hole drawn too small, or with room for a coat of paint, is still the item's;
// one for something else is not. Of several items it is the one's that would be
// drawn nearest to it: at its diameter and the greatest allowance of the
// materials. What is less than leastShare of its own diameter is no hole but a
// rounded place with something in it: a triangle drawn for a circle has a half.
// Judgement of ours, no source.
const (
	shareBelow = 0.75
	shareOver  = 1.4
	roomOver   = 0.2 // mm
	leastShare = 0.5

	// Holes are on one line when their axes differ by less than 2° and lie within
	// a quarter of the lesser diameter: the ears of a hinge.
	lineCos, lineShare = 0.9994, 0.25
)

// ItemFit is how an item that a part takes suits the holes in one of its cuts,
// printed at full size.
type ItemFit struct {
	Item  bench.Hardware
	Count int // declared
	// Holes holds for each line of holes that is the item's its narrowest
	// stretch: what a rod through it has to pass. Narrowest first.
	Holes []bore.Hole
	By    []ByAllowance // in the order of the materials; none without Holes
	// Places is how many separate holes are the item's, on whatever line: more rods
	// than that do not go in.
	Places int

	own []bore.Hole // every stretch that is the item's
}

// ByAllowance is the answer for the materials of one process that want the same
// allowance.
type ByAllowance struct {
	Materials []bench.Material
	Free      int       // how many of the holes it passes with the allowance
	Passes    int       // how many it passes as drawn
	Narrowest RodAnswer // for the first of Holes
}

// Items judges what part p takes against the holes of one of its cuts, which is
// printed in the given materials. Adhesives take no hole. Cord only has to pass,
// so it wants no allowance.
func Items(p release.Part, r bore.Report, materials []bench.Material) []ItemFit {
	var out []ItemFit
	for _, use := range p.Takes {
		if use.Item.Diameter <= 0 {
			continue
		}
		if i := slices.IndexFunc(out, func(f ItemFit) bool { return f.Item.ID == use.Item.ID }); i >= 0 {
			out[i].Count += use.Count
			continue
		}
		out = append(out, ItemFit{Item: use.Item, Count: use.Count})
	}
	for i := range out {
		var own []bore.Hole
		for _, h := range r.Holes {
			if isFor(h, out[i].Item, out, materials) {
				own = append(own, h)
			}
		}
		out[i].judge(own, materials)
	}
	return out
}

// isFor reports whether h is for the item rather than for another of those the
// part takes. Items of one diameter share their holes.
func isFor(h bore.Hole, item bench.Hardware, all []ItemFit, materials []bench.Material) bool {
	if h.Free < leastShare*h.Diameter {
		return false
	}
	allowance := 0.0
	for _, m := range materials {
		allowance = max(allowance, m.HoleAllowance)
	}
	off := func(it bench.Hardware) float64 {
		if d := it.Diameter; h.Free < shareBelow*d-rodSlack || h.Free > shareOver*d+roomOver {
			return math.Inf(1)
		}
		return math.Abs(h.Free - it.Diameter - allowance)
	}
	mine := off(item)
	return !math.IsInf(mine, 1) && !slices.ContainsFunc(all, func(o ItemFit) bool { return off(o.Item) < mine-rodSlack })
}

func (f *ItemFit) judge(own []bore.Hole, materials []bench.Material) {
	f.own = own
	seen := map[int]bool{}
	for _, h := range own {
		if !seen[h.Group] {
			seen[h.Group] = true
			f.Places++
		}
		i := slices.IndexFunc(f.Holes, func(o bore.Hole) bool { return h.Group == o.Group || inLine(h, o) })
		switch {
		case i < 0:
			f.Holes = append(f.Holes, h)
		case h.Free < f.Holes[i].Free:
			f.Holes[i] = h
		}
	}
	slices.SortStableFunc(f.Holes, func(a, b bore.Hole) int { return cmp.Compare(a.Free, b.Free) })
	if len(f.Holes) == 0 {
		return
	}
	for _, m := range materials {
		allowance := f.allowance(m)
		i := slices.IndexFunc(f.By, func(b ByAllowance) bool {
			return b.Materials[0].Process == m.Process && f.allowance(b.Materials[0]) == allowance
		})
		if i >= 0 {
			f.By[i].Materials = append(f.By[i].Materials, m)
			continue
		}
		by := ByAllowance{Materials: []bench.Material{m}, Narrowest: f.answer(f.Holes[0], m)}
		for _, h := range f.Holes {
			a := f.answer(h, m)
			if a.Passes {
				by.Passes++
			}
			if a.Free {
				by.Free++
			}
		}
		f.By = append(f.By, by)
	}
}

// allowance is what the item's hole wants in m.
func (f *ItemFit) allowance(m bench.Material) float64 {
	if f.Item.Kind == bench.Cord {
		return 0
	}
	return m.HoleAllowance
}

func (f *ItemFit) answer(h bore.Hole, m bench.Material) RodAnswer {
	return passage(string(f.Item.Kind), h, f.Item.Diameter, f.allowance(m), 1)
}

// inLine reports whether two holes lie on one axis.
func inLine(a, b bore.Hole) bool {
	if math.Abs(a.Axis.Dot(b.Axis)) < lineCos {
		return false
	}
	off := b.Centre.Sub(a.Centre)
	off = off.Sub(a.Axis.Scale(off.Dot(a.Axis)))
	return off.Norm() < lineShare*min(a.Diameter, b.Diameter)
}

// Meant lists the materials that cut c of p is meant for: of the processes that
// need the part and print this cut. A flexible cut is meant for flexible
// materials, all others for the rest: they may be printed in a flexible one too,
// but its limits are not what they were drawn to.
func Meant(p release.Part, c release.Cut, materials []bench.Material) []bench.Material {
	var out []bench.Material
	for _, m := range materials {
		cut, ok := p.CutFor(m.Process, m.Stiffness)
		soft := m.Stiffness == bench.Flexible
		if ok && cut.Kind == c.Kind && p.NeededFor(m.Process) && soft == (c.Kind == release.CutFlexible) {
			out = append(out, m)
		}
	}
	return out
}

// Named lists materials for a sentence. Neighbours whose names end in one word
// share it: "rigid and tough filament, rigid and tough resin".
func Named(materials []bench.Material) string {
	var groups [][]string
	tail := ""
	for _, m := range materials {
		first, n := utf8.DecodeRuneInString(m.Name)
		name := string(unicode.ToLower(first)) + m.Name[n:]
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
		out = append(out, List(g))
	}
	if shared {
		return strings.Join(out, ", ") // "and" joins within the groups
	}
	return List(out)
}

func tailOf(name string) string { return name[strings.LastIndex(name, " ")+1:] }
