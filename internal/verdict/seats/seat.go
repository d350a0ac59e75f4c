package seats

import (
	"cmp"
	"math"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
)

// seat is one hole as an item finds it: the stretches of it that are the item's,
// and how far the item goes in, past wider steps and up to a narrower one.
type seat struct {
	own     []bore.Hole // narrowest first
	lo, hi  float64     // along the axis of own[0] from its centre, of what the item goes into
	through bool        // nothing in it stops the item
}

func (s *seat) depth() float64 { return s.hi - s.lo }

// held is where the item's own stretches lie along the axis of the first of them, and
// whether they are open at either end.
func (s *seat) held() (lo, hi float64, down, up bool) {
	first := s.own[0]
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, h := range s.own {
		at, open := h.Centre.Sub(first.Centre).Dot(first.Axis), h.Open
		if h.Axis.Dot(first.Axis) < 0 {
			open[0], open[1] = open[1], open[0]
		}
		if at-h.Depth/2 < lo {
			lo, down = at-h.Depth/2, open[0]
		}
		if at+h.Depth/2 > hi {
			hi, up = at+h.Depth/2, open[1]
		}
	}
	return lo, hi, down, up
}

// row is the seats on one axis, such as the ears of a hinge.
type row []seat

func (r row) narrowest() bore.Hole {
	return slices.MinFunc(r, func(a, b seat) int { return cmp.Compare(a.own[0].Free, b.own[0].Free) }).own[0]
}

// seatsOf puts an item's stretches together by hole, in the order of their first.
// A step that the item does not even nearly go into stops it: a counterbore over a
// screw's hole is a shallow blind hole for a thick rod.
func seatsOf(own, all []bore.Hole, item bench.Hardware) []seat {
	var out []seat
	index := map[int]int{}
	for _, h := range own {
		i, ok := index[h.Group]
		if !ok {
			i = len(out)
			index[h.Group] = i
			out = append(out, seat{})
		}
		out[i].own = append(out[i].own, h)
	}
	for i := range out {
		s := &out[i]
		slices.SortStableFunc(s.own, func(a, b bore.Hole) int { return cmp.Compare(a.Free, b.Free) })
		s.measure(all, item)
	}
	return out
}

// measure finds how far the item goes in: over the stretches of the hole that
// follow on each other, its own among them, and are not too narrow to be its.
func (s *seat) measure(all []bore.Hole, item bench.Hardware) {
	first := s.own[0]
	type stretch struct {
		lo, hi     float64
		takes, own bool
	}
	var steps []stretch
	s.through = first.Through
	for _, h := range all {
		if h.Group != first.Group {
			continue
		}
		at := h.Centre.Sub(first.Centre).Dot(first.Axis)
		st := stretch{lo: at - h.Depth/2, hi: at + h.Depth/2, takes: h.Free >= shareBelow*item.Diameter-rodSlack}
		st.own = slices.ContainsFunc(s.own, func(o bore.Hole) bool { return o == h })
		s.through = s.through && st.takes
		steps = append(steps, st)
	}
	slices.SortFunc(steps, func(a, b stretch) int { return cmp.Compare(a.lo, b.lo) })
	s.lo, s.hi = math.Inf(1), math.Inf(-1)
	for i := 0; i < len(steps); {
		j, own := i, false
		for ; j < len(steps) && steps[j].takes; j++ {
			own = own || steps[j].own
		}
		if own {
			s.lo, s.hi = min(s.lo, steps[i].lo), max(s.hi, steps[j-1].hi)
		}
		i = max(j, i+1)
	}
}

// holds reports whether the item can sit in the seat, or pass it. A rod, a wire or a
// screw that ends in it must go in by holdShare of its diameter.
func (s *seat) holds(item bench.Hardware) bool {
	switch item.Kind {
	case bench.Cord: // it only has to pass
		return true
	case bench.Magnet:
		return s.depth() >= item.Thickness-measure.LengthSlack
	}
	return s.through || s.depth() >= holdShare*item.Diameter-measure.LengthSlack
}

// rows puts seats together that lie on one axis, in the order of their first.
func rows(seats []seat) []row {
	var out []row
	for _, s := range seats {
		i := slices.IndexFunc(out, func(r row) bool {
			return slices.ContainsFunc(r, func(o seat) bool { return inLine(s.own[0], o.own[0]) })
		})
		if i < 0 {
			out = append(out, nil)
			i = len(out) - 1
		}
		out[i] = append(out[i], s)
	}
	return out
}

// pair reports whether one rod goes through the seats of a row together: two or
// more, all of them open right through but for one at most, in which it may end. Cut
// is the longest stated length of it in mm, 0 where none is stated; one that does
// not reach from the first to the last and hold there is not the pair's.
func (r row) pair(item bench.Hardware, cut float64) bool {
	blind := 0
	for i := range r {
		if !r[i].through {
			blind++
		}
	}
	if len(r) < 2 || blind > 1 {
		return false
	}
	return cut <= 0 || cut >= lengthsOf(r).gap+2*float64(holdShare*item.Diameter)-measure.LengthSlack
}

// How a row suits an item, best first. A hole that the item goes through as drawn,
// and does not wobble in, comes before one that is too small or wide; within each a
// pair on one axis comes before single holes, since nothing else is drawn so.
const (
	suits = iota
	tooSmall
	tooWide
)

func (r row) suits(item bench.Hardware, allowance float64) int {
	switch free := r.narrowest().Free; {
	case free < item.Diameter-rodSlack:
		return tooSmall
	case wide(free, item.Diameter, allowance):
		return tooWide
	}
	return suits
}

// wide reports whether a rod wobbles in a hole.
func wide(free, rod, allowance float64) bool { return free > rod+allowance+play(rod)+rodSlack }

// choose puts the rows that are most likely the item's first. Among rows that suit
// alike the one comes first that is nearest to what would be drawn for the item: its
// diameter and the allowance.
func choose(all []row, item bench.Hardware, allowance, cut float64) {
	misfit := func(r row) float64 { return math.Abs(r.narrowest().Free - item.Diameter - allowance) }
	single := func(r row) int {
		if item.Kind == bench.Rod && r.pair(item, cut) {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(all, func(a, b row) int {
		return cmp.Or(cmp.Compare(a.suits(item, allowance), b.suits(item, allowance)), cmp.Compare(single(a), single(b)), cmp.Compare(misfit(a), misfit(b)))
	})
}
