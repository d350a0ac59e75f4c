package hull

import (
	"cmp"
	"math"
	"slices"

	"cardback/internal/mesh"
)

// Diameter is the greatest distance between two of the points, exactly as
// float64 computes distances.
//
// The points are laid along a Morton curve and halved again and again. Pairs of
// halves that can hold no pair of points farther apart than the best so far are
// passed over, by two bounds: each half has a box, which serves for long parts,
// and a cone about the centre with a greatest radius, which serves for round ones
// (see boxesApart2, conesApart2).
func Diameter(points []mesh.Vec) float64 {
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
		if boxesApart2(a.box, b.box) <= best || conesApart2(a, b) <= best {
			continue
		}
		switch {
		case a.right == 0 && b.right == 0:
			best = max(best, t.leaves(a, b, best))
		case p.a == p.b:
			stack = append(stack, pair{a.right, a.right}, pair{p.a + 1, p.a + 1}, pair{p.a + 1, a.right})
		case b.right == 0 || a.right != 0 && a.hi-a.lo >= b.hi-b.lo:
			near, far := pair{p.a + 1, p.b}, pair{a.right, p.b}
			if boxesApart2(t.nodes[near.a].box, b.box) > boxesApart2(t.nodes[far.a].box, b.box) {
				near, far = far, near
			}
			stack = append(stack, near, far) // the more promising one is taken first
		default:
			near, far := pair{p.a, p.b + 1}, pair{p.a, b.right}
			if boxesApart2(a.box, t.nodes[near.b].box) > boxesApart2(a.box, t.nodes[far.b].box) {
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

// boxesApart2 is the square of the greatest distance between points of two
// boxes. Differences, squares and sums round monotonically, so it bounds the
// computed distances of points in them too.
func boxesApart2(a, b mesh.Box) float64 {
	d := mesh.Vec{
		X: max(a.Max.X-b.Min.X, b.Max.X-a.Min.X),
		Y: max(a.Max.Y-b.Min.Y, b.Max.Y-a.Min.Y),
		Z: max(a.Max.Z-b.Min.Z, b.Max.Z-a.Min.Z),
	}
	return d.Dot(d)
}

// coneSlack is, relative to the squared distance, more than all roundings in
// conesApart2, in the cones and in a computed distance come to: some tens of the
// unit roundoff, 1.1e-16. (The root that gives a sine magnifies them, but only
// by 1/sine, and its product with a lesser sine undoes that.)
const coneSlack = 1e-14

// conesApart2 bounds the squared distance between points p and q, seen from the
// centre, by their greatest radii r and s and the least angle δ by which they can
// miss lying opposite each other: |p − q|² = |p|² + |q|² − 2p·q ≤ r² + s² +
// 2rs·cos δ, where δ is the angle between one cone's axis and the other's
// reversed, less both half-angles. (It grows with |p| and |q| as δ is at most a
// right angle where the bound is used; beyond that it is not.)
func conesApart2(a, b *pointNode) float64 {
	r, s := a.radius, b.radius
	cos := 1.0
	if a.cos > 0 && b.cos > 0 {
		cosSum, sinSum := a.cos*b.cos-a.sin*b.sin, a.sin*b.cos+a.cos*b.sin
		if c := -a.axis.Dot(b.axis); c < cosSum {
			cos = max(0, c*cosSum+math.Sqrt(max(0, 1-c*c))*sinSum)
		}
	}
	return (r*r + s*s + 2*r*s*cos) + coneSlack*(r+s)*(r+s)
}

// pointNode is a run of points. Its left half is the node after it; right is 0
// for a leaf.
type pointNode struct {
	box    mesh.Box
	lo, hi int
	right  int
	// The points lie in the cone about the axis, from the centre, and within the
	// radius. A cosine of the half-angle that is not positive stands for any cone.
	axis     mesh.Vec
	cos, sin float64
	radius   float64
}

type pointTree struct {
	points []mesh.Vec
	nodes  []pointNode
	// Each point's direction from the centre, of length 1, and its distance from
	// it: for making the nodes.
	toward []mesh.Vec
	radius []float64
}

// leafSize trades looking at boxes, and their memory, against looking at points.
const leafSize = 8

func newPointTree(points []mesh.Vec) *pointTree {
	box := mesh.Box{Min: points[0], Max: points[0]}
	for _, p := range points {
		box = grown(box, p)
	}
	t := &pointTree{points: mortonOrder(points, box)}
	n := len(points)
	t.toward, t.radius = make([]mesh.Vec, n), make([]float64, n)
	centre := box.Centre()
	for i, p := range t.points {
		d := p.Sub(centre)
		t.radius[i] = d.Norm()
		t.toward[i] = d.Scale(1 / t.radius[i])
	}
	// Halves of more than leafSize points have at least leafSize/2.
	t.nodes = make([]pointNode, 0, max(1, 4*n/leafSize))
	t.build(0, n)
	t.toward, t.radius = nil, nil
	return t
}

// mortonOrder puts points along a Morton curve through their box.
func mortonOrder(points []mesh.Vec, box mesh.Box) []mesh.Vec {
	type keyed struct {
		key   uint64
		point int32
	}
	size := box.Size()
	scale := float64(1<<21-1) / max(size.X, size.Y, size.Z)
	order := make([]keyed, len(points))
	for i, p := range points {
		d := p.Sub(box.Min)
		order[i] = keyed{spreadBits(d.X*scale) | spreadBits(d.Y*scale)<<1 | spreadBits(d.Z*scale)<<2, int32(i)}
	}
	slices.SortFunc(order, func(a, b keyed) int {
		return cmp.Or(cmp.Compare(a.key, b.key), cmp.Compare(a.point, b.point))
	})
	out := make([]mesh.Vec, len(points))
	for i, k := range order {
		out[i] = points[k.point]
	}
	return out
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
	t.nodes = append(t.nodes, t.coneOf(lo, hi))
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

// coneOf is a node with all but its box and its right half.
func (t *pointTree) coneOf(lo, hi int) pointNode {
	n := pointNode{lo: lo, hi: hi}
	for i := lo; i < hi; i++ {
		n.axis = n.axis.Add(t.toward[i])
		n.radius = max(n.radius, t.radius[i])
	}
	n.axis = n.axis.Scale(1 / n.axis.Norm())
	cos := 1.0
	for i := lo; i < hi; i++ {
		cos = min(cos, n.axis.Dot(t.toward[i])) // not a number where there is no direction or axis
	}
	if cos -= 0x1p-50; cos > 0 { // more than the roundings of directions and products
		n.cos, n.sin = cos, math.Sqrt(1-cos*cos)
	}
	return n
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
		if boxesApart2(mesh.Box{Min: p, Max: p}, b.box) <= best {
			continue
		}
		for _, q := range t.points[b.lo:b.hi] {
			best = max(best, distance2(p, q))
		}
	}
	return best
}
