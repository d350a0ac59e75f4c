package shadow

import (
	"context"
	"errors"
	"slices"
	"sync/atomic"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// A mesh whose projected edges cross a great deal is done in parts. The bounds
// are numbers of pairs of edges that lie near each other, which is what time and
// memory go with: some 20 ns a pair, 16 bytes a crossing.
const (
	// pairsAtOnce is what the whole chain may have before it is done in parts:
	// a second's work. Meshes of surfaces have some tens of pairs for each edge
	// of their contour.
	pairsAtOnce = 1 << 23
	// pairsInJoin is what the join of two parts may have; it bounds the memory
	// at 2 GB for input that is made to be as bad as can be.
	pairsInJoin = 1 << 25
	// partSize is the number of triangles in the smallest parts: with at most
	// 3·partSize edges they have at most 576 pairs.
	partSize = 8
)

// pairsInAll is what the parts and all joins may have together: up to half a
// minute's work in a heap of long slivers, which cover nothing and have as many
// crossings as pairs. It is a variable for the tests alone.
var pairsInAll int64 = 1 << 27

// ErrIntricate says that the outline itself has too many edges near each other
// to be worked out in bounded time. convexOutline stands in for it.
var ErrIntricate = errors.New("shadow: the outline is too intricate to work out")

// borderOf is the border of the union of all projected triangles.
func borderOf(ctx context.Context, stars *mesh.Stars, points []gridPoint) ([]directed, error) {
	chain, err := contourChain(ctx, stars, points)
	if err != nil {
		return nil, err
	}
	border, err := chainBorder(ctx, chain, pairsAtOnce, new(atomic.Int64))
	if errors.Is(err, ErrIntricate) {
		return borderInParts(ctx, stars.Mesh, points)
	}
	return border, err
}

// chainBorder is the border of the region that a chain winds about.
func chainBorder(ctx context.Context, chain []weighted, pairs int64, spent *atomic.Int64) ([]directed, error) {
	chain, err := snapRound(ctx, chain, pairs, spent)
	if err != nil {
		return nil, err
	}
	return positiveBorder(ctx, chain)
}

// borderInParts unites small sets of neighbouring triangles, then the unions
// two by two. What lies inside a union drops out early, so the crossings that
// are worked out go with the borders rather than with all edges. Each round
// bends edges by at most half a step more in each axis; log₂(n/partSize) rounds
// at most.
//
// What the largest triangles cover is left out first: see uncovered.
func borderInParts(ctx context.Context, m *mesh.Mesh, points []gridPoint) ([]directed, error) {
	var spent atomic.Int64
	left, unions, err := uncovered(ctx, m, points, nearbyOrder(m, points), &spent)
	if err != nil {
		return nil, err
	}
	return unite(ctx, m, points, left, unions, &spent)
}

// unite is the border of what the triangles and some unions cover together. It
// adds the pairs to those spent, and gives up where they are too many; whether it
// does goes with their sum and not with the order.
func unite(ctx context.Context, m *mesh.Mesh, points []gridPoint, order []int32, unions [][]directed, spent *atomic.Int64) ([]directed, error) {
	parts := make([][]directed, (len(order)+partSize-1)/partSize)
	errs := make([]error, len(parts))
	err := parallel.Tasks(ctx, len(parts), func(i int) {
		if spent.Load() > pairsInAll {
			errs[i] = ErrIntricate
			return
		}
		var chain []weighted
		for _, t := range order[i*partSize : min((i+1)*partSize, len(order))] {
			a, b, c := points[m.Triangles[t][0]], points[m.Triangles[t][1]], points[m.Triangles[t][2]]
			if turn(a, b, c) < 0 {
				b, c = c, b
			}
			chain = append(chain, makeWeighted(a, b, 1), makeWeighted(b, c, 1), makeWeighted(c, a, 1))
		}
		parts[i], errs[i] = chainBorder(ctx, mergeEqual(chain), pairsInJoin, spent)
	})
	parts = append(parts, unions...)
	for err == nil && len(parts) > 1 {
		if err = errors.Join(errs...); err != nil {
			break
		}
		joined := make([][]directed, (len(parts)+1)/2)
		errs = make([]error, len(joined))
		err = parallel.Tasks(ctx, len(joined), func(i int) {
			if spent.Load() > pairsInAll {
				errs[i] = ErrIntricate
				return
			}
			var chain []weighted
			for _, part := range parts[2*i : min(2*i+2, len(parts))] {
				for _, e := range part {
					chain = append(chain, makeWeighted(e.from, e.to, 1))
				}
			}
			joined[i], errs[i] = chainBorder(ctx, mergeEqual(chain), pairsInJoin, spent)
		})
		parts = joined
	}
	if err = errors.Join(append(errs, err)...); err != nil || len(parts) == 0 {
		if errors.Is(err, ErrIntricate) {
			err = ErrIntricate // once, not for every part
		}
		return nil, err
	}
	return parts[0], nil
}

// nearbyOrder lists the triangles with projected area, in Morton order of the
// middles of their boxes.
func nearbyOrder(m *mesh.Mesh, points []gridPoint) []int32 {
	type keyed struct {
		code     uint64
		triangle int32
	}
	var keys []keyed
	for i, t := range m.Triangles {
		a, b, c := points[t[0]], points[t[1]], points[t[2]]
		if turn(a, b, c) != 0 {
			keys = append(keys, keyed{boxOf(a, b).union(gridBox{c, c}).code(), int32(i)})
		}
	}
	slices.SortFunc(keys, func(p, q keyed) int {
		switch {
		case p.code < q.code:
			return -1
		case p.code > q.code:
			return 1
		}
		return int(p.triangle) - int(q.triangle)
	})
	order := make([]int32, len(keys))
	for i, k := range keys {
		order[i] = k.triangle
	}
	return order
}
