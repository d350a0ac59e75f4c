package footprint

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/fit/fittest"
	"cardback/internal/mesh"
)

// Circumscribed circles from elementary geometry: an acute or right triangle's
// least circle is its circumcircle, an obtuse one's stands on the longest side.
func TestLeastCircleOfKnownShapes(t *testing.T) {
	for _, c := range []struct {
		name string
		pts  []mesh.Vec
		r    float64
	}{
		{"point", []mesh.Vec{{X: 3, Y: 4}}, 0},
		{"segment", []mesh.Vec{{}, {X: 3, Y: 4}}, 2.5},
		{"equilateral triangle", fittest.Polygon(3, 10), 10 / math.Sqrt(3)},
		{"triangle 3-4-5", []mesh.Vec{{}, {X: 3}, {Y: 4}}, 2.5},
		{"obtuse triangle", []mesh.Vec{{}, {X: 10}, {X: 5, Y: 1}}, 5},
		{"square", fittest.BoxPoints(10, 10, 0), 5 * math.Sqrt2},
		{"hexagon", fittest.Polygon(6, 10), 10},
		{"points on a line", []mesh.Vec{{}, {X: 1, Y: 1}, {X: 2, Y: 2}, {X: 8, Y: 8}}, 4 * math.Sqrt2},
	} {
		require.InDelta(t, c.r, LeastCircle(Corners(nil, c.pts)).R, 1e-12, c.name)
	}
}

// Against all circles on two and on three of the points: the least of those
// that hold every point is the least circle.
func TestLeastCircleAgreesWithAllPairsAndTriples(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 9).Draw(t, "n")
		pts := make([]mesh.Vec, n)
		for i := range pts {
			pts[i] = mesh.Vec{X: float64(rapid.IntRange(-9, 9).Draw(t, "x")), Y: float64(rapid.IntRange(-9, 9).Draw(t, "y"))}
		}
		least := math.Inf(1)
		consider := func(c Circle) {
			for _, p := range pts {
				if c.Distance(p) > c.R+1e-9 {
					return
				}
			}
			least = min(least, c.R)
		}
		for i := range pts {
			for j := range i {
				consider(onTwo(pts[i], pts[j]))
				for k := range j {
					consider(onThree(pts[i], pts[j], pts[k]))
				}
			}
		}
		got := LeastCircle(pts)
		require.InDelta(t, least, got.R, 1e-8)
		for _, p := range pts {
			require.LessOrEqual(t, got.Distance(p), got.R, "no corner sticks out, not even by rounding")
		}
	})
}
