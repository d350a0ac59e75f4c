package shadow

import (
	"context"
	"slices"
)

// gridBox is a closed box of grid points.
type gridBox struct{ lo, hi gridPoint }

func (b gridBox) union(c gridBox) gridBox {
	return gridBox{
		gridPoint{min(b.lo.x, c.lo.x), min(b.lo.y, c.lo.y)},
		gridPoint{max(b.hi.x, c.hi.x), max(b.hi.y, c.hi.y)},
	}
}

// boxOf is the box of a segment.
func boxOf(a, b gridPoint) gridBox {
	return gridBox{a, a}.union(gridBox{b, b})
}

// code is the Morton code of the box's middle.
func (b gridBox) code() uint64 {
	x := uint32(b.lo.x) + uint32(b.hi.x)
	y := uint32(b.lo.y) + uint32(b.hi.y)
	return interleave(x/2) | interleave(y/2)<<1
}

// meets reports whether the segment ab may come within one step of the box: the
// separating-axis test with the box grown by a step. Doubled coordinates keep
// the centre whole: |2·centre − 2·a| < 2^30, so the product stays below 2^60.
func (b gridBox) meets(s, e gridPoint, of gridBox) bool {
	if of.hi.x < b.lo.x-1 || of.lo.x > b.hi.x+1 || of.hi.y < b.lo.y-1 || of.lo.y > b.hi.y+1 {
		return false
	}
	dx, dy := int64(e.x-s.x), int64(e.y-s.y)
	cx := int64(b.lo.x) + int64(b.hi.x) - 2*int64(s.x)
	cy := int64(b.lo.y) + int64(b.hi.y) - 2*int64(s.y)
	reach := abs64(dx)*int64(b.hi.y-b.lo.y+2) + abs64(dy)*int64(b.hi.x-b.lo.x+2)
	return abs64(dx*cy-dy*cx) <= reach
}

func abs64(x int64) int64 {
	if x < 0 {
		return -x
	}
	return x
}

// fan is how many boxes of one level share a box of the next.
const fan = 8

// boxTree is a packed tree of boxes, for finding those near a segment. Boxes
// are put in Morton order of their centres, so that neighbours in the order are
// neighbours in the plane, whatever the density.
type boxTree struct {
	items  []int32     // item numbers in Morton order
	levels [][]gridBox // levels[0] are the items' boxes in that order; the last has one box
}

func newBoxTree(boxes []gridBox) *boxTree {
	if len(boxes) == 0 {
		return &boxTree{}
	}
	type keyed struct {
		code uint64
		item int32
	}
	order := make([]keyed, len(boxes))
	for i, b := range boxes {
		order[i] = keyed{b.code(), int32(i)}
	}
	slices.SortFunc(order, func(p, q keyed) int {
		switch {
		case p.code < q.code:
			return -1
		case p.code > q.code:
			return 1
		}
		return int(p.item) - int(q.item)
	})
	t := &boxTree{items: make([]int32, len(boxes))}
	level := make([]gridBox, len(boxes))
	for i, k := range order {
		t.items[i], level[i] = k.item, boxes[k.item]
	}
	t.levels = append(t.levels, level)
	for len(level) > 1 {
		next := make([]gridBox, 0, (len(level)+fan-1)/fan)
		for i := 0; i < len(level); i += fan {
			box := level[i]
			for _, c := range level[i+1 : min(i+fan, len(level))] {
				box = box.union(c)
			}
			next = append(next, box)
		}
		t.levels = append(t.levels, next)
		level = next
	}
	return t
}

// near calls f with every item whose box the segment ab meets, and perhaps some
// that it only passes within a step of.
func (t *boxTree) near(a, b gridPoint, f func(item int32)) {
	of := boxOf(a, b)
	t.visit(func(box gridBox) bool { return box.meets(a, b, of) }, f)
}

// within calls f with every item whose box meets the given one.
func (t *boxTree) within(box gridBox, f func(item int32)) {
	t.visit(func(b gridBox) bool {
		return b.lo.x <= box.hi.x && box.lo.x <= b.hi.x && b.lo.y <= box.hi.y && box.lo.y <= b.hi.y
	}, f)
}

// visit calls f with the items that enter admits, passing over whole groups
// that it does not.
func (t *boxTree) visit(enter func(gridBox) bool, f func(item int32)) {
	var down func(level, i int)
	down = func(level, i int) {
		switch {
		case !enter(t.levels[level][i]):
		case level == 0:
			f(t.items[i])
		default:
			for c := i * fan; c < min((i+1)*fan, len(t.levels[level-1])); c++ {
				down(level-1, c)
			}
		}
	}
	if len(t.levels) > 0 {
		down(len(t.levels)-1, 0)
	}
}

// interleave puts a zero bit between the bits of x.
func interleave(x uint32) uint64 {
	v := uint64(x)
	v = (v | v<<16) & 0x0000ffff0000ffff
	v = (v | v<<8) & 0x00ff00ff00ff00ff
	v = (v | v<<4) & 0x0f0f0f0f0f0f0f0f
	v = (v | v<<2) & 0x3333333333333333
	return (v | v<<1) & 0x5555555555555555
}

// segmentTree is a boxTree over the edges of a chain.
func segmentTree(ctx context.Context, chain []weighted) (*boxTree, error) {
	boxes := make([]gridBox, len(chain))
	for i, e := range chain {
		boxes[i] = boxOf(e.a, e.b)
	}
	return newBoxTree(boxes), ctx.Err()
}
