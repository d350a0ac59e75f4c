package fit

import (
	"container/heap"
	"math"
	"slices"
)

// cover is a growing list of boxes, in steps, each with its sides in ascending
// order, and of what they have been found to cover. Of what has two sides only,
// the first is 0 and one row is enough.
type cover struct {
	rows, size int
	// accept, in steps, is the tolerance at which extents are taken as covered, at
	// most steps.
	accept int
	// least has, for each i < rows and j from i to size − 1, the least third side
	// among the boxes whose first two are at most i and j; see at.
	least []int16
	boxes [][3]int
	// corners has, for the same i and j, the least third side among the covered
	// extents whose first two are i and j; those since begin are given up unless
	// end is called.
	corners []int16
	fresh   [][3]int
}

// none stands for no third side; a side is at most mostSteps and some.
const none = math.MaxInt16

// newCover makes room for first sides below rows and sides up to most steps.
func newCover(rows, most, accept int) *cover {
	c := &cover{rows: min(rows, most+1), size: most + 1, accept: accept}
	n := c.at(c.rows-1, c.size-1) + 1
	c.least, c.corners = make([]int16, n), make([]int16, n)
	for i := range c.least {
		c.least[i], c.corners[i] = none, none
	}
	return c
}

// at is the place of i and j, i ≤ j, in the tables: row i has size − i places.
func (c *cover) at(i, j int) int { return i*c.size - i*(i-1)/2 + j - i }

func (c *cover) begin() { c.fresh = c.fresh[:0] }

func (c *cover) end() {
	for _, l := range c.fresh {
		at := &c.corners[c.at(l[0], l[1])]
		*at = min(*at, int16(l[2]))
	}
}

// has reports whether some box is at most l with accept added, and if so
// remembers l.
func (c *cover) has(l [3]int) bool {
	i, j := min(l[0]+c.accept, c.rows-1), min(l[1]+c.accept, c.size-1)
	if int(c.least[c.at(i, j)]) > l[2]+c.accept {
		return false
	}
	c.fresh = append(c.fresh, l)
	return true
}

func (c *cover) put(b [3]int) {
	c.boxes = append(c.boxes, b)
	for i := b[0]; i < c.rows; i++ {
		j := max(b[1], i)
		if j >= c.size {
			break
		}
		row := c.least[c.at(i, j) : c.at(i, c.size-1)+1]
		if int(row[0]) <= b[2] {
			break // and so it is in all further rows: least falls along both
		}
		for k := range row {
			if int(row[k]) <= b[2] {
				break
			}
			row[k] = int16(b[2])
		}
	}
}

// chosen keeps few of the boxes, enough to cover all the corners, in ascending
// order: by the greedy method for set cover, always the box that covers most of
// what is left, and then without those that later ones made needless.
func (c *cover) chosen() [][3]int {
	corners := c.leastCorners()
	boxes := c.leastBoxes()
	reach := c.reach(boxes, corners)
	left := make(gains, 0, len(boxes))
	for i := range boxes {
		left = append(left, gain{i, len(reach[i])})
	}
	heap.Init(&left)
	covered := make([]int, len(corners)) // by how many of the boxes kept
	var kept []int
	for len(left) > 0 {
		g := left[0]
		n := 0
		for _, k := range reach[g.box] {
			if covered[k] == 0 {
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
			kept = append(kept, g.box)
			for _, k := range reach[g.box] {
				covered[k]++
			}
		}
	}
	var out [][3]int
	for _, i := range kept {
		if slices.ContainsFunc(reach[i], func(k int32) bool { return covered[k] == 1 }) {
			out = append(out, boxes[i])
			continue
		}
		for _, k := range reach[i] {
			covered[k]--
		}
	}
	slices.SortFunc(out, func(a, b [3]int) int { return slices.Compare(a[:], b[:]) })
	return out
}

// leastBoxes are the boxes that have no other at or below them.
func (c *cover) leastBoxes() [][3]int {
	var out [][3]int
	for _, b := range c.boxes {
		i, j, k := b[0], b[1], int16(min(b[2], none))
		if i >= c.rows || j >= c.size || c.least[c.at(i, j)] < k || i > 0 && c.least[c.at(i-1, j)] <= k || j > i && c.least[c.at(i, j-1)] <= k {
			continue
		}
		out = append(out, b)
	}
	slices.SortFunc(out, func(a, b [3]int) int { return slices.Compare(a[:], b[:]) })
	return slices.Compact(out)
}

// reach lists for each box the corners that it covers, by their places in the
// list, which leastCorners made.
func (c *cover) reach(boxes, corners [][3]int) [][]int32 {
	// From here on, corners holds only those of the list, and most[i, j] the
	// greatest third number of those at i, j or beyond.
	for i := range c.corners {
		c.corners[i] = -1
	}
	place := make(map[[2]int]int32, len(corners))
	for k, l := range corners {
		c.corners[c.at(l[0], l[1])] = int16(l[2])
		place[[2]int{l[0], l[1]}] = int32(k)
	}
	most := slices.Clone(c.corners)
	for i := c.rows - 1; i >= 0; i-- {
		for j := c.size - 1; j >= i; j-- {
			at := &most[c.at(i, j)]
			if j+1 < c.size {
				*at = max(*at, most[c.at(i, j+1)])
			}
			if i+1 < c.rows && j > i {
				*at = max(*at, most[c.at(i+1, j)])
			}
		}
	}
	out := make([][]int32, len(boxes))
	for n, b := range boxes {
		least := int16(max(b[2]-steps, 0))
		first := max(b[1]-steps, 0)
		for i := max(b[0]-steps, 0); i < c.rows; i++ {
			j := max(first, i)
			if j >= c.size || most[c.at(i, j)] < least {
				break
			}
			for ; j < c.size && most[c.at(i, j)] >= least; j++ {
				if c.corners[c.at(i, j)] >= least {
					out[n] = append(out[n], place[[2]int{i, j}])
				}
			}
		}
	}
	return out
}

// leastCorners are the corners that have no other at or below them: what covers
// these covers all.
func (c *cover) leastCorners() [][3]int {
	// front[j] is the least third number among those so far whose second is at
	// most j.
	front := make([]int16, c.size)
	for j := range front {
		front[j] = none
	}
	var out [][3]int
	for i := range c.rows {
		least := int16(none) // in this row, up to j
		for j := i; j < c.size; j++ {
			if h := c.corners[c.at(i, j)]; h < least {
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
