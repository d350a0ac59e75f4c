package measure

import (
	"math"
	"slices"

	"cardback/internal/mesh"
)

// diameterOf is the greatest distance between two of the points, exactly as
// float64 computes distances.
//
// The points are laid along a Morton curve and halved again and again; each half
// has a box. Pairs of halves whose boxes are nowhere farther apart than the best
// pair of points so far are passed over. Differences, squares and sums round
// monotonically, so the boxes' bound holds for the computed distances too, and
// nothing is missed.
func diameterOf(points []mesh.Vec) float64 {
	if len(points) < 2 {
		return 0
	}
	t := newPointTree(points)
	best := t.guess()
	type pair struct{ a, b int }
	stack := []pair{{0, 0}}
	for len(stack) > 0 {
		p := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		a, b := &t.nodes[p.a], &t.nodes[p.b]
		if apart2(a.box, b.box) <= best {
			continue
		}
		switch {
		case a.right == 0 && b.right == 0:
			best = max(best, t.leaves(a, b, best))
		case p.a == p.b:
			stack = append(stack, pair{a.right, a.right}, pair{p.a + 1, p.a + 1}, pair{p.a + 1, a.right})
		case b.right == 0 || a.right != 0 && a.hi-a.lo >= b.hi-b.lo:
			near, far := pair{p.a + 1, p.b}, pair{a.right, p.b}
			if apart2(t.nodes[near.a].box, b.box) > apart2(t.nodes[far.a].box, b.box) {
				near, far = far, near
			}
			stack = append(stack, near, far) // the more promising one is taken first
		default:
			near, far := pair{p.a, p.b + 1}, pair{p.a, b.right}
			if apart2(a.box, t.nodes[near.b].box) > apart2(a.box, t.nodes[far.b].box) {
				near, far = far, near
			}
			stack = append(stack, near, far)
		}
	}
	return math.Sqrt(best)
}

func distance2(p, q mesh.Vec) float64 {
	d := p.Sub(q)
	return d.Dot(d)
}

// apart2 is the square of the greatest distance between points of two boxes.
func apart2(a, b mesh.Box) float64 {
	d := mesh.Vec{
		X: max(a.Max.X-b.Min.X, b.Max.X-a.Min.X),
		Y: max(a.Max.Y-b.Min.Y, b.Max.Y-a.Min.Y),
		Z: max(a.Max.Z-b.Min.Z, b.Max.Z-a.Min.Z),
	}
	return d.Dot(d)
}

// pointNode is a run of points and their box. Its left half is the node after it;
// right is 0 for a leaf.
type pointNode struct {
	box    mesh.Box
	lo, hi int
	right  int
}

type pointTree struct {
	points []mesh.Vec
	nodes  []pointNode
}

// leafSize trades looking at boxes against looking at points.
const leafSize = 4

func newPointTree(points []mesh.Vec) *pointTree {
	box := mesh.Box{Min: points[0], Max: points[0]}
	for _, p := range points {
		box = grown(box, p)
	}
	type placed struct {
		key uint64
		p   mesh.Vec
	}
	size := box.Size()
	scale := float64(1<<21-1) / max(size.X, size.Y, size.Z)
	all := make([]placed, len(points))
	for i, p := range points {
		d := p.Sub(box.Min)
		all[i] = placed{spreadBits(d.X*scale) | spreadBits(d.Y*scale)<<1 | spreadBits(d.Z*scale)<<2, p}
	}
	slices.SortFunc(all, func(a, b placed) int {
		switch {
		case a.key < b.key:
			return -1
		case a.key > b.key:
			return 1
		}
		return compareVec(a.p, b.p)
	})
	t := &pointTree{points: make([]mesh.Vec, len(all)), nodes: make([]pointNode, 0, len(all))}
	for i, p := range all {
		t.points[i] = p.p
	}
	t.build(0, len(all))
	return t
}

func grown(b mesh.Box, p mesh.Vec) mesh.Box {
	return mesh.Box{
		Min: mesh.Vec{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y), Z: min(b.Min.Z, p.Z)},
		Max: mesh.Vec{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y), Z: max(b.Max.Z, p.Z)},
	}
}

// spreadBits puts two zero bits between the lower 21 bits of a whole number.
func spreadBits(f float64) uint64 {
	if !(f > 0) { // also where a box without extent made it 0·∞
		return 0
	}
	x := uint64(f) & (1<<21 - 1)
	x = (x | x<<32) & 0x1f00000000ffff
	x = (x | x<<16) & 0x1f0000ff0000ff
	x = (x | x<<8) & 0x100f00f00f00f00f
	x = (x | x<<4) & 0x10c30c30c30c30c3
	return (x | x<<2) & 0x1249249249249249
}

func (t *pointTree) build(lo, hi int) {
	at := len(t.nodes)
	t.nodes = append(t.nodes, pointNode{lo: lo, hi: hi})
	if hi-lo <= leafSize {
		box := mesh.Box{Min: t.points[lo], Max: t.points[lo]}
		for _, p := range t.points[lo+1 : hi] {
			box = grown(box, p)
		}
		t.nodes[at].box = box
		return
	}
	mid := lo + (hi-lo)/2
	t.build(lo, mid)
	right := len(t.nodes)
	t.build(mid, hi)
	t.nodes[at].right = right
	l, r := t.nodes[at+1].box, t.nodes[right].box
	t.nodes[at].box = grown(grown(l, r.Min), r.Max)
}

// guess is the square of a distance that occurs and is most often close to the
// greatest: from a point to the farthest, from there to the farthest, and so on.
func (t *pointTree) guess() float64 {
	best := 0.0
	from := t.points[0]
	for range 8 {
		d, at := 0.0, from
		for _, p := range t.points {
			if e := distance2(from, p); e > d {
				d, at = e, p
			}
		}
		if d <= best {
			break
		}
		best, from = d, at
	}
	return best
}

// leaves compares the points of two leaves.
func (t *pointTree) leaves(a, b *pointNode, best float64) float64 {
	for _, p := range t.points[a.lo:a.hi] {
		if apart2(mesh.Box{Min: p, Max: p}, b.box) <= best {
			continue
		}
		for _, q := range t.points[b.lo:b.hi] {
			best = max(best, distance2(p, q))
		}
	}
	return best
}
