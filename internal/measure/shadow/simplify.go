package shadow

import (
	"math"
	"slices"
)

// Simplify returns the outline with fewer points. No point of either outline is
// farther than tol from the other, except that rings enclosing less than tol²
// are dropped whole. A ring that comes back to a point of its own (to the fineness
// of the grid) is several rings, one for each loop, and each is treated as one.
// Corners that stay are the outline's own, so sharp ones stay sharp. No ring is
// made to cross itself or another, to swallow another, or to shrink to nothing:
// where the plain method would, points are put back. Points that several rings
// share stay. With tol zero or less, or not a number, and for coordinates that are
// not finite or too far apart to subtract, it returns the outline as it is.
//
// The method is Douglas and Peucker's, between the ring's first point and the
// one farthest from it, followed by putting back the farthest point of every
// straightened stretch that conflicts with something, until none does. It ends:
// every round puts back a point of each such stretch, and past simplifyWork all
// points are put back, which no tolerance forbids.
func (o Outline) Simplify(tol float64) Outline { return o.simplify(tol, simplifyWork) }

// simplifyWork bounds Simplify, in points looked at: about a second. A million
// points that straighten evenly take some 2·10^7; what takes more is a ring made for
// it, such as a comb whose teeth are found one by one.
const simplifyWork = 1 << 28

func (o Outline) simplify(tol float64, work int) Outline {
	if !(tol > 0) || len(o) == 0 {
		return slices.Clone(o)
	}
	s, ok := newSimplifier(o, tol)
	if !ok {
		return slices.Clone(o)
	}
	s.left = work
	for r := range s.rings {
		s.straighten(r)
	}
	for s.left > 0 && s.putBack() {
	}
	if s.left <= 0 {
		for _, keep := range s.keep {
			for i := range keep {
				keep[i] = true
			}
		}
	}
	out := make(Outline, 0, len(s.rings))
	for r, keep := range s.keep {
		var ring Ring
		for i, k := range keep {
			if k {
				ring = append(ring, s.source[r][i])
			}
		}
		out = append(out, ring)
	}
	return out
}

// simplifier works on grid points, so that its tests for conflicts are exact. No
// ring passes a grid point twice, so no stretch between two kept points, of which
// every ring has at least two, ends where it began.
type simplifier struct {
	source []Ring        // the loops that are large enough
	rings  [][]gridPoint // the same on the grid, three different points or more
	keep   [][]bool
	tol    float64 // in grid steps
	left   int     // work that may still be done, in points looked at
}

// newSimplifier is not ok for an outline that no grid can hold.
func newSimplifier(o Outline, tol float64) (s *simplifier, ok bool) {
	s = &simplifier{}
	minX, minY, maxX, maxY := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	var large []Ring
	for _, r := range o {
		if math.Abs(Outline{r}.Area()) < tol*tol || len(r) < 3 {
			continue
		}
		large = append(large, r)
		for _, p := range r {
			minX, maxX = min(minX, p.X), max(maxX, p.X)
			minY, maxY = min(minY, p.Y), max(maxY, p.Y)
		}
	}
	if len(large) == 0 {
		return s, true
	}
	extent := max(maxX-minX, maxY-minY)
	for _, c := range [...]float64{minX, minY, extent} { // NaN goes through min and max
		if math.IsNaN(c) || math.IsInf(c, 0) {
			return s, false
		}
	}
	g := gridOver(minX, minY, extent)
	s.tol = tol * g.scale
	times := map[gridPoint]int{}
	for _, r := range large {
		for _, loop := range g.loops(r) {
			if len(loop) < 3 || math.Abs(Outline{loop}.Area()) < tol*tol {
				continue
			}
			s.source = append(s.source, loop)
			ring := make([]gridPoint, len(loop))
			for i, p := range loop {
				ring[i] = g.point(p.X, p.Y)
				times[ring[i]]++
			}
			s.rings = append(s.rings, ring)
		}
	}
	for _, ring := range s.rings {
		keep := make([]bool, len(ring))
		for i, p := range ring {
			keep[i] = times[p] > 1
		}
		s.keep = append(s.keep, keep)
	}
	return s, true
}

