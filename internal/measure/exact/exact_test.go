package exact

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func TestSidesAgreeWithFractions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := meshtest.DrawPoint(t), meshtest.DrawPoint(t), meshtest.DrawPoint(t)
		p := meshtest.DrawPoint(t)
		if rapid.Bool().Draw(t, "near the plane") {
			p = a.Add(b.Sub(a).Scale(0.3)).Add(c.Sub(a).Scale(0.7))
		}
		want := rationalSide(a, b, c, p)
		require.Equal(t, want, Side(a, b, c, p))
		require.Equal(t, want, SideExactly(a, b, c, p))
		require.Equal(t, -want, Side(b, a, c, p))
		require.Equal(t, -want, Side(p, b, c, a))
		require.True(t, Collinear(a, a, p))
		require.Equal(t, Collinear(a, b, p), Collinear(p, a, b))
	})
}

func TestCollinearIsExact(t *testing.T) {
	a, b := mesh.Vec{X: 1, Y: 2, Z: 3}, mesh.Vec{X: 3, Y: 6, Z: 9}
	require.True(t, Collinear(a, b, mesh.Vec{X: 2, Y: 4, Z: 6}))
	require.False(t, Collinear(a, b, mesh.Vec{X: 2, Y: 4, Z: math.Nextafter(6, 7)}))
	require.False(t, Collinear(a, b, mesh.Vec{X: 2, Y: math.Nextafter(4, 0), Z: 6}))
}

// Neumaier's own example, which plain and Kahan's summation give as 0; exactly 2.
func TestSumCarriesRoundings(t *testing.T) {
	var s, other Sum
	for _, x := range []float64{1, 1e100, 1, -1e100} {
		s.Add(x)
	}
	require.Equal(t, 2.0, s.Value())
	other.Join(s)
	require.Equal(t, 2.0, other.Value())
}
