package fit

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

// uvBall is a ball of circles of latitude, as most programs make one.
func uvBall(r float64, round, down int) []mesh.Vec {
	out := []mesh.Vec{{Z: r}, {Z: -r}}
	for i := 1; i < down; i++ {
		for j := range round {
			a, b := math.Pi*float64(i)/float64(down), 2*math.Pi*float64(j)/float64(round)
			out = append(out, mesh.Vec{X: r * math.Sin(a) * math.Cos(b), Y: r * math.Sin(a) * math.Sin(b), Z: r * math.Cos(a)})
		}
	}
	return out
}

// largeParts are those whose points are too many to be looked at one by one.
func largeParts() map[string][]mesh.Vec {
	rng := rand.New(rand.NewPCG(5, 1))
	lump := make([]mesh.Vec, 12_000)
	for i := range lump {
		lump[i] = mesh.Vec{X: 30 * rng.NormFloat64(), Y: 20 * rng.NormFloat64(), Z: 10 * rng.NormFloat64()}
	}
	return map[string][]mesh.Vec{
		"ball of 15,842 points":      uvBall(15, 120, 133),
		"ball of 30,002 points":      uvBall(40, 200, 151),
		"cylinder of 20,000 sides":   cylinder(20_000, 20, 30),
		"egg of 10,002 points":       ellipsoid(10_002, 20, 30, 45),
		"lump, most of it inside":    lump,
		"large ball, 30,002 points":  uvBall(150, 200, 151),
		"box with 12,000 duplicates": slices.Repeat(boxPoints(10, 20, 30), 1500),
	}
}

func farthestOf(points []mesh.Vec, v mesh.Vec) float64 { return farthestAlong(points, v).Dot(v) }

func TestFewerPointsStandForAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 2))
	for name, points := range largeParts() {
		for _, gap := range []float64{0.05, 0.5} {
			kept, _ := fewer(points, gap, frontierWork)
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
	ball := uvBall(15, 120, 133)
	kept, work := fewer(ball, 0.05, 100_000)
	require.Greater(t, work, 100_000)
	for range 200 {
		v := mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		v = v.Scale(1 / v.Norm())
		require.LessOrEqual(t, farthestOf(ball, v)-farthestOf(kept, v), 0.05)
	}
	kept, _ = fewer(boxPoints(10, 20, 30), 0.05, frontierWork)
	require.ElementsMatch(t, boxPoints(10, 20, 30), kept)
	kept, _ = fewer(nil, 1, frontierWork)
	require.Empty(t, kept)
}

// What the compass lists holds the farthest point of every direction it is asked for,
// and the corners of every footprint.
func TestCompassLeavesOutNoFarthestPoint(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 3))
	for name, points := range largeParts() {
		c := newCompass(points)
		for range 40 {
			rot := randomRotation(rng)
			up := mesh.Vec{X: rot[6], Y: rot[7], Z: rot[8]}
			require.Equal(t, farthestOf(points, up), farthestOf(c.at(c.toward(up, 0)), up), name)
			near := c.at(c.toward(up, 0.3))
			for range 10 {
				v := up.Add(mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}.Scale(0.1))
				v = v.Scale(1 / v.Norm())
				if up.Dot(v) > math.Cos(0.3) {
					require.Equal(t, farthestOf(points, v), farthestOf(near, v), name)
				}
			}
			// As many corners, the same ones: footprint sorts them in one way.
			require.Equal(t, footprint(nil, rotated(points, rot)), footprint(nil, c.turned(rot, c.level(up))), name)
		}
	}
}

// A ball of 30 mm with 31,680 triangles, a cylinder of 20,000 sides, a ball of 30,000
// points: each has its frontier to 1 mm, checked as that of any part is.
func TestFrontierOfLargePartsEnds(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 4))
	for name, points := range largeParts() {
		if name == "large ball, 30,002 points" && !*allFrontiers {
			continue // ten seconds
		}
		start := processorTime()
		f := frontierOf(t, points)
		t.Logf("%s: %v", name, processorTime()-start)
		require.Equal(t, 1.0, f.Within, name)
		requireFrontierBounds(t, name, points, f, rng, 20, 2)
	}
}

// The work spent, whatever it is, there is an answer that holds: at last the part as it
// lies, and a tolerance that needs no search.
func TestFrontierWithItsWorkSpentIsHonest(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	points := rotated(boxPoints(90, 40, 20), randomRotation(rng))
	coarse := 0
	for _, work := range []int{0, 1000, 30_000, 300_000, 3_000_000} {
		f, err := newFrontier(context.Background(), points, work, work)
		require.NoError(t, err)
		back, err := ReadFrontier(f.Text())
		require.NoError(t, err)
		require.Equal(t, f, back)
		if f.Within > 1 {
			coarse++
		}
		requireFrontierBounds(t, "box", points, f, rng, 300, 1)
	}
	require.GreaterOrEqual(t, coarse, 3)
	for name, points := range largeParts() {
		f, err := newFrontier(context.Background(), points, 1000, 1000)
		require.NoError(t, err, name)
		require.Greater(t, f.Within, 1.0)
		requireFrontierBounds(t, name, points, f, rng, 10, 1)
	}
	// As large as lengths may be, without a search.
	f := unsearched(newPart(scaled(boxPoints(1, 2, 3), 1e8), mesh.Vec{}, false))
	back, err := ReadFrontier(f.Text())
	require.NoError(t, err)
	require.Equal(t, f, back)
}
