package stack_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/longrun"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
)

// A real mesh hollowed out of a block is a trapped volume as large as the mesh,
// whose volume and area are known from independent libraries (reference.json).
//
// A sum by the midpoint rule errs by at most half a step times the variation of
// what it sums (both halves of a step by their own variation). Of the volume
// along y that is ∫|n_y| over the surface, along z ∫|n_z|; neither is more than
// the area. Necks thinner than a row or a layer may part it, and what is parted may
// be too small to be listed.
func TestARealMeshHollowedOutHoldsItsVolume(t *testing.T) {
	longrun.Only(t, "reads all shared meshes")
	tried := 0
	meshtest.EachReference(t, func(t *testing.T, ref reference.File, m *mesh.Mesh) {
		if !ref.Closed || !ref.Consistent || ref.SelfIntersecting == nil || *ref.SelfIntersecting || ref.Volume <= 0 || len(m.Triangles) > 300_000 {
			t.Skip("no clear volume")
		}
		tried++
		size := m.Bounds().Size()
		s := 60 / max(size.X, size.Y, size.Z)
		m = meshtest.Scaled(m, s)
		b := m.Bounds()
		block := meshtest.Block(b.Min.X-2, b.Min.Y-2, b.Min.Z-2, b.Max.X+2, b.Max.Y+2, b.Max.Z+2)
		r := of(t, meshtest.Together(block, meshtest.InsideOut(m)), 0.1)
		require.Empty(t, r.Cups)
		require.Empty(t, r.Wells)
		held := 0.0
		for _, h := range r.Trapped {
			held += h.Volume
		}
		require.InDelta(t, ref.Volume*s*s*s, held, (r.Layer+r.Pitch)/2*ref.Area*s*s+0.5*float64(r.Small))
		t.Logf("%.4f of %.4f in %d", held, ref.Volume*s*s*s, len(r.Trapped))
	})
	require.Greater(t, tried, 80)
}
