package slice

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func overhang(t *testing.T, m *mesh.Mesh, o Options) float64 {
	return layersOf(t, m, o).Overhang
}

func TestOverhangOfABox(t *testing.T) {
	m := meshtest.Box(30, 20, 10)
	require.Zero(t, overhang(t, m, Options{}), "its base lies on the plate")
	// Tilted by t about x, the base leans out by 90° − t, and one long wall by t.
	for tilt, want := range map[float64]float64{10: 600, 40: 600, 50: 300, 80: 300, 45: 0, 90: 0, -40: 600, -50: 300} {
		require.InDelta(t, want, overhang(t, m, Options{Pose: Pose{tilt, "x"}}), 1e-9, "%v°", tilt)
	}
	require.InDelta(t, 900, overhang(t, m, Options{Pose: Pose{45, "x"}, Limit: 44}), 1e-9)
	require.Zero(t, overhang(t, m, Options{Pose: Pose{45, "x"}, Limit: 46}))
	// On a corner, all three lower faces lean out by asin(1/√3) = 35.26°.
	cube := meshtest.Turned(meshtest.Turned(meshtest.Box(10, 10, 10), mesh.Vec{Z: 1}, math.Pi/4), mesh.Vec{X: 1}, math.Atan(math.Sqrt2))
	require.Zero(t, overhang(t, cube, Options{Limit: 36}))
	require.InDelta(t, 300, overhang(t, cube, Options{Limit: 35}), 1e-9)
}

// A cone on its tip leans out by its half angle; its side is πr√(r²+h²), or of an
// n-gon inscribed half the perimeter times the height of its triangles.
func TestOverhangOfACone(t *testing.T) {
	const n = 60
	for _, h := range []float64{3, 4.9, 5.1, 8} {
		m := meshtest.Frustum(n, 5, 0, h)
		tip := Pose{180, "x"}.Apply(m)
		_, perimeter := gon(n, 5)
		inner := 5 * math.Cos(math.Pi/n)
		want := 0.0
		if inner > h {
			want = perimeter / 2 * math.Hypot(inner, h)
		}
		require.InDelta(t, want, overhang(t, tip, Options{}), 1e-9, "height %v", h)
		require.Zero(t, overhang(t, m, Options{}))
	}
}

// Chamfers of exactly the limit are not over it, whatever 32 bits made of them.
func TestExactlyTheLimitIsNotOver(t *testing.T) {
	for i := range 200 {
		s := 1 + 0.0713*float64(i)
		for _, shift := range []float64{0, 7.3, 1000.1} {
			round := func(p mesh.Vec) mesh.Vec {
				p = p.Add(mesh.Vec{X: shift, Y: shift, Z: shift})
				return mesh.Vec{X: meshtest.AsFloat32(p.X), Y: meshtest.AsFloat32(p.Y), Z: meshtest.AsFloat32(p.Z)}
			}
			// Four sides of a pyramid on its tip, each at 45°.
			m := meshtest.Moved(Pose{180, "x"}.Apply(meshtest.Frustum(4, s*math.Sqrt2, 0, s)), round)
			require.Zero(t, overhang(t, m, Options{}))
			require.InEpsilon(t, 4*s*s*math.Sqrt2, overhang(t, m, Options{Limit: 44.5}), 1e-2/s)
		}
	}
}

// The part of a sphere that leans out by more than 45° is the cap below 45°:
// 2πr·r(1 − cos 45°). The mesh's bands end there where 45° is a band's end, and each
// band of inscribed quads has chord × the mean of two chords' lengths for an area.
func TestOverhangOfASphere(t *testing.T) {
	const n, bands = 256, 256
	m := meshtest.UVSphere(10, n, bands)
	got := overhang(t, m, Options{})
	// Inscribed: less than the cap by at most the share of the chords of both
	// directions, (π/n)²/6 and (π/2bands)²/6, and of the two bands at 45° and at the
	// plate, whose triangles are in or out whole: a band's area each.
	cap45 := 2 * math.Pi * 100 * (1 - math.Cos(math.Pi/4))
	band := 2 * math.Pi * 10 * math.Sin(math.Pi/4) * 10 * math.Pi / bands
	share := math.Pi * math.Pi / 6 * (1.0/(n*n) + 0.25/(bands*bands))
	require.Less(t, got, cap45+band)
	require.Greater(t, got, cap45*(1-share)-band)
	// And to the formula of its own trapezia, exactly.
	want := 0.0
	for k := range bands {
		r0, r1 := 10*math.Sin(math.Pi*float64(k)/bands), 10*math.Sin(math.Pi*float64(k+1)/bands)
		z0, z1 := -10*math.Cos(math.Pi*float64(k)/bands), -10*math.Cos(math.Pi*float64(k+1)/bands)
		in := math.Cos(math.Pi / n)
		slant := math.Hypot((r1-r0)*in, z1-z0)
		if (r1-r0)*in/slant > math.Sin(math.Pi/4) {
			want += n * (r0 + r1) * math.Sin(math.Pi/n) * slant
		}
	}
	require.InEpsilon(t, want, got, 1e-9)
}
