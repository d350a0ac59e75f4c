package draw

import (
	"context"
	"math"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
)

func laid(t *testing.T, m *mesh.Mesh, v shadow.View) Laid {
	l, err := Lay(context.Background(), m, v)
	require.NoError(t, err)
	return l
}

// A block whose post has become shorter, while its foot has become wider.
func TestOverlay(t *testing.T) {
	old := together(box(10, 0, 0, 50, 20, 12), box(20, 5, 12, 30, 15, 40))
	new := together(box(10, 0, 0, 56, 20, 12), box(20, 5, 12, 30, 15, 32))
	o := OverlayOptions{ID: "o", Title: "Foot <old & new>", Description: "At most 8 mm.", Inches: true, Marks: []Mark{MarkAt(shadow.Front, mesh.Vec{X: 25, Y: 10, Z: 40}, "8 mm")}}
	svg := Overlay(laid(t, old, shadow.Front), laid(t, new, shadow.Front), o)
	requireWellFormed(t, svg)
	requireGolden(t, "overlay.svg", svg)
	require.Equal(t, svg, Overlay(laid(t, old, shadow.Front), laid(t, new, shadow.Front), o))
	for _, want := range []string{"Foot &lt;old &amp; new&gt;", "<desc>At most 8 mm.</desc>", ">new<", ">old<", ">added<", ">taken away<", ">8 mm<", "stroke-dasharray"} {
		require.Contains(t, svg, want)
	}
	same := Overlay(laid(t, old, shadow.Front), laid(t, old, shadow.Front), o)
	hatches := regexp.MustCompile(`class="(come|gone)"`)
	require.Len(t, hatches.FindAllString(svg, -1), 4)  // two of them in the key
	require.Len(t, hatches.FindAllString(same, -1), 2) // nothing has come or gone
}

// The hatching covers what is within one ring and not the other, and nothing else: its
// length times the distance of its lines is the area, to the lines' spacing.
func TestHatchingIsOfTheDifference(t *testing.T) {
	square := func(x, y, side float64) shadow.Ring {
		return shadow.Ring{{X: x, Y: y}, {X: x + side, Y: y}, {X: x + side, Y: y + side}, {X: x, Y: y + side}}
	}
	within, without := []shadow.Ring{square(0, 0, 100), square(30, 30, 10)}, []shadow.Ring{square(50, 50, 100)}
	for _, lean := range []float64{1, -1} {
		sum := 0.0
		for _, l := range pathLines(t, hatching(within, without, lean)) {
			require.Len(t, l, 2)
			dx, dy := l[1].X-l[0].X, l[1].Y-l[0].Y
			require.InDelta(t, math.Abs(dx), math.Abs(dy), 0.02)
			x, y := l[0].X+dx/2, l[0].Y+dy/2
			require.True(t, x > -0.01 && y > -0.01 && (x < 50.01 || y < 50.01), "(%v, %v)", x, y)
			require.False(t, x > 30.01 && x < 39.99 && y > 30.01 && y < 39.99, "(%v, %v)", x, y)
			sum += math.Hypot(dx, dy)
		}
		require.InDelta(t, 10000-2500-100, sum*overHatch, 60)
	}
	require.Empty(t, hatching(within, within, 1))
	require.Empty(t, hatching(nil, within, 1))
}

func TestShowingLooksAcrossTheDifference(t *testing.T) {
	require.Equal(t, shadow.Front, Showing(mesh.Vec{X: 3, Y: 0.1, Z: 2}))
	require.Equal(t, shadow.Side, Showing(mesh.Vec{X: 0.1, Y: 1, Z: 1}))
	require.Equal(t, shadow.Top, Showing(mesh.Vec{X: 1, Y: 1, Z: 0.1}))
	require.Equal(t, shadow.Views[0], Showing(mesh.Vec{}))
}

func TestOverlayOfOddThings(t *testing.T) {
	nothing := Laid{Drawing: &Drawing{}}
	part := laid(t, box(0, 0, 0, 1e-3, 1e-3, 1e-3), shadow.Top)
	far := laid(t, box(1e5, 1e5, 0, 1e5+10, 1e5+1, 1), shadow.Top)
	for _, pair := range [][2]Laid{{nothing, nothing}, {nothing, part}, {part, nothing}, {part, far}} {
		requireWellFormed(t, Overlay(pair[0], pair[1], OverlayOptions{ID: "x"}))
	}
}
