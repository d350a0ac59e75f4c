package posture

import (
	"math"

	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// Compass knows which points may be the farthest in which directions, so that the
// searches of a part with many points look at few of them. It leaves out none that
// is farthest somewhere: answers are those of all points.
type Compass struct {
	Points []mesh.Vec
	cells  []bearing
	seen   []int32 // when a point was last taken; see among
	round  int32
	Work   int // points looked at so far
}

// bearing is a cell of directions, with those points of which one is farthest in any
// direction of it.
type bearing struct {
	middle mesh.Vec
	sin    float64 // of the greatest angle from the middle to a direction of the cell
	from   []int32
}

// ManyForCompass is the number of points from which on a compass is worth its
// making, which takes some fifty looks at each point.
const ManyForCompass = 2000

// compassFineness is into how many a cell's side is divided: 16 give cells of some
// 6°, and a smooth body has one in seventy of its points in each.
const compassFineness = 16

// NewCompass divides the directions as the searches do. In a cell of directions at
// most δ from its middle v, in which q is farthest, no p with
//
//	(q−p)·v > |q−p| sin δ
//
// is farther than q anywhere in the cell.
func NewCompass(points []mesh.Vec) *Compass {
	type task struct {
		Cell
		sign float64
		from []int32
	}
	c := &Compass{Points: points, seen: make([]int32, len(points))}
	all := make([]int32, len(points))
	for i := range all {
		all[i] = int32(i)
	}
	var todo []task
	for _, k := range WholeSphere() {
		todo = append(todo, task{k, 1, all}, task{k, -1, all})
	}
	for len(todo) > 0 { // each is divided four times
		t := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		b := bearing{middle: t.Centre().Scale(t.sign)}
		for _, u := range t.Corners() {
			b.sin = max(b.sin, u.Scale(t.sign).Cross(b.middle).Norm())
		}
		q := points[c.Farthest(b.middle, t.from)]
		const rounding = 1e-9 // far above that of the squares, some 1e-15
		sin2 := float64(b.sin*b.sin) + rounding
		for _, i := range t.from {
			d := q.Sub(points[i])
			if a := d.Dot(b.middle); a <= 0 || float64(a*a) <= float64(d.Dot(d)*sin2) {
				b.from = append(b.from, i)
			}
		}
		c.Work += len(t.from)
		if t.Half*compassFineness < math.Pi/4*1.5 {
			c.cells = append(c.cells, b)
			continue
		}
		for _, k := range t.Quarters() {
			todo = append(todo, task{k, t.sign, b.from})
		}
	}
	return c
}

// Farthest is the number of the point that is farthest in the direction, of those
// given the first.
func (c *Compass) Farthest(v mesh.Vec, from []int32) int {
	far, most := -1, math.Inf(-1)
	for _, i := range from {
		if d := c.Points[i].Dot(v); d > most || d == most && int(i) < far {
			far, most = int(i), d
		}
	}
	c.Work += len(from)
	return far
}

// among lists, each once, the points of all cells whose middle passes.
func (c *Compass) among(passes func(b *bearing) bool) (out []int32) {
	c.round++
	for k := range c.cells {
		b := &c.cells[k]
		if !passes(b) {
			continue
		}
		c.Work += len(b.from)
		for _, i := range b.from {
			if c.seen[i] != c.round {
				c.seen[i] = c.round
				out = append(out, i)
			}
		}
	}
	c.Work += len(c.cells)
	return out
}

// Toward lists the points of which one is farthest in any direction that is at most
// an angle from v, which is a unit vector.
func (c *Compass) Toward(v mesh.Vec, angle float64) []int32 {
	sin, cos := math.Sincos(min(angle, math.Pi/2))
	return c.among(func(b *bearing) bool {
		// The cosine of the sum of the two angles, both at most a right one, and a
		// little less, since a dot product of unit vectors rounds.
		const rounding = 1e-12
		return b.middle.Dot(v) >= float64(cos*math.Sqrt(1-float64(b.sin*b.sin)))-float64(sin*b.sin)-rounding
	})
}

// level lists the points of which one is farthest in any direction square to up, a
// unit vector: those of the footprint and some more.
func (c *Compass) level(up mesh.Vec) []int32 {
	return c.among(func(b *bearing) bool {
		const rounding = 1e-12
		return math.Abs(b.middle.Dot(up)) <= b.sin+rounding
	})
}

// turned are the points with the given numbers, turned.
func (c *Compass) turned(rot [9]float64, from []int32) []mesh.Vec {
	out := make([]mesh.Vec, len(from))
	for k, i := range from {
		out[k] = rotation.Apply(rot, c.Points[i])
	}
	c.Work += len(from)
	return out
}

// At are the points with the given numbers.
func (c *Compass) At(from []int32) []mesh.Vec {
	out := make([]mesh.Vec, len(from))
	for k, i := range from {
		out[k] = c.Points[i]
	}
	return out
}