// loops cuts a ring where it comes back to a grid point, so that none of them
// passes one twice. A loop of one or two points encloses nothing.
func (g grid) loops(r Ring) (out []Ring) {
	var path Ring
	place := make(map[gridPoint]int, len(r)) // where on the path a point stands
	for _, p := range r {
		at := g.point(p.X, p.Y)
		k, seen := place[at]
		if !seen {
			place[at] = len(path)
			path = append(path, p)
			continue
		}
		for _, q := range path[k+1:] {
			delete(place, g.point(q.X, q.Y))
		}
		out = append(out, slices.Clone(path[k:]))
		path = path[:k+1]
	}
	return append(out, path)
}

// straighten decides which points of ring r to keep, heeding only the ring itself.
func (s *simplifier) straighten(r int) {
	ring, keep := s.rings[r], s.keep[r]
	far, most := 0, -1.0
	for i, p := range ring {
		if d := gridDistance(p, ring[0], ring[0]); d > most {
			far, most = i, d
		}
	}
	keep[0], keep[far] = true, true
	for _, c := range s.stretches(r) {
		s.subdivide(c)
	}
	// A ring needs a third point; where it has area on the grid, one lies off the line.
	if kept := s.stretches(r); len(kept) == 2 {
		a, da := s.farthest(kept[0])
		b, db := s.farthest(kept[1])
		c := kept[0]
		if db > da {
			a, c = b, kept[1]
		}
		s.splitAt(c, a)
	}
}

// subdivide keeps points of the stretch until none is farther than the
// tolerance from its chord.
func (s *simplifier) subdivide(c stretch) {
	todo := []stretch{c}
	for len(todo) > 0 && s.left > 0 {
		c = todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if k, d := s.farthest(c); d > s.tol {
			s.keep[c.ring][k] = true
			first, second := c.parts(k)
			todo = append(todo, second, first)
		}
	}
}

// splitAt keeps the stretch's point k, and those that the new chords then need.
func (s *simplifier) splitAt(c stretch, k int) {
	s.keep[c.ring][k] = true
	first, second := c.parts(k)
	s.subdivide(first)
	s.subdivide(second)
}

// stretch is a run of a ring's points between two kept ones: from the point
// numbered from over count edges, round the ring's end if need be.
type stretch struct {
	s           *simplifier
	ring        int
	from, count int
}

func (c stretch) n() int { return len(c.s.rings[c.ring]) }

func (c stretch) point(i int) gridPoint { return c.s.rings[c.ring][(c.from+i)%c.n()] }

func (c stretch) chord() (a, b gridPoint) { return c.point(0), c.point(c.count) }

// parts are the stretches up to and from the ring's point k.
func (c stretch) parts(k int) (first, second stretch) {
	at := (k - c.from + c.n()) % c.n()
	return stretch{c.s, c.ring, c.from, at}, stretch{c.s, c.ring, k, c.count - at}
}

// stretches lists the runs between kept points of ring r.
func (s *simplifier) stretches(r int) []stretch {
	var kept []int
	for i, k := range s.keep[r] {
		if k {
			kept = append(kept, i)
		}
	}
	out := make([]stretch, len(kept))
	for i, from := range kept {
		to := kept[(i+1)%len(kept)]
		count := to - from
		if count <= 0 {
			count += len(s.keep[r])
		}
		out[i] = stretch{s, r, from, count}
	}
	return out
}

// farthest is the number of the stretch's inner point that is farthest from its
// chord, and the distance; −1 if there is none.
func (s *simplifier) farthest(c stretch) (at int, distance float64) {
	at, distance = -1, -1
	c.s.left -= c.count
	a, b := c.chord()
	for i := 1; i < c.count; i++ {
		if d := gridDistance(c.point(i), a, b); d > distance {
			at, distance = (c.from+i)%c.n(), d
		}
	}
	return at, distance
}

