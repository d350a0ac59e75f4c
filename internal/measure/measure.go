package measure

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"

	"cardback/internal/measure/hull"
	"cardback/internal/measure/shadow"
	"cardback/internal/mend"
	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// Measure finds every number of a Report. The mesh may be open, crossing,
// wrongly wound or flat: what is wrong with it comes as findings, not as an
// error. An error means that it is not a mesh (a corner that is not finite, or
// beyond the range of 32-bit numbers, or a triangle of vertices that do not
// exist) or that the context ended.
//
// A surface whose cracks all close within what no printer shows is measured with
// them closed (see mend.Surface and Report.Closing).
func Measure(ctx context.Context, m *mesh.Mesh) (*Report, error) {
	r, top, err := figures(ctx, m)
	if err != nil {
		return nil, err
	}
	if r.OpenEdges > 0 {
		closed, how, err := mend.Surface(ctx, m)
		if err != nil {
			return nil, err
		}
		if how != nil {
			file := r
			if r, top, err = figures(ctx, closed); err != nil {
				return nil, err
			}
			m, r.Closing = closed, how
			r.Fingerprint, r.Triangles, r.Vertices = file.Fingerprint, file.Triangles, file.Vertices
		}
	}
	if err := inspect(ctx, m, &top, r); err != nil {
		return nil, err
	}
	r.Findings = findingsOf(r, top, noVolume(r.Volume, r.Triangles, r.Bounds.Size()))
	return r, nil
}

// figures is all of a Report that has no place.
func figures(ctx context.Context, m *mesh.Mesh) (*Report, mesh.Topology, error) {
	if err := m.Check(); err != nil {
		return nil, mesh.Topology{}, fmt.Errorf("measure: %w", err)
	}
	r := &Report{Triangles: len(m.Triangles), Vertices: len(m.Vertices), Bounds: m.Bounds()}
	var (
		h   hull.Hull
		sur surfaceCount
	)
	// The hull is one long chain of steps; the rest is done meanwhile. A large mesh
	// is measured one thing after another, so that only one of them has its
	// scratch: at most some 60 bytes a triangle beside the mesh.
	lanes := []func() error{
		func() (err error) {
			if h, err = hull.Of(ctx, m); err == nil {
				r.Diameter = hull.Diameter(h.Vertices)
			}
			return err
		},
		func() (err error) {
			sur, err = countSurface(ctx, m, r)
			return err
		},
	}
	errs := make([]error, len(lanes))
	if len(m.Triangles) <= mostSideBySide {
		_ = parallel.Tasks(ctx, len(lanes), func(i int) { errs[i] = lanes[i]() })
	} else {
		for i, lane := range lanes {
			errs[i] = lane()
		}
	}
	if err := cmp.Or(append(errs, ctx.Err())...); err != nil {
		return nil, mesh.Topology{}, err
	}
	top, counts, sums := sur.top, sur.stars, sur.sums
	r.Hull, r.HullVolume, r.HullArea = h.Vertices, h.Volume, h.Area
	r.Closed, r.OpenEdges, r.NonManifoldEdges = top.Closed, top.OpenEdges, top.NonManifoldEdges
	r.ConsistentlyOriented, r.Shells, r.Euler = top.ConsistentlyOriented, top.Shells, top.Euler
	r.Genus = genusOf(m, top, counts.fans)
	r.Volume, r.Area = sums.volume.Value()/6, sums.area.Value()/2
	r.DegenerateTriangles, r.DuplicateTriangles = sums.noArea, counts.duplicates
	r.Centroid = centroidOf(r, &sums)
	return r, top, nil
}

// mostSideBySide is the number of triangles up to which memory does not matter.
const mostSideBySide = 1 << 20

// surfaceCount is what the triangles are asked one by one or at their vertices.
type surfaceCount struct {
	top   mesh.Topology
	stars starCount
	sums  mass
}

// countSurface also sets the report's silhouettes and fingerprint.
func countSurface(ctx context.Context, m *mesh.Mesh, r *Report) (c surfaceCount, err error) {
	if err := c.fromStars(ctx, m, r); err != nil {
		return c, err
	}
	if c.sums, err = massOf(ctx, m, r.Bounds.Centre()); err != nil {
		return c, err
	}
	r.Fingerprint = m.Fingerprint()
	return c, ctx.Err()
}

// outlineOf is a variable so that a test may have an outline that is too intricate,
// which takes a minute to find.
var outlineOf = shadow.OfStars

// fromStars is all that needs the stars, so that they can go when it is done.
func (c *surfaceCount) fromStars(ctx context.Context, m *mesh.Mesh, r *Report) error {
	s, err := m.Stars(ctx)
	if err != nil {
		return err
	}
	if c.top, err = s.Topology(ctx); err != nil {
		return err
	}
	if c.stars, err = countStars(ctx, s); err != nil {
		return err
	}
	for _, v := range shadow.Views {
		o, err := outlineOf(ctx, s, v)
		switch {
		case errors.Is(err, shadow.ErrIntricate):
			r.Intricate[v] = true
		case err != nil:
			return err
		default:
			r.Silhouette[v] = o.Area()
		}
	}
	return nil
}

// CentroidOfVolume reports whether Centroid is that of the enclosed volume: it
// is where the mesh is closed, consistently wound and encloses any; elsewhere it
// is the surface's.
func (r *Report) CentroidOfVolume() bool {
	return r.Closed && r.ConsistentlyOriented && !noVolume(r.Volume, r.Triangles, r.Bounds.Size())
}

func centroidOf(r *Report, s *mass) mesh.Vec {
	centre := r.Bounds.Centre()
	moment, divisor := &s.moment, 4*s.volume.Value()
	if !r.CentroidOfVolume() {
		moment, divisor = &s.surface, 3*s.area.Value()
	}
	off := mesh.Vec{X: moment[0].Value() / divisor, Y: moment[1].Value() / divisor, Z: moment[2].Value() / divisor}
	if size := r.Bounds.Size(); !(math.Abs(off.X) <= size.X && math.Abs(off.Y) <= size.Y && math.Abs(off.Z) <= size.Z) {
		return centre // no area either, or so little that dividing by it means nothing
	}
	return centre.Add(off)
}
