package thin

import (
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
	"cardback/internal/sets"
)

const (
	// band is how much thicker than its least a place may be.
	band = 1.25
	// link is how far apart, in spacings, the middles of neighbours are at most. On
	// a surface the lattice leaves no gap wider than 1.7 spacings (it is 1/√3 as
	// dense at the worst slope); on a narrow pin gaps are irregular.
	link = 2.5
	// pinLink is the same along a pin: one not much thicker than a spacing is met by so
	// few lines that longer gaps occur. What lies between is looked at in any case (see
	// seen), so that two pins are not taken for one.
	pinLink = 4.
	// fewGauges is how many gauges it takes to be sure of a thickness.
	fewGauges = 3
	// leastArea, mm², is the surface that a place has at least: that of a wall's least
	// disc, both sides, less what the lattice may miss of it at its rim. In the end
	// it also has that of a wall as long and wide as it is thick, both sides; a smaller
	// one is a corner of something, or what is left between two kinds.
	leastArea = math.Pi * disc * disc
)

func kindOf(pin, level bool) Kind {
	switch {
	case pin && level:
		return Pin
	case pin:
		return Point
	case level:
		return Wall
	}
	return Edge
}

// places joins gauges to places, for walls and pins apart. Only those that are level, or
// are not, are joined, as is asked: to walls and pins, or to edges and points.
//
// It goes through the gauges from the thinnest on. One that is connected with
// places in whose band its thickness lies joins them, and them with each other;
// otherwise it begins a place. Until a place has leastArea it takes whatever adjoins,
// and the thickness at which it has that is its own: a burr is thus lost in what it
// grows on. A place that begins where nothing thinner adjoins is a hollow in the
// landscape of thickness and is listed: the thinnest stretch about. One that begins
// on the slope of a thinner one is listed only if it is even, with half of its
// gauges in a fifth of its band: a thicker wall or step that a thin one grows from.
// Otherwise it is the slope of a wedge, or a thickening between two thin places, and
// those speak for it.
func places(ctx context.Context, pr *probe, every []gauge, level bool, from sampler) ([]Place, error) {
	var all []gauge
	for i := range every {
		if every[i].level == level {
			all = append(all, every[i])
		}
	}
	reach := max(disc, discs*from.spacing)
	near, nearOnPin := link*from.spacing, pinLink*from.spacing
	h := newHood(all, max(reach, nearOnPin), from.centre)
	if err := h.smoothed(ctx, reach); err != nil {
		return nil, err
	}
	order := make([]int32, 0, len(all))
	for i := range all {
		if !math.IsInf(all[i].smooth, 1) {
			order = append(order, int32(i))
		}
	}
	slices.SortFunc(order, func(a, b int32) int {
		if c := compare(all[a].smooth, all[b].smooth); c != 0 {
			return c
		}
		return int(a - b)
	})

	// root is a forest of gauges; a place is a tree. Of its root: the surface so far,
	// the thickness, +Inf until it is known, and whether it is on a slope.
	root, area, known, slope := make(sets.Sets, len(all)), make([]float64, len(all)), make([]float64, len(all)), make([]bool, len(all))
	for i := range root {
		root[i] = -1
	}
	for k, i := range order {
		if k%64 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		g := &all[i]
		root[i], area[i], known[i] = i, g.area, math.Inf(1)
		var joins, tried []int32
		within := near
		if g.steady == Pin {
			within = nearOnPin
		}
		h.each(i, within, func(j int32) {
			if root[j] < 0 || j == i || all[j].steady != g.steady {
				return
			}
			b := root.Of(j)
			if slices.Contains(joins, b) || slices.Contains(tried, b) || !pr.seen(g, &all[j]) {
				return
			}
			if g.smooth > band*known[b] {
				tried = append(tried, b)
			} else {
				joins = append(joins, b)
			}
		})
		slope[i] = len(joins) == 0 && len(tried) > 0
		for n, b := range joins {
			a := root.Of(i)
			if n == 0 {
				slope[a] = slope[b]
			}
			if known[a] > known[b] || known[a] == known[b] && b < a {
				a, b = b, a // a, with the lesser thickness, stays
			}
			switch one, other := math.IsInf(known[a], 1), math.IsInf(known[b], 1); {
			case one && other:
				slope[a] = slope[a] || slope[b]
			case !one && !other:
				slope[a] = slope[a] && slope[b]
			}
			root[b] = a
			area[a] += area[b]
		}
		if a := root.Of(i); math.IsInf(known[a], 1) && area[a] >= leastArea {
			known[a] = g.smooth
		}
	}

	members := map[int32][]int32{}
	var roots []int32
	for _, i := range order {
		r := root.Of(i)
		if r == i {
			roots = append(roots, i)
		}
		members[r] = append(members[r], i)
	}
	var out []Place
	of := map[mesh.Vec][]int32{} // by the place's point, which no two share
	for _, r := range roots {
		mine := members[r]
		thickness := known[r]
		if len(mine) < fewGauges || math.IsInf(thickness, 1) {
			continue
		}
		first, _ := slices.BinarySearchFunc(mine, thickness, func(i int32, x float64) int { return compare(all[i].smooth, x) })
		if slope[r] {
			var ok bool
			if first, ok = even(all, mine); !ok {
				continue
			}
			thickness = all[mine[first]].smooth
		}
		if thickness > Limit {
			continue
		}
		p := Place{Kind: kindOf(all[r].steady == Pin, level), Thickness: thickness, At: all[mine[first]].c}
		points := make([]mesh.Vec, len(mine))
		extra := 0.0
		for k, i := range mine {
			points[k] = all[i].p
			if all[i].extra {
				extra += all[i].area
			} else {
				p.Area += all[i].area
			}
		}
		p.Area = max(p.Area, extra)
		if p.Area < max(leastArea, float64(2*thickness*thickness)) {
			continue
		}
		p.Extent = extent(points)
		out, of[p.At] = append(out, p), mine
	}
	out = sorted(out)
	if level {
		for i := range out {
			pr.stretch(&out[i], all, of[out[i].At])
		}
	}
	return out, nil
}

