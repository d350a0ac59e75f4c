package inside_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/measure/inside"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
)

func solid(t require.TestingT, m *mesh.Mesh) *inside.Solid {
	tr, err := tree.New(ctx(t), m)
	require.NoError(t, err)
	return inside.Of(tr)
}

// angles is the winding number of p as the sum of the solid angles of all triangles,
// over 4π (Van Oosterom and Strackee, The solid angle of a plane triangle, 1983): a
// number with no line and no tree in it.
func angles(m *mesh.Mesh, p mesh.Vec) float64 {
	sum := 0.0
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		a, b, c = a.Sub(p), b.Sub(p), c.Sub(p)
		la, lb, lc := a.Norm(), b.Norm(), c.Norm()
		sum += 2 * math.Atan2(a.Dot(b.Cross(c)), la*lb*lc+a.Dot(b)*lc+b.Dot(c)*la+c.Dot(a)*lb)
	}
	return sum / (4 * math.Pi)
}

// bodies are a few that overlap, coincide, are flush, hollow and inside out.
func bodies(rng *rand.Rand) *mesh.Mesh {
	var all []*mesh.Mesh
	for range 1 + rng.IntN(4) {
		var m *mesh.Mesh
		switch rng.IntN(5) {
		case 0:
			m = meshtest.Box(1+float64(rng.IntN(4)), 1+float64(rng.IntN(4)), 1+float64(rng.IntN(4)))
		case 1:
			m = meshtest.UVSphere(2, 12, 8)
		case 2:
			m = meshtest.RingTorus(12, 8, 3, 1, meshtest.AsFloat32)
		case 3:
			m = meshtest.HoledBox(4, 4, 2, 1)
		default:
			m = meshtest.Turned(meshtest.Box(3, 2, 1), mesh.Vec{X: 1, Y: 2, Z: 3}, rng.Float64())
		}
		if rng.IntN(5) == 0 {
			m = meshtest.InsideOut(m)
		}
		// Whole steps: many faces are flush, many corners on other bodies' faces.
		m = meshtest.Moved(m, meshtest.Shift(float64(rng.IntN(4)), float64(rng.IntN(4)), float64(rng.IntN(3))))
		all = append(all, m)
		if rng.IntN(6) == 0 {
			all = append(all, m) // twice
		}
	}
	return meshtest.Together(all...)
}

func TestWindingsAreTheSolidAngles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		m := bodies(rng)
		r := solid(t, m).Ruler()
		for range 30 {
			p := mesh.Vec{X: 8*rng.Float64() - 2, Y: 8*rng.Float64() - 2, Z: 8*rng.Float64() - 2}
			if rng.IntN(2) == 0 { // on planes through the blocks' diagonals
				p = mesh.Vec{X: math.Round(p.X) + 0.25, Y: math.Round(p.Y) + 0.25, Z: math.Round(p.Z) + 0.25}
			}
			want := angles(m, p)
			w, whole := r.Winding(p)
			require.True(t, whole)
			// Where the sum is not within a millionth of a whole number, p is on a surface,
			// or so near that the angles' roundings (some 1e-16 over the distance) show.
			if n := math.Round(want); math.Abs(want-n) < 1e-6 {
				require.Equal(t, int(n), w, "at %v", p)
			}
		}
	})
}

// Lines along axes, through corners, along edges and within faces of a closed mesh: the
// windings at both ends are 0, so every line is whole.
func TestNoLineLeaksFromAClosedMesh(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		m := bodies(rng)
		r := solid(t, m).Ruler()
		for range 40 {
			p := m.Vertices[rng.IntN(len(m.Vertices))]
			d := mesh.Vec{X: float64(rng.IntN(3) - 1), Y: float64(rng.IntN(3) - 1), Z: float64(rng.IntN(3) - 1)}
			if rng.IntN(3) == 0 {
				d = m.Vertices[rng.IntN(len(m.Vertices))].Sub(p)
			}
			spans, whole := r.Spans(p, d)
			require.Equal(t, d != mesh.Vec{}, whole, "from %v along %v", p, d)
			for i, s := range spans {
				require.Greater(t, s.To, s.From)
				require.True(t, i == 0 || s.From > spans[i-1].To)
			}
		}
	})
}

