package stack_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/inside"
	"cardback/internal/measure/stack"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// What hollows are is decided by what all bodies together make solid: one that another
// body fills is none, and one that two bodies close between them is one, though they
// lie a rounding apart (2e-4 mm, as in real files of others).
func TestHollowsAreOfAllBodiesTogether(t *testing.T) {
	box := meshtest.Block(0, 0, 0, 12, 12, 12)
	room := meshtest.InsideOut(meshtest.Block(4, 4, 4, 8, 8, 8))
	closed := meshtest.Together(box, room)
	require.Equal(t, [4]int{0, 0, 0, 1}, counts(of(t, closed, layer)))
	require.Equal(t, none, counts(of(t, meshtest.Together(closed, meshtest.Block(4, 4, 4, 8, 8, 8)), layer)), "filled to its walls")
	require.Equal(t, none, counts(of(t, meshtest.Together(closed, meshtest.Block(3, 3, 3, 9, 9, 9)), layer)), "filled and overlapping")
	part := of(t, meshtest.Together(closed, meshtest.Block(3, 3, 3, 9, 9, 6)), layer)
	require.Equal(t, [4]int{0, 0, 0, 1}, counts(part))
	require.InDelta(t, 4*4*2, part.Trapped[0].Volume, 2*layer*4*4, "half filled")

	bowl, _ := meshtest.Bowl(64, 8, 10, 6)
	require.Equal(t, none, counts(of(t, meshtest.Together(bowl, meshtest.Block(-7, -7, 3, 7, 7, 10)), layer)), "a plugged well")

	for _, apart := range []float64{0, 2e-4, 9e-4} {
		// A box with one side left out, and a lid for it.
		open := meshtest.Moved(meshtest.Cells(3, 3, 3, func(x, y, z int) bool { return !(x >= 1 && y == 1 && z == 1) }), func(p mesh.Vec) mesh.Vec { return p.Scale(4) })
		lid := meshtest.Block(12+apart, 0, 0, 14, 12, 12)
		got := of(t, meshtest.Together(open, lid), layer)
		require.Equal(t, [4]int{0, 0, 0, 1}, counts(got), "lid %g mm away", apart)
	}
}

// The rows' solid is that of package inside: points at random are looked at by both.
func TestIslandsAndHollowsAreOfTheOneSolid(t *testing.T) {
	m := meshtest.Together(meshtest.Block(0, 0, 0, 12, 12, 12), meshtest.InsideOut(meshtest.Block(4, 4, 4, 8, 8, 8)), meshtest.Block(5, 5, 2, 7, 7, 20),
		meshtest.Moved(meshtest.UVSphere(3, 24, 12), meshtest.Shift(12, 12, 12)), meshtest.Block(30, 0, 6, 34, 4, 9))
	tr, err := tree.New(t.Context(), m)
	require.NoError(t, err)
	ruler := inside.Of(tr).Ruler()
	r := of(t, m, layer)
	require.NotEmpty(t, r.Islands)
	for _, i := range r.Islands {
		require.True(t, ruler.Contains(i.At), "an island at %v is solid", i.At)
		require.False(t, ruler.Contains(mesh.Vec{X: i.At.X, Y: i.At.Y, Z: i.At.Z - 2*layer}), "and nothing is under it")
	}
	require.NotEmpty(t, r.Trapped)
	for _, h := range [][]stack.Hollow{r.Trapped, r.Cups, r.Wells} {
		for _, x := range h {
			spans, _ := ruler.Spans(x.At, mesh.Vec{Z: 1})
			near := false
			for _, s := range spans {
				near = near || s.From-layer <= 0 && s.To+layer >= 0
			}
			require.True(t, near, "a hollow ends at solid: %v", x.At)
		}
	}
}
