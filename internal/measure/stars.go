package measure

import (
	"context"
	"slices"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
	"cardback/internal/sets"
)

// starCount is what the stars tell.
type starCount struct {
	// duplicates counts the triangles whose three vertices an earlier triangle
	// has too, in any order; triangles with a repeated vertex are not looked at.
	duplicates int
	// fans counts, over all vertices, the sets of triangles that hang together
	// through sides at the vertex. A sound vertex has one; where solids touch in
	// a point, that vertex has as many as solids.
	fans int
}

func countStars(ctx context.Context, s *mesh.Stars) (starCount, error) {
	n := len(s.Mesh.Vertices)
	pieces := make([]starCount, parallel.Count(n, piece))
	err := parallel.Pieces(ctx, n, piece, func(i, lo, hi int) {
		var scratch starScratch
		for v := lo; v < hi; v++ {
			star := scratch.others(s, v)
			pieces[i].duplicates += scratch.duplicates(uint32(v), star)
			pieces[i].fans += scratch.fans(star)
		}
	})
	var all starCount
	for _, p := range pieces {
		all.duplicates += p.duplicates
		all.fans += p.fans
	}
	return all, err
}

type starScratch struct {
	star, keys []uint64
	set        sets.Sets
}

// others lists the other two corners of v's triangles: the following one above,
// the one before below.
func (s *starScratch) others(of *mesh.Stars, v int) []uint64 {
	s.star = s.star[:0]
	for _, c := range of.Of(v) {
		next, before := of.Others(c)
		s.star = append(s.star, uint64(next)<<32|uint64(before))
	}
	return s.star
}

// duplicates counts the repeated triangles of a star whose least vertex is its
// own, so that each triangle is looked at once.
func (s *starScratch) duplicates(v uint32, star []uint64) int {
	s.keys = s.keys[:0]
	for _, o := range star {
		a, b := uint32(o>>32), uint32(o)
		if v < a && v < b {
			s.keys = append(s.keys, uint64(min(a, b))<<32|uint64(max(a, b)))
		}
	}
	slices.Sort(s.keys)
	n := 0
	for i := 1; i < len(s.keys); i++ {
		if s.keys[i] == s.keys[i-1] {
			n++
		}
	}
	return n
}

func (s *starScratch) fans(star []uint64) int {
	s.keys, s.set = s.keys[:0], s.set.Alone(len(star))
	for i, o := range star {
		s.keys = append(s.keys, o&^0xffffffff|uint64(i), o<<32|uint64(i))
	}
	slices.Sort(s.keys)
	fans := len(star)
	for i := 1; i < len(s.keys); i++ {
		if s.keys[i]>>32 != s.keys[i-1]>>32 {
			continue
		}
		if s.set.Join(int32(uint32(s.keys[i])), int32(uint32(s.keys[i-1]))) {
			fans--
		}
	}
	return fans
}
