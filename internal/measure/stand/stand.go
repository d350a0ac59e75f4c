// Package stand says whether a body stands by itself, as its mesh lies: on the
// lowest of its points, upright along z.
//
// The central type is [Report]; [Of] makes it. The body is taken as rigid and of
// one density throughout, on a level floor that it does not slide on, and at rest.
// Then it stands where its centre of mass is above the inside of its support polygon, the
// convex hull of the points that touch the floor, and it tips over the edge that is nearest: by
// the angle whose tangent is the distance of that edge from below the centre, over the
// centre's height (the textbook rule).
//
// A printed sole is never exact, so points within [Level] of the lowest count as
// touching. What a print does not have in common with the mesh is not known here: a hollow
// print or one with sparse filling has its centre elsewhere, and so has a
// figure with hardware in it. Shells that overlap count twice where they do.
package stand

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
)

// Level is how far above its lowest point, in mm, a body may touch the floor: one
// thin layer, by which a sole may be off (common practice, no source). A body
// that rests on three points and has a fourth at that height rocks by no more.
const Level = 0.05

// ErrOpen says that a mesh encloses no volume that could have a centre: it is
// open, its triangles face both ways, it is inside out, or it is flat.
var ErrOpen = errors.New("it encloses nothing, so it has no centre of mass")

// Report is how a body stands. Lengths are mm, angles radians.
type Report struct {
	Support []mesh.Vec // corners of the support polygon, counter-clockwise from above, all at the floor's height; two for a line, one for a point
	Centre  mesh.Vec   // of mass
	Height  float64    // of the centre above the floor
	Area    float64    // of the support polygon, mm²
	// Margin is how far the point below the centre lies inside the polygon, from
	// its nearest edge; negative where it lies outside, zero on the edge.
	Margin float64
	Stands bool
	// Tip is by how much the body may be tipped before it falls, in the worst
	// direction, which Toward gives as a unit vector along the floor. Where it does not
	// stand, Tip is zero and Toward the way in which it falls; where it
	// balances on one point straight below its centre, no way is worse than another, and
	// Toward is zero.
	Tip    float64
	Toward mesh.Vec
}

// Of looks at a mesh as it lies. The error is ErrOpen, or that of ctx.
func Of(ctx context.Context, m *mesh.Mesh) (Report, error) {
	if len(m.Triangles) == 0 {
		return Report{}, ErrOpen
	}
	stars, err := m.Stars(ctx)
	if err != nil {
		return Report{}, err
	}
	top, err := stars.Topology(ctx)
	if err != nil {
		return Report{}, err
	}
	if !top.Closed || !top.ConsistentlyOriented {
		return Report{}, ErrOpen
	}
	centre, ok := centreOf(m)
	if !ok {
		return Report{}, ErrOpen
	}
	return On(used(m), centre), ctx.Err()
}

// used are the vertices that triangles use.
func used(m *mesh.Mesh) []mesh.Vec {
	seen := make([]bool, len(m.Vertices))
	var out []mesh.Vec
	for _, t := range m.Triangles {
		for _, v := range t {
			if !seen[v] {
				seen[v] = true
				out = append(out, m.Vertices[v])
			}
		}
	}
	return out
}

// centreOf is the centroid of the enclosed volume: the mean of the tetrahedra
// from the middle of the bounds to each triangle, weighed by their signed volumes.
func centreOf(m *mesh.Mesh) (mesh.Vec, bool) {
	from := m.Bounds().Centre()
	var volume exact.Sum
	var moment [3]exact.Sum
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		a, b, c = a.Sub(from), b.Sub(from), c.Sub(from)
		v := a.Dot(b.Cross(c))
		mid := a.Add(b).Add(c)
		volume.Add(v)
		moment[0].Add(float64(v * mid.X))
		moment[1].Add(float64(v * mid.Y))
		moment[2].Add(float64(v * mid.Z))
	}
	// Less than 1e-9 of the bounds' cube is rounding, or next to nothing.
	size := m.Bounds().Size().Norm()
	six := volume.Value()
	if !(six > 6e-9*size*size*size) {
		return mesh.Vec{}, false
	}
	return from.Add(mesh.Vec{X: moment[0].Value(), Y: moment[1].Value(), Z: moment[2].Value()}.Scale(1 / (4 * six))), true
}

