package bore

import (
	"math"
	"slices"

	"cardback/internal/mesh"
)

// fail ends a search that costs its triangles.
func (f *finder) fail(why string) {
	f.verdict[why]++
	cost := uint8(3)
	if len(f.region) < fewest {
		cost = 1
	}
	for _, e := range f.region {
		if n := &f.trials[e>>1]; *n < f.limit {
			*n += cost
		}
	}
}

// tryAxis grows a wall of flat facets from one triangle and a guess at its axis,
// and keeps it if it is one.
func (f *finder) tryAxis(first int32, axis mesh.Vec, sign float64) (found bool) {
	for round := range 3 {
		f.grow(first, axis, sign, tilt, nil, 0)
		if len(f.region) < fewest {
			f.fail("small")
			return false
		}
		if f.sixths(axis) < 3 && (round > 0 || len(f.region) > 60) {
			f.fail("turns little")
			return false
		}
		better, ok := f.axisOfRegion()
		if !ok {
			f.fail("no axis")
			return false
		}
		if better.Dot(axis) < 0 {
			better = better.Scale(-1)
		}
		moved := better.Sub(axis).Norm()
		axis = better
		if moved < tilt/20 {
			break
		}
	}
	corners := f.cornersOfRegion(axis, sign)
	if len(corners) < fewest {
		f.fail("few corners")
		return false
	}
	c, ok := fitCircle(corners, axis)
	if !ok {
		f.fail("no circle")
		return false
	}
	c, rms, worst, ok := fitCylinder(corners, c)
	if !ok {
		f.fail("no cylinder")
		return false
	}
	if worst > roundness*c.radius+4*f.noise {
		f.fail("not round")
		return false
	}
	return f.keep(wall{cylinder: c, sign: sign, rms: rms, corners: slices.Clone(corners)}, 0)
}

// keep judges the region as a wall. Its ends must bend by least on average.
func (f *finder) keep(w wall, least float64) bool {
	grown := slices.Clone(f.region)
	f.trim(&w.cylinder)
	if f.extend(&w.cylinder) {
		corners := f.cornersOfRegion(w.axis, w.sign)
		if c, rms, worst, ok := fitCylinder(corners, w.cylinder); ok && worst <= roundness*c.radius+4*f.noise {
			w.cylinder, w.rms, w.corners = c, rms, slices.Clone(corners)
		}
	}
	angle, gap := f.covers(&w.cylinder)
	w.region = slices.Clone(f.region)
	if angle < leastRound || gap > widestGap {
		if angle < leastPart {
			f.region = grown
			f.fail("not closed")
			return false
		}
		for _, e := range f.region {
			f.trials[e>>1] = inPart
		}
		f.parts = append(f.parts, w)
		f.verdict["part"]++
		return false
	}
	if sides(w.corners, &w.cylinder) < fewest {
		f.region = grown
		f.fail("few sides")
		return false
	}
	if conical(w.corners, &w.cylinder) {
		f.fail("cone")
		return false
	}
	w.concave = f.facesAxis(w.sign)
	if !f.findEnds(&w) {
		f.fail("no ends")
		return false
	}
	for _, e := range w.ends {
		if !e.border && e.softness < least {
			f.fail("fades")
			return false
		}
	}
	if why := f.unlikely(&w); why != "" {
		// It is known what this is: no search need come here again.
		for _, e := range f.region {
			f.trials[e>>1] = max(f.trials[e>>1], f.limit)
		}
		f.fail(why)
		return false
	}
	f.take()
	f.walls = append(f.walls, w)
	return true
}

// conical says whether the corners' distance from the axis grows or shrinks along
// it by more than the roundness allowed, from end to end of the straight line that
// fits the distances best.
func conical(corners []mesh.Vec, c *cylinder) bool {
	u, v := frame(c.axis)
	var n, st, sr, stt, str float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range corners {
		t, x, y := c.across(p, u, v)
		t, r := t/c.radius, math.Hypot(x, y)/c.radius-1
		n, st, sr, stt, str = n+1, st+t, sr+r, stt+float64(t*t), str+float64(t*r)
		lo, hi = min(lo, t), max(hi, t)
	}
	slope := (n*str - float64(st*sr)) / (n*stt - float64(st*st))
	return math.Abs(slope)*(hi-lo) > roundness
}

// take keeps other searches away from the region.
func (f *finder) take() {
	for _, e := range f.region {
		f.trials[e>>1] = taken
	}
}

// joinParts puts parts of walls together that lie on one cylinder beside each
// other: a hole that a slot cuts in two.
func (f *finder) joinParts() {
	parts := f.parts
	used := make([]bool, len(parts))
	for i := range parts {
		if used[i] {
			continue
		}
		a := &parts[i]
		region, corners := slices.Clone(a.region), slices.Clone(a.corners)
		members := []int{i}
		for j := i + 1; j < len(parts); j++ {
			if !f.spend(1) {
				return
			}
			if !used[j] && f.sameCylinder(a, &parts[j]) {
				region, corners = append(region, parts[j].region...), append(corners, parts[j].corners...)
				members = append(members, j)
			}
		}
		if len(members) == 1 {
			continue
		}
		c, rms, worst, ok := fitCylinder(corners, a.cylinder)
		if !ok || worst > roundness*c.radius+4*f.noise {
			continue
		}
		f.region = region
		f.mark++
		for _, e := range region {
			f.stamp[e>>1] = f.mark
		}
		if angle, gap := f.covers(&c); angle < leastRound || gap > widestGap {
			continue
		}
		if f.keep(wall{cylinder: c, sign: a.sign, rms: rms, corners: corners}, 0) {
			for _, j := range members {
				used[j] = true
			}
		}
	}
}

// sameCylinder says whether b lies on a's cylinder, to the roundness allowed for
// each, and beside it along the axis.
func (f *finder) sameCylinder(a, b *wall) bool {
	if a.sign != b.sign || math.Abs(a.radius-b.radius) > 2*roundness*a.radius || math.Abs(a.axis.Dot(b.axis)) < 0.999 {
		return false
	}
	// The middles of both lie on one axis, or nearly.
	if d := b.at.Sub(a.at); d.Sub(a.axis.Scale(d.Dot(a.axis))).Norm() > a.radius {
		return false
	}
	if !f.spend(len(a.corners) + len(b.corners)) {
		return false
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range a.corners {
		t := p.Sub(a.at).Dot(a.axis)
		lo, hi = min(lo, t), max(hi, t)
	}
	beside := false
	for _, p := range b.corners {
		d := p.Sub(a.at)
		t := d.Dot(a.axis)
		rho := d.Sub(a.axis.Scale(t)).Norm()
		if math.Abs(rho-a.radius) > 2*roundness*a.radius {
			return false
		}
		beside = beside || t > lo && t < hi || t >= lo && t <= hi
	}
	return beside
}
