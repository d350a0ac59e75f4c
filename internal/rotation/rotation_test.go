package rotation

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/mesh"
)

// By the right-hand rule: about x, y goes to z; about y, z goes to x; about the
// vertical, x goes to y. Right angles are exact.
func TestQuarterTurnsGoByTheRightHand(t *testing.T) {
	require.Equal(t, mesh.Vec{Z: 1}, Apply(Tilted(90, false), mesh.Vec{Y: 1}))
	require.Equal(t, mesh.Vec{X: 1}, Apply(Tilted(90, true), mesh.Vec{Z: 1}))
	require.Equal(t, mesh.Vec{Y: 1}, Apply(AboutVertical(90), mesh.Vec{X: 1}))
	require.Equal(t, Identity, Product(Tilted(-90, true), Tilted(90, true)))
	require.False(t, math.Signbit(WithoutMinusZero([9]float64{math.Copysign(0, -1)})[0]))
}

// A product turns as its factors do, one after the other, and is a rotation; a mirror
// image is none.
func TestAProductTurnsAsItsFactors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		deg := rapid.Float64Range(-720, 720)
		a, b := Tilted(deg.Draw(t, "a"), rapid.Bool().Draw(t, "about y")), AboutVertical(deg.Draw(t, "b"))
		side := rapid.Float64Range(-1000, 1000)
		v := mesh.Vec{X: side.Draw(t, "x"), Y: side.Draw(t, "y"), Z: side.Draw(t, "z")}
		ab := Product(a, b)
		require.True(t, IsRotation(ab))
		// Twelve products and sums of numbers below 1800, each rounded to 2⁻⁵³ of that.
		require.InDelta(t, 0, Apply(ab, v).Sub(Apply(a, Apply(b, v))).Norm(), 1e-11)
		require.InDelta(t, v.Norm(), Apply(ab, v).Norm(), 1e-11)
		require.True(t, IsRotation(a))
		require.False(t, IsRotation([9]float64{-a[0], -a[1], -a[2], a[3], a[4], a[5], a[6], a[7], a[8]}))
	})
}
