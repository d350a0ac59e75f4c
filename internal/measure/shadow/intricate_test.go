package shadow

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

// A heap of loose slivers has as many crossings as it has pairs. It costs its
// shadow; the hull's outline, which holds it, stands in.
func TestTheHullStandsInForAnIntricateShadow(t *testing.T) {
	before := pairsInAll
	pairsInAll = 1 << 20
	defer func() { pairsInAll = before }()
	const n = 5000
	r := rand.New(rand.NewPCG(1, 11))
	var corners []mesh.Vec
	for i := range n {
		z := float64(i) / n
		s, c := math.Sincos(2 * math.Pi * r.Float64())
		u, v := math.Sincos(2 * math.Pi * r.Float64())
		corners = append(corners, mesh.Vec{X: s, Y: c, Z: z}, mesh.Vec{X: u, Y: v, Z: z}, mesh.Vec{X: u + 1e-6, Y: v - 1e-6, Z: z})
	}
	heap := soup(corners...)
	_, err := Of(t.Context(), heap, Top)
	require.ErrorIs(t, err, ErrIntricate)
	o, rough, err := OrHull(t.Context(), heap, Top)
	require.NoError(t, err)
	require.True(t, rough)
	require.Len(t, o, 1)
	require.InDelta(t, math.Pi, o.Area(), 1e-3) // of a polygon with ten thousand corners on the circle
}

func TestConvexOutline(t *testing.T) {
	require.Nil(t, convexOutline(nil))
	require.Nil(t, convexOutline([]Point{{1, 1}}))
	require.Nil(t, convexOutline([]Point{{1, 1}, {3, 3}, {2, 2}, {1, 1}}))
	square := convexOutline([]Point{{0, 0}, {2, 0}, {1, 1}, {2, 2}, {1, 0}, {0, 2}, {2, 0}})
	require.Equal(t, Outline{{{0, 0}, {2, 0}, {2, 2}, {0, 2}}}, square)
}
