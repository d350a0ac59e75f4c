// Package shadow answers what outline a mesh has, seen along an axis. Its central type
// is Outline, a region of the plane; Of makes one, and Simplify one with fewer corners.
//
// It guarantees an outline that is exact up to a grid finer than 32-bit coordinates,
// for any set of triangles, open, crossing or wrongly wound (see Of), in rings that
// never cross. A heap whose outlines cross beyond a bound has none: ErrIntricate.
package shadow

import (
	"context"
	"errors"
	"math"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// gridBits is the fineness of the integer grid that shadows are worked out on:
// the view's larger extent spans between 2^27 and 2^28 steps. With coordinates
// below 2^28 the cross product of two differences stays below 2^57, and a
// doubled one (half steps, for pixel corners) below 2^60, so every predicate
// below is exact in int64. A step is less than the rounding of the corners
// themselves where those were stored as float32 (24 bits).
const gridBits = 28

// Of is the exact outline of the mesh's projection: the boundary of the
// union of all its projected triangles, for any set of triangles, open,
// crossing or wrongly wound. Rings may touch in single points, never cross.
//
// The guarantee: the outline is exact for corners moved by at most half a grid
// step in each axis, and then bent by at most half a step in each axis where
// edges cross (snap rounding; Hobby, Practical segment intersection with finite
// precision output, Computational Geometry 13, 1999). It is thus within √2
// steps, under 2^-26 of the view's larger extent, of the true one.
//
// The method: every projected triangle, run counter-clockwise, adds its three
// directed sides to a chain. Sides run both ways cancel, which leaves little
// more than the contour. The chain winds about a point as often as triangles
// lie over it, so the shadow is where the winding number is above zero.
//
// Where edges cross so much that this would take long, small sets of triangles
// are united first and the unions after, two by two; each round of at most
// log₂(n/8) may bend edges by half a step more.
//
// It returns nil for a mesh whose shadow has no area, and an error for
// coordinates that are not finite or too large to subtract, and ErrIntricate for
// an outline with more than some 10^7 edges that cross or lie near each other, which
// only a mesh made for the purpose has.
func Of(ctx context.Context, m *mesh.Mesh, v View) (Outline, error) {
	if len(m.Vertices) >= 1<<31 || len(m.Triangles) > 1<<30 {
		return nil, errors.New("shadow: more vertices or triangles than can be numbered")
	}
	stars, err := m.Stars(ctx)
	if err != nil {
		return nil, err
	}
	return OfStars(ctx, stars, v)
}

// OfStars is Of for whoever has the stars already. Beside them it needs 4
// bytes a triangle, and some hundred for each edge of the contour.
func OfStars(ctx context.Context, stars *mesh.Stars, v View) (Outline, error) {
	points, g, err := projectToGrid(ctx, stars.Mesh, v)
	if err != nil {
		return nil, err
	}
	border, err := borderOf(ctx, stars, points)
	if err != nil {
		return nil, err
	}
	return g.outline(walkRings(border)), nil
}

// gridPoint is a place on the integer grid.
type gridPoint struct{ x, y int32 }

// compare orders points by x, then y: the order of the sweep.
func (p gridPoint) compare(q gridPoint) int {
	if p.x != q.x {
		return int(p.x) - int(q.x)
	}
	return int(p.y) - int(q.y)
}

// turn is twice the signed area of the triangle abc: positive if c lies to the
// left of the line from a to b.
func turn(a, b, c gridPoint) int64 {
	return int64(b.x-a.x)*int64(c.y-a.y) - int64(b.y-a.y)*int64(c.x-a.x)
}

// grid maps between mm and grid steps. Scale is a power of two, so that
// only the subtraction of the least corner rounds.
type grid struct {
	minX, minY, scale float64
}

// gridOver is the grid of a view whose least corner and larger extent are given.
func gridOver(minX, minY, extent float64) grid {
	g := grid{minX, minY, 1}
	if extent > 0 {
		_, exp := math.Frexp(extent) // extent < 2^exp
		// Below 1e-292 mm the grid is coarser, so that the scale is a number.
		g.scale = math.Ldexp(1, min(gridBits-exp, 1000))
	}
	return g
}

func (g grid) point(x, y float64) gridPoint {
	return gridPoint{int32(math.Round((x - g.minX) * g.scale)), int32(math.Round((y - g.minY) * g.scale))}
}

func (g grid) outline(rings [][]gridPoint) Outline {
	var out Outline
	for _, r := range rings {
		ring := make(Ring, len(r))
		for i, p := range r {
			ring[i] = Point{g.minX + float64(p.x)/g.scale, g.minY + float64(p.y)/g.scale}
		}
		out = append(out, ring)
	}
	return out
}

// piece is how many vertices are projected on their own.
const piece = 1 << 14

// projectToGrid gives every vertex that a triangle uses its grid point.
func projectToGrid(ctx context.Context, m *mesh.Mesh, v View) ([]gridPoint, grid, error) {
	b := m.Bounds()
	x0, y0, d0 := v.Project(b.Min)
	x1, y1, d1 := v.Project(b.Max)
	extent := max(x1-x0, y1-y0)
	for _, c := range []float64{x0, y0, d0, x1, y1, d1, extent} {
		if math.IsNaN(c) || math.IsInf(c, 0) {
			return nil, grid{}, errors.New("shadow: a coordinate is not finite, or the extent is too large")
		}
	}
	g := gridOver(x0, y0, extent)
	points := make([]gridPoint, len(m.Vertices))
	err := parallel.Pieces(ctx, len(m.Vertices), piece, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			x, y, _ := v.Project(m.Vertices[i])
			// A vertex that no triangle uses may lie anywhere; its point is not used either.
			if x >= x0 && x <= x1 && y >= y0 && y <= y1 {
				points[i] = g.point(x, y)
			}
		}
	})
	return points, g, err
}