// gridDistance is the distance of p from the segment ab.
func gridDistance(p, a, b gridPoint) float64 {
	px, py := float64(p.x-a.x), float64(p.y-a.y)
	dx, dy := float64(b.x-a.x), float64(b.y-a.y)
	if length2 := float64(dx*dx) + float64(dy*dy); length2 > 0 {
		t := min(max((float64(px*dx)+float64(py*dy))/length2, 0), 1)
		px, py = px-float64(t*dx), py-float64(t*dy)
	}
	return math.Hypot(px, py)
}

// putBack looks for straightened stretches that conflict with another stretch's
// chord or have passed over a point of another, and puts back one point of
// each. It reports whether it did.
func (s *simplifier) putBack() bool {
	var all []stretch
	var chords, corners []gridBox
	for r := range s.rings {
		for _, c := range s.stretches(r) {
			a, b := c.chord()
			all = append(all, c)
			chords = append(chords, boxOf(a, b))
			corners = append(corners, gridBox{a, a})
		}
	}
	chordTree, cornerTree := newBoxTree(chords), newBoxTree(corners)
	again := map[int]bool{}
	s.left -= len(all)
	for i, c := range all {
		if s.left <= 0 {
			break
		}
		if c.count == 1 {
			continue
		}
		a, b := c.chord()
		chordTree.near(a, b, func(j int32) {
			s.left--
			if other := all[j]; int(j) != i {
				if p, q := other.chord(); conflict(a, b, p, q) {
					again[i] = true
					if other.count > 1 {
						again[int(j)] = true
					}
				}
			}
		})
		box := boxOf(a, b)
		for k := 1; k < c.count; k++ {
			box = box.union(gridBox{c.point(k), c.point(k)})
		}
		cornerTree.within(box, func(j int32) {
			s.left--
			if p, _ := all[j].chord(); s.left > 0 && !again[i] && p != a && p != b && c.covers(p) {
				again[i] = true
			}
		})
	}
	for i := range again {
		at, _ := s.farthest(all[i])
		s.splitAt(all[i], at)
	}
	return len(again) > 0
}

// conflict reports whether the segments ab and pq have more in common than an
// end. One without length is a point, which has no more than itself.
func conflict(a, b, p, q gridPoint) bool {
	if a == q || b == q {
		p, q = q, p
	}
	if b == p {
		a, b = b, a
	}
	if a == p {
		return b == q || turn(a, b, q) == 0 &&
			int64(b.x-a.x)*int64(q.x-a.x)+int64(b.y-a.y)*int64(q.y-a.y) > 0
	}
	tp, tq, ta, tb := sign64(turn(a, b, p)), sign64(turn(a, b, q)), sign64(turn(p, q, a)), sign64(turn(p, q, b))
	u, v := boxOf(a, b), boxOf(p, q)
	return tp*tq <= 0 && ta*tb <= 0 &&
		u.lo.x <= v.hi.x && v.lo.x <= u.hi.x && u.lo.y <= v.hi.y && v.lo.y <= u.hi.y
}

// covers reports whether p lies between the stretch and its chord, by counting
// how often their closed line passes to the right of p.
func (c stretch) covers(p gridPoint) bool {
	inside := false
	c.s.left -= c.count
	for i := 0; i <= c.count; i++ {
		a, b := c.point(i), c.point(i+1)
		if i == c.count {
			b = c.point(0)
		}
		if p == a {
			return false // a point of the stretch itself
		}
		if (a.y > p.y) != (b.y > p.y) {
			if t := turn(a, b, p); b.y > a.y && t > 0 || b.y < a.y && t < 0 {
				inside = !inside
			}
		}
	}
	return inside
}
