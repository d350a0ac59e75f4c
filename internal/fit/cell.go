package fit

import (
	"math"

	"cardback/internal/mesh"
)

// cell is a set of directions of the part that may point up on the plate: a
// square on one face of a cube around the origin, seen from there. Its sides
// are parts of great circles, so it is convex on the sphere. Three faces cover
// all directions, because u and −u give the same extents.
type cell struct {
	face    int     // the axis that the face crosses
	s, t    float64 // angles of its middle, seen along the two other axes
	half    float64 // half its width in s and t
	ceiling float64 // no orientation with its upward direction here has more to spare
	serial  int     // order of making, which breaks ties
}

func wholeSphere() [3]cell {
	var out [3]cell
	for i := range out {
		out[i] = cell{face: i, half: math.Pi / 4, ceiling: math.Inf(1)}
	}
	return out
}

// at returns the unit vector at the given angles on the cell's face.
func (c cell) at(s, t float64) mesh.Vec {
	x, y := math.Tan(s), math.Tan(t)
	var v mesh.Vec
	switch c.face {
	case 0:
		v = mesh.Vec{X: 1, Y: x, Z: y}
	case 1:
		v = mesh.Vec{X: y, Y: 1, Z: x}
	default:
		v = mesh.Vec{X: x, Y: y, Z: 1}
	}
	return v.Scale(1 / v.Norm())
}

func (c cell) centre() mesh.Vec { return c.at(c.s, c.t) }

func (c cell) corners() [4]mesh.Vec {
	return [4]mesh.Vec{
		c.at(c.s-c.half, c.t-c.half), c.at(c.s+c.half, c.t-c.half),
		c.at(c.s-c.half, c.t+c.half), c.at(c.s+c.half, c.t+c.half),
	}
}

func (c cell) quarters() [4]cell {
	h := c.half / 2
	var out [4]cell
	for i := range out {
		out[i] = c
		out[i].half = h
		out[i].s += h * float64(2*(i&1)-1)
		out[i].t += h * float64(2*(i>>1)-1)
	}
	return out
}

// queue is a heap of cells, the one with the highest ceiling first
// (container/heap).
type queue []cell

func (q queue) Len() int { return len(q) }
func (q queue) Less(i, j int) bool {
	if q[i].ceiling != q[j].ceiling {
		return q[i].ceiling > q[j].ceiling
	}
	return q[i].serial < q[j].serial
}
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(c any)   { *q = append(*q, c.(cell)) }
func (q *queue) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}
