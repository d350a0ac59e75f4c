package stack_test

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/measure/stack"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// pot has one of each: an island (a cone that hangs from the lid's rim), a cup, a
// well and a trapped volume; and how much each holds.
func pot() (m *mesh.Mesh, cup, well, trapped float64) {
	const n = 40
	low := meshtest.Arc(5, 0, 0, math.Pi/2, 10)    // rises from the plate
	high := meshtest.Arc(6, 24, -math.Pi/2, 0, 10) // ends at the top
	ball := meshtest.Arc(4, 11.5, -math.Pi/2, math.Pi/2, 20)
	outer := []meshtest.Point2{{R: 5, Z: 0}, {R: 8, Z: 0}, {R: 8, Z: 20}, {R: 14, Z: 20}, {R: 14, Z: 24}, {R: 6, Z: 24}}
	profile := append([]meshtest.Point2{}, outer...)
	for i := len(high) - 2; i >= 0; i-- {
		profile = append(profile, high[i])
	}
	for i := len(low) - 1; i > 0; i-- {
		profile = append(profile, low[i])
	}
	inside := make([]meshtest.Point2, 0, len(ball))
	for i := range ball {
		inside = append(inside, ball[len(ball)-1-i])
	}
	m = meshtest.Revolved(n, profile, inside)
	cone := meshtest.Moved(meshtest.Over(meshtest.Frustum(24, 2, 0, 8)), meshtest.Shift(11, 1, 13))
	return meshtest.Together(m, cone), meshtest.Turning(n, low...), meshtest.Turning(n, high...), meshtest.Turning(n, ball...)
}

func TestAnswersDoNotDependOnTheTurnAboutZ(t *testing.T) {
	m, cup, well, trapped := pot()
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(0, 2*math.Pi).Draw(t, "angle")
		by := rapid.Float64Range(-100, 100).Draw(t, "by")
		turned := meshtest.Moved(meshtest.Turned(m, mesh.Vec{Z: 1}, angle), meshtest.Shift(by, 2*by, -by))
		r, err := stack.Of(context.Background(), turned, 0.1)
		require.NoError(t, err)
		require.Equal(t, [4]int{1, 1, 1, 1}, counts(r))
		require.InDelta(t, cup, r.Cups[0].Volume, 2*slack(5, 5)) // at twice the layer
		require.InDelta(t, well, r.Wells[0].Volume, 2*slack(6, 6))
		require.InDelta(t, trapped, r.Trapped[0].Volume, 2*slack(4, 8))
		// The cone's tip; it is as wide as half its height.
		s, c := math.Sincos(angle)
		tip := r.Islands[0].At.Sub(mesh.Vec{X: 11*c - s + by, Y: 11*s + c + 2*by, Z: 13 - by})
		require.InDelta(t, 0, tip.X, 0.2)
		require.InDelta(t, 0, tip.Y, 0.2)
		require.Greater(t, tip.Z, 0.0)
		require.LessOrEqual(t, tip.Z, 0.1/0.5/math.Cos(math.Pi/24)+0.1)
	})
}

func TestFlippingSwapsCupsAndWells(t *testing.T) {
	m, _, _, _ := pot() // 24 mm: a whole number of layers, so that they are the same
	a, b := of(t, m, 0.1), of(t, meshtest.Over(m), 0.1)
	same := func(p, q []stack.Hollow) {
		require.Len(t, q, len(p))
		for i := range p {
			require.InEpsilon(t, p[i].Volume, q[i].Volume, 1e-9)
			require.InDelta(t, p[i].At.Z, 24-q[i].At.Z, 1e-9)
			require.InDelta(t, p[i].Rim, 24-q[i].Rim, 1e-9)
		}
	}
	same(a.Cups, b.Wells)
	same(a.Wells, b.Cups)
	require.InEpsilon(t, a.Trapped[0].Volume, b.Trapped[0].Volume, 1e-9)
}

