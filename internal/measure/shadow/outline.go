package shadow

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"cardback/internal/mesh"
)

// Point is a place in a view's plane, in mm.
type Point struct{ X, Y float64 }

// Ring is a closed polygon; the last point joins the first. Outer rings run
// counter-clockwise, holes clockwise.
type Ring []Point

// Outline is the boundary of a region of the plane: outer rings and holes,
// disjoint, each simple.
type Outline []Ring

// Area is the region's area in mm²: the shoelace sum over all rings, each about
// its first point, so that the distance from the origin costs no digits.
func (o Outline) Area() float64 {
	var sum float64
	for _, r := range o {
		for i := 2; i < len(r); i++ {
			ax, ay, bx, by := r[i-1].X-r[0].X, r[i-1].Y-r[0].Y, r[i].X-r[0].X, r[i].Y-r[0].Y
			sum += float64(ax*by) - float64(bx*ay)
		}
	}
	return sum / 2
}

// ConvexRing is the corners of the points' convex hull, counter-clockwise
// (Andrew's monotone chain, in float64: a corner nearer to a line than its
// rounding may be left out): two for points on a line, one for one place.
func ConvexRing(points []Point) Ring {
	pts := slices.Clone(points)
	slices.SortFunc(pts, func(a, b Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	pts = slices.Compact(pts)
	var ring Ring
	grow := func(p Point, floor int) {
		for n := len(ring); n > floor; n = len(ring) {
			a, b := ring[n-2], ring[n-1]
			if float64((b.X-a.X)*(p.Y-a.Y))-float64((b.Y-a.Y)*(p.X-a.X)) > 0 {
				break
			}
			ring = ring[:n-1]
		}
		ring = append(ring, p)
	}
	for _, p := range pts {
		grow(p, 1)
	}
	floor := len(ring)
	for i := len(pts) - 2; i >= 0; i-- {
		grow(pts[i], floor)
	}
	if len(ring) > 1 {
		ring = ring[:len(ring)-1]
	}
	return ring
}

// convexOutline is the outline of the points' convex hull; nil for points on a
// line.
func convexOutline(points []Point) Outline {
	if ring := ConvexRing(points); len(ring) > 2 {
		return Outline{ring}
	}
	return nil
}

// OrHull is Of, or the outline of the convex hull where that is too
// intricate; rough tells which.
func OrHull(ctx context.Context, m *mesh.Mesh, v View) (o Outline, rough bool, err error) {
	o, err = Of(ctx, m, v)
	if !errors.Is(err, ErrIntricate) {
		return o, false, err
	}
	return convexOutline(seen(m, v)), true, nil
}

// seen are the corners of the triangles as the view shows them.
func seen(m *mesh.Mesh, v View) []Point {
	var out []Point
	for _, t := range m.Triangles {
		for _, i := range t {
			x, y, _ := v.Project(m.Vertices[i])
			out = append(out, Point{X: x, Y: y})
		}
	}
	return out
}
