package shadow

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/longrun"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
)

// The areas are compared in package measure; here it is the outlines themselves
// that are looked at.
func TestShadowsOfSharedMeshesAreSound(t *testing.T) {
	longrun.Only(t, "takes long")
	meshtest.EachReference(t, func(t *testing.T, _ reference.File, m *mesh.Mesh) {
		for _, v := range Views {
			o, err := Of(t.Context(), m, v)
			require.NoError(t, err)
			requireSoundOutline(t, o)
		}
	})
}

// requireSoundOutline checks what every outline promises: finite rings of three
// points or more with area, none passing a point twice, and none crossing
// itself or another.
func requireSoundOutline(t testing.TB, o Outline) {
	t.Helper()
	type segment struct{ a, b Point }
	var all []segment
	for _, r := range o {
		require.GreaterOrEqual(t, len(r), 3)
		seen := map[Point]bool{}
		for i, p := range r {
			require.False(t, math.IsNaN(p.X+p.Y) || math.IsInf(p.X+p.Y, 0))
			require.False(t, seen[p], "a ring passes a point twice")
			seen[p] = true
			all = append(all, segment{p, r[(i+1)%len(r)]})
		}
		require.NotZero(t, Outline{r}.Area())
	}
	if len(all) > 1500 {
		return // pairs would take too long; the smaller outlines have shown it
	}
	side := func(a, b, c Point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }
	for i, s := range all {
		for _, u := range all[:i] {
			p, q := side(s.a, s.b, u.a), side(s.a, s.b, u.b)
			v, w := side(u.a, u.b, s.a), side(u.a, u.b, s.b)
			// Beyond the rounding of mm to float64, on both sides of both.
			e := 1e-12 * (math.Abs(s.a.X-s.b.X) + math.Abs(s.a.Y-s.b.Y)) * (math.Abs(u.a.X-u.b.X) + math.Abs(u.a.Y-u.b.Y))
			if (p > e && q < -e || p < -e && q > e) && (v > e && w < -e || v < -e && w > e) {
				t.Fatalf("edges %v and %v cross", s, u)
			}
		}
	}
}
