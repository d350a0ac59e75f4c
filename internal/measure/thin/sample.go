package thin

import (
	"context"
	"math"
	"slices"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

const (
	// wanted is how many samples a large surface gets for the quantiles, and how many
	// are gauged at most: so few that a part takes some tenths of a second. finest is
	// how near to each other samples are on a small surface (mm), so that every disc that
	// a wall has at least has one, however it lies (see leastSeen). fewest are the samples that even the
	// smallest gets.
	wanted = 16_000
	finest = 0.3
	fewest = 1_000
	// looks is how many times as many points are looked at for something thin: a short
	// ray each, at a hundredth of what a gauge takes.
	looks = 48
	// balls: every so many-th sample is asked for its ball. The quantiles need no
	// more, and large balls take long to find.
	balls = 4
	// specks is the most extra samples for features between the lattice's lines, and
	// tufts the most that are grown about what is thin and has few samples.
	specks = 15_000
	tufts  = 15_000
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
	area     float64 // mm² of surface it stands for
	extra    bool    // not of the lattice
	ray      float64 // along −n to where the solid ends, or a surface is left; +Inf where it does not
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

// newSampler chooses the spacing for so many samples of a large surface. It is false
// where there is nothing to sample.
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

// all gives the samples in the triangles' order: those for which keep is true, and
// every one if keep is nil. keep is called side by side; it has a probe of its own, and
// ends its piece, for which partial is then true, where that has spent its work.
func (s *sampler) all(ctx context.Context, pr *probe, keep func(*probe, *sample) bool) (out []sample, partial bool, err error) {
	n := parallel.Count(len(s.mesh.Triangles), piece)
	found, left := make([][]sample, n), make([]bool, n)
	err = parallel.Pieces(ctx, len(s.mesh.Triangles), piece, func(i, lo, hi int) {
		pr := pr.another()
		looked := 0
		look := func(x *sample) {
			if looked++; keep == nil || !left[i] && keep(pr, x) {
				found[i] = append(found[i], *x)
			}
			left[i] = left[i] || pr.spent(looked, rayWork)
			if looked%256 == 0 && ctx.Err() != nil {
				left[i] = true
			}
		}
		for t := lo; t < hi && !left[i]; t++ {
			s.pierced(t, look)
			if t%256 == 0 && ctx.Err() != nil {
				return
			}
		}
	})
	for i, f := range found {
		out = append(out, f...)
		partial = partial || left[i]
	}
	return out, partial, err
}

// pierced calls f with the samples of triangle t. Points on an edge belong to one of
// its two triangles: rows and places in a row are half open, and an edge is
// crossed at the same place whichever triangle asks.
func (s *sampler) pierced(t int, f func(*sample)) {
	a, b, c := s.mesh.Corners(t)
	cross := b.Sub(a).Cross(c.Sub(a))
	n, ok := unit(cross)
	if !ok {
		return
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
		return
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
			f(&sample{
				p: a.Add(b.Sub(a).Scale(wb)).Add(c.Sub(a).Scale(wc)), n: n, triangle: int32(t),
				area: float64(s.spacing*s.spacing) / math.Abs(n.Component(axis)),
			})
		}
	}
}

// cross2 is twice the signed area of the triangle abc.
func cross2(a, b, c [2]float64) float64 {
	return float64((b[0]-a[0])*(c[1]-a[1])) - float64((b[1]-a[1])*(c[0]-a[0]))
}

// thin looks for samples from which a surface is left within far: the lattice's, and the
// middles of triangles that no lattice line pierces, so that a small feature between the
// lines is seen: one in each cube of the spacing for each of six ways to face. Those are
// extra; where there are too many, every so many-th is kept.
func (s *sampler) thin(ctx context.Context, pr *probe) (out []sample, partial bool, err error) {
	near := func(pr *probe, x *sample) bool {
		x.ray, _ = pr.exit(x.p, x.n.Scale(-1), x.triangle, far)
		return x.ray <= far
	}
	out, partial, err = s.all(ctx, pr, near)
	if err != nil {
		return nil, false, err
	}
	extra, left, err := s.specks(ctx, pr, near)
	return append(out, extra...), partial || left, err
}

// specks are the extra samples for thin.
func (s *sampler) specks(ctx context.Context, pr *probe, near func(*probe, *sample) bool) ([]sample, bool, error) {
	m := s.mesh
	type spot struct {
		cell
		facing int8
	}
	spotOf := func(t int) (spot, sample, bool) {
		n, ok := normal(m, t)
		if !ok {
			return spot{}, sample{}, false
		}
		x := sample{p: middle(m, t), n: n, triangle: int32(t), extra: true}
		k := spot{cell: cellOf(x.p.Sub(s.centre), s.spacing)}
		for a := range 3 {
			if c := n.Component(a); math.Abs(c) >= 1/math.Sqrt(3) {
				k.facing = int8(2*a + 1)
				if c < 0 {
					k.facing++
				}
				break
			}
		}
		return k, x, true
	}
	n := parallel.Count(len(m.Triangles), piece)
	found := make([][]int32, n)
	err := parallel.Pieces(ctx, len(m.Triangles), piece, func(i, lo, hi int) {
		seen := map[spot]struct{}{}
		for t := lo; t < hi; t++ {
			if t%256 == 0 && ctx.Err() != nil {
				return
			}
			k, _, ok := spotOf(t)
			if !ok {
				continue
			}
			if _, again := seen[k]; again {
				continue
			}
			pierced := false
			s.pierced(t, func(*sample) { pierced = true })
			if seen[k] = struct{}{}; !pierced {
				found[i] = append(found[i], int32(t))
			}
		}
	})
	if err != nil {
		return nil, false, err
	}
	var all []int32
	for _, f := range found {
		all = append(all, f...)
	}
	kept, left := make([][]sample, parallel.Count(len(all), piece)), make([]bool, parallel.Count(len(all), piece))
	err = parallel.Pieces(ctx, len(all), piece, func(i, lo, hi int) {
		pr := pr.another()
		for k := lo; k < hi && !left[i]; k++ {
			if k%256 == 0 && ctx.Err() != nil {
				return
			}
			if _, x, _ := spotOf(int(all[k])); near(pr, &x) {
				a, b, c := m.Corners(int(all[k]))
				x.area = min(b.Sub(a).Cross(c.Sub(a)).Norm()/2, leastArea/fewGauges)
				kept[i] = append(kept[i], x)
			}
			left[i] = pr.spent(k+1-lo, rayWork)
		}
	})
	var thin, out []sample
	partial := false
	for i, f := range kept {
		thin = append(thin, f...)
		partial = partial || left[i]
	}
	for i := 0; i < len(thin); i += 1 + len(thin)/specks {
		out = append(out, thin[i])
	}
	return out, partial, err
}

// tufted adds, about each thin sample that has few others near it, a small lattice of
// extra ones: what is thin there may be smaller than the spacing, and a thickness wants
// several gauges. They lie on the surface opposite to points of the sample's plane.
func (s *sampler) tufted(ctx context.Context, pr *probe, thin []sample) ([]sample, error) {
	if s.spacing <= finest*1.2 {
		return thin, nil
	}
	const room, enough, wide = 1.0, 24, 4 // mm; samples about; steps of the little lattice
	rooms := map[cell]int{}
	at := func(p mesh.Vec) cell { return cellOf(p.Sub(s.centre), room) }
	for i := range thin {
		rooms[at(thin[i].p)]++
	}
	around := func(c cell) (n int) {
		for x := c[0] - 1; x <= c[0]+1; x++ {
			for y := c[1] - 1; y <= c[1]+1; y++ {
				for z := c[2] - 1; z <= c[2]+1; z++ {
					n += rooms[cell{x, y, z}]
				}
			}
		}
		return n
	}
	var lone []int
	for i := range thin {
		if around(at(thin[i].p)) < enough {
			lone = append(lone, i)
		}
	}
	// The thinnest first; on a body that is thin all over and sampled coarsely all are
	// lone, and none needs it.
	slices.SortStableFunc(lone, func(a, b int) int { return compare(thin[a].ray, thin[b].ray) })
	const each = (2*wide + 1) * (2*wide + 1)
	lone = lone[:min(len(lone), tufts/each)]
	grown := make([][]sample, len(lone))
	err := parallel.Pieces(ctx, len(lone), 8, func(_, lo, hi int) {
		pr := pr.another()
		for k := lo; k < hi && ctx.Err() == nil && !pr.spent((hi-lo)*each, lineWork); k++ {
			x := &thin[lone[k]]
			_, _, middle, ok := pr.inward(x.p, x.n)
			if !ok {
				continue
			}
			u := across(x.n)
			v := x.n.Cross(u)
			for a := -wide; a <= wide; a++ {
				for b := -wide; b <= wide; b++ {
					off := u.Scale(float64(a) * finest).Add(v.Scale(float64(b) * finest))
					c, ok := pr.step(middle, off)
					if !ok || a == 0 && b == 0 {
						continue
					}
					q, ok := pr.at(c, x.n.Scale(-1), x.ray, far)
					if !ok || q.Enter < 0 || q.Length() > far {
						continue
					}
					n, ok := normal(pr.mesh, int(q.Enter))
					if p := c.p.Sub(x.n.Scale(q.From)); ok && n.Dot(x.n) > 0.5 {
						grown[k] = append(grown[k], sample{p: p, n: n, triangle: q.Enter, extra: true, ray: q.Length(), area: finest * finest / n.Dot(x.n)})
					}
				}
			}
		}
	})
	taken := map[cell]bool{} // so that tufts that meet do not count twice
	for _, g := range grown {
		for i := range g {
			if k := cellOf(g[i].p.Sub(s.centre), 0.7*finest); !taken[k] {
				taken[k] = true
				thin = append(thin, g[i])
			}
		}
	}
	return thin, err
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

// measured is what the quantiles are of. partial is as for gaugeAll.
func measured(ctx context.Context, pr *probe, samples []sample) (partial bool, err error) {
	const few = 256
	left := make([]bool, parallel.Count(len(samples), few))
	err = parallel.Pieces(ctx, len(samples), few, func(piece, lo, hi int) {
		pr := pr.another()
		for i := lo; i < hi; i++ {
			if i%16 == 0 && ctx.Err() != nil {
				return
			}
			s := &samples[i]
			s.ray, s.ball = math.Inf(1), math.Inf(1)
			if left[piece] = left[piece] || pr.spent(hi-lo, lineWork); left[piece] {
				continue
			}
			length, _, _, ok := pr.inward(s.p, s.n)
			if !ok {
				continue
			}
			s.ray = length
			if i%balls == 0 {
				r, _ := pr.shrink(s.p, s.n, s.triangle, s.ray/2, slackBall, nil)
				s.ball = 2 * r
			}
		}
	})
	return slices.Contains(left, true), err
}
