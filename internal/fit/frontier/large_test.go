package frontier

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit"
	"cardback/internal/fit/fittest"
	"cardback/internal/fit/posture"
	"cardback/internal/longrun"
	"cardback/internal/mesh"
)

// A ball of 30 mm with 31,680 triangles, a cylinder of 20,000 sides, a ball of 30,000
// points: each has its frontier to 1 mm, checked as that of any part is.
func TestFrontierOfLargePartsEnds(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 4))
	for name, points := range fittest.LargeParts() {
		if name == "large ball, 30,002 points" && !longrun.Asked() {
			continue // ten seconds
		}
		start := fittest.ProcessorTime()
		f := frontierOf(t, points)
		t.Logf("%s: %v", name, fittest.ProcessorTime()-start)
		require.Equal(t, 1.0, f.Within, name)
		requireFrontierBounds(t, name, points, f, rng, 20, 2)
	}
}

// The work spent, whatever it is, there is an answer that holds: at last the part as it
// lies, and a tolerance that needs no search.
func TestFrontierWithItsWorkSpentIsHonest(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	points := fittest.Rotated(fittest.BoxPoints(90, 40, 20), fittest.RandomRotation(rng))
	coarse := 0
	for _, work := range []int{0, 1000, 30_000, 300_000, 3_000_000} {
		f, err := newWithin(context.Background(), points, work, work)
		require.NoError(t, err)
		back, err := Read(f.Text())
		require.NoError(t, err)
		require.Equal(t, f, back)
		if f.Within > 1 {
			coarse++
		}
		requireFrontierBounds(t, "box", points, f, rng, 300, 1)
	}
	require.GreaterOrEqual(t, coarse, 3)
	for name, points := range fittest.LargeParts() {
		f, err := newWithin(context.Background(), points, 1000, 1000)
		require.NoError(t, err, name)
		require.Greater(t, f.Within, 1.0)
		requireFrontierBounds(t, name, points, f, rng, 10, 1)
	}
	// As large as lengths may be, without a search.
	f := unsearched(posture.NewPart(fittest.Scaled(fittest.BoxPoints(1, 2, 3), 1e8), mesh.Vec{}, false))
	back, err := Read(f.Text())
	require.NoError(t, err)
	require.Equal(t, f, back)
}

// Many points above one another go wherever a rod as long does.
func TestFrontierOfManyPointsOnALine(t *testing.T) {
	for _, axis := range []mesh.Vec{{X: 1}, {Y: 1}, {Z: 1}, {}} {
		var pts []mesh.Vec
		for i := range 40 {
			pts = append(pts, axis.Scale(float64(i)).Add(mesh.Vec{X: 7, Y: 7, Z: 7}))
		}
		require.True(t, frontierOf(t, pts).Fits(fit.Plate{Width: 40, Depth: 40, Height: 40}).Fits())
	}
}
