package sound

import (
	"context"
	"slices"

	"cardback/internal/mesh"
)

// sided is a side of a triangle, seen from its lower vertex: the upper vertex,
// the triangle, and whether the triangle runs from the upper to the lower one,
// in 32 + 31 + 1 bits.
type sided uint64

func (s sided) upper() uint32   { return uint32(s >> 32) }
func (s sided) triangle() int32 { return int32(uint32(s) >> 1) }
func (s sided) downward() bool  { return s&1 != 0 }

// eachEdge calls f for every edge of m with its sides, by lower vertex and then by
// upper one; a side's triangles come in the order of their numbers. Triangles with a
// repeated vertex take no part, as in mesh.Topology.
func eachEdge(ctx context.Context, m *mesh.Mesh, f func(lower, upper uint32, sides []sided)) error {
	start := make([]uint32, len(m.Vertices)+1)
	n := 0
	for _, t := range m.Triangles {
		if hasRepeat(t) {
			continue
		}
		n += 3
		for k := range 3 {
			start[min(t[k], t[(k+1)%3])+1]++
		}
	}
	for v := range m.Vertices {
		start[v+1] += start[v]
	}
	sides := make([]sided, n)
	for i, t := range m.Triangles {
		if hasRepeat(t) {
			continue
		}
		for k := range 3 {
			a, b, way := t[k], t[(k+1)%3], sided(0)
			if a > b {
				a, b, way = b, a, 1
			}
			sides[start[a]] = sided(b)<<32 | sided(i)<<1 | way
			start[a]++
		}
	}
	from := uint32(0)
	for v := range m.Vertices { // start[v] is now the end of v's sides
		if v%4096 == 4095 && ctx.Err() != nil {
			return ctx.Err()
		}
		group := sides[from:start[v]]
		from = start[v]
		slices.Sort(group)
		for len(group) > 0 {
			n := 1
			for n < len(group) && group[n].upper() == group[0].upper() {
				n++
			}
			f(uint32(v), group[0].upper(), group[:n])
			group = group[n:]
		}
	}
	return ctx.Err()
}
