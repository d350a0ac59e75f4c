package footprint

import (
	"math"

	"cardback/internal/mesh"
)

// Circle is a circle in the plane of the footprint.
type Circle struct{ X, Y, R float64 }

func (c Circle) Distance(p mesh.Vec) float64 { return Dir{X: p.X - c.X, Y: p.Y - c.Y}.Norm() }

// Nearly is the share of the radius by which a point may lie outside a circle
// and be taken as on it: far above the rounding of the centre (about 1e-15 for
// the acute triangles that span a least circle), far below anything seen.
const Nearly = 1e-12

func (c Circle) holds(p mesh.Vec) bool { return c.Distance(p) <= c.R*(1+Nearly) }

// LeastCircle returns the least circle around the corners seen from above. Its
// radius is enlarged to the farthest corner, so that it holds them all.
// The incremental method: a corner outside the least circle of those before it
// lies on the boundary of the new one.
func LeastCircle(corners []mesh.Vec) Circle {
	if len(corners) == 0 {
		return Circle{}
	}
	// A stride prime to the count spreads the order, which keeps the expected
	// cost linear without chance.
	n := len(corners)
	stride := 1
	for _, s := range [...]int{7919, 6101, 2} {
		if n%s != 0 {
			stride = s
			break
		}
	}
	at := func(i int) mesh.Vec { return corners[i*stride%n] }
	c := Circle{X: at(0).X, Y: at(0).Y, R: 0}
	for i := 1; i < n; i++ {
		if c.holds(at(i)) {
			continue
		}
		c = Circle{X: at(i).X, Y: at(i).Y, R: 0}
		for j := range i {
			if c.holds(at(j)) {
				continue
			}
			c = onTwo(at(i), at(j))
			for k := range j {
				if !c.holds(at(k)) {
					c = onThree(at(i), at(j), at(k))
				}
			}
		}
	}
	for _, p := range corners {
		c.R = max(c.R, c.Distance(p))
	}
	return c
}

func onTwo(p, q mesh.Vec) Circle {
	c := Circle{X: p.X + (q.X-p.X)/2, Y: p.Y + (q.Y-p.Y)/2, R: 0}
	c.R = max(c.Distance(p), c.Distance(q))
	return c
}

// onThree is the circle through three points; for points on a line, the one
// on the two farthest apart.
func onThree(p, q, r mesh.Vec) Circle {
	b, d := Dir{X: q.X - p.X, Y: q.Y - p.Y}, Dir{X: r.X - p.X, Y: r.Y - p.Y}
	k := 2 * b.cross(d)
	bb, dd := b.dot(b), d.dot(d)
	x := (float64(d.Y*bb) - float64(b.Y*dd)) / k
	y := (float64(b.X*dd) - float64(d.X*bb)) / k
	c := Circle{X: p.X + x, Y: p.Y + y, R: math.Sqrt(float64(x*x) + float64(y*y))}
	if k == 0 || math.IsInf(c.R, 0) || math.IsNaN(c.R) {
		c = onTwo(p, q)
		for _, e := range [2]Circle{onTwo(q, r), onTwo(r, p)} {
			if e.R > c.R {
				c = e
			}
		}
	}
	return c
}
