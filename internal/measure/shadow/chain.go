package shadow

import (
	"context"
	"slices"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// weighted is a straight edge of a chain: it runs from a to b, a before b in
// the sweep's order, weight times (a negative weight runs from b to a). Left of
// a→b the winding number is greater by weight than right of it.
type weighted struct {
	a, b   gridPoint
	weight int32
}

func makeWeighted(a, b gridPoint, weight int32) weighted {
	if a.compare(b) > 0 {
		return weighted{b, a, -weight}
	}
	return weighted{a, b, weight}
}

// mergeEqual adds up the weights of equal edges and leaves out those that come
// to nothing. It sorts by both ends and works in place.
func mergeEqual(edges []weighted) []weighted {
	slices.SortFunc(edges, func(p, q weighted) int {
		if c := p.a.compare(q.a); c != 0 {
			return c
		}
		return p.b.compare(q.b)
	})
	out := edges[:0]
	for i := 0; i < len(edges); {
		e := edges[i]
		for i++; i < len(edges) && edges[i].a == e.a && edges[i].b == e.b; i++ {
			e.weight += edges[i].weight
		}
		if e.weight != 0 {
			out = append(out, e)
		}
	}
	return out
}

// contourChain is the sum of the borders of all projected triangles, each run
// counter-clockwise. Triangles without projected area add nothing. Sides are
// added up at their lower-numbered vertex, from its star.
func contourChain(ctx context.Context, s *mesh.Stars, points []gridPoint) ([]weighted, error) {
	pieces := newPieces[weighted](len(s.Mesh.Vertices))
	err := pieces.each(ctx, func(lo, hi int, out []weighted) []weighted {
		var sides []uint32 // each as its upper vertex and one bit for the way it is run
		for v := lo; v < hi; v++ {
			sides = sidesUp(s, points, uint32(v), sides[:0])
			for k := 0; k < len(sides); {
				upper, weight := sides[k]>>1, int32(0)
				for ; k < len(sides) && sides[k]>>1 == upper; k++ {
					weight += 1 - 2*int32(sides[k]&1)
				}
				if a, b := points[v], points[upper]; weight != 0 && a != b {
					out = append(out, makeWeighted(a, b, weight))
				}
			}
		}
		return out
	})
	if err != nil {
		return nil, err
	}
	return mergeEqual(pieces.joined()), nil
}

// sidesUp appends, in ascending order, the sides that join v to a higher vertex,
// of v's triangles with projected area: twice the upper vertex, and one more
// where the side runs down to v.
func sidesUp(s *mesh.Stars, points []gridPoint, v uint32, sides []uint32) []uint32 {
	for _, c := range s.Of(int(v)) {
		next, before := s.Others(c)
		if next < v && before < v {
			continue
		}
		area := turn(points[v], points[next], points[before])
		if area == 0 {
			continue
		}
		down := uint32(0) // for the side from v on; the one back to v is run the other way
		if area < 0 {
			down = 1
		}
		if next > v {
			sides = append(sides, next<<1|down)
		}
		if before > v {
			sides = append(sides, before<<1|(1-down))
		}
	}
	slices.Sort(sides)
	return sides
}

// pieces collects what the pieces of a parallel loop find, in the loop's order.
type pieces[T any] struct {
	n, size int
	found   [][]T
}

func newPieces[T any](n int) *pieces[T] {
	const most = 64
	size := max(1, (n+most-1)/most)
	return &pieces[T]{n, size, make([][]T, (n+size-1)/size)}
}

// each runs f over pieces of [0, n); f appends to out and returns it.
func (p *pieces[T]) each(ctx context.Context, f func(lo, hi int, out []T) []T) error {
	return parallel.Tasks(ctx, len(p.found), func(i int) {
		p.found[i] = f(i*p.size, min((i+1)*p.size, p.n), nil)
	})
}

func (p *pieces[T]) joined() []T { return slices.Concat(p.found...) }