// Middles of spans and of what is between them, against solid angles.
func TestSpansAreWhatWindingsSay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		m := bodies(rng)
		r := solid(t, m).Ruler()
		p := mesh.Vec{X: 5 * rng.Float64(), Y: 5 * rng.Float64(), Z: 3 * rng.Float64()}
		d := mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		spans, whole := r.Spans(p, d)
		require.True(t, whole)
		at := -20.0 / d.Norm() // outside
		for _, s := range spans {
			require.Less(t, angles(m, p.Add(d.Scale((at+s.From)/2))), 0.5)
			require.Greater(t, angles(m, p.Add(d.Scale((s.From+s.To)/2))), 0.5)
			at = s.To
		}
	})
}

// What is near, from a winding number that is known, is what the whole line has there.
func TestNearbyLooksAgreeWithWholeLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		s := solid(t, bodies(rng))
		far, near := s.Ruler(), s.Ruler()
		p := mesh.Vec{X: 5 * rng.Float64(), Y: 5 * rng.Float64(), Z: 3 * rng.Float64()}
		w, _ := far.Winding(p)
		for range 20 {
			q := p.Add(mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
			at, ok := near.Step(p, q, w)
			require.True(t, ok)
			want, _ := far.Winding(q)
			require.Equal(t, want, at)

			d := q.Sub(p)
			lo, hi := -2*rng.Float64(), 2*rng.Float64()
			whole, _ := far.Spans(p, d)
			var cut []inside.Span
			for _, x := range whole {
				if x.To <= lo || x.From >= hi {
					continue
				}
				if x.From < lo {
					x.From, x.Enter = lo, -1
				}
				if x.To > hi {
					x.To, x.Leave = hi, -1
				}
				cut = append(cut, x)
			}
			got, ok := near.Within(p, d, w, lo, hi)
			require.True(t, ok)
			require.Equal(t, len(cut), len(got))
			for i := range cut {
				require.Equal(t, cut[i], got[i])
			}
			middle := (lo + hi) / 2
			require.Equal(t, far.Known(middle), near.Known(middle))
			p, w = q, at
		}
	})
}

// Two boxes, each 1 thick, one upon the other with a gap, or overlapping.
func TestFlushBodiesAreOne(t *testing.T) {
	for _, row := range []struct {
		gap  float64
		want []float64 // lengths of the spans up through both
	}{
		{0, []float64{2}},
		{1e-7, []float64{2 + 1e-7}},
		{2e-4, []float64{2 + 2e-4}},
		{inside.Flush * 0.999, []float64{2 + inside.Flush*0.999}},
		{inside.Flush * 1.01, []float64{1, 1}},
		{0.02, []float64{1, 1}},
		{-0.25, []float64{1.75}},
		{-1, []float64{1}}, // the same place
	} {
		m := meshtest.Together(meshtest.Box(4, 4, 1), meshtest.Moved(meshtest.Box(4, 4, 1), meshtest.Shift(0, 0, 1+row.gap)))
		r := solid(t, m).Ruler()
		for _, at := range []mesh.Vec{{X: 1, Y: 1.5}, {X: 2, Y: 2}, {X: 0, Y: 0, Z: 7}} { // beside, on the diagonals, up the edges
			spans, whole := r.Spans(at, mesh.Vec{Z: 1})
			require.True(t, whole)
			if at.X == 0 && len(spans) == 0 {
				continue // an edge of the box belongs to it or not, by the half-open rule
			}
			require.Len(t, spans, len(row.want), "gap %v at %v", row.gap, at)
			for i, s := range spans {
				require.InDelta(t, row.want[i], s.Length(), 1e-12) // sums of numbers up to 2: a few units of 2^-52
			}
		}
		face := mesh.Vec{X: 1, Y: 1.5, Z: 1}
		require.Equal(t, row.gap < 0 && row.gap > -1 || row.gap >= 0 && row.gap <= inside.Flush, r.Buried(face, mesh.Vec{Z: 1}), "gap %v", row.gap)
	}
}

func TestHollowsAndShellsInsideOut(t *testing.T) {
	outer := meshtest.Box(10, 10, 10)
	inner := meshtest.Moved(meshtest.Box(4, 4, 4), meshtest.Shift(3, 3, 3))
	middle := mesh.Vec{X: 5, Y: 5, Z: 5}
	for name, row := range map[string]struct {
		mesh *mesh.Mesh
		want int
	}{
		"a block":             {outer, 1},
		"a hollow":            {meshtest.Together(outer, meshtest.InsideOut(inner)), 0},
		"one in another":      {meshtest.Together(outer, inner), 2},
		"a block inside out":  {meshtest.InsideOut(outer), -1},
		"a hollow that fills": {meshtest.Together(outer, meshtest.InsideOut(inner), inner), 1},
	} {
		r := solid(t, row.mesh).Ruler()
		w, whole := r.Winding(middle)
		require.True(t, whole, name)
		require.Equal(t, row.want, w, name)
		require.Equal(t, row.want >= 1, r.Contains(middle), name)
	}
}

