package posture

import (
	"math"

	"cardback/internal/mesh"
)

// Cell is a set of directions of the part that may point up on the plate: a
// square on one face of a cube around the origin, seen from there. Its sides
// are parts of great circles, so it is convex on the sphere. Three faces cover
// all directions, because u and −u give the same extents.
type Cell struct {
	Face    int     // the axis that the face crosses
	S, T    float64 // angles of its middle, seen along the two other axes
	Half    float64 // half its width in s and t
	Ceiling float64 // no orientation with its upward direction here has more to spare
	Serial  int     // order of making, which breaks ties
}

func WholeSphere() [3]Cell {
	var out [3]Cell
	for i := range out {
		out[i] = Cell{Face: i, Half: math.Pi / 4, Ceiling: math.Inf(1)}
	}
	return out
}

// At returns the unit vector at the given angles on the cell's face.
func (c Cell) At(s, t float64) mesh.Vec {
	x, y := math.Tan(s), math.Tan(t)
	var v mesh.Vec
	switch c.Face {
	case 0:
		v = mesh.Vec{X: 1, Y: x, Z: y}
	case 1:
		v = mesh.Vec{X: y, Y: 1, Z: x}
	default:
		v = mesh.Vec{X: x, Y: y, Z: 1}
	}
	return v.Scale(1 / v.Norm())
}

func (c Cell) Centre() mesh.Vec { return c.At(c.S, c.T) }

func (c Cell) Corners() [4]mesh.Vec {
	return [4]mesh.Vec{
		c.At(c.S-c.Half, c.T-c.Half), c.At(c.S+c.Half, c.T-c.Half),
		c.At(c.S-c.Half, c.T+c.Half), c.At(c.S+c.Half, c.T+c.Half),
	}
}

func (c Cell) Quarters() [4]Cell {
	h := c.Half / 2
	var out [4]Cell
	for i := range out {
		out[i] = c
		out[i].Half = h
		out[i].S += h * float64(2*(i&1)-1)
		out[i].T += h * float64(2*(i>>1)-1)
	}
	return out
}

// Queue is a heap of cells, the one with the highest ceiling first
// (container/heap).
type Queue []Cell

func (q Queue) Len() int { return len(q) }
func (q Queue) Less(i, j int) bool {
	if q[i].Ceiling != q[j].Ceiling {
		return q[i].Ceiling > q[j].Ceiling
	}
	return q[i].Serial < q[j].Serial
}
func (q Queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *Queue) Push(c any)   { *q = append(*q, c.(Cell)) }
func (q *Queue) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}
