package change

import (
	"context"
	"math"
	"slices"
	"sync/atomic"

	"cardback/internal/parallel"
)

// sameTo is the distance below which surfaces this far from the origin are the
// same. 32-bit coordinates are off by up to 2⁻²⁵ of their size each, those of a part
// that was moved by a program twice over, along three axes: 2⁻²² is above it.
func sameTo(a, b *surface) float64 { return max(Same, 0x1p-22*max(a.most, b.most)) }

// within reports whether it is proved that no point of s is farther than limit from
// g. It ends at the first point that is.
func within(ctx context.Context, s *surface, g *target, limit float64) (bool, error) {
	m := s.mesh
	for _, v := range s.spread(64) {
		if d, _ := g.nearest(m.Vertices[v], limit, -1); d > limit {
			return false, ctx.Err()
		}
	}
	var failed atomic.Bool
	at := make([]sample, len(m.Vertices))
	err := parallel.Pieces(ctx, len(s.used), pieceSize, func(_, lo, hi int) {
		hint := int32(-1)
		for _, v := range s.used[lo:hi] {
			if failed.Load() {
				return
			}
			d, near := g.nearest(m.Vertices[v], limit, hint)
			if d > limit {
				failed.Store(true)
				return
			}
			at[v], hint = sample{m.Vertices[v], d, near}, near
		}
	})
	if err != nil || failed.Load() {
		return false, err
	}
	err = parallel.Pieces(ctx, len(m.Triangles), pieceSize/16, func(_, lo, hi int) {
		hint := int32(-1)
		var left []cell
		for t := lo; t < hi; t++ {
			if failed.Load() {
				return
			}
			tri := m.Triangles[t]
			c := cell{corner: [3]sample{at[tri[0]], at[tri[1]], at[tri[2]]}}
			a, b, e := c.corner[0].p, c.corner[1].p, c.corner[2].p
			d, near := g.nearest(middleOf(a, b, e), limit, hint)
			if d > limit {
				failed.Store(true)
				return
			}
			hint, c.middle = near, near
			if c.most = g.bound(&c, math.Inf(1)); c.most > limit {
				left = append(left, c)
			}
		}
		best, top := g.search(ctx, left, sample{}, aim{floor: limit, enough: limit}, workOfPiece+workOfTriangle*(hi-lo))
		if best.d > limit || top > limit {
			failed.Store(true)
		}
	})
	return err == nil && !failed.Load(), err
}

// spread is some of the vertices, evenly taken, with the farthest from the centre.
func (s *surface) spread(n int) []int32 {
	var out []int32
	far, at := -1.0, int32(0)
	for _, v := range s.used {
		if d := s.mesh.Vertices[v].Sub(s.centre).Norm(); d > far {
			far, at = d, v
		}
	}
	for k := range min(n, len(s.used)) {
		out = append(out, s.used[k*len(s.used)/min(n, len(s.used))])
	}
	if !slices.Contains(out, at) {
		out = append(out, at)
	}
	return out
}