// A block without one of its twelve triangles: lines through the opening say so and
// claim nothing; the middle of what is said of a point is what the whole block has.
func TestAnOpenMeshSaysWhatItCan(t *testing.T) {
	m := meshtest.Without(meshtest.Box(10, 10, 10), 0)
	r := solid(t, m).Ruler()
	whole, through := 0, 0
	rng := rand.New(rand.NewPCG(3, 1))
	for range 500 {
		p := mesh.Vec{X: 10 * rng.Float64(), Y: 10 * rng.Float64(), Z: 10 * rng.Float64()}
		d := mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		spans, ok := r.Spans(p, d)
		if ok {
			whole++
			require.Len(t, spans, 1)
		} else {
			through++
			require.Empty(t, spans)
		}
	}
	require.Greater(t, whole, 300)
	require.Greater(t, through, 10)
	require.True(t, r.Contains(mesh.Vec{X: 5, Y: 5, Z: 5}))
	require.False(t, r.Contains(mesh.Vec{X: 5, Y: 5, Z: 15}))
}

// Two blocks flush in a plane that no 32-bit number lies on, far out: each corner is
// rounded to 32 bits by itself, which parts the faces by some 2^-24 of the coordinate.
func TestFacesRoundedTo32BitsStayFlush(t *testing.T) {
	turn := func(p mesh.Vec) mesh.Vec { // by 0.3 about x
		s, c := math.Sincos(0.3)
		return mesh.Vec{X: p.X, Y: c*p.Y - s*p.Z, Z: s*p.Y + c*p.Z}
	}
	for _, away := range []float64{0, 300, 20000} {
		m := &mesh.Mesh{}
		for k := range 2 {
			b := meshtest.Moved(meshtest.Box(40, 30, 1), meshtest.Shift(0, 1.7*float64(k), float64(k)))
			b = meshtest.Moved(b, func(p mesh.Vec) mesh.Vec {
				p = turn(p).Add(mesh.Vec{X: away, Y: -away, Z: away / 3})
				return mesh.Vec{X: meshtest.AsFloat32(p.X), Y: meshtest.AsFloat32(p.Y), Z: meshtest.AsFloat32(p.Z)}
			})
			m = meshtest.Together(m, b)
		}
		s := solid(t, m)
		r := s.Ruler()
		rng := rand.New(rand.NewPCG(9, 1))
		up := turn(mesh.Vec{Z: 1})
		for range 200 {
			p := turn(mesh.Vec{X: 1 + 38*rng.Float64(), Y: 3 + 26*rng.Float64(), Z: 0.5}).Add(mesh.Vec{X: away, Y: -away, Z: away / 3})
			spans, whole := r.Spans(p, up)
			require.True(t, whole)
			require.Len(t, spans, 1, "%v away", away)
			// Four faces, each off by up to √3·2^-24 of its coordinates.
			require.InDelta(t, 2, spans[0].Length(), 4*math.Sqrt(3)*0x1p-24*(away+50))
		}
	}
}

func TestOutsideFiguresAgree(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	meshtest.EachReference(t, func(t *testing.T, ref reference.File, m *mesh.Mesh) {
		if len(m.Triangles) == 0 || len(m.Triangles) > 30_000 {
			return
		}
		r := solid(t, m).Ruler()
		b := m.Bounds()
		size := b.Size()
		for range 12 {
			p := b.Min.Add(mesh.Vec{X: rng.Float64() * size.X, Y: rng.Float64() * size.Y, Z: rng.Float64() * size.Z})
			want := angles(m, p)
			w, whole := r.Winding(p)
			// Of an open mesh the sum is no whole number, and the count is told as not
			// whole or happened to agree both ways along one line: nothing is claimed.
			if n := math.Round(want); whole && math.Abs(want-n) < 1e-6 {
				require.Equal(t, int(n), w, "at %v", p)
			}
		}
	})
}
