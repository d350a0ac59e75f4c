package sound

import (
	"math"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
)

// meeting says how two triangles meet otherwise than along what they share.
type meeting uint8

const (
	apart   meeting = iota
	touch           // they meet, and neither passes through the other
	through         // each has interior points on both sides of the other, where they meet
)

// corners are those of a triangle, in its order.
type corners [3]mesh.Vec

func cornersOf(m *mesh.Mesh, i int32) corners {
	a, b, c := m.Corners(int(i))
	return corners{a, b, c}
}

// plane is the triangle's, for quick tests.
func (s *corners) plane() exact.Plane { return exact.NewPlane(s[0], s[1], s[2]) }

// hasArea decides exactly whether the corners do not lie on one line.
func (s *corners) hasArea() bool {
	p := s.plane()
	return p.HasArea() || !exact.Collinear(s[0], s[1], s[2])
}

// meet says how triangles a and b of m meet. Vertices are shared by number: two
// with equal coordinates but different numbers are a place where surfaces touch
// that do not belong together. Both triangles must have three different vertices;
// where one has no area the answer means nothing.
//
//   - Sharing no vertex, they meet if they have any point in common.
//   - Sharing one, if they have another point in common: then the side that is
//     opposite the shared corner in one of them meets the other triangle, since
//     what they have in common is convex and must end somewhere.
//   - Sharing a side, if they lie in one plane and on one side of it.
//   - Sharing all three, always.
func meet(m *mesh.Mesh, a, b int32) meeting {
	ta, tb := m.Triangles[a], m.Triangles[b]
	shared, i, j := 0, 0, 0 // i, j: the last shared corner; with two, their sum tells the third
	sumA, sumB := 0, 0
	for x, v := range ta {
		for y, w := range tb {
			if v == w {
				shared++
				i, j = x, y
				sumA, sumB = sumA+x, sumB+y
			}
		}
	}
	s, t := cornersOf(m, a), cornersOf(m, b)
	switch shared {
	case 0:
		return meetAnywhere(&s, &t)
	case 1:
		return meetBeyondCorner(
			&corners{s[i], s[(i+1)%3], s[(i+2)%3]},
			&corners{t[j], t[(j+1)%3], t[(j+2)%3]})
	case 2:
		x, y := 3-sumA, 3-sumB
		if folded(s[(x+1)%3], s[(x+2)%3], s[x], t[y]) {
			return touch
		}
		return apart
	default:
		return touch
	}
}

// folded reports whether a and b lie in one plane with the line pq and on the
// same side of it.
func folded(p, q, a, b mesh.Vec) bool {
	pa, pb := exact.NewPlane(p, q, a), exact.NewPlane(p, q, b)
	// Sides that open by more than a right angle are the rule, and flat ones are
	// decided here too. Each normal is off by less than 2^-50 of the sums of its
	// products taken positive, which are at most 2·|pq|·|pa| along each axis.
	n, o := pa.Normal(), pb.Normal()
	u, v, w := q.Sub(p), a.Sub(p), b.Sub(p)
	if n.Dot(o) < -0x1p-44*(u.Dot(u)*math.Sqrt(v.Dot(v)*w.Dot(w)))-0x1p-900 {
		return false
	}
	if _, certain := pa.Height(b); certain || exact.SideExactly(p, q, a, b) != 0 {
		return false
	}
	k := projection(&corners{p, q, a})
	return turn(k, p, q, a)*turn(k, p, q, b) > 0
}

// side is a corner's side of the other triangle's plane: −1, 0, 1, or unknown.
const unknown = 2

// sides tells on which side of s's plane each corner of t lies, as far as float64
// can; same says that all are certainly on one side.
func sides(p *exact.Plane, t *corners) (side [3]int, same bool) {
	for k := range t {
		h, certain := p.Height(t[k])
		switch {
		case !certain:
			side[k] = unknown
		case h > 0:
			side[k] = 1
		default:
			side[k] = -1
		}
	}
	return side, side[0] != unknown && side[0] == side[1] && side[1] == side[2]
}

// settle decides exactly what sides left unknown.
func settle(side *[3]int, s, t *corners) {
	for k := range t {
		if side[k] == unknown {
			side[k] = exact.SideExactly(s[0], s[1], s[2], t[k])
		}
	}
}

// straddles reports whether corners lie strictly on both sides.
func straddles(side [3]int) bool {
	return min(side[0], side[1], side[2]) < 0 && max(side[0], side[1], side[2]) > 0
}

// clear reports whether all corners lie strictly on one side.
func clear(side [3]int) bool {
	return min(side[0], side[1], side[2]) > 0 || max(side[0], side[1], side[2]) < 0
}

