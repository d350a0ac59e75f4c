package measure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// Formulas are those of check-values 1.1 and 1.3: textbook identities and the
// exact values of inscribed polygons, so that only rounding is left.
func TestMeasureAgreesWithHandbook(t *testing.T) {
	const n = 32
	polygon := func(r float64) float64 { return n / 2.0 * r * r * math.Sin(2*math.Pi/n) }
	side := func(r float64) float64 { return 2 * r * math.Sin(math.Pi/n) }
	apothem := math.Cos(math.Pi / n)
	z := func(z float64) *mesh.Vec { return &mesh.Vec{Z: z} }
	s5, s2, s3 := math.Sqrt(5), math.Sqrt2, math.Sqrt(3)
	cube := func(x float64) float64 { return x * x * x }
	for _, c := range []struct {
		name         string
		mesh         *mesh.Mesh
		volume, area float64 // area 0: no formula compared
		centroid     *mesh.Vec
		diameter     float64 // 0: not compared
		genus        int
		convex       bool
	}{
		{"box 30 × 20 × 10", meshtest.Box(30, 20, 10), 6000, 2200, &mesh.Vec{X: 15, Y: 10, Z: 5}, 37.4165738677394, 0, true},
		{"cylinder r5 h20", meshtest.Frustum(n, 5, 5, 20), polygon(5) * 20, 2*polygon(5) + n*side(5)*20, z(10), math.Hypot(10, 20), 0, true},
		{"cone r5 h12", meshtest.Frustum(n, 5, 0, 12), polygon(5) * 4, polygon(5) + n*side(5)*math.Hypot(12, 5*apothem)/2, z(3), math.Hypot(5, 12), 0, true},
		{"frustum 10, 6, h12", meshtest.Frustum(n, 10, 6, 12), polygon(1) * 12 * (100 + 60 + 36) / 3,
			polygon(10) + polygon(6) + n*(side(10)+side(6))/2*math.Hypot(12, 4*apothem), z(5.020408163265306), math.Hypot(16, 12), 0, true},
		{"UV sphere 32 × 16", meshtest.UVSphere(10, 32, 16), 1000.0 / 3 * 32 * math.Sin(2*math.Pi/32) * (1 + math.Cos(math.Pi/16)), 1246.569409, z(0), 20, 0, true},
		{"UV sphere 128 × 64", meshtest.UVSphere(10, 128, 64), 4184.586432, 1256.006337, z(0), 20, 0, true},
		{"torus R10 r2, 50 × 22", meshtest.RingTorus(50, 22, 10, 2, meshtest.Exactly), 50 * math.Sin(2*math.Pi/50) * 10 * 11 * 4 * math.Sin(2*math.Pi/22), 0, z(0), 24, 1, false},
		{"box 20 × 10 × 5 with a 4 × 4 hole", meshtest.HoledBox(20, 10, 5, 4), 1000 - 80, 2*(200-16) + 60*5 + 16*5, z(0), math.Sqrt(525), 1, false},
		{"tetrahedron", meshtest.Tetrahedron(), cube(2*s2) / (6 * s2), s3 * 8, z(0), 2 * s2, 0, true},
		{"octahedron", meshtest.Octahedron(), s2 * cube(s2) / 3, 2 * s3 * 2, z(0), 2, 0, true},
		{"icosahedron", meshtest.Icosahedron(), 5 * (3 + s5) * 8 / 12, 5 * s3 * 4, z(0), 4 * 0.951056516295154, 0, true},
		{"dodecahedron", meshtest.Dodecahedron(), (15 + 7*s5) * cube(s5-1) / 4, 3 * math.Sqrt(25+10*s5) * (s5 - 1) * (s5 - 1), z(0), 2 * s3, 0, true},
		{"cube", meshtest.Box(2, 2, 2), 8, 24, &mesh.Vec{X: 1, Y: 1, Z: 1}, 2 * s3, 0, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := Measure(t.Context(), c.mesh)
			require.NoError(t, err)
			// Some table values have ten digits.
			require.InEpsilon(t, c.volume, r.Volume, 1e-9)
			if c.area > 0 {
				require.InEpsilon(t, c.area, r.Area, 1e-9)
			}
			if c.diameter > 0 {
				require.InEpsilon(t, c.diameter, r.Diameter, 1e-12)
			}
			require.InDelta(t, 0, r.Centroid.Sub(*c.centroid).Norm(), 1e-9)
			require.True(t, r.Closed && r.ConsistentlyOriented && r.CentroidOfVolume())
			require.Equal(t, 1, r.Shells)
			require.Equal(t, 2-2*c.genus, r.Euler)
			require.Equal(t, c.genus, *r.Genus)
			require.Empty(t, r.Findings)
			if c.convex {
				require.InEpsilon(t, r.Volume, r.HullVolume, 1e-12)
				require.InEpsilon(t, r.Area, r.HullArea, 1e-12)
				require.Len(t, r.Hull, len(c.mesh.Vertices))
			} else {
				require.Greater(t, r.HullVolume, r.Volume)
			}
		})
	}
}

