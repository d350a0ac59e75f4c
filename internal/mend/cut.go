package mend

import (
	"cmp"
	"context"
	"slices"

	"cardback/internal/measure/sound"
	"cardback/internal/mesh"
)

// hit is a corner on an open edge.
type hit struct {
	edge   int32
	share  float64 // of the way along it
	corner uint32
	apart  float64
}

// cut cuts open edges where corners of other open edges lie on them within a
// distance, so that the two sides of the crack have the same corners. Where the
// corner is the third of the edge's own triangle, that triangle is narrower than
// the distance, and goes: its other sides are what is left of the crack.
func cut(ctx context.Context, m *mesh.Mesh, open []sound.OpenEdge, within float64, how *Closing) (out *mesh.Mesh, changed bool, err error) {
	t, err := lines(ctx, m, open)
	if err != nil {
		return m, false, err
	}
	var hits []hit
	points := pointsOf(open)
	looks := len(points) * looksEach
	for i, v := range points {
		if i%4096 == 4095 && ctx.Err() != nil {
			return m, false, ctx.Err()
		}
		p := m.Vertices[v]
		t.InBox(around(p, within), func(n int32) bool {
			looks--
			e := open[n]
			if e.From != v && e.To != v {
				if share, d := foot(m, p, e); share > 0 && share < 1 && d <= within {
					hits = append(hits, hit{n, share, v, d})
				}
			}
			return looks > 0
		})
		if looks <= 0 {
			how.Spent = true
			return m, false, nil
		}
	}
	if len(hits) == 0 {
		return m, false, nil
	}
	slices.SortFunc(hits, func(a, b hit) int {
		return cmp.Or(cmp.Compare(a.edge, b.edge), cmp.Compare(a.share, b.share), cmp.Compare(a.corner, b.corner))
	})
	// By triangle, and within it by edge.
	slices.SortStableFunc(hits, func(a, b hit) int { return cmp.Compare(open[a.edge].Triangle, open[b.edge].Triangle) })
	out = &mesh.Mesh{Vertices: m.Vertices, Triangles: make([][3]uint32, 0, len(m.Triangles)+len(hits))}
	next := int32(0)
	for len(hits) > 0 {
		number := open[hits[0].edge].Triangle
		n := 1
		for n < len(hits) && open[hits[n].edge].Triangle == number {
			n++
		}
		out.Triangles = append(out.Triangles, m.Triangles[next:number]...)
		next = number + 1
		parts, other := pieces(m, m.Triangles[number], hits[:n], open, how)
		changed = changed || other
		out.Triangles = append(out.Triangles, parts...)
		hits = hits[n:]
	}
	out.Triangles = append(out.Triangles, m.Triangles[next:]...)
	return out, changed, nil
}

// pieces is what becomes of one triangle, and whether that is another thing.
func pieces(m *mesh.Mesh, t [3]uint32, hits []hit, open []sound.OpenEdge, how *Closing) (out [][3]uint32, changed bool) {
	for _, h := range hits {
		if h.corner == t[0] || h.corner == t[1] || h.corner == t[2] {
			how.Flattened++
			how.moved(h.apart, m.Vertices[h.corner])
			return nil, true
		}
	}
	out = [][3]uint32{t}
	for from := 0; from < len(hits); {
		to := from + 1
		for to < len(hits) && hits[to].edge == hits[from].edge {
			to++
		}
		e := open[hits[from].edge]
		i, apex := sideOf(out, e.From, e.To)
		last := e.From
		var fan [][3]uint32
		for _, h := range hits[from:to] {
			if h.corner == apex || h.corner == last {
				continue
			}
			fan = append(fan, [3]uint32{last, h.corner, apex})
			last = h.corner
			how.Cut++
			how.moved(h.apart, m.Vertices[h.corner])
		}
		if last != e.From {
			fan = append(fan, [3]uint32{last, e.To, apex})
			out = slices.Replace(out, i, i+1, fan...)
			changed = true
		}
		from = to
	}
	return out, changed
}

// sideOf finds the piece that runs from a to b, and its third corner. There is one:
// cutting one side of a triangle leaves the others whole.
func sideOf(pieces [][3]uint32, a, b uint32) (i int, apex uint32) {
	for i, t := range pieces {
		for k := range 3 {
			if t[k] == a && t[(k+1)%3] == b {
				return i, t[(k+2)%3]
			}
		}
	}
	panic("mend: a triangle's side is lost")
}
