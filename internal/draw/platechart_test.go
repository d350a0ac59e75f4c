package draw

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/measure/shadow"
)

// slab is a rectangle turned by deg about its corner at x, y.
func slab(x, y, w, h, deg float64) shadow.Outline {
	s, c := math.Sincos(deg * math.Pi / 180)
	var r shadow.Ring
	for _, p := range [][2]float64{{0, 0}, {w, 0}, {w, h}, {0, h}} {
		r = append(r, shadow.Point{X: x + c*p[0] - s*p[1], Y: y + s*p[0] + c*p[1]})
	}
	return shadow.Outline{r}
}

// washer is a disc with a hole.
func washer(x, y, outer, inner float64) shadow.Outline {
	var a, b shadow.Ring
	for k := range 72 {
		s, c := math.Sincos(float64(k) * math.Pi / 36)
		a = append(a, shadow.Point{X: x + outer*c, Y: y + outer*s})
		b = append(b, shadow.Point{X: x + inner*c, Y: y - inner*s})
	}
	return shadow.Outline{a, b}
}

func smallPlate() []PlateItem {
	return []PlateItem{
		{"2", "Upper arm", slab(6, 5, 30, 9, 0)},
		{"2", "Upper arm", slab(6, 17, 30, 9, 0)},
		{"1", "Turntable <&>", washer(60, 25, 18, 9)},
		{"10", "Lamp pole", slab(48, 60, 68, 1.6, -30)},
		{"11", "Pin", slab(6, 40, 1.2, 1.2, 0)},
		{"11", "Pin", slab(12, 40, 1.2, 1.2, 0)},
		{"12", "Tag, mirrored", slab(25, 45, 6, 3.4, 20)},
	}
}

func TestPlateChart(t *testing.T) {
	small := PlateChartOptions{ID: "p", Title: "Small resin plate 1 of 2", PlateWidth: 120, PlateDepth: 68, Margin: 2, Inches: true}
	large := PlateChartOptions{ID: "p", Title: "Round bed", PlateWidth: 180, PlateDepth: 180, Margin: 4, Round: true, WidthMM: 100, Description: "Some things."}
	for name, o := range map[string]PlateChartOptions{"plate-small.svg": small, "plate-round.svg": large} {
		svg := PlateChart(smallPlate(), o)
		requireWellFormed(t, svg)
		requireGolden(t, name, svg)
		require.Equal(t, svg, PlateChart(smallPlate(), o))
		require.Len(t, regexp.MustCompile(`class="silhouette"`).FindAllString(svg, -1), 7)
		require.Len(t, regexp.MustCompile(`class="number`).FindAllString(svg, -1), 7)
		require.Contains(t, svg, ">2 Upper arm ×2<")
		require.Contains(t, svg, ">1 Turntable &lt;&amp;&gt;<")
		require.Contains(t, svg, ">12 Tag, mirrored<")
	}
	require.Contains(t, PlateChart(smallPlate(), small), "<desc>On the plate: 1 Turntable &lt;&amp;&gt;; 2 Upper arm ×2; 10 Lamp pole; 11 Pin ×2; 12 Tag, mirrored.</desc>")
	require.Contains(t, PlateChart(smallPlate(), small), ">120 mm (4.72 in)<")
	require.Contains(t, PlateChart(smallPlate(), small), ">68 mm (2.68 in)<")
	require.Contains(t, PlateChart(smallPlate(), large), ">⌀ 180 mm<")
	require.Contains(t, PlateChart(nil, small), "<desc>The plate is empty.</desc>")
}