// A hemisphere's centroid is 3r/8 from the flat (check-values 1.1). Inscribed
// facets miss it by about the square of their angle.
func TestCentroidOfHemisphere(t *testing.T) {
	const around, bands = 512, 128
	r, err := Measure(t.Context(), meshtest.Dome(10, around, bands, 0))
	require.NoError(t, err)
	angle := math.Pi / 2 / bands
	require.InDelta(t, 3.75, r.Centroid.Z, 10*angle*angle)
	require.InEpsilon(t, 2094.395102393, r.Volume, angle*angle)
	require.True(t, r.CentroidOfVolume())
}

// Mean projected area of a convex body is a quarter of its surface (Cauchy
// 1841; check-values 1.5). Turning the body so that each of many evenly spread
// directions comes to point up, the top shadow gives the area.
func TestMeanShadowIsAQuarterOfTheSurface(t *testing.T) {
	for name, c := range map[string]struct {
		mesh *mesh.Mesh
		mean float64
	}{
		"box 30 × 20 × 10":          {meshtest.Box(30, 20, 10), 550},
		"octahedron, edge √2":       {meshtest.Octahedron(), 2 * 0.866025404},
		"dodecahedron, edge √5 − 1": {meshtest.Dodecahedron(), 5.161432 * (math.Sqrt(5) - 1) * (math.Sqrt(5) - 1)},
		"32-gon cylinder r5 h20":    {meshtest.Frustum(32, 5, 5, 20), 0},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := Measure(t.Context(), c.mesh)
			require.NoError(t, err)
			const directions = 2000
			total := 0.0
			for i := range directions {
				o, err := shadow.Of(t.Context(), meshtest.Moved(c.mesh, pointUp(meshtest.Spiral(i, directions))), shadow.Top)
				require.NoError(t, err)
				total += o.Area()
			}
			// 0.2 % is what 4000 directions come to in check-values 1.5.
			require.InEpsilon(t, r.Area/4, total/directions, 0.002)
			if c.mean > 0 {
				require.InEpsilon(t, c.mean, total/directions, 0.002)
			}
		})
	}
}

// pointUp rotates so that direction d comes to lie along +Z.
func pointUp(d mesh.Vec) func(mesh.Vec) mesh.Vec {
	e := mesh.Vec{X: 1}
	if math.Abs(d.X) > 0.7 {
		e = mesh.Vec{Y: 1}
	}
	x := d.Cross(e)
	x = x.Scale(1 / x.Norm())
	y := d.Cross(x)
	return func(p mesh.Vec) mesh.Vec { return mesh.Vec{X: p.Dot(x), Y: p.Dot(y), Z: p.Dot(d)} }
}

// Box along unit u: A = bc|ux| + ac|uy| + ab|uz| (check-values 1.5).
func TestShadowsOfATiltedBox(t *testing.T) {
	for _, c := range []struct {
		direction mesh.Vec
		area      float64
	}{
		{mesh.Vec{Z: 1}, 600}, {mesh.Vec{X: 1}, 200}, {mesh.Vec{X: 1, Y: 1}, 353.553391},
		{mesh.Vec{X: 1, Y: 1, Z: 1}, 635.085296}, {mesh.Vec{X: 1, Y: 2, Z: 3}, 694.879229}, {mesh.Vec{X: 2, Y: 3, Z: 6}, 700},
	} {
		d := c.direction.Scale(1 / c.direction.Norm())
		r, err := Measure(t.Context(), meshtest.Moved(meshtest.Box(30, 20, 10), pointUp(d)))
		require.NoError(t, err)
		require.InEpsilon(t, c.area, r.Silhouette[shadow.Top], 1e-7)
	}
}
