package thin

import (
	"context"
	"math"

	"cardback/internal/measure/exact"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

const (
	// wanted is how many samples a large surface gets, finest how near to each
	// other they are on a small one (mm), fewest the samples that even the
	// smallest gets: a dozen for each disc that a place has at least (see leastArea),
	// and so few that a part takes some tenths of a second.
	wanted = 16_000
	finest = 0.25
	fewest = 1_000
	// balls: every so many-th sample is asked for its ball. The quantiles need no
	// more, and large balls take long to find.
	balls = 4
	// specks is the most extra samples.
	specks = 15_000
	// rows bounds the lattice rows that all triangles together are asked about.
	// An ordinary mesh has a row for every few triangles; only one of countless
	// long slivers is sampled more coarsely for it.
	rows = 2e7
	// piece is how many triangles make one piece of parallel work.
	piece = 1 << 14
)

// sample is a point of the surface and what is known of the solid there.
type sample struct {
	p, n     mesh.Vec // outward unit normal of its triangle
	triangle int32
	area     float64 // mm² of surface it stands for; 0 for an extra one
	ray      float64 // along −n to where the solid ends; +Inf where it does not
	hit      int32   // the triangle that the ray leaves by, −1 where none
	ball     float64 // diameter; +Inf where the ray is, and for most samples
}

// golden is the slope of the lattice against the axes of its plane. No number is
// worse approximated by fractions than the golden section, so a strip along an
// axis, however narrow, such as the rim of a plate, is hit at as even steps as can
// be; a lattice along the axes could miss it altogether.
var golden = func() [2]float64 {
	s := (math.Sqrt(5) - 1) / 2
	return [2]float64{1 / math.Hypot(1, s), s / math.Hypot(1, s)}
}()

// sampler chooses the points. Over each coordinate plane lies a square lattice of
// the given spacing, and a triangle's samples are the points of it that lattice
// lines pierce, from the plane that faces the triangle most. Where a triangle is
// cut into smaller ones the lines pierce the surface at the same points: samples
// depend on the surface, not on its triangles, and a surface element at angle φ to
// its plane (cos φ ≥ 1/√3) gets one per spacing²/cos φ, which is its weight.
type sampler struct {
	mesh    *mesh.Mesh
	centre  mesh.Vec
	spacing float64
}

// newSampler chooses the spacing. It is false where there is nothing to sample.
func newSampler(ctx context.Context, m *mesh.Mesh, wanted float64) (sampler, bool, error) {
	n := parallel.Count(len(m.Triangles), piece)
	areas, lengths := make([]float64, n), make([]float64, n)
	err := parallel.Pieces(ctx, len(m.Triangles), piece, func(i, lo, hi int) {
		var area, length exact.Sum
		for t := lo; t < hi; t++ {
			a, b, c := m.Corners(t)
			area.Add(b.Sub(a).Cross(c.Sub(a)).Norm() / 2)
			length.Add(max(b.Sub(a).Norm(), c.Sub(b).Norm(), a.Sub(c).Norm()))
		}
		areas[i], lengths[i] = area.Value(), length.Value()
	})
	if err != nil {
		return sampler{}, false, err
	}
	var area, length exact.Sum
	for i := range n {
		area.Add(areas[i])
		length.Add(lengths[i])
	}
	a := area.Value()
	spacing := max(finest, math.Sqrt(a/wanted))
	spacing = max(min(spacing, math.Sqrt(a/min(fewest, wanted))), length.Value()/rows)
	b := m.Bounds()
	s := sampler{mesh: m, centre: b.Min.Add(b.Size().Scale(0.5)), spacing: spacing}
	return s, spacing > 0 && !math.IsInf(spacing, 0) && !math.IsNaN(spacing), nil
}

// all gives the samples in the triangles' order, then the extra ones.
func (s *sampler) all(ctx context.Context) ([]sample, error) {
	found := make([][]sample, parallel.Count(len(s.mesh.Triangles), piece))
	err := parallel.Pieces(ctx, len(s.mesh.Triangles), piece, func(i, lo, hi int) {
		for t := lo; t < hi; t++ {
			found[i] = s.pierced(t, found[i])
			if t%256 == 0 && ctx.Err() != nil {
				return
			}
		}
	})
	if err != nil {
		return nil, err
	}
	var out []sample
	for _, f := range found {
		out = append(out, f...)
	}
	extra, err := s.specks(ctx, out)
	return append(out, extra...), err
}

// pierced appends the samples of triangle t. Points on an edge belong to one of
// its two triangles: rows and places in a row are half open, and an edge is
// crossed at the same place whichever triangle asks.
func (s *sampler) pierced(t int, to []sample) []sample {
	a, b, c := s.mesh.Corners(t)
	cross := b.Sub(a).Cross(c.Sub(a))
	n, ok := unit(cross)
	if !ok {
		return to
	}
	axis := 0
	for k := range 3 {
		if math.Abs(n.Component(k)) > math.Abs(n.Component(axis)) {
			axis = k
		}
	}
	var uv [3][2]float64
	for i, p := range [3]mesh.Vec{a, b, c} {
		p = p.Sub(s.centre)
		x, y := p.Component((axis+1)%3)/s.spacing, p.Component((axis+2)%3)/s.spacing
		uv[i] = [2]float64{float64(golden[0]*x) + float64(golden[1]*y), float64(golden[0]*y) - float64(golden[1]*x)}
	}
	lo, hi := min(uv[0][1], uv[1][1], uv[2][1]), max(uv[0][1], uv[1][1], uv[2][1])
	first, last := math.Ceil(lo), math.Ceil(hi)
	const whole = 1 << 50 // beyond it rows cannot be told apart
	if !(math.Abs(lo) < whole && math.Abs(hi) < whole) || first == last {
		return to
	}
	twice := cross2(uv[0], uv[1], uv[2])
	for row := first; row < last; row++ {
		from, till := math.Inf(1), math.Inf(-1)
		for i := range 3 {
			p, q := uv[i], uv[(i+1)%3]
			if p[1] > q[1] || p[1] == q[1] && p[0] > q[0] {
				p, q = q, p
			}
			if p[1] < row && row <= q[1] {
				u := p[0] + float64((row-p[1])/(q[1]-p[1])*(q[0]-p[0]))
				from, till = min(from, u), max(till, u)
			}
		}
		for u := math.Ceil(from); u < till; u++ {
			at := [2]float64{u, row}
			wb, wc := cross2(uv[2], uv[0], at)/twice, cross2(uv[0], uv[1], at)/twice
			to = append(to, sample{
				p: a.Add(b.Sub(a).Scale(wb)).Add(c.Sub(a).Scale(wc)), n: n, triangle: int32(t),
				area: float64(s.spacing*s.spacing) / math.Abs(n.Component(axis)),
			})
		}
	}
	return to
}

// cross2 is twice the signed area of the triangle abc.
func cross2(a, b, c [2]float64) float64 {
	return float64((b[0]-a[0])*(c[1]-a[1])) - float64((b[1]-a[1])*(c[0]-a[0]))
}

// specks are extra samples, so that a small feature between the lattice lines is
// seen: one, of a triangle's middle, in each cube of the spacing that has the
// middle of a triangle but no sample. They weigh nothing among the quantiles.
// Where there are too many, every so many-th is kept.
func (s *sampler) specks(ctx context.Context, have []sample) ([]sample, error) {
	cells := make(map[cell]struct{}, 2*len(have))
	for i := range have {
		cells[cellOf(have[i].p.Sub(s.centre), s.spacing)] = struct{}{}
	}
	m := s.mesh
	found := make([][]int32, parallel.Count(len(m.Triangles), piece))
	err := parallel.Pieces(ctx, len(m.Triangles), piece, func(i, lo, hi int) {
		seen := map[cell]struct{}{}
		for t := lo; t < hi; t++ {
			k := cellOf(middle(m, t).Sub(s.centre), s.spacing)
			if _, ok := cells[k]; ok {
				continue
			}
			if _, ok := seen[k]; !ok {
				seen[k] = struct{}{}
				found[i] = append(found[i], int32(t))
			}
		}
	})
	if err != nil {
		return nil, err
	}
	var all []int32
	for _, f := range found {
		for _, t := range f {
			k := cellOf(middle(m, int(t)).Sub(s.centre), s.spacing)
			if _, ok := cells[k]; !ok {
				cells[k] = struct{}{}
				all = append(all, t)
			}
		}
	}
	var out []sample
	for i := 0; i < len(all); i += 1 + len(all)/specks {
		t := int(all[i])
		if n, ok := normal(m, t); ok {
			out = append(out, sample{p: middle(m, t), n: n, triangle: int32(t)})
		}
	}
	return out, nil
}

// cell is a cube of a grid.
type cell [3]int64

func cellOf(p mesh.Vec, size float64) cell {
	var c cell
	for k := range 3 {
		c[k] = int64(max(-1<<50, min(1<<50, math.Floor(p.Component(k)/size))))
	}
	return c
}

func middle(m *mesh.Mesh, t int) mesh.Vec {
	a, b, c := m.Corners(t)
	return a.Add(b.Sub(a).Scale(1.0 / 3)).Add(c.Sub(a).Scale(1.0 / 3))
}

// normal is triangle t's outward unit normal, false where it has no area.
func normal(m *mesh.Mesh, t int) (mesh.Vec, bool) {
	a, b, c := m.Corners(t)
	return unit(b.Sub(a).Cross(c.Sub(a)))
}

func unit(v mesh.Vec) (mesh.Vec, bool) {
	l := v.Norm()
	if !(l > 0) || math.IsInf(l, 0) {
		return mesh.Vec{}, false
	}
	u := v.Scale(1 / l)
	return u, math.Abs(u.Dot(u)-1) < 1e-6 // false near the ends of float64's range
}

// measured is what Measure knows before it looks for places.
func measured(ctx context.Context, t *tree.Tree, samples []sample) error {
	pr := newProbe(t)
	const few = 256
	return parallel.Pieces(ctx, len(samples), few, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			if i%16 == 0 && ctx.Err() != nil {
				return
			}
			s := &samples[i]
			s.ray, s.hit = pr.exit(s.p, s.n.Scale(-1), s.triangle, math.Inf(1))
			s.ball = math.Inf(1)
			if s.hit >= 0 && i%balls == 0 {
				r, _ := pr.shrink(s.p, s.n, s.triangle, s.ray/2, slackBall, nil)
				s.ball = 2 * r
			}
		}
	})
}
