package mesh

import (
	"context"
	"math/bits"
	"sync"

	"cardback/internal/parallel"
)

// Corner is one corner of one triangle: four times the triangle's number plus 0,
// 1 or 2. So a mesh whose corners are named has at most 2³⁰ triangles.
type Corner uint32

// Triangle is the corner's triangle, and Place which of its corners it is.
func (c Corner) Triangle() uint32 { return uint32(c >> 2) }
func (c Corner) Place() uint32    { return uint32(c & 3) }

// Stars lists the triangles around each vertex, which is what questions about
// edges and vertices start from: an edge's triangles are in the star of either
// end. Triangles with a repeated vertex are in none. It takes 12 bytes a triangle
// and 4 a vertex, hardly more while it is made, and is never written to
// afterwards.
type Stars struct {
	Mesh    *Mesh
	end     []uint32 // by vertex plus one: where its star ends in corners
	corners []Corner
	faces   int // triangles without a repeated vertex
}

// Of is the star of vertex v: its corners, in the order of triangles.
func (s *Stars) Of(v int) []Corner { return s.corners[s.end[v]:s.end[v+1]] }

// Others are the following and the preceding vertex of a corner's triangle.
func (s *Stars) Others(c Corner) (next, before uint32) {
	t := &s.Mesh.Triangles[c>>2]
	switch c & 3 {
	case 0:
		return t[1], t[2]
	case 1:
		return t[2], t[0]
	}
	return t[0], t[1]
}

// starPieces is the number of pieces that triangles are cut into; each keeps a
// count for every block of vertices.
const starPieces = 64

// blockBitsFor gives the number of vertices that are put in order at once, as a
// power of two: such that their stars stay in the processor's cache, and there
// are at most some thousand blocks.
func blockBitsFor(vertices int) int { return max(12, bits.Len(uint(vertices>>10))) }

// Stars finds the stars of all vertices. The error is the context's.
func (m *Mesh) Stars(ctx context.Context) (*Stars, error) {
	return m.stars(ctx, blockBitsFor(len(m.Vertices)))
}

// stars makes a counting sort by vertex in two steps. First the corners are
// filed by blocks of 2^blockBits vertices, each piece of the triangles writing
// where the counts of all pieces say; then each block is put in order. Both keep
// the order of triangles.
func (m *Mesh) stars(ctx context.Context, blockBits int) (*Stars, error) {
	n, vertices := len(m.Triangles), len(m.Vertices)
	s := &Stars{Mesh: m, end: make([]uint32, vertices+1)}
	blocks := parallel.Count(vertices, 1<<blockBits)
	size := max(1, parallel.Count(n, starPieces))
	at := make([][]uint32, parallel.Count(n, size)) // by piece, by block
	err := parallel.Pieces(ctx, n, size, func(i, lo, hi int) {
		counts := make([]uint32, blocks)
		for _, t := range m.Triangles[lo:hi] {
			if !repeats(t) {
				counts[t[0]>>blockBits]++
				counts[t[1]>>blockBits]++
				counts[t[2]>>blockBits]++
			}
		}
		at[i] = counts
	})
	if err != nil {
		return nil, err
	}
	ends := make([]uint32, blocks)
	sum := uint32(0)
	for b := range blocks {
		for i := range at {
			at[i][b], sum = sum, sum+at[i][b]
		}
		ends[b] = sum
	}
	s.faces = int(sum / 3)
	s.corners = make([]Corner, sum)
	err = parallel.Pieces(ctx, n, size, func(i, lo, hi int) {
		at := at[i]
		for j, t := range m.Triangles[lo:hi] {
			if repeats(t) {
				continue
			}
			for k, v := range t {
				to := &at[v>>blockBits]
				s.corners[*to] = Corner(lo+j)<<2 | Corner(k)
				*to++
			}
		}
	})
	if err != nil {
		return nil, err
	}
	var scratch sync.Pool // of *[]Corner, each a block's corners
	err = parallel.Tasks(ctx, blocks, func(b int) {
		filed, _ := scratch.Get().(*[]Corner)
		if filed == nil {
			filed = new([]Corner)
		}
		defer scratch.Put(filed)
		from := uint32(0)
		if b > 0 {
			from = ends[b-1]
		}
		first := b << blockBits
		*filed = append((*filed)[:0], s.corners[from:ends[b]]...)
		s.order(*filed, from, first, min(first+1<<blockBits, vertices))
	})
	return s, err
}

// order puts filed corners, which are those of the vertices from first to
// last−1, in the order of vertices, from place lo on.
func (s *Stars) order(filed []Corner, lo uint32, first, last int) {
	at := make([]uint32, last-first+1)
	vertex := func(c Corner) int { return int(s.Mesh.Triangles[c>>2][c&3]) - first }
	for _, c := range filed {
		at[vertex(c)+1]++
	}
	at[0] = lo
	for v := 1; v < len(at); v++ {
		at[v] += at[v-1]
	}
	copy(s.end[first+1:last+1], at[1:])
	for _, c := range filed {
		to := &at[vertex(c)]
		s.corners[*to] = c
		*to++
	}
}
