package bore_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// drum is a turned body with rims cut at 45° and many triangles in its flat ends. From
// each facet of a rim a search for a wall along it runs over a whole end, in vain.
func drum(n, rings int) *mesh.Mesh {
	var low, high []meshtest.Point2
	for i := range rings {
		r := 8 * float64(i) / float64(rings)
		low = append(low, meshtest.Point2{R: r})
		high = append([]meshtest.Point2{{R: r, Z: 20}}, high...)
	}
	profile := append(low, meshtest.Point2{R: 8}, meshtest.Point2{R: 10, Z: 2}, meshtest.Point2{R: 10, Z: 18}, meshtest.Point2{R: 8, Z: 20})
	return meshtest.Revolved(n, append(profile, high...))
}

// The search for holes ends within its budget, and says when it was spent; what was
// found by then is told. A smooth surface, however large, does not come near it.
func TestTheSearchForHolesHasABudget(t *testing.T) {
	smooth := meshtest.Revolved(20000, []meshtest.Point2{{}, {R: 10}, {R: 10, Z: 20}, {Z: 20}})
	require.False(t, find(t, smooth).Partial, "a cylinder of 20,000 sides")
	require.False(t, find(t, meshtest.UVSphere(15, 178, 90)).Partial, "a ball of 31,000 triangles")

	many := meshtest.Together(meshtest.Moved(meshtest.DrilledPlate(24, 2, 12, 4, 0, 0), meshtest.Shift(40, 0, 0)), drum(800, 40))
	r := find(t, many)
	require.True(t, r.Partial)
	require.Len(t, r.Holes, 1, "what was found before is told")
	require.True(t, r.Holes[0].Through)
}

// Copies of one body in one place, or many in a row, are compared with each other
// within the budget too.
func TestManyHolesAreGroupedWithinTheBudget(t *testing.T) {
	var bodies []*mesh.Mesh
	for i := range 400 {
		bodies = append(bodies, meshtest.Moved(meshtest.DrilledPlate(12, 2, 6, 4, 0, 0), meshtest.Shift(10*float64(i%20), 10*float64(i/20), 0)))
	}
	r := find(t, meshtest.Together(bodies...))
	require.Len(t, r.Holes, 400)
	require.False(t, r.Partial)
	for _, h := range r.Holes {
		assert.True(t, h.Through && !h.Stepped)
	}
}
