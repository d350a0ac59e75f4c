package bore

import (
	"math"

	"cardback/internal/mesh"
)

// clearance is the least distance from the cylinder's axis, between the places lo
// and hi along it, to any triangle of the mesh; at most far. What is near is looked
// for first, so that a hole within many others does not look at all of them.
func (f *finder) clearance(c *cylinder, lo, hi, far float64) float64 {
	for _, share := range [3]float64{1. / 16, 1. / 4, 1} {
		if least := f.nearer(c, lo, hi, far*share); least < far*share {
			return least
		}
	}
	return far
}

// nearer is clearance for triangles nearer than far.
func (f *finder) nearer(c *cylinder, lo, hi, far float64) float64 {
	u, v := frame(c.axis)
	a, b := c.at.Add(c.axis.Scale(lo)), c.at.Add(c.axis.Scale(hi))
	side := mesh.Vec{X: far, Y: far, Z: far}
	box := mesh.Box{
		Min: mesh.Vec{X: min(a.X, b.X), Y: min(a.Y, b.Y), Z: min(a.Z, b.Z)}.Sub(side),
		Max: mesh.Vec{X: max(a.X, b.X), Y: max(a.Y, b.Y), Z: max(a.Z, b.Z)}.Add(side),
	}
	least := far
	f.tree.InBox(box, func(i int32) bool {
		if !f.spend(1) {
			return false
		}
		p, q, r := f.Corners(int(i))
		var buffer, other [8][3]float64
		poly := buffer[:0]
		for _, x := range [3]mesh.Vec{p, q, r} {
			t, x, y := c.across(x, u, v)
			poly = append(poly, [3]float64{t, x, y})
		}
		poly = clip(poly, other[:0], lo, 1)
		poly = clip(poly, buffer[:0], hi, -1)
		least = min(least, fromOrigin(poly))
		return least > 0
	})
	return least
}

// clip keeps the part of a polygon whose first coordinate, times way, is at least
// the limit's.
func clip(poly, to [][3]float64, limit, way float64) [][3]float64 {
	for i, p := range poly {
		q := poly[(i+1)%len(poly)]
		a, b := (p[0]-limit)*way, (q[0]-limit)*way
		if a >= 0 {
			to = append(to, p)
		}
		if a >= 0 != (b >= 0) {
			s := a / (a - b)
			to = append(to, [3]float64{limit, p[1] + float64(s*(q[1]-p[1])), p[2] + float64(s*(q[2]-p[2]))})
		}
	}
	return to
}

// fromOrigin is the distance of a polygon, seen along the first coordinate, from
// the origin: 0 where it lies over it.
func fromOrigin(poly [][3]float64) float64 {
	if len(poly) == 0 {
		return math.Inf(1)
	}
	least := math.Inf(1)
	left, right := false, false
	for i, p := range poly {
		q := poly[(i+1)%len(poly)]
		dx, dy := q[1]-p[1], q[2]-p[2]
		turn := float64(p[1]*q[2]) - float64(p[2]*q[1])
		left, right = left || turn > 0, right || turn < 0
		s := 0.0
		if square := float64(dx*dx) + float64(dy*dy); square > 0 {
			s = min(1, max(0, -(float64(p[1]*dx)+float64(p[2]*dy))/square))
		}
		least = min(least, math.Hypot(p[1]+float64(s*dx), p[2]+float64(s*dy)))
	}
	if left != right { // the origin is on one side of all edges
		return 0
	}
	return least
}

// blocked says whether any triangle lies on the axis between two places.
func (f *finder) blocked(c *cylinder, from, to float64) bool {
	way := 1.0
	if to < from {
		way = -1
	}
	at, along := c.at.Add(c.axis.Scale(from)), c.axis.Scale(way)
	far := math.Abs(to - from)
	hit := false
	f.tree.AlongRay(at, along, far, func(i int32) float64 {
		if hit {
			return -1
		}
		a, b, d := f.Corners(int(i))
		e1, e2 := b.Sub(a), d.Sub(a)
		h := along.Cross(e2)
		det := e1.Dot(h)
		if det == 0 {
			return far
		}
		s := at.Sub(a)
		q := s.Cross(e1)
		x, y, t := s.Dot(h)/det, along.Dot(q)/det, e2.Dot(q)/det
		// A little beyond the edges, so that a ray through a corner does not slip
		// between the triangles round it.
		const rim = 1e-9
		if x >= -rim && y >= -rim && x+y <= 1+rim && t >= 0 && t <= far {
			hit = true
			return -1
		}
		return far
	})
	return hit
}
