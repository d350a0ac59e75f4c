package draw

import (
	"math"

	"cardback/internal/measure/shadow"
)

// crowd remembers where lines have been drawn, so that one that runs along
// another can be left out: at a small scale two lines and the ink between them
// would merge into a band of paper.
type crowd struct {
	near  float64 // lines closer than this run together
	taken map[[2]int32][]shadow.Point
}

func newCrowd(near float64) *crowd {
	return &crowd{near, map[[2]int32][]shadow.Point{}}
}

func (c *crowd) cell(p shadow.Point) [2]int32 {
	at := func(x float64) int32 { return int32(min(max(math.Floor(x/c.near), math.MinInt32+1), math.MaxInt32-1)) }
	return [2]int32{at(p.X), at(p.Y)}
}

// mostAlong bounds the places on one stretch, whatever its length: on a chart as wide
// as a page there is room for some hundred lines beside each other.
const mostAlong = 1 << 12

// along gives places on a line, half the least distance apart.
func (c *crowd) along(line []shadow.Point) []shadow.Point {
	var out []shadow.Point
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		n := int(min(2*math.Hypot(b.X-a.X, b.Y-a.Y)/c.near, mostAlong)) + 1
		for k := range n {
			t := (float64(k) + 0.5) / float64(n)
			out = append(out, shadow.Point{X: a.X + float64(t*(b.X-a.X)), Y: a.Y + float64(t*(b.Y-a.Y))})
		}
	}
	return out
}

// add remembers a line.
func (c *crowd) add(line []shadow.Point) {
	for _, p := range c.along(line) {
		k := c.cell(p)
		c.taken[k] = append(c.taken[k], p)
	}
}

// apart returns the lines, in order, that keep clear of what was drawn before
// for at least a third of their length, and remembers them.
func (c *crowd) apart(lines [][]shadow.Point) [][]shadow.Point {
	var out [][]shadow.Point
	for _, l := range lines {
		places := c.along(l)
		beside := 0
		for _, p := range places {
			if c.close(p) {
				beside++
			}
		}
		if 3*beside <= 2*len(places) {
			out = append(out, l)
			c.add(l)
		}
	}
	return out
}

func (c *crowd) close(p shadow.Point) bool {
	k := c.cell(p)
	for dx := int32(-1); dx <= 1; dx++ {
		for dy := int32(-1); dy <= 1; dy++ {
			for _, q := range c.taken[[2]int32{k[0] + dx, k[1] + dy}] {
				if math.Hypot(p.X-q.X, p.Y-q.Y) < c.near {
					return true
				}
			}
		}
	}
	return false
}
