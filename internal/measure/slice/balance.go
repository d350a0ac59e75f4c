package slice

import (
	"context"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// balanced reports whether every edge of m is passed as often one way as the
// other. Only then are all sections closed curves, and only then does an area not
// depend on where it is measured from. A closed mesh with its triangles wound
// alike is balanced; so is one with edges of four triangles, two each way.
//
// Edges are not listed: each has a number of 64 bits, and what the passes one
// way add up to less those the other way must be zero. It is, for a mesh that is
// not balanced, once in 2⁶⁴.
func balanced(ctx context.Context, m *mesh.Mesh) (bool, error) {
	sums := make([]uint64, parallel.Count(len(m.Triangles), minPiece))
	err := parallel.Pieces(ctx, len(m.Triangles), minPiece, func(i, lo, hi int) {
		for _, t := range m.Triangles[lo:hi] {
			sums[i] += passOf(t[0], t[1]) + passOf(t[1], t[2]) + passOf(t[2], t[0])
		}
	})
	var all uint64
	for _, s := range sums {
		all += s
	}
	return all == 0, err
}

// passOf is the edge's number, or its negative where it is passed downwards.
func passOf(a, b uint32) uint64 {
	switch {
	case a < b:
		return scatter(uint64(a)<<32 | uint64(b))
	case a > b:
		return -scatter(uint64(b)<<32 | uint64(a))
	}
	return 0
}

// scatter is the finaliser of Steele, Lea and Flood, Fast splittable pseudorandom
// number generators, 2014: a permutation of the 64-bit numbers.
func scatter(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