// A bump that stands less than a layer apart lies between two layers' heights but
// for one at most, so it is one layer deep. Moving a surface by d changes how far
// its bumps stand apart by no more than 2d (stability of persistence:
// Cohen-Steiner, Edelsbrunner and Harer 2007, from memory), so roughness of less
// than half a layer adds nothing.
func TestRoughnessBelowALayerAddsNothing(t *testing.T) {
	m, cup, well, trapped := pot()
	m = meshtest.Remesh(m, 2)
	for _, size := range []float64{1e-4, 0.01, 0.045} {
		rough := meshtest.Noise(m, rand.New(rand.NewPCG(1, 2)), size)
		r := of(t, rough, 0.1)
		require.Equal(t, [4]int{1, 1, 1, 1}, counts(r), "roughness %g", size)
		// The surface moves by the noise, of which half goes either way.
		require.InDelta(t, cup, r.Cups[0].Volume, 2*slack(5, 5)+3*math.Pi*25*size)
		require.InDelta(t, well, r.Wells[0].Volume, 2*slack(6, 6)+3*math.Pi*36*size)
		require.InDelta(t, trapped, r.Trapped[0].Volume, 2*slack(4, 8)+4*math.Pi*16*size)
	}
}

func TestTheSameOnAnyNumberOfProcessors(t *testing.T) {
	m, _, _, _ := pot()
	was := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(was)
	want := of(t, m, 0.05)
	for _, n := range []int{2, 7} {
		runtime.GOMAXPROCS(n)
		require.Equal(t, want, of(t, m, 0.05))
	}
}

func TestSmallHollowsAreCountedNotListed(t *testing.T) {
	dimpled := func(deep, wide float64) *mesh.Mesh {
		return meshtest.Revolved(8, []meshtest.Point2{{R: 0, Z: 0}, {R: 5, Z: 0}, {R: 5, Z: 3}, {R: wide, Z: 3}, {R: wide, Z: 3 - deep}, {R: 0, Z: 3 - deep}})
	}
	r := of(t, dimpled(0.3, 0.8), layer) // 0.54 mm³
	require.Equal(t, [2]int{1, 0}, [2]int{len(r.Wells), r.Small})
	r = of(t, dimpled(0.3, 0.7), layer) // 0.42 mm³
	require.Equal(t, [2]int{0, 1}, [2]int{len(r.Wells), r.Small})
	r = of(t, dimpled(0.1, 2), layer) // two layers deep
	require.Equal(t, [2]int{1, 0}, [2]int{len(r.Wells), r.Small})
	r = of(t, dimpled(0.05, 4), layer) // one
	require.Equal(t, [2]int{0, 1}, [2]int{len(r.Wells), r.Small})
}

func TestIslandsAreExcusedBelowAPixelOnly(t *testing.T) {
	hung := func(wide, long float64) *mesh.Mesh {
		return meshtest.Together(meshtest.Block(0, 0, 0, 2, 2, 5), meshtest.Block(0, 0, 4, 10, 2, 5),
			meshtest.Block(8, 1, 4.5-long, 8+wide, 1+wide, 4.5))
	}
	require.Len(t, of(t, hung(0.06, 1.5), layer).Islands, 1)
	require.Len(t, of(t, hung(0.06, 0.62), layer).Islands, 1) // two layers under the bridge
	require.Empty(t, of(t, hung(0.06, 0.52), layer).Islands)  // not one
	require.Empty(t, of(t, hung(0.04, 1.5), layer).Islands)
	floating := func(thick float64) *mesh.Mesh { // beside a tower; layers are cut at 3.025, 3.075 …
		return meshtest.Together(meshtest.Block(0, 0, 0, 2, 2, 6), meshtest.Block(4, 0, 3.01, 5, 1, 3.01+thick))
	}
	require.Len(t, of(t, floating(0.08), layer).Islands, 1)
	require.Empty(t, of(t, floating(0.04), layer).Islands)
}

