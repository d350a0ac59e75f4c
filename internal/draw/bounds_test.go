package draw

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/shadow"
	"cardback/internal/meshtest"
)

// What is filled is counted here pixel by pixel, for a fan whose triangles fill some
// 4,000 million at the usual resolution.
func TestADrawingOfAHeapFillsABoundedNumberOfPixels(t *testing.T) {
	m := meshtest.Fan(20_000)
	lo := shadow.Point{X: -20}
	s := project(m, shadow.Front, lo)
	const larger = 40.0
	usual := larger / resolution
	filled := func(pixel float64) (n float64) {
		for _, tri := range s.triangles {
			n += math.Abs(s.turn(tri[0], tri[1], tri[2])) / 2 / (pixel * pixel)
		}
		return n
	}
	require.Greater(t, filled(usual), 2e9)
	require.LessOrEqual(t, filled(s.pixel(larger, nil)), float64(mostFilled))

	// Many edges make pixels larger too: a million of 20 mm are 800 places long each.
	edges := make([]edge, 1_000_000)
	for i := range edges {
		edges[i] = edge{a: 0, b: 1}
	}
	require.InDelta(t, mostPlaces, 20*1e6/s.pixel(larger, edges), 1)

	// A part that is no heap has the usual ones to the last bit.
	require.Equal(t, usual, project(meshtest.Fan(100), shadow.Front, lo).pixel(larger, edges[:100]))

	d, err := Draw(t.Context(), m, shadow.Front)
	require.NoError(t, err)
	require.NotEmpty(t, d.Outline)
}

// A line 10¹⁶ times as long as lines are to be apart is looked at in a bounded number
// of places, and its cells are numbers.
func TestACrowdIsBoundedWhateverTheSizeOfTheDrawing(t *testing.T) {
	c := newCrowd(1e-14)
	long := []shadow.Point{{X: -1e30}, {X: 1e30, Y: 1e30}}
	require.LessOrEqual(t, len(c.along(long)), mostAlong+1)
	c.add(long)
	require.True(t, c.close(shadow.Point{X: -1e30 + float64(2e30*0.5/(mostAlong+1)), Y: float64(1e30 * 0.5 / (mostAlong + 1))}))
	require.False(t, c.close(shadow.Point{X: 5}))
}

// 20,000 stretches that meet in one place: no line goes on there, and none is lost.
func TestAHubOfLinesEndsThem(t *testing.T) {
	var stretches [][2]shadow.Point
	for i := range 20_000 {
		a := 2 * math.Pi * float64(i) / 20_000
		stretches = append(stretches, [2]shadow.Point{{}, {X: 1e4 * math.Cos(a), Y: 1e4 * math.Sin(a)}})
	}
	lines := join(stretches, 1)
	require.Len(t, lines, 20_000)
	for _, l := range lines {
		require.Len(t, l, 2)
	}
}
