package measure

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
// counter-clockwise. Triangles without projected area add nothing.
func contourChain(ctx context.Context, m *mesh.Mesh, points []gridPoint) ([]weighted, error) {
	n := len(m.Triangles)
	side := make([]int8, n) // +1 counter-clockwise as stored, −1 clockwise, 0 no area
	err := parallel.Pieces(ctx, n, piece, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			t := m.Triangles[i]
			switch s := turn(points[t[0]], points[t[1]], points[t[2]]); {
			case s > 0:
				side[i] = 1
			case s < 0:
				side[i] = -1
			}
		}
	})
	if err != nil {
		return nil, err
	}
	// A counting sort gathers the sides at their lower-numbered vertex; a side is
	// kept as its upper vertex and one bit for the way it is run.
	end := make([]uint32, len(m.Vertices)+1)
	for i, t := range m.Triangles {
		if side[i] != 0 {
			end[min(t[0], t[1])+1]++
			end[min(t[1], t[2])+1]++
			end[min(t[2], t[0])+1]++
		}
	}
	for v := range m.Vertices {
		end[v+1] += end[v]
	}
	sides := make([]uint32, end[len(m.Vertices)])
	put := func(a, b uint32) {
		if a < b {
			sides[end[a]] = b << 1
			end[a]++
		} else {
			sides[end[b]] = a<<1 | 1
			end[b]++
		}
	}
	for i, t := range m.Triangles {
		switch side[i] {
		case 1:
			put(t[0], t[1])
			put(t[1], t[2])
			put(t[2], t[0])
		case -1:
			put(t[1], t[0])
			put(t[2], t[1])
			put(t[0], t[2])
		}
	}
	// end[v] is now where v's sides end and those of v+1 begin.
	pieces := newPieces[weighted](len(m.Vertices))
	err = pieces.each(ctx, func(lo, hi int, out []weighted) []weighted {
		from := uint32(0)
		if lo > 0 {
			from = end[lo-1]
		}
		for v := lo; v < hi; v++ {
			group := sides[from:end[v]]
			from = end[v]
			slices.Sort(group)
			for len(group) > 0 {
				upper, weight, k := group[0]>>1, int32(0), 0
				for ; k < len(group) && group[k]>>1 == upper; k++ {
					weight += 1 - 2*int32(group[k]&1)
				}
				group = group[k:]
				if a, b := points[v], points[upper]; weight != 0 && a != b {
					out = append(out, makeWeighted(a, b, weight))
				}
			}
		}
		return out
	})
	return mergeEqual(pieces.joined()), err
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