// seen is whether the straight line between two gauges' middles stays in the solid; where the
// work is spent, not so far as is known.
func (pr *probe) seen(a, b *gauge) bool {
	if pr.spent(wanted, lineWork) {
		return false
	}
	d := b.c.Sub(a.c)
	u, ok := unit(d)
	if !ok {
		return true
	}
	s, ok := pr.at(inner{a.c, a.winding}, u, 0, d.Norm())
	return ok && s.To >= d.Norm()
}

// stretch sets how far a place runs on, and whether it joins what is thicker: as
// walked from some of its gauges, those of the thinnest quarter first, the farthest run.
func (pr *probe) stretch(p *Place, all []gauge, mine []int32) {
	const tries = 6
	among := mine[:max(len(mine)/4, min(len(mine), tries))]
	for n := range min(tries, len(among)) {
		if pr.spent(wanted, lineWork) {
			return
		}
		g := &all[among[n*len(among)/min(tries, len(among))]]
		w, ok := pr.stand(inner{g.c, g.winding}, g.m, g.thickness, 2*g.thickness)
		if !ok {
			continue
		}
		step := run(w.thickness, g.pin) / steps
		if g.pin {
			gone, one, other := pr.both(w, g.axis, w.thickness, farthest, step)
			p.Run = max(p.Run, gone)
			p.Joins = p.Joins || one == grows && other == grows
			continue
		}
		shortest := math.Inf(1)
		joins := false
		for _, e := range sheet(w.m) {
			gone, one, other := pr.both(w, e, w.thickness, farthest, step)
			shortest = min(shortest, gone)
			joins = joins || one == grows && other == grows
		}
		p.Run = max(p.Run, shortest)
		p.Joins = p.Joins || joins
	}
}

// even looks for half of a place's gauges, in order of thickness, within a fifth
// of its band, and gives the first of the narrowest such half. At most a quarter are
// thinner than these: a step has a few such where it begins, while a cone, of which
// the thick end has the most surface, has half of its gauges below.
func even(all []gauge, mine []int32) (first int, ok bool) {
	half := len(mine) / 2
	best := math.Inf(1)
	for k := 0; k+half < len(mine) && k <= len(mine)/4; k++ {
		if w := all[mine[k+half]].smooth / all[mine[k]].smooth; w < best {
			best, first = w, k
		}
	}
	return first, best < 1+(band-1)/5
}

// extent is the greatest distance between two of the points, to 2%: between the
// extreme ones along 100 directions. Those are spread evenly on a half sphere, each
// for 2π/100 of it, so that none is farther than 0.2 from the true one, and
// cos 0.2 = 0.98.
func extent(points []mesh.Vec) float64 {
	const directions = 100
	var ends []mesh.Vec
	for k := range directions {
		z := (float64(k) + 0.5) / directions
		sin, cos := math.Sincos(float64(k) * math.Pi * (3 - math.Sqrt(5)))
		d := mesh.Vec{X: cos, Y: sin}.Scale(math.Sqrt(1 - z*z)).Add(mesh.Vec{Z: z})
		lo, hi := points[0], points[0]
		for _, p := range points[1:] {
			if p.Dot(d) < lo.Dot(d) {
				lo = p
			}
			if p.Dot(d) > hi.Dot(d) {
				hi = p
			}
		}
		ends = append(ends, lo, hi)
	}
	most := 0.0
	for i, p := range ends {
		for _, q := range ends[:i] {
			most = max(most, p.Sub(q).Norm())
		}
	}
	return most
}
