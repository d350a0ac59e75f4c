package thin

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func FuzzMeasure(f *testing.F) {
	for _, m := range []*mesh.Mesh{meshtest.Box(1, 2, 3), meshtest.Tetrahedron(), meshtest.Without(meshtest.Octahedron(), 1), meshtest.HoledBox(4, 3, 2, 1)} {
		f.Add(meshtest.Bytes(m))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m := meshtest.FromBytes(data)
		if m == nil || len(m.Triangles) == 0 {
			return
		}
		tr, err := tree.New(t.Context(), m)
		require.NoError(t, err)
		r, err := measureWith(t.Context(), tr, 60)
		require.NoError(t, err)
		diagonal := m.Bounds().Size().Norm()
		for i, p := range r.Places {
			require.Greater(t, p.Thickness, 0.0)
			require.LessOrEqual(t, p.Thickness, Limit)
			require.LessOrEqual(t, p.Extent, diagonal*(1+1e-9))
			require.False(t, math.IsNaN(p.At.Norm()))
			if i > 0 {
				require.GreaterOrEqual(t, p.Thickness, r.Places[i-1].Thickness)
			}
		}
	})
}
