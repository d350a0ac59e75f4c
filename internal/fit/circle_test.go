package fit

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

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
		{"equilateral triangle", polygon(3, 10), 10 / math.Sqrt(3)},
		{"triangle 3-4-5", []mesh.Vec{{}, {X: 3}, {Y: 4}}, 2.5},
		{"obtuse triangle", []mesh.Vec{{}, {X: 10}, {X: 5, Y: 1}}, 5},
		{"square", boxPoints(10, 10, 0), 5 * math.Sqrt2},
		{"hexagon", polygon(6, 10), 10},
		{"points on a line", []mesh.Vec{{}, {X: 1, Y: 1}, {X: 2, Y: 2}, {X: 8, Y: 8}}, 4 * math.Sqrt2},
	} {
		require.InDelta(t, c.r, leastCircle(footprint(nil, c.pts)).r, 1e-12, c.name)
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
		consider := func(c circle) {
			for _, p := range pts {
				if c.distance(p) > c.r+1e-9 {
					return
				}
			}
			least = min(least, c.r)
		}
		for i := range pts {
			for j := range i {
				consider(onTwo(pts[i], pts[j]))
				for k := range j {
					consider(onThree(pts[i], pts[j], pts[k]))
				}
			}
		}
		got := leastCircle(pts)
		require.InDelta(t, least, got.r, 1e-8)
		for _, p := range pts {
			require.LessOrEqual(t, got.distance(p), got.r, "no corner sticks out, not even by rounding")
		}
	})
}

// On a round plate a square column of side 50 needs 50√2; lying down, a column
// 50 × 50 × 60 needs √(50² + 60²) = 78.102… and only 50 of height.
func TestRoundPlates(t *testing.T) {
	column := boxPoints(50, 50, 60)
	for _, c := range []struct {
		diameter, height float64
		want             Verdict
	}{
		{50*math.Sqrt2 + 1e-6, 60, AsSupplied},
		{50*math.Sqrt2 - 0.2, 60, CannotFit},
		{math.Hypot(50, 60) + 0.11, 50.11, Tipped},
		{math.Hypot(50, 60) - 0.11, 50.11, CannotFit},
	} {
		p := Plate{Width: c.diameter, Depth: c.diameter, Height: c.height, Round: true}
		res := Fit(context.Background(), column, p)
		require.Equal(t, c.want, res.Verdict, "%s: %s", p, res.Reason)
		if res.Verdict.Fits() {
			requireCertificate(t, column, p, res)
		}
	}
}