// Sections of a leaning rod of width d share a row with those of the next layer if
// d/cos a − l·tan a is at least the pitch p, so if d is at least p·cos a + l·sin a:
// √2·0.05 = 0.071 mm at the worst. A thinner one may come and go, but is followed
// down to where it stands.
func TestALeaningRodIsNotManyIslands(t *testing.T) {
	for _, lean := range []float64{5, 15, 30, 45, 60, 75} {
		for _, about := range []float64{0, 0.3, 1, math.Pi / 2} {
			rod := func(d float64) *mesh.Mesh {
				m := meshtest.Moved(meshtest.Frustum(16, d/2, d/2, 20), meshtest.Shift(0, 0, -5))
				m = meshtest.Turned(m, mesh.Vec{X: math.Cos(about), Y: math.Sin(about)}, lean*math.Pi/180)
				return meshtest.Together(m, meshtest.Block(-6, -6, -6, 6, 6, 0))
			}
			require.Equal(t, none, counts(of(t, rod(0.08), layer)), "lean %g, about %g", lean, about)
			standing := meshtest.Turned(meshtest.Frustum(16, 0.03, 0.03, 20), mesh.Vec{X: math.Cos(about), Y: math.Sin(about)}, lean*math.Pi/180)
			require.Equal(t, none, counts(of(t, standing, layer)), "lean %g, about %g", lean, about)
			// Where it leaves the block is not known to the mesh: one may be left.
			require.LessOrEqual(t, len(of(t, rod(0.06), layer).Islands), 1, "lean %g, about %g", lean, about)
		}
	}
}

func TestAHoleInTheSurfaceIsBridged(t *testing.T) {
	m := meshtest.Together(meshtest.UVSphere(8, 48, 24), meshtest.InsideOut(meshtest.UVSphere(6, 48, 24)))
	whole := of(t, m, layer).Trapped[0].Volume
	for _, triangle := range []int{300, 1200, 2500, 4000} {
		r := of(t, meshtest.Without(m, triangle), layer)
		require.Len(t, r.Trapped, 1)
		require.InEpsilon(t, whole, r.Trapped[0].Volume, 0.02)
		require.Empty(t, r.Islands)
	}
}

// Two halves of a block that touch along a slope, not by the same triangles, are
// one solid.
func TestBodiesThatTouchAreOne(t *testing.T) {
	wedge := func(m *mesh.Mesh) *mesh.Mesh { // the half below the slope from (0, 0) to (10, 20) in x and z
		return meshtest.Moved(m, func(p mesh.Vec) mesh.Vec { return mesh.Vec{X: p.Z/20*10 + p.X*(1-p.Z/20), Y: p.Y, Z: p.Z} })
	}
	right := wedge(meshtest.Box(10, 10, 20))
	left := meshtest.Moved(meshtest.Turned(right, mesh.Vec{Y: 1}, math.Pi), meshtest.Shift(10, 0, 20))
	left = meshtest.Moved(left, func(p mesh.Vec) mesh.Vec { // to the corners, without sin π
		return mesh.Vec{X: math.Round(p.X), Y: math.Round(p.Y), Z: math.Round(p.Z)}
	})
	for i := range 20 {
		m := meshtest.Together(right, meshtest.Remesh(left, 3))
		r := of(t, meshtest.Turned(m, mesh.Vec{Z: 1}, float64(i)/7), 0.2)
		require.Equal(t, none, counts(r))
		require.Zero(t, r.Small)
	}
}

func TestNothingToLookThrough(t *testing.T) {
	empty := stack.Report{}
	require.Equal(t, empty, of(t, &mesh.Mesh{}, layer))
	require.Equal(t, empty, of(t, meshtest.Scaled(meshtest.Box(1, 1, 1), 1e-30), layer))
	require.Equal(t, empty, of(t, meshtest.Scaled(meshtest.Box(1, 1, 1), 1e200), layer))
	require.Equal(t, empty, of(t, meshtest.Block(0, 0, 0, 1, 0, 1), layer))
	require.Equal(t, empty, of(t, meshtest.Box(1, 1, 1), 0))
	require.Equal(t, empty, of(t, meshtest.Box(1, 1, 1), math.NaN()))
	require.Equal(t, none, counts(of(t, meshtest.InsideOut(meshtest.Box(1, 1, 1)), layer)))
}

