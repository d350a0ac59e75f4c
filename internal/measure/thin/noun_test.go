package thin

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// A ring of wire is thin two ways everywhere, and has no end: it is no pin.
func TestARingIsABarAndAPegAPin(t *testing.T) {
	of := func(m *mesh.Mesh) Report {
		tr, err := tree.New(t.Context(), m)
		require.NoError(t, err)
		r, err := Measure(t.Context(), tr)
		require.NoError(t, err)
		require.NotEmpty(t, r.Places)
		return r
	}
	ring := of(meshtest.RingTorus(96, 24, 12, 0.8, meshtest.Exactly))
	require.Equal(t, Pin, ring.Places[0].Kind)
	require.InDelta(t, 1.6, ring.Places[0].Thickness, 0.05)
	require.Equal(t, "bar", ring.Places[0].Noun())

	base := meshtest.Block(-10, -10, -5, 10, 10, 0)
	peg := meshtest.Moved(meshtest.Frustum(24, 0.8, 0.8, 5), meshtest.Shift(0, 0, -1)) // stands 4 mm out
	pin := of(meshtest.Together(base, peg))
	require.Equal(t, "pin", pin.Places[0].Noun())
}
