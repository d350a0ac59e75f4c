package posture

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit/fittest"
	"cardback/internal/fit/footprint"
	"cardback/internal/mesh"
)

func farthestOf(points []mesh.Vec, v mesh.Vec) float64 {
	most := math.Inf(-1)
	for _, p := range points {
		most = max(most, p.Dot(v))
	}
	return most
}

func TestFewerPointsStandForAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 2))
	for name, points := range fittest.LargeParts() {
		for _, gap := range []float64{0.05, 0.5} {
			kept, _ := Fewer(points, gap, 1_200_000_000)
			require.Less(t, len(kept), len(points), name)
			random := func() mesh.Vec {
				v := mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
				return v.Scale(1 / v.Norm())
			}
			for range 200 {
				v := random()
				short := farthestOf(points, v) - farthestOf(kept, v)
				require.GreaterOrEqual(t, short, 0.0)
				require.LessOrEqual(t, short, gap, name)
			}
		}
	}
	// With its work spent it keeps what it has not excluded, and the promise.
	ball := fittest.UVBall(15, 120, 133)
	kept, work := Fewer(ball, 0.05, 100_000)
	require.Greater(t, work, 100_000)
	for range 200 {
		v := mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		v = v.Scale(1 / v.Norm())
		require.LessOrEqual(t, farthestOf(ball, v)-farthestOf(kept, v), 0.05)
	}
	kept, _ = Fewer(fittest.BoxPoints(10, 20, 30), 0.05, 1_200_000_000)
	require.ElementsMatch(t, fittest.BoxPoints(10, 20, 30), kept)
	kept, _ = Fewer(nil, 1, 1_200_000_000)
	require.Empty(t, kept)
}

// What the compass lists holds the farthest point of every direction it is asked for,
// and the corners of every footprint.
func TestCompassLeavesOutNoFarthestPoint(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 3))
	for name, points := range fittest.LargeParts() {
		c := NewCompass(points)
		for range 40 {
			rot := fittest.RandomRotation(rng)
			up := mesh.Vec{X: rot[6], Y: rot[7], Z: rot[8]}
			require.Equal(t, farthestOf(points, up), farthestOf(c.At(c.Toward(up, 0)), up), name)
			near := c.At(c.Toward(up, 0.3))
			for range 10 {
				v := up.Add(mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}.Scale(0.1))
				v = v.Scale(1 / v.Norm())
				if up.Dot(v) > math.Cos(0.3) {
					require.Equal(t, farthestOf(points, v), farthestOf(near, v), name)
				}
			}
			// As many corners, the same ones: footprint sorts them in one way.
			require.Equal(t, footprint.Corners(nil, fittest.Rotated(points, rot)), footprint.Corners(nil, c.turned(rot, c.level(up))), name)
		}
	}
}
