package thin

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func sampled(t testing.TB, m *mesh.Mesh) (*probe, sampler, []sample) {
	tr, err := tree.New(context.Background(), m)
	require.NoError(t, err)
	from, ok, err := newSampler(context.Background(), m, wanted)
	require.NoError(t, err)
	require.True(t, ok)
	pr := newProbe(tr)
	samples, partial, err := from.all(context.Background(), pr, nil)
	require.NoError(t, err)
	require.False(t, partial)
	partial, err = measured(context.Background(), pr, samples)
	require.NoError(t, err)
	require.False(t, partial)
	return pr, from, samples
}

// A wedge of angle 2a: at a distance x from its edge along a face the ray is
// x·tan 2a, the ball 2x·tan a, as long as the back and the ends are farther.
func TestAWedgeIsKnownEverywhere(t *testing.T) {
	for _, half := range []float64{5, 10, 20, 35} {
		a := half * math.Pi / 180
		l := 40.0
		m := wedge(l, a)
		_, _, samples := sampled(t, m)
		seen := 0
		for i := range samples {
			s := &samples[i]
			x := math.Hypot(s.p.X, s.p.Z)
			if s.n.X > 0.5 || math.Abs(s.n.Y) > 0.5 || x > 8 || math.Abs(s.p.Y) > 15 {
				continue // the back, the ends, and what is near them
			}
			seen++
			require.InEpsilon(t, x*math.Tan(2*a), s.ray, 1e-9)
			if !math.IsInf(s.ball, 1) {
				exactly := 2 * x * math.Tan(a)
				require.GreaterOrEqual(t, s.ball, exactly*(1-1e-9))
				require.LessOrEqual(t, s.ball, exactly*(1+slackBall/(1+math.Cos(2*a)))) // 1 − cos(180° − 2a)
			}
		}
		require.Greater(t, seen, 500)
	}
}

// wedge has its edge on the y axis from −30 to 30 and faces of length l.
func wedge(l, a float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for _, y := range []float64{-30, 30} {
		m.Vertices = append(m.Vertices, mesh.Vec{Y: y},
			mesh.Vec{X: l * math.Cos(a), Y: y, Z: -l * math.Sin(a)}, mesh.Vec{X: l * math.Cos(a), Y: y, Z: l * math.Sin(a)})
	}
	for _, f := range [][]uint32{{0, 1, 2}, {3, 5, 4}, {0, 3, 4, 1}, {1, 4, 5, 2}, {2, 5, 3, 0}} {
		meshtest.AddFan(m, f...)
	}
	return m
}

// lumpy is a closed mesh with hollows and bumps of a few hundred triangles.
func lumpy(rng *rand.Rand) *mesh.Mesh {
	a, b, c := 2+4*rng.Float64(), 2+4*rng.Float64(), 6*rng.Float64()
	return meshtest.Moved(meshtest.UVSphere(1, 16, 12), func(p mesh.Vec) mesh.Vec {
		r := 5 + 1.5*math.Sin(a*p.X+c)*math.Sin(b*p.Y) + math.Sin(b*p.Z)
		return mesh.Vec{X: r * p.X, Y: 0.5 * r * p.Y, Z: 1.5 * r * p.Z}
	})
}

