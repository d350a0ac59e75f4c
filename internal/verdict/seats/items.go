package seats

import (
	"cmp"
	"math"
	"slices"

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

// Fit is how an item that a part takes suits the holes in one of its cuts,
// printed at full size.
type Fit struct {
	Item  bench.Hardware
	Count int // declared
	// Holes holds for each line of holes that is taken to be the item's its narrowest
	// stretch: what a rod through it has to pass. Narrowest first. There are no more
	// lines than the part takes of the item, but for cord, which may be laced through
	// all: see choose for which are meant.
	Holes []bore.Hole
	By    []ByAllowance // in the order of the materials; none without Holes
	// Places is how many separate holes can take the item, on whatever line: more rods
	// than that do not go in.
	Places int

	rows    []row       // of Holes, in the same order
	spare   []row       // that could take it too, and are not taken to be its
	seats   []seat      // every hole that can take it
	shallow []seat      // near its size, and not deep enough to hold it
	wider   bool        // none is near its size: Holes are wider ones that no item has
	near    []bore.Hole // where there are too few: the next wider that no item has, then the next narrower
	cut     float64     // mm, the longest piece of it that the part's notes name; 0 where one is not named
}

// ByAllowance is the answer for the materials of one process that want the same
// allowance.
type ByAllowance struct {
	Materials []bench.Material
	Free      int       // how many of the holes it passes with the allowance
	Passes    int       // how many it passes as drawn
	Narrowest RodAnswer // for the first of Holes
	Wobbles   bool      // the narrowest is too wide to guide a rod
}

// Of judges what part p takes against the holes of one of its cuts, which is
// printed in the given materials. Adhesives take no hole. Cord only has to pass,
// so it wants no allowance.
func Of(p release.Part, r bore.Report, materials []bench.Material) []Fit {
	var out []Fit
	for _, use := range p.Takes {
		if use.Item.Diameter <= 0 {
			continue
		}
		i := slices.IndexFunc(out, func(f Fit) bool { return f.Item.ID == use.Item.ID })
		if i < 0 {
			out = append(out, Fit{Item: use.Item, cut: use.Cut})
			i = len(out) - 1
		}
		f := &out[i]
		f.Count += use.Count
		if use.Cut <= 0 || f.cut <= 0 {
			f.cut = 0
		} else {
			f.cut = max(f.cut, use.Cut)
		}
	}
	taken := make([]bool, len(r.Holes)) // by some item
	own := make([][]bore.Hole, len(out))
	for i := range out {
		for k, h := range r.Holes {
			if isFor(h, out[i].Item, out, materials) {
				own[i], taken[k] = append(own[i], h), true
			}
		}
	}
	var left []bore.Hole
	for k, h := range r.Holes {
		if !taken[k] && h.Free >= leastShare*h.Diameter {
			left = append(left, h)
		}
	}
	for i := range out {
		out[i].judge(own[i], left, r.Holes, materials)
	}
	return out
}

// isFor reports whether h is for the item rather than for another of those the
// part takes. Items of one diameter share their holes.
func isFor(h bore.Hole, item bench.Hardware, all []Fit, materials []bench.Material) bool {
	if h.Free < leastShare*h.Diameter {
		return false
	}
	allowance := most(materials)
	off := func(it bench.Hardware) float64 {
		if d := it.Diameter; h.Free < shareBelow*d-rodSlack || h.Free > shareOver*d+roomOver {
			return math.Inf(1)
		}
		return math.Abs(h.Free - it.Diameter - allowance)
	}
	mine := off(item)
	return !math.IsInf(mine, 1) && !slices.ContainsFunc(all, func(o Fit) bool { return off(o.Item) < mine-rodSlack })
}

// most is the greatest allowance of some materials.
func most(materials []bench.Material) float64 {
	allowance := 0.0
	for _, m := range materials {
		allowance = max(allowance, m.HoleAllowance)
	}
	return allowance
}

// judge ties the item to holes: to its own, or where there are none that can take it
// to wider ones that no item has.
func (f *Fit) judge(own, left, all []bore.Hole, materials []bench.Material) {
	f.tie(own, all)
	if len(f.seats) == 0 {
		f.tie(f.roomier(left), all)
		f.wider = len(f.seats) > 0
	}
	if f.Places < f.Count {
		f.nearest(left)
	}
	lines := rows(f.seats)
	allowance := most(materials)
	if f.Item.Kind == bench.Cord {
		allowance = 0
	} else {
		choose(lines, f.Item, allowance, f.cut)
		n := min(f.Count, len(lines))
		lines, f.spare = lines[:n], lines[n:]
	}
	slices.SortStableFunc(lines, func(a, b row) int { return cmp.Compare(a.narrowest().Free, b.narrowest().Free) })
	f.rows = lines
	for _, l := range lines {
		f.Holes = append(f.Holes, l.narrowest())
	}
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
		by := ByAllowance{Materials: []bench.Material{m}, Narrowest: f.answer(f.Holes[0], m), Wobbles: wide(f.Holes[0].Free, f.Item.Diameter, allowance)}
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

// pocketed reports whether items of the kind sit in a pocket of their own width, which
// may be shallow: magnets and bearings.
func pocketed(k bench.HardwareKind) bool { return k == bench.Magnet || k == bench.Bearing }

// tie takes over the holes that can take the item. A magnet's pocket that is too
// shallow is still its pocket where there is no other.
func (f *Fit) tie(own, all []bore.Hole) {
	seats := seatsOf(own, all, f.Item)
	for _, s := range seats {
		if s.holds(f.Item) {
			f.seats = append(f.seats, s)
		} else if !pocketed(f.Item.Kind) {
			f.shallow = append(f.shallow, s)
		}
	}
	if len(f.seats) == 0 && pocketed(f.Item.Kind) {
		f.seats = seats
	}
	f.Places = len(f.seats)
}

// roomier lists the holes that are wider than the item's would be drawn, and less than
// twice as wide as a rod: one that wobbles there is still guided. Cord and wire go
// through any wider hole. Of a magnet's pocket or a screw's hole none of this is said.
func (f *Fit) roomier(left []bore.Hole) []bore.Hole {
	var out []bore.Hole
	for _, h := range left {
		switch d := f.Item.Diameter; f.Item.Kind {
		case bench.Rod:
			if h.Free > d && h.Free < 2*d-rodSlack {
				out = append(out, h)
			}
		case bench.Cord, bench.Wire:
			if h.Free > d {
				out = append(out, h)
			}
		}
	}
	return out
}

// nearest sets near: of the holes that no item has, the next wider than the item and
// the next narrower.
func (f *Fit) nearest(left []bore.Hole) {
	var over, under *bore.Hole
	for i, h := range left {
		switch {
		case h.Free >= f.Item.Diameter && (over == nil || h.Free < over.Free):
			over = &left[i]
		case h.Free < f.Item.Diameter && (under == nil || h.Free > under.Free):
			under = &left[i]
		}
	}
	for _, h := range []*bore.Hole{over, under} {
		if h != nil {
			f.near = append(f.near, *h)
		}
	}
}

// allowance is what the item's hole wants in m.
func (f *Fit) allowance(m bench.Material) float64 {
	if f.Item.Kind == bench.Cord {
		return 0
	}
	return m.HoleAllowance
}

func (f *Fit) answer(h bore.Hole, m bench.Material) RodAnswer {
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
