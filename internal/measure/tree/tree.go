// Package tree finds, without looking at all of them, the triangles of a mesh that
// lie in a box, along a ray, near a point, or near each other.
//
// Its central type is Tree: a balanced binary tree of axis-aligned boxes, split
// at the median of the triangles' middles along the longest axis. It is made once
// for a mesh, in time n·log n on all processors, is never written to afterwards,
// takes about 27 bytes a triangle (39 while it is made), and is the same on any
// number of processors.
//
// Boxes are kept in 32-bit numbers rounded outwards, so nothing that a query asks
// for is ever missed; what is visited is a superset, and the caller decides.
// Triangles without area are in the tree like all others.
package tree

import (
	"context"
	"math"
	"math/bits"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// leaf is the most triangles that a leaf holds.
const leaf = 4

// Tree answers queries about the triangles of one mesh.
type Tree struct {
	Mesh  *mesh.Mesh
	order []int32 // triangles, leaf by leaf
	nodes []node
}

// node is a box with its triangles: order[first:first+count]. Its children, if
// count > leaf, are nodes left and left+1.
type node struct {
	min, max    [3]float32
	first, left int32
	count       int32
}

// New makes the tree of m's triangles, of which there must be at least one. The
// error is the context's.
func New(ctx context.Context, m *mesh.Mesh) (*Tree, error) {
	n := len(m.Triangles)
	t := &Tree{Mesh: m, order: make([]int32, n), nodes: make([]node, 1, nodesFor(n))}
	b := builder{tree: t, middles: make([][3]float32, n)}
	const piece = 1 << 14
	err := parallel.Pieces(ctx, n, piece, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			t.order[i] = int32(i)
			lo, hi := extremes(m, int32(i))
			for k := range 3 {
				b.middles[i][k] = lo[k]/2 + hi[k]/2
			}
		}
	})
	if err != nil {
		return nil, err
	}
	t.nodes[0] = node{count: int32(n)}
	// Nodes are laid out level by level down to some hundred subtrees, each of
	// which then has a stretch of its own.
	var roots []int32
	for i := int32(0); i < int32(len(t.nodes)); i++ {
		nd := &t.nodes[i]
		if nd.count <= leaf {
			continue
		}
		if int(nd.count)*512 <= n || nd.count < 1<<10 {
			roots = append(roots, i)
			continue
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		b.split(i, int32(len(t.nodes)))
		t.nodes = t.nodes[:len(t.nodes)+2]
		b.divide(i)
	}
	top := len(t.nodes)
	starts := make([]int32, len(roots))
	at := top
	for k, r := range roots {
		starts[k] = int32(at)
		at += nodesFor(int(t.nodes[r].count)) - 1
	}
	t.nodes = t.nodes[:at]
	err = parallel.Tasks(ctx, len(roots), func(k int) { b.grow(roots[k], starts[k]) })
	if err != nil {
		return nil, err
	}
	for i := top - 1; i >= 0; i-- {
		nd := &t.nodes[i]
		if nd.left == 0 {
			if nd.count <= leaf {
				t.bound(nd)
			}
			continue
		}
		t.join(nd)
	}
	return t, nil
}

// nodesFor is how many nodes a subtree of n triangles has: halves are n/2 rounded
// down and up.
func nodesFor(n int) int {
	if n <= leaf {
		return 1
	}
	// At depth d every node has ⌊n/2^d⌋ or one more; splitting ends where all are
	// at most leaf, and only the level above the last can be mixed.
	total, d := 0, 0
	for {
		size := n >> d
		level := 1 << d
		total += level
		if size+1 <= leaf || size <= leaf && n == size<<d {
			return total
		}
		if size <= leaf { // those of size+1 > leaf go on, once
			more := n - size<<d
			return total + 2*more
		}
		d++
	}
}

type builder struct {
	tree    *Tree
	middles [][3]float32
}

// split makes i's two children, at left and left+1, without dividing the
// triangles yet.
func (b *builder) split(i, left int32) {
	nd := &b.tree.nodes[i]
	nd.left = left
	half := nd.count / 2
	nodes := b.tree.nodes[:cap(b.tree.nodes)]
	nodes[left] = node{first: nd.first, count: half}
	nodes[left+1] = node{first: nd.first + half, count: nd.count - half}
}

