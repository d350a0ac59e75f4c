package measure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/mesh"
)

// drawCoordinate favours what makes determinants vanish: few values, tiny offsets
// from them, and numbers of very different sizes.
func drawCoordinate(t *rapid.T) float64 {
	x := float64(rapid.IntRange(-3, 3).Draw(t, "x"))
	switch rapid.IntRange(0, 5).Draw(t, "kind") {
	case 0:
		return x * 0.1
	case 1:
		return x + float64(rapid.IntRange(-4, 4).Draw(t, "steps"))*0x1p-52
	case 2:
		return x * math.Ldexp(1, rapid.IntRange(-120, 120).Draw(t, "scale"))
	case 3:
		return x * math.Ldexp(1, rapid.IntRange(-1000, 300).Draw(t, "scale"))
	}
	return x
}

func drawPoint(t *rapid.T) mesh.Vec {
	return mesh.Vec{X: drawCoordinate(t), Y: drawCoordinate(t), Z: drawCoordinate(t)}
}

func TestSidesAgreeWithFractions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := drawPoint(t), drawPoint(t), drawPoint(t)
		p := drawPoint(t)
		if rapid.Bool().Draw(t, "near the plane") {
			p = a.Add(b.Sub(a).Scale(0.3)).Add(c.Sub(a).Scale(0.7))
		}
		want := rationalSide(a, b, c, p)
		require.Equal(t, want, sideOf(a, b, c, p))
		require.Equal(t, want, exactSide(a, b, c, p))
		require.Equal(t, -want, sideOf(b, a, c, p))
		require.Equal(t, -want, sideOf(p, b, c, a))
		require.True(t, collinear(a, a, p))
		require.Equal(t, collinear(a, b, p), collinear(p, a, b))
	})
}

func TestCollinearIsExact(t *testing.T) {
	a, b := mesh.Vec{X: 1, Y: 2, Z: 3}, mesh.Vec{X: 3, Y: 6, Z: 9}
	require.True(t, collinear(a, b, mesh.Vec{X: 2, Y: 4, Z: 6}))
	require.False(t, collinear(a, b, mesh.Vec{X: 2, Y: 4, Z: math.Nextafter(6, 7)}))
	require.False(t, collinear(a, b, mesh.Vec{X: 2, Y: math.Nextafter(4, 0), Z: 6}))
}

// A triangle this thin is beyond what rounded products can tell (its corners are
// those of Shewchuk's example, as in sideOf), yet has an area.
func TestSliverIsNotDegenerate(t *testing.T) {
	for y, want := range map[float64]int{24: 1, math.Nextafter(24, 25): 0} {
		m := &mesh.Mesh{Vertices: []mesh.Vec{{X: 0.5, Y: 0.5}, {X: 12, Y: 12}, {X: 24, Y: y}}, Triangles: [][3]uint32{{0, 1, 2}}}
		require.Equal(t, want, measured(t, m, t).DegenerateTriangles)
	}
}

// Neumaier's own example, which plain and Kahan's summation give as 0; exactly 2.
func TestSumCarriesRoundings(t *testing.T) {
	var s, other sum
	for _, x := range []float64{1, 1e100, 1, -1e100} {
		s.add(x)
	}
	require.Equal(t, 2.0, s.value())
	other.join(s)
	require.Equal(t, 2.0, other.value())
}