// Silhouettes stand to scale where they lie: the picture's places, read back by the
// plate's edge, are the outline's own.
func TestPlateChartIsToScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := PlateChartOptions{ID: "p", Title: "t"}
		o.PlateWidth = rapid.Float64Range(20, 500).Draw(t, "width")
		o.PlateDepth = rapid.Float64Range(20, 500).Draw(t, "depth")
		w := o.PlateWidth * rapid.Float64Range(0.1, 0.4).Draw(t, "w")
		h := o.PlateDepth * rapid.Float64Range(0.1, 0.4).Draw(t, "h")
		x := o.PlateWidth * rapid.Float64Range(0, 0.5).Draw(t, "x")
		y := o.PlateDepth * rapid.Float64Range(0, 0.5).Draw(t, "y")
		svg := PlateChart([]PlateItem{{"1", "a", slab(x, y, w, h, 0)}}, o)
		edge := pathLines(t, attribute(t, svg, "edge", "d"))[0]
		left, top, right, bottom := edge[0].X, edge[0].Y, edge[2].X, edge[2].Y
		scale := (right - left) / o.PlateWidth
		// Places are rounded to 0.01, and by as much the width that gives the scale.
		within := 0.02 * (1 + o.PlateDepth/o.PlateWidth)
		require.InDelta(t, scale*o.PlateDepth, bottom-top, within)
		require.LessOrEqual(t, scale, 1.001)
		ring := pathLines(t, attribute(t, svg, "silhouette", "d"))[0]
		low, high := ring[0], ring[0]
		for _, p := range ring {
			low = shadow.Point{X: min(low.X, p.X), Y: min(low.Y, p.Y)}
			high = shadow.Point{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
		}
		require.InDelta(t, left+x*scale, low.X, within)
		require.InDelta(t, left+(x+w)*scale, high.X, within)
		require.InDelta(t, bottom-(y+h)*scale, low.Y, within)
		require.InDelta(t, bottom-y*scale, high.Y, within)
	})
}

// A number lies on its own silhouette, beside all of them, or has paper around.
func TestPlateNumbersAreLegible(t *testing.T) {
	c := newPlateChart(smallPlate(), PlateChartOptions{ID: "p", WidthMM: 180, TextMM: 3.6, PlateWidth: 120, PlateDepth: 68})
	var out strings.Builder
	c.numbers(&out)
	texts := regexp.MustCompile(`<text class="(number[^"]*)"[^>]* x="([^"]*)" y="([^"]*)" font-size="([^"]*)"[^>]*>(\d+)<`).FindAllStringSubmatch(out.String(), -1)
	require.Len(t, texts, 7)
	on := 0
	for _, m := range texts {
		x, _ := strconv.ParseFloat(m[2], 64)
		y, _ := strconv.ParseFloat(m[3], 64)
		size, _ := strconv.ParseFloat(m[4], 64)
		require.GreaterOrEqual(t, size, 0.65*3.6-0.01)
		mid := shadow.Point{X: x, Y: y - 0.36*size}
		covered := ""
		for i, rings := range c.rings {
			if inside(rings, mid) {
				covered = c.items[i].Number
			}
		}
		if m[1] == "number onink" {
			require.Equal(t, m[5], covered)
			on++
		} else {
			require.Equal(t, "number", m[1])
			require.Empty(t, covered)
		}
	}
	require.Equal(t, 4, on, "the arms, the turntable and the tag have room for it")
}

func TestPlateChartOfAnything(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	items := []PlateItem{{}, {Number: "<&\x01>", Name: "odd", Outline: slab(0, 0, 1, 1, 0)}, {Number: "1", Outline: slab(-1e6, 3, 1e-9, 1e-9, 0)}}
	for range 200 {
		items = append(items, PlateItem{"7", "same", slab(5, 5, 0.5, 0.5, 0)})
	}
	for _, o := range []PlateChartOptions{
		{ID: "p", Title: "t"}, {ID: "p", PlateWidth: nan, PlateDepth: -1, Margin: inf}, {ID: "p", PlateWidth: 1e9, PlateDepth: 1, Round: true},
		{ID: "p", PlateWidth: 100, PlateDepth: 100, WidthMM: 1, TextMM: 50, Margin: 60}, {ID: "p", PlateWidth: 100, PlateDepth: 40, WidthMM: inf, TextMM: nan},
	} {
		svg := PlateChart(items, o)
		requireWellFormed(t, svg)
		require.NotContains(t, svg, "NaN")
		require.NotContains(t, svg, "Inf")
	}
}

// Thirty cogs of 96 corners on a plate, too small to have their numbers on them.
func BenchmarkPlateChart(b *testing.B) {
	var items []PlateItem
	for k := range 30 {
		var r shadow.Ring
		for i := range 96 {
			s, c := math.Sincos(2 * math.Pi * float64(i) / 96)
			l := 3 + 0.8*float64(i/2%2)
			r = append(r, shadow.Point{X: 12 + 17*float64(k%6) + l*c, Y: 6 + 13*float64(k/6) + l*s})
		}
		items = append(items, PlateItem{strconv.Itoa(k + 1), "Cog", shadow.Outline{r}})
	}
	for b.Loop() {
		PlateChart(items, PlateChartOptions{ID: "p", Title: "Cogs", PlateWidth: 120, PlateDepth: 68, WidthMM: 100})
	}
}
