package hull

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func BenchmarkHull(b *testing.B) {
	meshtest.BenchMillion(b, func(b *testing.B, m *mesh.Mesh) func() error {
		return func() error { _, err := Of(b.Context(), m); return err }
	})
}

// BenchmarkDiameter begins at the hull.
func BenchmarkDiameter(b *testing.B) {
	meshtest.BenchMillion(b, func(b *testing.B, m *mesh.Mesh) func() error {
		h, err := Of(b.Context(), m)
		require.NoError(b, err)
		b.Logf("%d hull vertices", len(h.Vertices))
		return func() error { Diameter(h.Vertices); return nil }
	})
}

// A sphere is the worst case of the diameter: nearly every pair of opposite
// points could be the one.
func BenchmarkDiameterOfSphere(b *testing.B) {
	b.ReportAllocs()
	var points []mesh.Vec
	for i := range 200_000 {
		p := meshtest.Spiral(i, 200_000).Scale(30)
		points = append(points, mesh.Vec{X: meshtest.AsFloat32(p.X), Y: meshtest.AsFloat32(p.Y), Z: meshtest.AsFloat32(p.Z)})
	}
	for b.Loop() {
		Diameter(points)
	}
}
