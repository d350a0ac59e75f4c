package meshtest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

// BenchMillion times what prepare returns, on each of the meshes.
func BenchMillion(b *testing.B, prepare func(b *testing.B, m *mesh.Mesh) (timed func() error)) {
	for _, shape := range []string{"lump", "torus"} {
		b.Run("size=1M/shape="+shape, func(b *testing.B) {
			m := Million(shape)
			timed := prepare(b, m)
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, timed())
			}
			b.ReportMetric(float64(len(m.Triangles))*float64(b.N)/b.Elapsed().Seconds(), "triangles/s")
		})
	}
}
