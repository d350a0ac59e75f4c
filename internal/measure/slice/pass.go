package slice

import (
	"context"
	"fmt"
	"math"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
	"cardback/internal/words"
)

// subject is a mesh and what does not depend on its pose.
type subject struct {
	*mesh.Mesh
	used     []bool   // vertices that a triangle uses
	centre   mesh.Vec // of its bounds; all sums are taken about it
	reach    float64  // from there to the farthest corner of the bounds
	rounding float64  // what 32 bits may have moved a coordinate by
	encloses bool
}

func newSubject(ctx context.Context, m *mesh.Mesh) (*subject, error) {
	s := &subject{Mesh: m, used: make([]bool, len(m.Vertices))}
	for i, t := range m.Triangles {
		if i%ctxEvery == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		s.used[t[0]], s.used[t[1]], s.used[t[2]] = true, true, true
	}
	var b mesh.Box
	first := true
	for i, p := range m.Vertices {
		if !s.used[i] {
			continue
		}
		// Also false for what is not a number.
		if !(math.Abs(p.X) <= math.MaxFloat32 && math.Abs(p.Y) <= math.MaxFloat32 && math.Abs(p.Z) <= math.MaxFloat32) {
			return nil, fmt.Errorf("slice: vertex %d at (%v, %v, %v) is not within the range of 32-bit numbers", i, p.X, p.Y, p.Z)
		}
		if first {
			b, first = mesh.Box{Min: p, Max: p}, false
		}
		b.Min = mesh.Vec{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y), Z: min(b.Min.Z, p.Z)}
		b.Max = mesh.Vec{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y), Z: max(b.Max.Z, p.Z)}
	}
	s.centre, s.reach = b.Centre(), b.Size().Norm()/2
	// Half a unit in the last place of a 24-bit significand.
	s.rounding = 0x1p-24 * max(math.Abs(b.Min.X), math.Abs(b.Max.X), math.Abs(b.Min.Y), math.Abs(b.Max.Y), math.Abs(b.Min.Z), math.Abs(b.Max.Z))
	var err error
	s.encloses, err = balanced(ctx, m)
	return s, err
}

// pass is one pose of a subject, added up.
type pass struct {
	height float64
	noise  float64 // of an area, mm² per mm of its perimeter
	// Areas of what encloses nothing are left at zero.
	areas, perimeter []float64
	volume, overhang float64
	reversed         bool
}

const (
	// minPiece is the least number of triangles that are added up on their own,
	// and maxPieces the most pieces. Both are fixed, and pieces are joined in their
	// order, so the sums are the same to the last bit on any number of processors.
	minPiece  = 1 << 14
	maxPieces = 64
	// pieceBytes bounds what the pieces' tallies take together, for each triangle,
	// beside the one tally that there is always.
	pieceBytes = 24
	// ctxEvery is how many triangles go by between looks at the context: at the
	// worst, some 3 µs each, it is noticed within 15 ms.
	ctxEvery = 1 << 12
)

// run adds up the sections of a pose, and what hangs over.
func (s *subject) run(ctx context.Context, p Pose, layer, limit float64) (*pass, error) {
	t := p.turn(s.centre)
	low, high := s.heights(&t)
	out := &pass{height: high - low}
	n, err := layerCount(out.height, layer)
	if err != nil {
		return nil, err
	}
	l := newLadder(low, layer, n)
	pieces := min(maxPieces, parallel.Count(len(s.Triangles), minPiece))
	if bytes := tallyBytes * float64(n); float64(pieces)*bytes > pieceBytes*float64(len(s.Triangles)) {
		pieces = 1 + int(pieceBytes*float64(len(s.Triangles))/bytes)
	}
	size := parallel.Count(max(len(s.Triangles), 1), max(pieces, 1))
	tallies := make([]*tally, parallel.Count(len(s.Triangles), size))
	h := newHang(s, limit, low)
	if err := parallel.Pieces(ctx, len(s.Triangles), size, func(i, lo, hi int) {
		tallies[i] = newTally(l)
		for from := lo; from < hi && ctx.Err() == nil; from += ctxEvery {
			s.sum(tallies[i], &t, &h, from, min(from+ctxEvery, hi))
		}
	}); err != nil {
		return nil, err
	}
	all := newTally(l)
	if len(tallies) > 0 {
		all = tallies[0]
		for _, x := range tallies[1:] {
			all.join(x)
		}
	}
	out.noise = 32 * 0x1p-53 * s.reach
	out.areas, out.perimeter = make([]float64, n), make([]float64, n)
	out.volume = all.volume.Value() / 6
	out.overhang = all.down.Value() / 2
	sign := 1.0
	if out.reversed = s.encloses && out.volume < 0; out.reversed {
		sign, out.volume = -1, -out.volume
		out.overhang = all.up.Value() / 2
	}
	for k := range n {
		area, length := all.layer(k)
		out.perimeter[k] = length
		if s.encloses {
			out.areas[k] = sign*area + 0 // never −0
		}
	}
	if !s.encloses {
		out.volume = 0
	}
	return out, nil
}

// heights are the least and greatest height of the turned mesh.
func (s *subject) heights(t *turn) (low, high float64) {
	first := true
	for i, p := range s.Vertices {
		if !s.used[i] {
			continue
		}
		z := t.point(p).Z
		if first {
			low, high, first = z, z, false
		}
		low, high = min(low, z), max(high, z)
	}
	return low, high
}

// sum adds triangles to a tally.
func (s *subject) sum(out *tally, t *turn, h *hang, lo, hi int) {
	var st strip
	for i := lo; i < hi; i++ {
		pa, pb, pc := s.Corners(i)
		a, b, c := t.point(pa), t.point(pb), t.point(pc)
		n := b.Sub(a).Cross(c.Sub(a))
		out.volume.Add(a.Dot(n)) // a·(b×c) = a·((b−a)×(c−a))
		length := n.Norm()
		if down, up := h.leans(a, b, c, n, length); down {
			out.down.Add(length)
		} else if up {
			out.up.Add(length)
		}
		low, mid, high, sign := byHeight(&a, &b, &c)
		k0, k2 := out.above(low.Z), out.above(high.Z)
		if k0 == k2 {
			continue
		}
		k1 := out.above(mid.Z)
		st.sign = sign
		st.long.set(low, high)
		if k0 < k1 {
			st.short.set(low, mid)
			out.add(&st, k0, k1)
		}
		if k1 < k2 {
			st.short.set(mid, high)
			out.add(&st, k1, k2)
		}
	}
}

// maxLayers is the most layers that are cut: 12.5 m at 0.05 mm, taller than any
// printer. What would have more is in other units than mm, or not a part, and
// would only take memory.
const maxLayers = 250_000

// layerCount is the number of layers that a height comes to: ceil(h/l − 0.001).
// A plain ceil counts a layer too many wherever h/l is a whole number but for a
// rounding, above all with 32-bit heights, which miss a multiple of a usual layer
// by up to 2.5·10⁻⁴ of it. No height, no layers.
func layerCount(height, layer float64) (int, error) {
	n := math.Ceil(height/layer - 0.001)
	if !(n <= maxLayers) {
		return 0, fmt.Errorf("slice: %w: %s mm in layers of %s mm would be %s; more than %d are not cut (is the mesh in millimetres?)", ErrTooManyLayers, words.Significant(height, 6), words.Plain(layer), words.Significant(n, 3), maxLayers)
	}
	return int(max(n, 0)), nil
}
