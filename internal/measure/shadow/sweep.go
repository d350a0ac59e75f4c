package shadow

import (
	"context"
	"errors"
	"slices"
)

// directed is an edge of a region's border, with the region on its left.
type directed struct{ from, to gridPoint }

var errOpen = errors.New("shadow: the contour chain does not close")

// positiveBorder returns the border of the region where the winding number of
// the chain is above zero. The edges must meet in common ends only. A line
// sweeps over the end points from left to right (upwards within a column) and
// keeps the edges it cuts in order from bottom to top, each with the winding
// number above it.
func positiveBorder(ctx context.Context, chain []weighted) ([]directed, error) {
	// By start point, then from bottom to top about it: all directions lie
	// within a half turn, straight down left out.
	slices.SortFunc(chain, func(p, q weighted) int {
		if c := p.a.compare(q.a); c != 0 {
			return c
		}
		return -sign64(turn(p.a, p.b, q.b))
	})
	stops := make([]gridPoint, 0, 2*len(chain))
	for _, e := range chain {
		stops = append(stops, e.a, e.b)
	}
	slices.SortFunc(stops, gridPoint.compare)
	stops = slices.Compact(stops)

	s := newSweepLine(chain)
	var border []directed
	next := 0
	for i, p := range stops {
		if i%(1<<12) == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		below, rest := s.split(s.root, func(e int32) bool { return turn(chain[e].a, chain[e].b, p) > 0 })
		_, above := s.split(rest, func(e int32) bool { return chain[e].b == p })
		winding := int32(0)
		if top := s.last(below); top >= 0 {
			winding = s.over[top]
		}
		starting := int32(-1)
		for ; next < len(chain) && chain[next].a == p; next++ {
			e := chain[next]
			under := winding
			winding += e.weight
			s.over[next] = winding
			if under <= 0 && winding > 0 {
				border = append(border, directed{e.a, e.b})
			} else if under > 0 && winding <= 0 {
				border = append(border, directed{e.b, e.a})
			}
			starting = s.merge(starting, int32(next))
		}
		// What the walk past p found must agree with what lies above: the chain
		// is closed, so it does, or an edge is out of order.
		expected := int32(0)
		if low := s.first(above); low >= 0 {
			expected = s.over[low] - chain[low].weight
		}
		if winding != expected {
			return nil, errOpen
		}
		s.root = s.merge(s.merge(below, starting), above)
	}
	return border, nil
}

// sweepLine is the ordered set of edges under the sweep: a treap by position,
// with priorities that depend on the edge's number alone. −1 is the empty tree.
type sweepLine struct {
	root        int32
	left, right []int32
	over        []int32 // winding number above each edge
}

func newSweepLine(chain []weighted) *sweepLine {
	n := len(chain)
	s := &sweepLine{root: -1, left: make([]int32, n), right: make([]int32, n), over: make([]int32, n)}
	for i := range n {
		s.left[i], s.right[i] = -1, -1
	}
	return s
}

// priority scatters edge numbers: the finaliser of a multiplicative hash.
func priority(e int32) uint32 {
	x := uint32(e) * 0x9e3779b1
	x ^= x >> 15
	x *= 0x85ebca77
	return x ^ x>>13
}

// split parts a tree at the first edge that is not low; all low edges come
// before all others.
func (s *sweepLine) split(t int32, low func(e int32) bool) (a, b int32) {
	atA, atB := &a, &b // where the rest of each tree is hung
	for t >= 0 {
		if low(t) {
			*atA, atA, t = t, &s.right[t], s.right[t]
		} else {
			*atB, atB, t = t, &s.left[t], s.left[t]
		}
	}
	*atA, *atB = -1, -1
	return a, b
}

// merge joins two trees, all of a coming before all of b.
func (s *sweepLine) merge(a, b int32) (t int32) {
	at := &t
	for a >= 0 && b >= 0 {
		if priority(a) > priority(b) {
			*at, at, a = a, &s.right[a], s.right[a]
		} else {
			*at, at, b = b, &s.left[b], s.left[b]
		}
	}
	*at = max(a, b) // the one that is left
	return t
}

func (s *sweepLine) first(t int32) int32 {
	for t >= 0 && s.left[t] >= 0 {
		t = s.left[t]
	}
	return t
}

func (s *sweepLine) last(t int32) int32 {
	for t >= 0 && s.right[t] >= 0 {
		t = s.right[t]
	}
	return t
}
