package change

import (
	"cmp"
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// Two surfaces may lie within a hair of each other everywhere and still be of different
// solids: one is turned inside out, or is there twice, or a hollow in it faces the other
// way. The first two show in the volume unless something else makes up for it. All three
// show in how often each surface winds about a point beside it, so a point on either
// side of the largest face of every connected piece is asked about in both.

// mostWinding bounds the triangles looked at for windings, over all points: about a
// second's work. Pieces are taken from the largest on, so what is left out, of a heap
// of hundreds of pieces, are the smallest ones.
const mostWinding = 1 << 26

// triedFaces is how many of a piece's largest faces are tried for a point that lies clear
// of both surfaces.
const triedFaces = 8

// sameFacing reports whether both surfaces wind alike about the points beside the
// pieces of each. Points nearer than twice limit to either are not asked about: between
// surfaces as near as that, what is inside cannot be told. The winding number is the
// sum of the solid angles of all triangles (van Oosterom and Strackee, The solid angle
// of a plane triangle, 1983) over 4π; of a closed surface it is whole, so that half is
// the limit between alike and not, and of an open one it changes little where the
// surface moves little.
func sameFacing(ctx context.Context, a, b *surface, limit float64) (bool, error) {
	work := 0
	cost := 2 * (len(a.mesh.Triangles) + len(b.mesh.Triangles)) // of a piece, for a point on either side
	pa, pb := a.pieces(), b.pieces()
	for k := range max(len(pa), len(pb)) {
		for _, side := range [2]struct {
			s      *surface
			pieces [][]int32
		}{{a, pa}, {b, pb}} {
			if k >= len(side.pieces) {
				continue
			}
			if work += cost; work > mostWinding && k > 0 {
				return true, ctx.Err()
			}
			for _, p := range side.s.beside(side.pieces[k], a, b, limit) {
				x, err := a.winding(ctx, p)
				if err != nil {
					return false, err
				}
				y, err := b.winding(ctx, p)
				if err != nil {
					return false, err
				}
				if math.Abs(x-y) > 0.5 {
					return false, nil
				}
			}
		}
	}
	return true, ctx.Err()
}

// beside is a point on either side of a piece, where there is one clear of both
// surfaces: half way from a face to what is next, or near the face.
func (s *surface) beside(faces []int32, a, b *surface, limit float64) []mesh.Vec {
	var out []mesh.Vec
	for _, way := range [2]float64{1, -1} {
		for _, t := range faces[:min(triedFaces, len(faces))] {
			p, q, r := s.mesh.Corners(int(t))
			n := q.Sub(p).Cross(r.Sub(p))
			if !(n.Norm() > 0) {
				break
			}
			at := middleOf(p, q, r).Add(n.Scale(way * 4 * limit / n.Norm()))
			if x, _ := a.nearest(at, 2*limit, -1); x <= 2*limit {
				continue
			}
			if x, _ := b.nearest(at, 2*limit, -1); x <= 2*limit {
				continue
			}
			out = append(out, at)
			break
		}
	}
	return out
}

// pieces are the faces that hang together by their corners, the pieces with the largest
// area first, of each the largest faces first.
func (s *surface) pieces() [][]int32 {
	m := s.mesh
	root := make([]int32, len(m.Vertices))
	for i := range root {
		root[i] = int32(i)
	}
	find := func(v uint32) int32 {
		i := int32(v)
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for _, t := range m.Triangles {
		x, y, z := find(t[0]), find(t[1]), find(t[2])
		least := min(x, y, z)
		root[x], root[y], root[z] = least, least, least
	}
	area := make([]float64, len(m.Triangles))
	at := map[int32]int{}
	var out [][]int32
	var sizes []float64
	for i, t := range m.Triangles {
		p, q, r := m.Corners(i)
		area[i] = q.Sub(p).Cross(r.Sub(p)).Norm() / 2
		k, ok := at[find(t[0])]
		if !ok {
			k = len(out)
			at[find(t[0])] = k
			out, sizes = append(out, nil), append(sizes, 0)
		}
		out[k] = append(out[k], int32(i))
		sizes[k] += area[i]
	}
	order := make([]int, len(out))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(x, y int) int { return cmp.Compare(sizes[y], sizes[x]) })
	sorted := make([][]int32, len(out))
	for k, o := range order {
		sorted[k] = largestFaces(out[o], area)
	}
	return sorted
}

// largestFaces moves the largest of some faces to the front, and keeps those.
func largestFaces(faces []int32, area []float64) []int32 {
	var best []int32
	for _, t := range faces {
		i := len(best)
		for i > 0 && area[best[i-1]] < area[t] {
			i--
		}
		if i < triedFaces {
			best = slices.Insert(best, i, t)
			best = best[:min(len(best), triedFaces)]
		}
	}
	return best
}

// winding is how often the surface winds about p.
func (s *surface) winding(ctx context.Context, p mesh.Vec) (float64, error) {
	n := len(s.mesh.Triangles)
	sums := make([]float64, parallel.Count(n, pieceSize))
	err := parallel.Pieces(ctx, n, pieceSize, func(i, lo, hi int) {
		for t := lo; t < hi; t++ {
			a, b, c := s.mesh.Corners(t)
			a, b, c = a.Sub(p), b.Sub(p), c.Sub(p)
			la, lb, lc := a.Norm(), b.Norm(), c.Norm()
			over := float64(la*lb)*lc + float64(a.Dot(b)*lc) + float64(b.Dot(c)*la) + float64(c.Dot(a)*lb)
			if w := math.Atan2(a.Dot(b.Cross(c)), over); !math.IsNaN(w) {
				sums[i] += w
			}
		}
	})
	total := 0.0
	for _, w := range sums {
		total += w
	}
	return total / (2 * math.Pi), err
}
