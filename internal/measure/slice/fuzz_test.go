package slice

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// FuzzCut slices any mesh in a tilted pose, in layers of a hundredth of its size so
// that there are not too many of them.
func FuzzCut(f *testing.F) {
	for _, m := range []*mesh.Mesh{meshtest.Box(1, 2, 3), meshtest.Tetrahedron(), meshtest.Without(meshtest.Octahedron(), 1), meshtest.HoledBox(4, 3, 2, 1)} {
		f.Add(meshtest.Bytes(m), uint8(30))
	}
	f.Fuzz(func(t *testing.T, data []byte, tilt uint8) {
		m := meshtest.FromBytes(data)
		if m == nil || len(m.Triangles) == 0 {
			return
		}
		size := m.Bounds().Size().Norm()
		o := Options{Layer: size / 100, Pose: Pose{Tilt: float64(tilt), About: "x"}}
		if !(o.Layer > 1e-30 && o.Layer < 1e30) {
			return
		}
		l, err := Cut(t.Context(), m, o)
		if errors.Is(err, ErrTooManyLayers) {
			return
		}
		require.NoError(t, err)
		require.Len(t, l.Areas, len(l.Perimeter))
		require.GreaterOrEqual(t, l.Overhang, 0.0)
		require.LessOrEqual(t, l.Peak, float64(len(m.Triangles))*size*size)
		for _, a := range l.Areas {
			require.False(t, math.IsNaN(a) || math.IsInf(a, 0))
		}
		for _, h := range l.Cups {
			require.Greater(t, h.Volume, 0.0)
		}
	})
}
