package draw

import (
	"context"
	"math"

	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
)

// Drawing is one view of one part in mm: the shadow's outline, and the lines
// inside it. Coordinates are the view's own (shadow.View.Project), moved so
// that the outline's bounds begin at (0, 0); Y is up.
type Drawing struct {
	View          shadow.View
	Width, Height float64
	Outline       shadow.Outline   // simplified to within Tolerance
	Creases       [][]shadow.Point // visible sharp edges
	Depths        [][]shadow.Point // visible edges where one surface passes before another
	Tolerance     float64          // mm; greatest distance of a simplified line from the exact one
}

// fineness is how many tolerances go into the view's larger extent. A drawing
// is shown at most some 1000 pixels across, so half a pixel is never missed.
const fineness = 2000

// Draw makes the drawing of a mesh in one view. A mesh without a shadow gives a
// Drawing without lines, and one whose shadow is too intricate
// (shadow.ErrIntricate) the outline of its convex hull alone.
func Draw(ctx context.Context, m *mesh.Mesh, v shadow.View) (*Drawing, error) {
	outline, rough, err := shadow.OrHull(ctx, m, v)
	if err != nil {
		return nil, err
	}
	d := &Drawing{View: v}
	if len(outline) == 0 {
		return d, nil
	}
	lo, hi := extent(outline)
	d.Width, d.Height = hi.X-lo.X, hi.Y-lo.Y
	larger := max(d.Width, d.Height)
	d.Tolerance = larger / fineness
	d.Outline = outline.Simplify(d.Tolerance)
	for _, r := range d.Outline {
		for i := range r {
			r[i] = shadow.Point{X: r[i].X - lo.X, Y: r[i].Y - lo.Y}
		}
	}
	if rough {
		return d, nil // lines inside a heap of slivers tell nothing
	}
	s := project(m, v, lo)
	edges := s.candidateEdges()
	buffer, err := rasterise(ctx, s, d.Width, d.Height, s.pixel(larger, edges))
	if err != nil {
		return nil, err
	}
	creases, depths := visibleLines(s, edges, buffer, larger)
	d.Creases = tidy(creases, buffer.pixel, d.Tolerance, larger)
	d.Depths = tidy(depths, buffer.pixel, d.Tolerance, larger)
	return d, ctx.Err()
}

// extent is the least and greatest corner of an outline.
func extent(o shadow.Outline) (lo, hi shadow.Point) {
	lo = shadow.Point{X: math.Inf(1), Y: math.Inf(1)}
	hi = shadow.Point{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, r := range o {
		for _, p := range r {
			lo = shadow.Point{X: min(lo.X, p.X), Y: min(lo.Y, p.Y)}
			hi = shadow.Point{X: max(hi.X, p.X), Y: max(hi.Y, p.Y)}
		}
	}
	return lo, hi
}

// Dot and cross products in the plane; no processor may fuse their sums.
func dot(ax, ay, bx, by float64) float64   { return float64(ax*bx) + float64(ay*by) }
func cross(ax, ay, bx, by float64) float64 { return float64(ax*by) - float64(ay*bx) }
