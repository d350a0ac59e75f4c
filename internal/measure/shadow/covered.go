package shadow

import (
	"cmp"
	"context"
	"slices"
	"sync/atomic"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// A heap of large triangles is nearly all covered by its largest ones. Before a
// mesh is done in parts, what lies inside the union of those is left out: it
// changes nothing, so the outline is as exact as without.
const (
	// largestFirst is how many triangles are united to cover others.
	largestFirst = 512
	// fewestToCover is the number of triangles from which on that is worth it.
	fewestToCover = 16 * largestFirst
)

// uncovered unites the largest of the triangles, and gives those that are not
// within the union, in their order, beside its border. While a round takes away
// more than half, another follows.
func uncovered(ctx context.Context, m *mesh.Mesh, points []gridPoint, order []int32, spent *atomic.Int64) (left []int32, unions [][]directed, err error) {
	left = order
	for len(left) >= fewestToCover {
		before := len(left)
		cover, err := unite(ctx, m, points, largestOf(m, points, left), nil, spent)
		if err != nil {
			return nil, nil, err
		}
		unions = append(unions, cover)
		if left, err = outsideOf(ctx, m, points, left, cover); err != nil {
			return nil, nil, err
		}
		if 2*len(left) > before {
			break
		}
	}
	return left, unions, nil
}

// largestOf are the largestFirst triangles with the greatest projected area, in the
// order given.
func largestOf(m *mesh.Mesh, points []gridPoint, order []int32) []int32 {
	size := func(t int32) int64 {
		c := m.Triangles[t]
		return abs64(turn(points[c[0]], points[c[1]], points[c[2]]))
	}
	place := make([]int32, len(order))
	for i := range place {
		place[i] = int32(i)
	}
	slices.SortFunc(place, func(p, q int32) int {
		return cmp.Or(cmp.Compare(size(order[q]), size(order[p])), cmp.Compare(p, q))
	})
	place = place[:min(largestFirst, len(place))]
	slices.Sort(place)
	out := make([]int32, len(place))
	for i, p := range place {
		out[i] = order[p]
	}
	return out
}

// outsideOf leaves out the triangles inside the region of a border: those with a
// corner inside whose box meets no edge's box.
func outsideOf(ctx context.Context, m *mesh.Mesh, points []gridPoint, order []int32, border []directed) ([]int32, error) {
	boxes := make([]gridBox, len(border))
	for i, e := range border {
		boxes[i] = boxOf(e.from, e.to)
	}
	tree := newBoxTree(boxes)
	const few = 1 << 10
	kept := make([][]int32, parallel.Count(len(order), few))
	err := parallel.Pieces(ctx, len(order), few, func(k, lo, hi int) {
		for i := lo; i < hi; i++ {
			if i%64 == 0 && ctx.Err() != nil {
				return
			}
			t := order[i]
			a, b, c := points[m.Triangles[t][0]], points[m.Triangles[t][1]], points[m.Triangles[t][2]]
			met := false
			tree.within(boxOf(a, b).union(gridBox{c, c}), func(int32) { met = true })
			if met || !windsAbout(border, a) {
				kept[k] = append(kept[k], t)
			}
		}
	})
	return slices.Concat(kept...), err
}

// windsAbout reports whether a border winds about a point that lies on none of its
// edges: whether a ray from it towards +x leaves more often than it enters.
func windsAbout(border []directed, p gridPoint) bool {
	n := 0
	for _, e := range border {
		if up := e.from.y <= p.y; up != (e.to.y <= p.y) {
			if left := turn(e.from, e.to, p) > 0; left == up {
				if up {
					n++
				} else {
					n--
				}
			}
		}
	}
	return n != 0
}
