package draw

import (
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
)

// circles are the centres of the rings in a figure.
func circles(t *testing.T, svg string) []shadow.Point {
	t.Helper()
	var out []shadow.Point
	for _, m := range regexp.MustCompile(`<circle class="mark" cx="([^"]+)" cy="([^"]+)"`).FindAllStringSubmatch(svg, -1) {
		x, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		y, err := strconv.ParseFloat(m[2], 64)
		require.NoError(t, err)
		out = append(out, shadow.Point{X: x, Y: y})
	}
	return out
}

// A corner of the box is a corner of its outline: the ring must stand there,
// whichever the view, and wherever the mesh lies.
func TestAMarkStandsWhereThePlaceIsDrawn(t *testing.T) {
	m := box(100, -50, 7, 130, -30, 17)
	corner := mesh.Vec{X: 130, Y: -30, Z: 7} // right in front, right from the side; the lower edge
	for _, c := range []struct {
		view   shadow.View
		mirror bool
		want   shadow.Point // on the figure, without its margin, Y down
	}{
		{shadow.Front, false, shadow.Point{X: 60, Y: 20}},
		{shadow.Front, true, shadow.Point{X: 0, Y: 20}},
		{shadow.Side, false, shadow.Point{X: 40, Y: 20}},
		{shadow.Top, false, shadow.Point{X: 60, Y: 0}},
	} {
		d := mustDraw(t, m, c.view)
		svg := Figure(d, FigureOptions{ID: "m", Title: "A box", Scale: 2, Mirrored: c.mirror, Marks: []Mark{{"1", Spot(c.view, m.Bounds(), corner)}}})
		requireWellFormed(t, svg)
		got := circles(t, svg)
		require.Len(t, got, 1)
		require.InDelta(t, c.want.X+markMargin, got[0].X, 0.01, c.view.String())
		require.InDelta(t, c.want.Y+markMargin, got[0].Y, 0.01, c.view.String())
	}
}

func TestMarksDoNotHideEachOther(t *testing.T) {
	d := mustDraw(t, box(0, 0, 0, 60, 10, 40), shadow.Front)
	svg := Figure(d, FigureOptions{ID: "m", Title: "A box", Marks: []Mark{
		{"1", shadow.Point{X: 10, Y: 10}}, {"2", shadow.Point{X: 10.5, Y: 10}}, // one ring
		{"3", shadow.Point{X: 14, Y: 10}}, {"4", shadow.Point{X: 6, Y: 10}}, {"5", shadow.Point{X: 10, Y: 14}}, {"6", shadow.Point{X: 60, Y: 40}},
	}})
	requireWellFormed(t, svg)
	require.Len(t, circles(t, svg), 5)
	labels := regexp.MustCompile(`<text class="mark" x="([^"]+)" y="([^"]+)"[^>]*>([^<]+)<`).FindAllStringSubmatch(svg, -1)
	require.Len(t, labels, 5)
	require.Equal(t, "1, 2", labels[0][3])
	var boxes []rect
	for _, l := range labels {
		x, _ := strconv.ParseFloat(l[1], 64)
		y, _ := strconv.ParseFloat(l[2], 64)
		wide := markWide * markText * float64(len(l[3]))
		b := rect{x - wide/2, y - 0.7*markText, x + wide/2, y}
		require.GreaterOrEqual(t, b.left, 0.0)
		require.LessOrEqual(t, b.right, 60+2*markMargin)
		require.GreaterOrEqual(t, b.top, 0.0)
		for _, c := range circles(t, svg) {
			require.False(t, b.meets(rect{c.X - markRing, c.Y - markRing, c.X + markRing, c.Y + markRing}), "label %s lies on a ring", l[3])
		}
		for _, o := range boxes {
			require.False(t, b.meets(o), "label %s lies on another", l[3])
		}
		boxes = append(boxes, b)
	}
	require.Equal(t, Figure(d, FigureOptions{ID: "m", Title: "A box"}), Figure(d, FigureOptions{ID: "m", Title: "A box", Marks: []Mark{}}), "without marks there is no margin")
}
