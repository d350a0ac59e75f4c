package change

import (
	"cmp"
	"math"
	"slices"

	"cardback/internal/mesh"
)

// A flat face cut otherwise is near the other surface everywhere, but not near any
// one triangle of it. That it is near all of them together is proved in its
// plane: what of each triangle is within a height h is laid down onto the face,
// grown by a width w, and taken away from it. If nothing is left, each point of the
// face has a point of the other surface no farther than √((w√2)² + h²): of a polygon
// that is grown by w, with each corner cut off square at w, no point is farther from
// it than w√2, since neighbouring sides then meet at no more than a right angle. Where
// some point is known to be d away, h has to be more than that: it is half way between
// d and τ, and at least τ/√2, and w is √((τ² − h²)/2), so that all comes to τ. Growing
// is what makes roundings harmless: faces cut otherwise and rounded to 32 bits leave
// slivers of some 10⁻⁵ mm between them.

// roundingOff is taken off widths and heights. Coordinates on the face are sums of three
// products of lengths up to the span, so they are off by less than 2⁻⁵⁰ of it; of the
// least τ, 10⁻⁴ mm, this share is 10⁻⁷ mm, above that up to spans of 100 m.
const roundingOff = 1 - 0x1p-10

// Most triangles near a face, and most pieces that are left in between, before the face
// is divided instead.
const mostNear, mostPieces = 2048, 192

type point2 struct{ x, y float64 }

// shadow is what of a triangle lies on a face, grown.
type shadow struct {
	ring []point2
	area float64
}

// covered reports that every point of triangle abc is certainly within τ of the
// surface, from which some point is found away. False means nothing. Work is in distances, of which laying a triangle down
// and taking it from a piece take the time of an eighth each.
func (g *target) covered(abc [3]mesh.Vec, tau, found float64) (ok bool, work int) {
	a := abc[0]
	u, v := abc[1].Sub(a), abc[2].Sub(a)
	n := u.Cross(v)
	long := u.Norm()
	if !(n.Norm() > 1e-9*float64(long*v.Norm())) {
		return false, 1
	}
	e, n := u.Scale(1/long), n.Scale(1/n.Norm())
	f := n.Cross(e)
	lo := mesh.Vec{X: min(a.X, abc[1].X, abc[2].X) - tau, Y: min(a.Y, abc[1].Y, abc[2].Y) - tau, Z: min(a.Z, abc[1].Z, abc[2].Z) - tau}
	hi := mesh.Vec{X: max(a.X, abc[1].X, abc[2].X) + tau, Y: max(a.Y, abc[1].Y, abc[2].Y) + tau, Z: max(a.Z, abc[1].Z, abc[2].Z) + tau}
	var near []int32
	g.tree.InBox(mesh.Box{Min: lo, Max: hi}, func(t int32) bool {
		near = append(near, t)
		return len(near) <= mostNear
	})
	laid := len(near)
	defer func() { work = 1 + laid/8 }()
	if len(near) > mostNear {
		return false, 0
	}
	flat := func(p mesh.Vec) point2 { d := p.Sub(a); return point2{d.Dot(e), d.Dot(f)} }
	face := []point2{{}, flat(abc[1]), flat(abc[2])}
	height := max(tau/math.Sqrt2, (tau+min(found, tau))/2)
	width := math.Sqrt(max(float64(tau*tau)-float64(height*height), 0)/2) * roundingOff
	height *= roundingOff
	var over []shadow
	for _, t := range near {
		var corners [3]mesh.Vec
		corners[0], corners[1], corners[2] = g.mesh.Corners(int(t))
		ring, area := slab(corners, a, n, height, flat)
		if ring = grown(ring, width); len(ring) < 3 || apart(face, ring) || apart(ring, face) {
			continue
		}
		over = append(over, shadow{ring, area})
	}
	slices.SortStableFunc(over, func(a, b shadow) int { return cmp.Compare(b.area, a.area) }) // so that few pieces are made
	pieces := [][]point2{face}
	for _, s := range over {
		if len(pieces) == 0 {
			break
		}
		laid += len(pieces)
		var left [][]point2
		for _, p := range pieces {
			left = without(left, p, s.ring)
		}
		if len(left) > mostPieces {
			return false, 0
		}
		pieces = left
	}
	for _, piece := range pieces {
		if !g.nearOne(piece, near, tau*roundingOff, func(p point2) mesh.Vec { return a.Add(e.Scale(p.x)).Add(f.Scale(p.y)) }) {
			return false, 0
		}
	}
	return true, 0
}

// mostTriedForOne is among how many triangles one is looked for that has a piece.
const mostTriedForOne = 64

// nearOne reports whether some one triangle is within τ of all corners of a piece,
// and so, since a triangle is convex, of the whole of it.
func (g *target) nearOne(piece []point2, near []int32, tau float64, lift func(point2) mesh.Vec) bool {
next:
	for _, t := range near[:min(len(near), mostTriedForOne)] {
		for _, p := range piece {
			if g.gap(lift(p), t) > tau {
				continue next
			}
		}
		return true
	}
	return false
}

