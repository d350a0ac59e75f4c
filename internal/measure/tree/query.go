package tree

import (
	"context"
	"iter"
	"math"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// depth is more than the levels of a tree over 2^31 triangles, so a stack of that
// many nodes, with two pushed for one popped, does not overflow.
const depth = 64

// InBox visits every triangle whose box meets b, in no particular order, until
// visit returns false.
func (t *Tree) InBox(b mesh.Box, visit func(triangle int32) bool) {
	lo := [3]float32{down(b.Min.X), down(b.Min.Y), down(b.Min.Z)}
	hi := [3]float32{up(b.Max.X), up(b.Max.Y), up(b.Max.Z)}
	var stack [depth]int32
	n := 1
	for n > 0 {
		n--
		nd := &t.nodes[stack[n]]
		if !meet(nd.min, nd.max, lo, hi) {
			continue
		}
		if nd.count > leaf {
			stack[n], stack[n+1] = nd.left+1, nd.left
			n += 2
			continue
		}
		for _, tri := range t.order[nd.first : nd.first+nd.count] {
			if !visit(tri) {
				return
			}
		}
	}
}

func meet(lo, hi, lo2, hi2 [3]float32) bool {
	return lo[0] <= hi2[0] && lo2[0] <= hi[0] && lo[1] <= hi2[1] && lo2[1] <= hi[1] && lo[2] <= hi2[2] && lo2[2] <= hi[2]
}

// AlongRay visits triangles whose boxes the ray from + s·along meets for s in
// [0, far], roughly from near to far. visit returns the far that holds from then
// on, so that what lies beyond the first hit need not be looked at.
func (t *Tree) AlongRay(from, along mesh.Vec, far float64, visit func(triangle int32) (stillFar float64)) {
	r := t.ray(from, along)
	var stack [depth]int32
	var enters [depth]float64
	n := 0
	if s := r.enter(&t.nodes[0], far); s <= far {
		stack[0], enters[0], n = 0, s, 1
	}
	for n > 0 {
		n--
		if enters[n] > far {
			continue
		}
		nd := &t.nodes[stack[n]]
		if nd.count <= leaf {
			for _, tri := range t.order[nd.first : nd.first+nd.count] {
				far = visit(tri)
			}
			continue
		}
		a, b := nd.left, nd.left+1
		sa, sb := r.enter(&t.nodes[a], far), r.enter(&t.nodes[b], far)
		if sa > sb {
			a, b, sa, sb = b, a, sb, sa
		}
		if sb <= far {
			stack[n], enters[n] = b, sb
			n++
		}
		if sa <= far {
			stack[n], enters[n] = a, sa
			n++
		}
	}
}

// OnLine visits every triangle whose box the line p + s·d meets where s is from lo to
// hi, in no particular order, until visit returns false. Either end may be infinite.
func (t *Tree) OnLine(p, d mesh.Vec, lo, hi float64, visit func(triangle int32) bool) {
	r := t.ray(p, d)
	var stack [depth]int32
	n := 1
	for n > 0 {
		n--
		nd := &t.nodes[stack[n]]
		if !r.meets(nd, lo, hi) {
			continue
		}
		if nd.count > leaf {
			stack[n], stack[n+1] = nd.left+1, nd.left
			n += 2
			continue
		}
		for _, tri := range t.order[nd.first : nd.first+nd.count] {
			if !visit(tri) {
				return
			}
		}
	}
}

// meets reports whether the line that the ray lies on meets nd's box between near and
// far from the ray's origin.
func (r *ray) meets(nd *node, near, far float64) bool {
	for k := range 3 {
		a := (float64(nd.min[k]) - r.before[k]) * r.inverse[k]
		b := (float64(nd.max[k]) - r.after[k]) * r.inverse[k]
		if a > b {
			a, b = b, a
		}
		near, far = max(near, a), min(far, b)
	}
	return near <= far
}

// ray is a ray made ready for testing boxes.
type ray struct {
	// before and after are the origin moved a little along each axis, so that boxes
	// are widened by more than all roundings here: of a difference of coordinates
	// and of a product, three units in the last place of the largest coordinate;
	// sixteen are taken. A box that the ray runs along the face of has a width, too.
	before, after, inverse [3]float64
}

func (t *Tree) ray(from, along mesh.Vec) ray {
	far := max(math.Abs(from.X), math.Abs(from.Y), math.Abs(from.Z))
	for k := range 3 {
		far = max(far, math.Abs(float64(t.nodes[0].min[k])), math.Abs(float64(t.nodes[0].max[k])))
	}
	slack := max(far*0x1p-49, 1e-200)
	var r ray
	for k := range 3 {
		// For directions nearer to 0 than any difference can tell, a number so large
		// that differences times it are still finite.
		const largest = 1e250
		r.inverse[k] = max(-largest, min(1/along.Component(k), largest))
		r.before[k], r.after[k] = from.Component(k)+slack, from.Component(k)-slack
	}
	return r
}

// enter is where the ray enters nd's box, or infinity where it misses it within
// far.
func (r *ray) enter(nd *node, far float64) float64 {
	near := 0.0
	for k := range 3 {
		a := (float64(nd.min[k]) - r.before[k]) * r.inverse[k]
		b := (float64(nd.max[k]) - r.after[k]) * r.inverse[k]
		if a > b {
			a, b = b, a
		}
		if a > near {
			near = a
		}
		if b < far {
			far = b
		}
	}
	if near > far {
		return math.Inf(1)
	}
	return near
}

// Near visits triangles whose boxes come within reach of p, the nearer boxes
// first on the whole. visit returns the reach that holds from then on.
func (t *Tree) Near(p mesh.Vec, reach float64, visit func(triangle int32) (stillReach float64)) {
	var stack [depth]int32
	var gaps [depth]float64
	n := 0
	if g := gap(&t.nodes[0], p); g <= reach {
		stack[0], gaps[0], n = 0, g, 1
	}
	for n > 0 {
		n--
		if gaps[n] > reach {
			continue
		}
		nd := &t.nodes[stack[n]]
		if nd.count <= leaf {
			for _, tri := range t.order[nd.first : nd.first+nd.count] {
				reach = visit(tri)
			}
			continue
		}
		a, b := nd.left, nd.left+1
		ga, gb := gap(&t.nodes[a], p), gap(&t.nodes[b], p)
		if ga > gb {
			a, b, ga, gb = b, a, gb, ga
		}
		if gb <= reach {
			stack[n], gaps[n] = b, gb
			n++
		}
		if ga <= reach {
			stack[n], gaps[n] = a, ga
			n++
		}
	}
}

// gap is the distance from p to nd's box, not rounded up by more than it errs:
// a few parts in 2^53 are taken off.
func gap(nd *node, p mesh.Vec) float64 {
	x := max(float64(nd.min[0])-p.X, 0, p.X-float64(nd.max[0]))
	y := max(float64(nd.min[1])-p.Y, 0, p.Y-float64(nd.max[1]))
	z := max(float64(nd.min[2])-p.Z, 0, p.Z-float64(nd.max[2]))
	return math.Sqrt(x*x+y*y+z*z) * (1 - 4*0x1p-53)
}

// Pairs finds every two different triangles whose boxes meet, each pair once. The
// work is divided into tasks that run side by side: begin is told how many, then
// do is called for each with its number and its pairs, which come in the same
// order on any machine. What do does not take of them is not looked for. Low
// numbers begin first. The error is the context's; the pairs end early where it ends.
func (t *Tree) Pairs(ctx context.Context, begin func(tasks int), do func(task int, pairs iter.Seq2[int32, int32])) error {
	const enough = 1 << 10
	todo := [][2]int32{{0, 0}}
	for len(todo) < enough {
		next := make([][2]int32, 0, 4*len(todo))
		for _, p := range todo {
			next = t.halve(p, next)
		}
		if len(next) == len(todo) {
			break // nothing but leaves
		}
		todo = next
	}
	begin(len(todo))
	return parallel.Tasks(ctx, len(todo), func(i int) {
		do(i, func(yield func(a, b int32) bool) { t.pairsOf(ctx, todo[i], yield) })
	})
}

// pairsOf yields the pairs of triangles from two nodes, which may be the same one.
func (t *Tree) pairsOf(ctx context.Context, nodes [2]int32, yield func(a, b int32) bool) {
	stack := append(make([][2]int32, 0, 4*depth), nodes)
	for steps := 0; len(stack) > 0; steps++ {
		if steps%4096 == 4095 && ctx.Err() != nil {
			return
		}
		p := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		a, b := &t.nodes[p[0]], &t.nodes[p[1]]
		if a.count > leaf || b.count > leaf {
			stack = t.halve(p, stack)
			continue
		}
		var lo, hi [leaf][3]float32 // of b's triangles
		others := t.order[b.first : b.first+b.count]
		for k, u := range others {
			lo[k], hi[k] = extremes(t.Mesh, u)
		}
		for k, s := range t.order[a.first : a.first+a.count] {
			first := 0
			var los, his [3]float32
			if p[0] == p[1] {
				first, los, his = k+1, lo[k], hi[k]
			} else if los, his = extremes(t.Mesh, s); !meet(los, his, b.min, b.max) {
				continue
			}
			for l := first; l < len(others); l++ {
				if meet(los, his, lo[l], hi[l]) && !yield(s, others[l]) {
					return
				}
			}
		}
	}
}

// halve appends the pairs of halves of two nodes whose boxes meet, or the pair
// itself where both are leaves.
func (t *Tree) halve(p [2]int32, to [][2]int32) [][2]int32 {
	add := func(i, j int32) {
		if a, b := &t.nodes[i], &t.nodes[j]; i == j || meet(a.min, a.max, b.min, b.max) {
			to = append(to, [2]int32{i, j})
		}
	}
	a, b := &t.nodes[p[0]], &t.nodes[p[1]]
	switch {
	case a.count <= leaf && b.count <= leaf:
		to = append(to, p)
	case p[0] == p[1]:
		add(a.left, a.left)
		add(a.left, a.left+1)
		add(a.left+1, a.left+1)
	case a.count >= b.count:
		add(a.left, p[1])
		add(a.left+1, p[1])
	default:
		add(p[0], b.left)
		add(p[0], b.left+1)
	}
	return to
}
