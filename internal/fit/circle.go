package fit

import (
	"math"

	"cardback/internal/mesh"
)

// circle is a circle in the plane of the footprint.
type circle struct{ x, y, r float64 }

func (c circle) distance(p mesh.Vec) float64 { return dir{p.X - c.x, p.Y - c.y}.norm() }

// nearly is the share of the radius by which a point may lie outside a circle
// and be taken as on it: far above the rounding of the centre (about 1e-15 for
// the acute triangles that span a least circle), far below anything seen.
const nearly = 1e-12

func (c circle) holds(p mesh.Vec) bool { return c.distance(p) <= c.r*(1+nearly) }

// leastCircle returns the least circle around the corners seen from above. Its
// radius is enlarged to the farthest corner, so that it holds them all.
// The incremental method: a corner outside the least circle of those before it
// lies on the boundary of the new one.
func leastCircle(corners []mesh.Vec) circle {
	if len(corners) == 0 {
		return circle{}
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
	c := circle{at(0).X, at(0).Y, 0}
	for i := 1; i < n; i++ {
		if c.holds(at(i)) {
			continue
		}
		c = circle{at(i).X, at(i).Y, 0}
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
		c.r = max(c.r, c.distance(p))
	}
	return c
}

func onTwo(p, q mesh.Vec) circle {
	c := circle{p.X + (q.X-p.X)/2, p.Y + (q.Y-p.Y)/2, 0}
	c.r = max(c.distance(p), c.distance(q))
	return c
}

// onThree is the circle through three points; for points on a line, the one
// on the two farthest apart.
func onThree(p, q, r mesh.Vec) circle {
	b, d := dir{q.X - p.X, q.Y - p.Y}, dir{r.X - p.X, r.Y - p.Y}
	k := 2 * b.cross(d)
	bb, dd := b.dot(b), d.dot(d)
	x := (float64(d.y*bb) - float64(b.y*dd)) / k
	y := (float64(b.x*dd) - float64(d.x*bb)) / k
	c := circle{p.X + x, p.Y + y, math.Sqrt(float64(x*x) + float64(y*y))}
	if k == 0 || math.IsInf(c.r, 0) || math.IsNaN(c.r) {
		c = onTwo(p, q)
		for _, e := range [2]circle{onTwo(q, r), onTwo(r, p)} {
			if e.r > c.r {
				c = e
			}
		}
	}
	return c
}