// Against all triangles. The ray must be the same. The ball's radius is the least,
// over all points q of the surface, of |pq|²/2h; at points spread over each triangle
// it is not less than shrink's by more than the slack that shrink states, and where
// shrink's is less than ray/2, its contact attains it.
func TestRaysAndBallsAgreeWithLookingAtEveryTriangle(t *testing.T) {
	for seed := range uint64(6) {
		rng := rand.New(rand.NewPCG(seed, 2))
		m := lumpy(rng)
		pr, _, samples := sampled(t, m)
		for range 25 {
			s := &samples[rng.IntN(len(samples))]
			ray := math.Inf(1)
			for i := range m.Triangles {
				a, b, c := m.Corners(i)
				if l, out, ok := cross(s.p, s.n.Scale(-1), a, b, c); ok && out && int32(i) != s.triangle && l > pr.eps {
					ray = min(ray, l)
				}
			}
			require.InEpsilon(t, ray, s.ray, 1e-12) // two ways to divide by a slant, each of a few roundings

			for _, opposedOnly := range []bool{false, true} {
				var among func(int32) bool
				if opposedOnly {
					among = func(i int32) bool { n, _ := normal(m, int(i)); return n.Dot(s.n) <= opposed }
				}
				r, contact := pr.shrink(s.p, s.n, s.triangle, s.ray/2, slackThin, among)
				c := s.p.Sub(s.n.Scale(r))
				for i := range m.Triangles {
					if int32(i) == s.triangle || among != nil && !among(int32(i)) {
						continue
					}
					a, b, d := m.Corners(i)
					for range 25 {
						u, v := rng.Float64(), rng.Float64()
						if u+v > 1 {
							u, v = 1-u, 1-v
						}
						q := a.Add(b.Sub(a).Scale(u)).Add(d.Sub(a).Scale(v))
						if d := q.Sub(c).Norm(); d < r*(1-slackThin)-1e-9 {
							require.Fail(t, "a surface inside the ball", "%v of radius %v, at %v", c, r, d)
						}
					}
				}
				if contact >= 0 {
					a, b, d := m.Corners(int(contact))
					require.InDelta(t, r, nearest(c, a, b, d).Sub(c).Norm(), 1e-6*r)
				} else {
					require.Equal(t, s.ray/2, r)
				}
			}
		}
	}
}

// nearest against points spread over the triangle: none is nearer, and it is one.
func TestNearestPointOfATriangle(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 3))
	v := func() mesh.Vec {
		return mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
	}
	for range 2000 {
		a, b, c, p := v(), v(), v(), v().Scale(2)
		q := nearest(p, a, b, c)
		least := math.Inf(1)
		const steps = 24
		for i := range steps + 1 {
			for j := range steps + 1 - i {
				x := a.Add(b.Sub(a).Scale(float64(i) / steps)).Add(c.Sub(a).Scale(float64(j) / steps))
				least = min(least, x.Sub(p).Norm())
			}
		}
		d := q.Sub(p).Norm()
		require.LessOrEqual(t, d, least+1e-12)
		// The lattice comes within one step of every point.
		side := max(a.Sub(b).Norm(), b.Sub(c).Norm(), c.Sub(a).Norm())
		require.GreaterOrEqual(t, d, least-side/steps)
	}
}

// Samples lie on the same points however the surface is cut, and their areas come to
// the surface's.
func TestSamplesDoNotDependOnTriangles(t *testing.T) {
	m := meshtest.Turned(meshtest.Box(30, 20, 9), mesh.Vec{X: 1, Y: 2, Z: 3}, 1)
	_, from, one := sampled(t, m)
	_, _, two := sampled(t, meshtest.Remesh(m, 3))
	area := 0.0
	at := map[cell]int{}
	plain := func(all []sample) (n int) {
		for i := range all {
			if all[i].area > 0 {
				n++
			}
		}
		return n
	}
	for i := range one {
		area += one[i].area
		at[cellOf(one[i].p, 1e-3)]++
	}
	// Counting lattice points errs by what lies within half a spacing of the faces'
	// borders at the most: 4·(30+20+9) mm of edge, each of two faces. The lattice is
	// chosen so that most of that cancels; a fifth of it is left for bad luck.
	border := 2 * 4 * (30.0 + 20 + 9) * from.spacing / 2
	require.InDelta(t, 2*(30*20+30*9+20*9), area, border/5)
	// A point on an edge may fall to either side by rounding, at most a handful.
	require.InDelta(t, plain(one), plain(two), 4)
	missing := 0
	for i := range two {
		s := &two[i]
		near := false
		for k := range 27 {
			d := mesh.Vec{X: float64(k%3 - 1), Y: float64(k/3%3 - 1), Z: float64(k/9 - 1)}.Scale(1e-3)
			near = near || at[cellOf(s.p.Add(d), 1e-3)] > 0
		}
		if s.area > 0 && !near {
			missing++
		}
	}
	require.LessOrEqual(t, missing, 4)
}
