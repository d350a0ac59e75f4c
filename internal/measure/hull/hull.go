// Package hull answers which points of a mesh or of a list are extreme, and how far
// apart the farthest two are. Its central type is Hull.
//
// Which points are extreme is decided in exact arithmetic: no tolerance enters, so
// that a proof may rest on the hull. Volume and area are float64 sums over its
// facets; the diameter is exact up to the rounding of one distance.
package hull

import (
	"context"
	"fmt"
	"slices"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
)

// Hull is the convex hull of a point set. Its vertices are exactly the extreme
// points, in ascending order by x, y, z.
type Hull struct {
	Vertices []mesh.Vec
	// Volume is in mm³, 0 for points in one plane; Area, in mm², then counts both
	// sides of the polygon, which is what a hull thinned down to it comes to. Both
	// are float64 sums over the facets.
	Volume, Area float64
}

// Of is the hull of the corners of the mesh's triangles, whatever the mesh.
// The error is that of mesh.Check or of ctx.
func Of(ctx context.Context, m *mesh.Mesh) (Hull, error) {
	if err := m.Check(); err != nil {
		return Hull{}, fmt.Errorf("hull: %w", err)
	}
	return ofPoints(ctx, usedPoints(m))
}

// usedPoints are the vertices that triangles use, in the mesh's order. Where that
// is all of them, as in every mesh that was read, it is the mesh's own list.
func usedPoints(m *mesh.Mesh) []mesh.Vec {
	used := make([]bool, len(m.Vertices))
	n := 0
	for _, t := range m.Triangles {
		for _, v := range t {
			if !used[v] {
				used[v] = true
				n++
			}
		}
	}
	if n == len(m.Vertices) {
		return m.Vertices
	}
	out := make([]mesh.Vec, 0, n)
	for v, p := range m.Vertices {
		if used[v] {
			out = append(out, p)
		}
	}
	return out
}

func compare(a, b mesh.Vec) int {
	for _, d := range [3][2]float64{{a.X, b.X}, {a.Y, b.Y}, {a.Z, b.Z}} {
		if d[0] < d[1] {
			return -1
		}
		if d[0] > d[1] {
			return 1
		}
	}
	return 0
}

// ofPoints is the hull of finite points. Points in one plane give the corners of
// a polygon, points on one line its two ends. The error is that of ctx.
//
// The method is quickhull (Barber, Dobkin & Huhdanpaa, The quickhull algorithm
// for convex hulls, ACM Transactions on Mathematical Software 22, 1996): a
// tetrahedron grows by the point farthest outside one of its facets. It is kept
// in triangles, and only facets that the new point lies strictly outside of are
// replaced. Seen from the new point, moved towards the inside by less than
// anything, these are just the facets in sight, so they are one connected patch
// with one simple border, whatever lies in one plane or on one line; and as no
// border edge is in line with the new point (it would then lie in the plane of
// the facet in sight), no new triangle is without area. Since the sides are
// decided exactly, no tolerance enters.
func ofPoints(ctx context.Context, points []mesh.Vec) (Hull, error) {
	if len(points) == 0 {
		return Hull{}, nil
	}
	corners, dimension := simplex(points)
	switch dimension {
	case 0:
		return Hull{Vertices: []mesh.Vec{points[0]}}, nil
	case 1:
		return Hull{Vertices: []mesh.Vec{slices.MinFunc(points, compare), slices.MaxFunc(points, compare)}}, nil
	case 2:
		return flatHull(points, corners), nil
	}
	q := newQuickhull(points, corners)
	if err := q.grow(ctx); err != nil {
		return Hull{}, err
	}
	return q.result(), nil
}

// simplex picks corners of a large tetrahedron, and says in how many dimensions
// the points extend; only the first dimension + 1 corners mean anything.
func simplex(points []mesh.Vec) (corner [4]int32, dimension int) {
	farthest := func(size func(p mesh.Vec) float64, sound func(p mesh.Vec) bool) (int32, bool) {
		best, at := -1.0, 0
		for i, p := range points {
			if s := size(p); s > best {
				best, at = s, i
			}
		}
		if sound(points[at]) {
			return int32(at), true
		}
		at = slices.IndexFunc(points, sound)
		return int32(at), at >= 0
	}
	var ok bool
	a := points[0]
	if corner[1], ok = farthest(
		func(p mesh.Vec) float64 { d := p.Sub(a); return d.Dot(d) },
		func(p mesh.Vec) bool { return p != a }); !ok {
		return corner, 0
	}
	b := points[corner[1]]
	if corner[2], ok = farthest(
		func(p mesh.Vec) float64 { c := b.Sub(a).Cross(p.Sub(a)); return c.Dot(c) },
		func(p mesh.Vec) bool { return !exact.Collinear(a, b, p) }); !ok {
		return corner, 1
	}
	c := points[corner[2]]
	base := exact.NewPlane(a, b, c)
	if corner[3], ok = farthest(
		func(p mesh.Vec) float64 { h, _ := base.Height(p); return max(h, -h) },
		func(p mesh.Vec) bool { return exact.Side(a, b, c, p) != 0 }); !ok {
		return corner, 2
	}
	return corner, 3
}

// flatHull is the hull of points that all lie in the plane of three corners.
// They are looked at along the axis that is nearest to the plane's normal; that
// leaves the order of points on any line, and so the hull's vertices.
func flatHull(points []mesh.Vec, corner [4]int32) Hull {
	a, b, c := points[corner[0]], points[corner[1]], points[corner[2]]
	shade := func(p mesh.Vec) exact.Point { return exact.Point{X: p.X, Y: p.Y} }
	if exact.Turn(shade(a), shade(b), shade(c)) == 0 {
		shade = func(p mesh.Vec) exact.Point { return exact.Point{X: p.Y, Y: p.Z} }
	}
	if exact.Turn(shade(a), shade(b), shade(c)) == 0 {
		shade = func(p mesh.Vec) exact.Point { return exact.Point{X: p.Z, Y: p.X} }
	}
	// Andrew's monotone chain (1979), over the lower then the upper side.
	order := slices.Clone(points)
	slices.SortFunc(order, func(p, q mesh.Vec) int {
		s, t := shade(p), shade(q)
		return compare(mesh.Vec{X: s.X, Y: s.Y}, mesh.Vec{X: t.X, Y: t.Y})
	})
	order = slices.Compact(order)
	var ring []mesh.Vec
	chain := func(p mesh.Vec, from int) {
		for len(ring) >= from+2 && exact.Turn(shade(ring[len(ring)-2]), shade(ring[len(ring)-1]), shade(p)) <= 0 {
			ring = ring[:len(ring)-1]
		}
		ring = append(ring, p)
	}
	for _, p := range order {
		chain(p, 0)
	}
	lower := len(ring) - 1
	for _, p := range slices.Backward(order[:len(order)-1]) {
		chain(p, lower)
	}
	ring = ring[:len(ring)-1] // the first point again
	var area mesh.Vec
	for i := 2; i < len(ring); i++ {
		area = area.Add(ring[i-1].Sub(ring[0]).Cross(ring[i].Sub(ring[0])))
	}
	slices.SortFunc(ring, compare)
	return Hull{Vertices: ring, Area: area.Norm()} // twice the half
}
