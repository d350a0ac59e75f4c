package change

import (
	"math"

	"cardback/internal/mesh"
)

// A flat face cut otherwise is near the other surface everywhere, but not near any
// one triangle of it. That it is near all of them together is proved in its
// plane: what of each triangle is within a height τ is laid down onto the face,
// and taken away from it. If nothing is left, each of its points has a point of the
// other surface straight above or below, no farther than τ. What is left by
// roundings are slivers, each of which must be near some one triangle.

// Most triangles and pieces that are looked at before a face is divided instead.
const mostCovering, mostPieces = 48, 96

type point2 struct{ x, y float64 }

// covered reports that every point of triangle abc is certainly within τ of the
// surface. False means nothing.
func (g *target) covered(abc [3]mesh.Vec, tau float64) bool {
	a := abc[0]
	u, v := abc[1].Sub(a), abc[2].Sub(a)
	n := u.Cross(v)
	long := u.Norm()
	if !(n.Norm() > 1e-9*float64(long*v.Norm())) {
		return false
	}
	e, n := u.Scale(1/long), n.Scale(1/n.Norm())
	f := n.Cross(e)
	lo := mesh.Vec{X: min(a.X, abc[1].X, abc[2].X) - tau, Y: min(a.Y, abc[1].Y, abc[2].Y) - tau, Z: min(a.Z, abc[1].Z, abc[2].Z) - tau}
	hi := mesh.Vec{X: max(a.X, abc[1].X, abc[2].X) + tau, Y: max(a.Y, abc[1].Y, abc[2].Y) + tau, Z: max(a.Z, abc[1].Z, abc[2].Z) + tau}
	var near [mostCovering]int32
	count := 0
	g.tree.InBox(mesh.Box{Min: lo, Max: hi}, func(t int32) bool {
		if count < mostCovering {
			near[count] = t
		}
		count++
		return count <= mostCovering
	})
	if count > mostCovering {
		return false
	}
	flat := func(p mesh.Vec) point2 { d := p.Sub(a); return point2{d.Dot(e), d.Dot(f)} }
	pieces := [][]point2{{{}, flat(abc[1]), flat(abc[2])}}
	for _, t := range near[:count] {
		var corners [3]mesh.Vec
		corners[0], corners[1], corners[2] = g.mesh.Corners(int(t))
		shadow := slab(corners, a, n, tau, flat)
		if len(shadow) < 3 {
			continue
		}
		var left [][]point2
		for _, p := range pieces {
			left = without(left, p, shadow)
		}
		if len(left) > mostPieces {
			return false
		}
		pieces = left
	}
	for _, piece := range pieces {
		if !g.nearOne(piece, near[:count], tau, func(p point2) mesh.Vec { return a.Add(e.Scale(p.x)).Add(f.Scale(p.y)) }) {
			return false
		}
	}
	return true
}

// nearOne reports whether some one triangle is within τ of all corners of a piece,
// and so, since a triangle is convex, of the whole of it.
func (g *target) nearOne(piece []point2, near []int32, tau float64, lift func(point2) mesh.Vec) bool {
next:
	for _, t := range near {
		for _, p := range piece {
			if g.gap(lift(p), t) > tau {
				continue next
			}
		}
		return true
	}
	return false
}

// slab is what of a triangle is within τ of the plane through a with normal n, laid
// down onto it, counter-clockwise.
func slab(corners [3]mesh.Vec, a, n mesh.Vec, tau float64, flat func(mesh.Vec) point2) []point2 {
	poly := corners[:]
	for _, side := range [2]float64{1, -1} {
		var kept []mesh.Vec
		for i, p := range poly {
			q := poly[(i+1)%len(poly)]
			hp, hq := tau-float64(side*p.Sub(a).Dot(n)), tau-float64(side*q.Sub(a).Dot(n))
			if hp >= 0 {
				kept = append(kept, p)
			}
			if hp >= 0 != (hq >= 0) {
				kept = append(kept, p.Add(q.Sub(p).Scale(hp/(hp-hq))))
			}
		}
		poly = kept
		if len(poly) < 3 {
			return nil
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
		for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
	}
	if math.Abs(area) == 0 {
		return nil
	}
	return out
}

// without appends what is left of a convex piece when a convex shadow is taken
// away from it: convex pieces again.
func without(to [][]point2, piece, shadow []point2) [][]point2 {
	for i, p := range shadow { // is it all beyond one side?
		q := shadow[(i+1)%len(shadow)]
		beyond := true
		for _, r := range piece {
			beyond = beyond && turn(p, q, r) <= 0
		}
		if beyond {
			return append(to, piece)
		}
	}
	for i, p := range shadow {
		q := shadow[(i+1)%len(shadow)]
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
