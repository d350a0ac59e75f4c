package seats_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/measure/bore"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/verdict/seats"
)

var stocks = []bench.Material{
	{ID: "rf", Name: "Rigid filament", Process: bench.Filament, Stiffness: bench.Rigid, WallMin: .8, PinMin: 2, HoleAllowance: .3},
	{ID: "ff", Name: "Flexible filament", Process: bench.Filament, Stiffness: bench.Flexible, WallMin: 1, PinMin: 3, HoleAllowance: .4},
	{ID: "rr", Name: "Rigid resin", Process: bench.Resin, Stiffness: bench.Rigid, WallMin: .6, PinMin: .8, HoleAllowance: .15},
	{ID: "tr", Name: "Tough resin", Process: bench.Resin, Stiffness: bench.Rigid, WallMin: .6, PinMin: .8, HoleAllowance: .15},
}

func rod(d float64) bench.Hardware {
	return bench.Hardware{ID: "rod", Name: "Rod", Kind: bench.Rod, Diameter: d}
}

func upright(free, x, z float64) bore.Hole {
	return bore.Hole{Axis: mesh.Vec{Z: 1}, Centre: mesh.Vec{X: x, Z: z}, Free: free, Diameter: free, Depth: 4, Group: int(x*100 + z)}
}

func TestHolesAreSharedOutAmongTheItems(t *testing.T) {
	p := release.Part{Takes: []release.HardwareUse{
		{Item: rod(1.5), Count: 1},
		{Item: bench.Hardware{ID: "thick", Kind: bench.Rod, Diameter: 2}, Count: 1},
		{Item: rod(1.5), Count: 2},
		{Item: bench.Hardware{ID: "glue", Kind: bench.Adhesive}},
	}}
	got := seats.Of(p, bore.Report{Holes: []bore.Hole{
		upright(2.4, 0, 0), upright(1.8, 10, 0), upright(1.65, 10.1, 8), upright(1.8, 20, 0), upright(9, 30, 0),
		{Axis: mesh.Vec{Z: 1}, Centre: mesh.Vec{X: 40}, Diameter: 3.8, Free: 1.6, Group: 9}, // something stands in it
	}}, stocks)
	require.Len(t, got, 2, "glue goes into no hole")
	require.Equal(t, 3, got[0].Count, "one item is judged once")
	require.Len(t, got[0].Holes, 2, "the ears at x = 10 are one line")
	require.InDelta(t, 1.65, got[0].Holes[0].Free, 1e-12, "the narrower of the ears is what the rod has to pass")
	require.InDelta(t, 1.8, got[0].Holes[1].Free, 1e-12)
	require.Len(t, got[1].Holes, 1)
	require.InDelta(t, 2.4, got[1].Holes[0].Free, 1e-12)

	by := got[0].By
	require.Len(t, by, 3, "0.3 and 0.4 mm in filament, 0.15 mm in resin")
	require.Equal(t, []int{1, 0, 2}, []int{by[0].Free, by[1].Free, by[2].Free})
	require.Equal(t, []int{2, 2, 2}, []int{by[0].Passes, by[1].Passes, by[2].Passes})
	require.Len(t, by[2].Materials, 2)
}

// A moth's body takes wire for its wings and a rod to hover on: each hole is the
// one's that would be drawn like it.
func TestAHoleIsForWhatWouldBeDrawnLikeIt(t *testing.T) {
	p := release.Part{Takes: []release.HardwareUse{
		{Item: bench.Hardware{ID: "wire", Kind: bench.Wire, Diameter: .8}, Count: 2},
		{Item: bench.Hardware{ID: "rod", Kind: bench.Rod, Diameter: 1}, Count: 1},
	}}
	got := seats.Of(p, bore.Report{Holes: []bore.Hole{upright(1.1, 0, 0), upright(1.1, 5, 0), upright(1.3, 9, 0)}}, stocks[:1])
	require.Len(t, got[0].Holes, 2)
	require.Len(t, got[1].Holes, 1)
	require.InDelta(t, 1.3, got[1].Holes[0].Free, 1e-12)
}