func meetAnywhere(s, t *corners) meeting {
	ps := s.plane()
	ofT, same := sides(&ps, t)
	if same {
		return apart
	}
	pt := t.plane()
	ofS, same := sides(&pt, s)
	if same || shadowsApart(ps.Normal(), s, t) {
		return apart
	}
	settle(&ofT, s, t)
	settle(&ofS, t, s)
	if clear(ofT) || clear(ofS) {
		return apart
	}
	if straddles(ofT) && straddles(ofS) {
		inside, onS := ends(t, ofT, s)
		if inside || onS == 2 {
			return through
		}
		inside, onT := ends(s, ofS, t)
		switch {
		case inside || onT == 2:
			return through
		case onS+onT > 0:
			return touch
		}
		return apart
	}
	for k := range 3 {
		l := (k + 1) % 3
		if sideMeets(t[k], t[l], ofT[k], ofT[l], s) || sideMeets(s[k], s[l], ofS[k], ofS[l], t) {
			return touch
		}
	}
	return apart
}

// meetBeyondCorner is meet for triangles that share their first corners.
func meetBeyondCorner(s, t *corners) meeting {
	ps := s.plane()
	ofT, _ := sides(&ps, t)
	if ofT[1] != unknown && ofT[1] == ofT[2] {
		return apart
	}
	pt := t.plane()
	ofS, _ := sides(&pt, s)
	if ofS[1] != unknown && ofS[1] == ofS[2] || wedgesApart(s, t) {
		return apart
	}
	ofT[0], ofS[0] = 0, 0
	settle(&ofT, s, t)
	settle(&ofS, t, s)
	if !sideMeets(t[1], t[2], ofT[1], ofT[2], s) && !sideMeets(s[1], s[2], ofS[1], ofS[2], t) {
		return apart
	}
	if ofT[1]*ofT[2] < 0 && ofS[1]*ofS[2] < 0 {
		return through // both run from the corner in one direction
	}
	return touch
}

// place of a point relative to a triangle whose plane it lies in.
type place uint8

const (
	outside place = iota
	border
	inside
)

// ends looks at the two ends of what t, which straddles s's plane, has in that
// plane: is one strictly inside s, and how many belong to s?
func ends(t *corners, side [3]int, s *corners) (strictly bool, on int) {
	for k := range 3 {
		l := (k + 1) % 3
		at := outside
		switch {
		case side[k] == 0:
			at = s.placeOf(t[k])
		case side[k]*side[l] < 0:
			at = s.placeOfPiercing(t[k], t[l])
		}
		if at != outside {
			on++
		}
		strictly = strictly || at == inside
	}
	return strictly, on
}

// sideMeets reports whether the segment from p to q, whose ends lie on these
// sides of s's plane, has a point of s.
func sideMeets(p, q mesh.Vec, ofP, ofQ int, s *corners) bool {
	switch {
	case ofP == 0 && ofQ == 0:
		return s.placeOf(p) != outside || s.placeOf(q) != outside || s.crossedInPlane(p, q)
	case ofP == 0:
		return s.placeOf(p) != outside
	case ofQ == 0:
		return s.placeOf(q) != outside
	case ofP == ofQ:
		return false
	}
	return s.placeOfPiercing(p, q) != outside
}

// placeOfPiercing is the place of the point at which pq, whose ends lie on
// different sides of the plane, goes through it.
func (s *corners) placeOfPiercing(p, q mesh.Vec) place {
	return placeFrom(exact.Side(p, q, s[0], s[1]), exact.Side(p, q, s[1], s[2]), exact.Side(p, q, s[2], s[0]))
}

// placeOf is the place of a point of the plane.
func (s *corners) placeOf(p mesh.Vec) place {
	k := projection(s)
	return placeFrom(turn(k, s[0], s[1], p), turn(k, s[1], s[2], p), turn(k, s[2], s[0], p))
}

// placeFrom reads the signs of a point against the three sides in turn.
func placeFrom(a, b, c int) place {
	switch lo, hi := min(a, b, c), max(a, b, c); {
	case lo < 0 && hi > 0:
		return outside
	case a != 0 && b != 0 && c != 0:
		return inside
	}
	return border
}

// crossedInPlane reports whether the segment pq of the plane has a point of one of s's sides.
func (s *corners) crossedInPlane(p, q mesh.Vec) bool {
	k := projection(s)
	for i := range 3 {
		a, b := s[i], s[(i+1)%3]
		a1, b1 := turn(k, p, q, a), turn(k, p, q, b)
		p1, q1 := turn(k, a, b, p), turn(k, a, b, q)
		// Where all four are 0 they are on one line; then a common point is found by
		// an end of pq in s, or else pq holds the whole side, and p is beyond one
		// end of it and q beyond the other.
		if a1 == 0 && b1 == 0 {
			if between(a, p, q) || between(b, p, q) {
				return true
			}
			continue
		}
		if a1*b1 <= 0 && p1*q1 <= 0 {
			return true
		}
	}
	return false
}

