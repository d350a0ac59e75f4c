package measure

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// bench times what prepare returns, on each of the meshes.
func bench(b *testing.B, prepare func(b *testing.B, m *mesh.Mesh) (timed func() error)) {
	for _, shape := range []string{"lump", "torus"} {
		b.Run("size=1M/shape="+shape, func(b *testing.B) {
			m := meshtest.Million(shape)
			timed := prepare(b, m)
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, timed())
			}
			b.ReportMetric(float64(len(m.Triangles))*float64(b.N)/b.Elapsed().Seconds(), "triangles/s")
		})
	}
}

func BenchmarkMeasure(b *testing.B) {
	bench(b, func(b *testing.B, m *mesh.Mesh) func() error {
		return func() error { _, err := Measure(b.Context(), m); return err }
	})
}

func BenchmarkHull(b *testing.B) {
	bench(b, func(b *testing.B, m *mesh.Mesh) func() error {
		return func() error { _, err := Hull(b.Context(), m); return err }
	})
}

// BenchmarkVolume is the pass that adds up volume, area and both centroids, and
// finds triangles without area.
func BenchmarkVolume(b *testing.B) {
	bench(b, func(b *testing.B, m *mesh.Mesh) func() error {
		return func() error { _, err := massOf(b.Context(), m, mesh.Vec{}); return err }
	})
}

// BenchmarkStars finds duplicates and pinched vertices.
func BenchmarkStars(b *testing.B) {
	bench(b, func(b *testing.B, m *mesh.Mesh) func() error {
		return func() error {
			s, err := m.Stars(b.Context())
			require.NoError(b, err)
			_, err = countStars(b.Context(), s)
			return err
		}
	})
}

// BenchmarkDiameter begins at the hull.
func BenchmarkDiameter(b *testing.B) {
	bench(b, func(b *testing.B, m *mesh.Mesh) func() error {
		h, err := Hull(b.Context(), m)
		require.NoError(b, err)
		b.Logf("%d hull vertices", len(h))
		return func() error { diameterOf(h); return nil }
	})
}

// A sphere is the worst case of the diameter: nearly every pair of opposite
// points could be the one.
func BenchmarkDiameterOfSphere(b *testing.B) {
	b.ReportAllocs()
	var points []mesh.Vec
	for i := range 200_000 {
		p := spiral(i, 200_000).Scale(30)
		points = append(points, mesh.Vec{X: meshtest.AsFloat32(p.X), Y: meshtest.AsFloat32(p.Y), Z: meshtest.AsFloat32(p.Z)})
	}
	for b.Loop() {
		diameterOf(points)
	}
}