// On looks at a body given by the points of its surface, or the vertices alone,
// and its centre of mass. Without points there is nothing that stands.
func On(points []mesh.Vec, centre mesh.Vec) Report {
	r := Report{Centre: centre}
	if len(points) == 0 {
		return r
	}
	floor := points[0].Z
	for _, p := range points {
		floor = min(floor, p.Z)
	}
	var low []mesh.Vec
	for _, p := range points {
		if p.Z <= floor+Level {
			low = append(low, mesh.Vec{X: p.X, Y: p.Y, Z: floor})
		}
	}
	r.Support = polygon(low)
	r.Height = centre.Z - floor
	foot := mesh.Vec{X: centre.X, Y: centre.Y, Z: floor}
	r.Margin, r.Toward = inside(r.Support, foot)
	for i, p := range r.Support {
		q := r.Support[(i+1)%len(r.Support)]
		r.Area += cross(p.Sub(foot), q.Sub(foot)) / 2
	}
	r.Stands = r.Margin > 0
	if r.Stands {
		r.Tip = math.Atan2(r.Margin, r.Height)
	}
	return r
}

// polygon is the convex hull of points seen from above, counter-clockwise,
// without points on an edge (Andrew's monotone chain, with exact turns).
func polygon(points []mesh.Vec) []mesh.Vec {
	slices.SortFunc(points, func(a, b mesh.Vec) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	points = slices.Compact(points)
	if len(points) < 3 {
		return points
	}
	flat := func(p mesh.Vec) exact.Point { return exact.Point{X: p.X, Y: p.Y} }
	var out []mesh.Vec
	grow := func(p mesh.Vec, least int) {
		for len(out) > least && exact.Turn(flat(out[len(out)-2]), flat(out[len(out)-1]), flat(p)) <= 0 {
			out = out[:len(out)-1]
		}
		out = append(out, p)
	}
	for _, p := range points {
		grow(p, 1)
	}
	least := len(out)
	for i := len(points) - 2; i >= 0; i-- {
		grow(points[i], least)
	}
	return out[:len(out)-1]
}

// inside is how far foot lies inside the polygon, and the direction in which it
// leaves it first; outside, how far it lies from it, negative, and the direction away from it.
func inside(support []mesh.Vec, foot mesh.Vec) (margin float64, toward mesh.Vec) {
	if len(support) > 2 {
		margin = math.Inf(1)
		for i, p := range support {
			q := support[(i+1)%len(support)]
			edge := q.Sub(p)
			if d := cross(edge, foot.Sub(p)) / edge.Norm(); d < margin {
				margin, toward = d, mesh.Vec{X: edge.Y, Y: -edge.X}.Scale(1/edge.Norm())
			}
		}
		if margin >= 0 {
			return margin, toward
		}
	}
	// Outside, or there is no inside: away from the nearest point.
	least := math.Inf(1)
	var nearest mesh.Vec
	for i, p := range support {
		edge := support[(i+1)%len(support)].Sub(p)
		t := 0.0
		if l := edge.Dot(edge); l > 0 {
			t = min(1, max(0, foot.Sub(p).Dot(edge)/l))
		}
		at := p.Add(edge.Scale(t))
		if d := foot.Sub(at).Norm(); d < least {
			least, nearest = d, at
		}
	}
	away := foot.Sub(nearest)
	switch {
	case least > 0:
		return -least, away.Scale(1 / least)
	case len(support) == 2:
		edge := support[1].Sub(support[0])
		return 0, mesh.Vec{X: edge.Y, Y: -edge.X}.Scale(1 / edge.Norm())
	case len(support) > 2:
		return 0, toward
	}
	return 0, mesh.Vec{}
}

func cross(a, b mesh.Vec) float64 { return float64(a.X*b.Y) - float64(a.Y*b.X) }
