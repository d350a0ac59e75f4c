package slice

import (
	"math"

	"cardback/internal/mesh"
)

// edge is a triangle's edge as a function of height: where it passes height z.
// It depends on its two ends alone, lower first, so that the segments of the
// triangles on both sides of an edge meet in one point, to the last bit.
type edge struct {
	from   mesh.Vec // its lower end
	rise   float64  // from there to its upper end
	dx, dy float64  // per mm of height
}

// level is a rise in mm so small that an edge stands for its lower end; the slope
// of a steeper one is finite, whatever its ends.
const level = 1e-200

// set makes e the edge between two corners, in its place: copies would cost as
// much as the sums.
func (e *edge) set(low, high *mesh.Vec) {
	per := 0.0
	e.rise = high.Z - low.Z
	if e.rise > level {
		per = 1 / e.rise
	}
	e.from.X, e.from.Y, e.from.Z = low.X, low.Y, low.Z
	e.dx, e.dy = float64((high.X-low.X)*per), float64((high.Y-low.Y)*per)
}

// at is the point at height z. A height that is past an end by a rounding counts
// as that end: on an edge that is all but level it would be far away.
func (e *edge) at(z float64) (x, y float64) {
	up := z - e.from.Z
	if up < 0 {
		up = 0
	} else if up > e.rise {
		up = e.rise
	}
	return e.from.X + float64(e.dx*up), e.from.Y + float64(e.dy*up)
}

// strip is the part of a triangle between its middle corner's height and one of
// the others: at each height the section runs from the long edge, which joins the
// lowest and the highest corner, to the short one, or back where sign is −1, with
// the solid on its left.
type strip struct {
	long, short edge
	sign        float64
}

// at is the strip's share of the section at height z: twice the signed area
// between the segment and the origin, and the segment's length.
//
// The area is p × (q − p), not p × q: its rounding is then at most 3u|p||q − p|,
// in proportion to the length. The points themselves are off by at most 6ur, where
// r is the greatest distance from the origin: 4u of the way along the edge, and
// the last sum. So the area of a layer is wrong by at most 9ur times its perimeter.
func (s *strip) at(z float64) (area, length float64) {
	px, py := s.long.at(z)
	qx, qy := s.short.at(z)
	wx, wy := qx-px, qy-py
	return float64(s.sign * (float64(px*wy) - float64(py*wx))), math.Sqrt(float64(wx*wx) + float64(wy*wy))
}

// over is the same as polynomials in the height over z, where the strip reaches
// far on both sides: both points move evenly with the height, and their distance
// keeps its direction, so the area is quadratic and the length linear.
func (s *strip) over(z float64) (area [3]float64, length [2]float64) {
	px, py := s.long.at(z)
	qx, qy := s.short.at(z)
	wx, wy := qx-px, qy-py
	dx, dy := s.short.dx-s.long.dx, s.short.dy-s.long.dy
	area[0] = s.sign * (float64(px*wy) - float64(py*wx))
	area[1] = s.sign * (float64(px*dy) - float64(py*dx) + (float64(s.long.dx*wy) - float64(s.long.dy*wx)))
	area[2] = s.sign * (float64(s.long.dx*dy) - float64(s.long.dy*dx))
	// The direction of q − p is that of its change or the opposite one.
	if w := math.Sqrt(float64(wx*wx) + float64(wy*wy)); w > 0 {
		length = [2]float64{w, (float64(wx*dx) + float64(wy*dy)) / w}
	}
	return area, length
}

// byHeight sorts a triangle's corners by height. sign is −1 where that turns the
// triangle over.
func byHeight(a, b, c *mesh.Vec) (low, mid, high *mesh.Vec, sign float64) {
	sign = 1
	if b.Z < a.Z {
		a, b, sign = b, a, -sign
	}
	if c.Z < b.Z {
		b, c, sign = c, b, -sign
		if b.Z < a.Z {
			a, b, sign = b, a, -sign
		}
	}
	return a, b, c, sign
}