// between reports whether a, on the line of p and q, lies between them: it does if it does
// along each axis.
func between(a, p, q mesh.Vec) bool {
	return min(p.X, q.X) <= a.X && a.X <= max(p.X, q.X) &&
		min(p.Y, q.Y) <= a.Y && a.Y <= max(p.Y, q.Y) &&
		min(p.Z, q.Z) <= a.Z && a.Z <= max(p.Z, q.Z)
}

// projection is an axis along which s's shadow certainly has an area, if s has.
func projection(s *corners) int {
	p := s.plane()
	k := greatest(p.Normal())
	if p.HasArea() && turn(k, s[0], s[1], s[2]) != 0 {
		return k
	}
	for k := range 2 {
		if turn(k, s[0], s[1], s[2]) != 0 {
			return k
		}
	}
	return 2
}

// greatest is the axis of v's greatest component.
func greatest(v mesh.Vec) int {
	x, y, z := math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z)
	switch {
	case x >= y && x >= z:
		return 0
	case y >= z:
		return 1
	}
	return 2
}

// flat is p seen along axis k.
func flat(k int, p mesh.Vec) exact.Point {
	switch k {
	case 0:
		return exact.Point{X: p.Y, Y: p.Z}
	case 1:
		return exact.Point{X: p.Z, Y: p.X}
	}
	return exact.Point{X: p.X, Y: p.Y}
}

func turn(k int, a, b, c mesh.Vec) int { return exact.Turn(flat(k, a), flat(k, b), flat(k, c)) }

// shadowsApart tells quickly that two triangles have nothing in common, from
// their shadows along the greatest component of s's normal: a side of one has
// the other triangle certainly beyond it. False means nothing.
func shadowsApart(normal mesh.Vec, s, t *corners) bool {
	k := greatest(normal)
	var p, q [3]exact.Point
	for i := range 3 {
		p[i], q[i] = flat(k, s[i]), flat(k, t[i])
	}
	return beyondASide(&p, &q) || beyondASide(&q, &p)
}

func beyondASide(p, q *[3]exact.Point) bool {
	way := quickTurn(p[0], p[1], p[2])
	if way == 0 {
		return false
	}
	for i := range 3 {
		a, b := p[i], p[(i+1)%3]
		if quickTurn(a, b, q[0]) == -way && quickTurn(a, b, q[1]) == -way && quickTurn(a, b, q[2]) == -way {
			return true
		}
	}
	return false
}

// quickTurn is exact.Turn where float64 is certain, and else 0. The bound is
// three roundings of either product (two differences and the product itself),
// taken as four.
func quickTurn(a, b, c exact.Point) int {
	l, r := float64((b.X-a.X)*(c.Y-a.Y)), float64((b.Y-a.Y)*(c.X-a.X))
	det, bound := l-r, 4*0x1p-53*(math.Abs(l)+math.Abs(r))+0x1p-900
	switch {
	case det > bound:
		return 1
	case det < -bound:
		return -1
	}
	return 0
}

// wedgesApart reports whether the shadows of two triangles with a common first
// corner, along the greatest component of s's normal, have a line through that
// corner between them, so that the triangles have only the corner in common. In
// one plane there is such a line along a side of one of them if there is any.
func wedgesApart(s, t *corners) bool {
	ps := s.plane()
	k := greatest(ps.Normal())
	var p, q [3]exact.Point
	for i := range 3 {
		p[i], q[i] = flat(k, s[i]), flat(k, t[i])
	}
	return wedgeBeyond(p[0], p[1], p[2], q[1], q[2]) || wedgeBeyond(p[0], p[2], p[1], q[1], q[2]) ||
		wedgeBeyond(p[0], q[1], q[2], p[1], p[2]) || wedgeBeyond(p[0], q[2], q[1], p[1], p[2])
}

// wedgeBeyond reports whether the line from v through a has b strictly on one
// side and neither c nor d on that side nor on the ray from v through a.
func wedgeBeyond(v, a, b, c, d exact.Point) bool {
	way := exact.Turn(v, a, b)
	if way == 0 {
		return false
	}
	for _, p := range [2]exact.Point{c, d} {
		switch exact.Turn(v, a, p) {
		case way:
			return false
		case 0:
			if alongside(v, a, p) {
				return false
			}
		}
	}
	return true
}

// alongside reports whether p, on the line of v and a, lies on a's side of v, or on v.
func alongside(v, a, p exact.Point) bool {
	if a.X != v.X {
		return p.X == v.X || (p.X > v.X) == (a.X > v.X)
	}
	return p.Y == v.Y || (p.Y > v.Y) == (a.Y > v.Y)
}