// divide puts the lesser half of i's triangles before the greater, along the axis
// on which their middles spread most.
func (b *builder) divide(i int32) {
	nd := &b.tree.nodes[i]
	part := b.tree.order[nd.first : nd.first+nd.count]
	lo, hi := b.middles[part[0]], b.middles[part[0]]
	for _, t := range part[1:] {
		for k, x := range b.middles[t] {
			lo[k], hi[k] = min(lo[k], x), max(hi[k], x)
		}
	}
	axis := 0
	for k := range 3 {
		if hi[k]-lo[k] > hi[axis]-lo[axis] {
			axis = k
		}
	}
	b.selectNth(part, int(nd.count/2), axis)
}

// less orders triangles by their middles along an axis, equal ones by number, so
// that there is one order only.
func (b *builder) less(s, t int32, axis int) bool {
	x, y := b.middles[s][axis], b.middles[t][axis]
	return x < y || x == y && s < t
}

// selectNth moves the n least of part to its front (Hoare's selection, with the
// median of three as pivot; after many poor pivots, of a pseudo-random three).
func (b *builder) selectNth(part []int32, n, axis int) {
	lo, hi := 0, len(part)-1
	state := uint64(len(part))
	for round := 0; hi > lo; round++ {
		p, q, r := lo, (lo+hi)/2, hi
		if round > 2*bits.Len(uint(len(part))) {
			pick := func() int {
				state = state*6364136223846793005 + 1442695040888963407
				return lo + int(state>>33)%(hi-lo+1)
			}
			p, q, r = pick(), pick(), pick()
		}
		if b.less(part[q], part[p], axis) {
			p, q = q, p
		}
		if b.less(part[r], part[q], axis) {
			q = r
			if b.less(part[q], part[p], axis) {
				q = p
			}
		}
		pivot := part[q]
		i, j := lo, hi
		for i <= j {
			for b.less(part[i], pivot, axis) {
				i++
			}
			for b.less(pivot, part[j], axis) {
				j--
			}
			if i <= j {
				part[i], part[j] = part[j], part[i]
				i++
				j--
			}
		}
		switch {
		case n <= j:
			hi = j
		case n >= i:
			lo = i
		default:
			return
		}
	}
}

// grow makes the subtree below i, in depth order from next on, and its boxes. It
// returns the first unused place.
func (b *builder) grow(i, next int32) int32 {
	t := b.tree
	nd := &t.nodes[i]
	if nd.count <= leaf {
		t.bound(nd)
		return next
	}
	b.split(i, next)
	b.divide(i)
	left := next
	next = b.grow(left, next+2)
	next = b.grow(left+1, next)
	t.join(nd)
	return next
}

// bound gives a leaf its box.
func (t *Tree) bound(nd *node) {
	for n, tri := range t.order[nd.first : nd.first+nd.count] {
		lo, hi := extremes(t.Mesh, tri)
		if n == 0 {
			nd.min, nd.max = lo, hi
			continue
		}
		for k := range 3 {
			nd.min[k], nd.max[k] = min(nd.min[k], lo[k]), max(nd.max[k], hi[k])
		}
	}
}

// join gives an inner node its box.
func (t *Tree) join(nd *node) {
	a, b := &t.nodes[nd.left], &t.nodes[nd.left+1]
	for k := range 3 {
		nd.min[k], nd.max[k] = min(a.min[k], b.min[k]), max(a.max[k], b.max[k])
	}
}

// extremes is a triangle's box, rounded outwards to 32 bits.
func extremes(m *mesh.Mesh, tri int32) (lo, hi [3]float32) {
	a, b, c := m.Corners(int(tri))
	lo = [3]float32{down(min(a.X, b.X, c.X)), down(min(a.Y, b.Y, c.Y)), down(min(a.Z, b.Z, c.Z))}
	hi = [3]float32{up(max(a.X, b.X, c.X)), up(max(a.Y, b.Y, c.Y)), up(max(a.Z, b.Z, c.Z))}
	return lo, hi
}

// down and up round to a 32-bit number that is not greater, not less.
func down(x float64) float32 {
	y := float32(x)
	if float64(y) > x {
		y = math.Nextafter32(y, float32(math.Inf(-1)))
	}
	return y
}

func up(x float64) float32 { return -down(-x) }
