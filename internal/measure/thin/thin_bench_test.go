package thin_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/thin"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// Of a million triangles: a sculpt-like lump, thick, and a ring that is thin all
// over, so that every sample is gauged.
func BenchmarkMeasure(b *testing.B) {
	for name, m := range map[string]*mesh.Mesh{
		"lump":      meshtest.Million("lump"),
		"thin ring": meshtest.Scaled(meshtest.Million("torus"), 0.75),
		"thin hoop": meshtest.RingTorus(1000, 500, 50, 1, meshtest.AsFloat32),
	} {
		b.Run(name, func(b *testing.B) {
			t, err := tree.New(b.Context(), m)
			require.NoError(b, err)
			b.ReportAllocs()
			for b.Loop() {
				_, err := thin.Measure(b.Context(), t)
				require.NoError(b, err)
			}
			b.ReportMetric(float64(len(m.Triangles))*float64(b.N)/b.Elapsed().Seconds(), "triangles/s")
		})
	}
}