// A mesh that is too much work is looked through in thicker layers, and the report
// says so: the work stays bounded by grid.go.
func TestWorkIsBounded(t *testing.T) {
	m, cup, _, _ := pot()
	huge := of(t, meshtest.Scaled(m, 1e30), layer)
	require.Greater(t, huge.Layer, 24e30/10_000*0.99)
	require.LessOrEqual(t, huge.Layers, 10_000)
	require.Equal(t, [4]int{1, 1, 1, 1}, counts(huge))
	require.InEpsilon(t, cup*1e90, huge.Cups[0].Volume, 0.01)

	r := of(t, m, 1e-9)
	require.Greater(t, r.Layer, 1e-9)
	require.Equal(t, 1, len(r.Wells))

	slivers := &mesh.Mesh{}
	rng := rand.New(rand.NewPCG(3, 4))
	for i := range uint32(100_000) {
		for range 3 {
			slivers.Vertices = append(slivers.Vertices, mesh.Vec{X: 100 * rng.Float64(), Y: 100 * rng.Float64(), Z: 100 * rng.Float64()})
		}
		slivers.Triangles = append(slivers.Triangles, [3]uint32{3 * i, 3*i + 1, 3*i + 2})
	}
	r = of(t, slivers, layer)
	require.Greater(t, r.Layer, layer)
}

func TestAnyMeshIsSurvived(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := &mesh.Mesh{}
		for range rapid.IntRange(1, 12).Draw(t, "corners") {
			m.Vertices = append(m.Vertices, meshtest.DrawPoint(t))
		}
		corner := rapid.Uint32Range(0, uint32(len(m.Vertices)-1))
		for range rapid.IntRange(1, 30).Draw(t, "triangles") {
			m.Triangles = append(m.Triangles, [3]uint32{corner.Draw(t, "a"), corner.Draw(t, "b"), corner.Draw(t, "c")})
		}
		r, err := stack.Of(context.Background(), m, rapid.SampledFrom([]float64{0.05, 1, 1e-9}).Draw(t, "layer"))
		require.NoError(t, err)
		b := m.Bounds()
		for _, h := range append(append(append([]stack.Hollow{}, r.Cups...), r.Wells...), r.Trapped...) {
			require.Greater(t, h.Volume, 0.0)
			require.True(t, h.At.X >= b.Min.X && h.At.X <= b.Max.X && h.At.Z >= b.Min.Z && h.At.Z <= b.Max.Z)
		}
		for _, i := range r.Islands {
			require.True(t, i.Area > 0 && i.At.Y >= b.Min.Y && i.At.Y <= b.Max.Y)
		}
	})
}

func TestACancelledLookStopsSoon(t *testing.T) {
	m := meshtest.Million("lump")
	ctx, cancel := context.WithTimeout(context.Background(), 100*time.Millisecond)
	defer cancel()
	_, err := stack.Of(ctx, m, layer)
	require.ErrorIs(t, err, context.DeadlineExceeded)
}

func BenchmarkOf(b *testing.B) {
	for _, shape := range []string{"torus", "lump"} {
		b.Run(shape+"/size=1M", func(b *testing.B) {
			m := meshtest.Million(shape)
			b.ReportAllocs()
			for b.Loop() {
				_, err := stack.Of(b.Context(), m, layer)
				require.NoError(b, err)
			}
			b.ReportMetric(float64(len(m.Triangles))*float64(b.N)/b.Elapsed().Seconds(), "triangles/s")
		})
	}
	b.Run("part", func(b *testing.B) {
		m, _, _, _ := pot()
		for b.Loop() {
			_, err := stack.Of(b.Context(), m, layer)
			require.NoError(b, err)
		}
	})
}
