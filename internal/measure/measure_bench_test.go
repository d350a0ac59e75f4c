package measure

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func BenchmarkMeasure(b *testing.B) {
	meshtest.BenchMillion(b, func(b *testing.B, m *mesh.Mesh) func() error {
		return func() error { _, err := Measure(b.Context(), m); return err }
	})
}

// BenchmarkVolume is the pass that adds up volume, area and both centroids, and
// finds triangles without area.
func BenchmarkVolume(b *testing.B) {
	meshtest.BenchMillion(b, func(b *testing.B, m *mesh.Mesh) func() error {
		return func() error { _, err := massOf(b.Context(), m, mesh.Vec{}); return err }
	})
}

// BenchmarkStars finds duplicates and pinched vertices.
func BenchmarkStars(b *testing.B) {
	meshtest.BenchMillion(b, func(b *testing.B, m *mesh.Mesh) func() error {
		return func() error {
			s, err := m.Stars(b.Context())
			require.NoError(b, err)
			_, err = countStars(b.Context(), s)
			return err
		}
	})
}