// slab is what of a triangle is within h of the plane through a with normal n, laid
// down onto it, counter-clockwise, with its area.
func slab(corners [3]mesh.Vec, a, n mesh.Vec, h float64, flat func(mesh.Vec) point2) ([]point2, float64) {
	poly := corners[:]
	for _, side := range [2]float64{1, -1} {
		var kept []mesh.Vec
		for i, p := range poly {
			q := poly[(i+1)%len(poly)]
			hp, hq := h-float64(side*p.Sub(a).Dot(n)), h-float64(side*q.Sub(a).Dot(n))
			if hp >= 0 {
				kept = append(kept, p)
			}
			if hp >= 0 != (hq >= 0) {
				kept = append(kept, p.Add(q.Sub(p).Scale(hp/(hp-hq))))
			}
		}
		poly = kept
		if len(poly) < 3 {
			return nil, 0
		}
	}
	out := make([]point2, len(poly))
	area := 0.0
	for i, p := range poly {
		out[i] = flat(p)
	}
	for i, p := range out {
		q := out[(i+1)%len(out)]
		area += float64(p.x*q.y) - float64(q.x*p.y)
	}
	if area < 0 {
		slices.Reverse(out)
	}
	if !(math.Abs(area) > 0) {
		return nil, 0
	}
	return out, math.Abs(area) / 2
}

// grown moves each side of a convex counter-clockwise ring outwards by w and cuts off
// its corners square at that distance, so that no point of it is farther than w√2 from
// the ring. Sides too short to have a direction are left out, which takes away only.
func grown(ring []point2, w float64) []point2 {
	var kept []point2
	for _, p := range ring {
		if k := len(kept); k > 0 && math.Hypot(p.x-kept[k-1].x, p.y-kept[k-1].y) <= w*1e-6 {
			continue
		}
		kept = append(kept, p)
	}
	for len(kept) > 1 && math.Hypot(kept[0].x-kept[len(kept)-1].x, kept[0].y-kept[len(kept)-1].y) <= w*1e-6 {
		kept = kept[:len(kept)-1]
	}
	if len(kept) < 3 {
		return nil
	}
	side := func(i int) point2 { // the outward normal of the side from corner i
		p, q := kept[i], kept[(i+1)%len(kept)]
		long := math.Hypot(q.x-p.x, q.y-p.y)
		return point2{(q.y - p.y) / long, (p.x - q.x) / long}
	}
	out := make([]point2, 0, 2*len(kept))
	before := side(len(kept) - 1)
	for i, p := range kept {
		after := side(i)
		square := point2{before.x + after.x, before.y + after.y}
		if long := math.Hypot(square.x, square.y); long > 1e-6 {
			square = point2{square.x / long, square.y / long}
		} else {
			square = point2{-before.y, before.x} // straight on, at the tip of a needle
		}
		for _, s := range [2]point2{before, after} {
			// Where two lines at distance w meet, s and square being their normals.
			mid := point2{s.x + square.x, s.y + square.y}
			reach := 2 * w / (float64(mid.x*mid.x) + float64(mid.y*mid.y))
			out = append(out, point2{p.x + float64(mid.x*reach), p.y + float64(mid.y*reach)})
		}
		before = after
	}
	return out
}

// apart reports whether some side of ring a has all of b beyond it.
func apart(a, b []point2) bool {
next:
	for i, p := range a {
		q := a[(i+1)%len(a)]
		for _, r := range b {
			if turn(p, q, r) > 0 {
				continue next
			}
		}
		return true
	}
	return false
}

// without appends what is left of a convex piece when a convex shadow is taken
// away from it: convex pieces again.
func without(to [][]point2, piece, shadow []point2) [][]point2 {
	if apart(shadow, piece) || apart(piece, shadow) {
		return append(to, piece)
	}
	for i, p := range shadow {
		q := shadow[(i+1)%len(shadow)]
		if p == q {
			continue
		}
		var in, out []point2
		for k, r := range piece {
			s := piece[(k+1)%len(piece)]
			hr, hs := turn(p, q, r), turn(p, q, s)
			if hr >= 0 {
				in = append(in, r)
			}
			if hr <= 0 {
				out = append(out, r)
			}
			if hr > 0 && hs < 0 || hr < 0 && hs > 0 {
				t := hr / (hr - hs)
				cut := point2{r.x + float64(t*(s.x-r.x)), r.y + float64(t*(s.y-r.y))}
				in, out = append(in, cut), append(out, cut)
			}
		}
		if len(out) >= 3 {
			to = append(to, out)
		}
		if len(in) < 3 {
			return to
		}
		piece = in
	}
	return to
}

func turn(p, q, r point2) float64 {
	return float64((q.x-p.x)*(r.y-p.y)) - float64((q.y-p.y)*(r.x-p.x))
}
