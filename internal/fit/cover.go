package fit

import (
	"container/heap"
	"math"
	"slices"
)

// cover is a growing list of boxes, in steps, and of what they have been found to
// cover. Boxes of two sides leave the third 0.
type cover struct {
	size int
	// least[i*size+j] is the least third side among the boxes whose first two are
	// at most i and j.
	least []int32
	boxes [][3]int
	// corners[i*size+j] is the least third side among the covered extents whose
	// first two are i and j; those since begin are given up unless end is called.
	corners []int32
	fresh   [][3]int
}

// newCover makes room for sides of up to most steps.
func newCover(most int) *cover {
	c := &cover{size: most + 1}
	c.least, c.corners = make([]int32, c.size*c.size), make([]int32, c.size*c.size)
	for i := range c.least {
		c.least[i], c.corners[i] = math.MaxInt32, math.MaxInt32
	}
	return c
}

func (c *cover) begin() { c.fresh = c.fresh[:0] }

func (c *cover) end() {
	for _, l := range c.fresh {
		at := &c.corners[l[0]*c.size+l[1]]
		*at = min(*at, int32(l[2]))
	}
}

// has reports whether some box is at most l with the tolerance added, and if so
// remembers l.
func (c *cover) has(l [3]int) bool {
	i, j := min(l[0]+steps, c.size-1), min(l[1]+steps, c.size-1)
	if int(c.least[i*c.size+j]) > l[2]+steps {
		return false
	}
	c.fresh = append(c.fresh, l)
	return true
}

func (c *cover) put(b [3]int) {
	c.boxes = append(c.boxes, b)
	for i := b[0]; i < c.size; i++ {
		row := c.least[i*c.size : (i+1)*c.size]
		if b[1] >= c.size || row[b[1]] <= int32(b[2]) {
			break // and so it is in all further rows: least falls along both
		}
		for j := b[1]; j < c.size && row[j] > int32(b[2]); j++ {
			row[j] = int32(b[2])
		}
	}
}

// chosen keeps few of the boxes, enough to cover all the corners (the greedy
// method for set cover: always the box that covers most of what is left), in
// ascending order.
func (c *cover) chosen() [][3]int {
	corners := c.leastCorners()
	reach := make([][]int32, len(c.boxes))
	left := make(gains, 0, len(c.boxes))
	for i, b := range c.boxes {
		for k, l := range corners {
			if covers(b, l) {
				reach[i] = append(reach[i], int32(k))
			}
		}
		left = append(left, gain{i, len(reach[i])})
	}
	heap.Init(&left)
	covered := make([]bool, len(corners))
	var out [][3]int
	for len(left) > 0 {
		g := left[0]
		n := 0
		for _, k := range reach[g.box] {
			if !covered[k] {
				n++
			}
		}
		switch {
		case n == 0:
			heap.Pop(&left)
		case n < g.n: // gains only fall, so the greatest that still holds is the greatest
			left[0].n = n
			heap.Fix(&left, 0)
		default:
			heap.Pop(&left)
			out = append(out, c.boxes[g.box])
			for _, k := range reach[g.box] {
				covered[k] = true
			}
		}
	}
	slices.SortFunc(out, func(a, b [3]int) int { return slices.Compare(a[:], b[:]) })
	return out
}

// leastCorners are the corners that have no other at or below them: what covers
// these covers all.
func (c *cover) leastCorners() [][3]int {
	// front[j] is the least third number among those so far whose second is at
	// most j.
	front := make([]int32, c.size)
	for j := range front {
		front[j] = math.MaxInt32
	}
	var out [][3]int
	for i := range c.size {
		row := c.corners[i*c.size : (i+1)*c.size]
		least := int32(math.MaxInt32) // in this row, up to j
		for j, h := range row {
			if h < least {
				least = h
				if h < front[j] {
					out = append(out, [3]int{i, j, int(h)})
				}
			}
			front[j] = min(front[j], least)
		}
	}
	return out
}

// gain is how many corners a box covers that are not covered yet, at the most.
type gain struct{ box, n int }

// gains is a heap, the greatest first (container/heap).
type gains []gain

func (g gains) Len() int { return len(g) }
func (g gains) Less(i, j int) bool {
	if g[i].n != g[j].n {
		return g[i].n > g[j].n
	}
	return g[i].box < g[j].box
}
func (g gains) Swap(i, j int) { g[i], g[j] = g[j], g[i] }
func (g *gains) Push(x any)   { *g = append(*g, x.(gain)) }
func (g *gains) Pop() any {
	last := (*g)[len(*g)-1]
	*g = (*g)[:len(*g)-1]
	return last
}
