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

// plateLayers is a plate 60 × 40 × 3 lying and tilted by 45° about its 40 edge: its
// section is 40·min(z/(sin t cos t), 3/sin t, (h − z)/(sin t cos t)) long.
func plateLayers() []CurveLine {
	const layer = 0.05
	lying := make([]float64, 60)
	for k := range lying {
		lying[k] = 2400
	}
	h := 63 * math.Sqrt(0.5)
	tilted := make([]float64, int(math.Ceil(h/layer-0.001)))
	for k := range tilted {
		z := (float64(k) + 0.5) * layer
		tilted[k] = 40 * max(0, min(2*z, 3*math.Sqrt2, 2*(h-z)))
	}
	return []CurveLine{
		{Label: "as supplied: 60 layers, the largest 2400 mm²", Layer: layer, Areas: lying},
		{Label: "45° about y: 891 layers, the largest 170 mm²", Layer: layer, Areas: tilted},
	}
}

// lumps has many peaks, as a figure has: legs, a body, arms, a head.
func lumps() []CurveLine {
	var out []CurveLine
	for i, label := range []string{"as supplied: 1500 layers", "35° about x: 1320 layers"} {
		areas := make([]float64, 1500-180*i)
		for k := range areas {
			x := float64(k) / float64(len(areas))
			bump := func(at, width, tall float64) float64 { return tall * math.Exp(-(x-at)*(x-at)/(width*width)) }
			areas[k] = (20 + bump(0.05, 0.03, 300) + bump(0.3, 0.1, 120) + bump(0.55, 0.12, 480) + bump(0.62, 0.02, 150) + bump(0.85, 0.07, 220)) * (1 - 0.4*float64(i))
		}
		out = append(out, CurveLine{Label: label, Layer: 0.05, Areas: areas})
	}
	return out
}

func TestCurve(t *testing.T) {
	for name, lines := range map[string][]CurveLine{"curve-plate.svg": plateLayers(), "curve-figure.svg": lumps()} {
		svg := Curve(lines, CurveOptions{ID: "layers", Title: "Layer area by height", Description: "Lying, the first layer is the largest <&>."})
		requireWellFormed(t, svg)
		requireGolden(t, name, svg)
		require.Contains(t, svg, "<desc>Lying, the first layer is the largest &lt;&amp;&gt;.</desc>")
		require.Equal(t, svg, Curve(lines, CurveOptions{ID: "layers", Title: "Layer area by height", Description: "Lying, the first layer is the largest <&>."}))
		require.True(t, strings.HasSuffix(string(Standalone(svg)), svg[strings.Index(svg, ">")+1:]+"\n"))
		// Apart without colour: dashes in the key and in the curve.
		require.Len(t, regexp.MustCompile(`class="series series-1"[^>]*stroke-linejoin="round" d=`).FindAllString(svg, -1), 2)
		require.Len(t, regexp.MustCompile(`class="series series-2"[^>]*stroke-dasharray`).FindAllString(svg, -1), 2)
	}
}

// axisScale reads the figures of the axes back: mm of paper for 1 mm² and 1 mm, and
// where nothing is.
func axisScale(t require.TestingT, svg string) (perArea, perMM, originX, originY float64) {
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return v
	}
	found := func(anchor string) (at, value [2]float64) {
		all := regexp.MustCompile(`<text class="ruler" x="([^"]*)" y="([^"]*)"[^>]*text-anchor="`+anchor+`"[^>]*>([^<]*)<`).FindAllStringSubmatch(svg, -1)
		require.GreaterOrEqual(t, len(all), 2)
		axis := 1
		if anchor == "end" {
			axis = 2
		}
		for i, m := range [][]string{all[0], all[len(all)-1]} {
			at[i], value[i] = number(m[axis]), number(m[3])
		}
		require.Zero(t, value[0])
		return at, value
	}
	y, area := found("end")
	x, mm := found("middle")
	axis := pathLines(t, attribute(t, svg, "axis", "d"))
	origin := axis[len(axis)-1][1] // the last line goes down the one axis and along the other
	return (y[0] - y[1]) / area[1], (x[1] - x[0]) / mm[1], origin.X, origin.Y
}

// Every layer stands where the axes' figures say, and none is lost: by the figures
// alone, the areas can be read back from the line.
func TestCurveReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{1, 2, 7, 60, 5000}).Draw(t, "layers")
		scale := math.Pow(10, rapid.Float64Range(-2, 5).Draw(t, "scale"))
		l := CurveLine{Label: "x", Layer: rapid.SampledFrom([]float64{0.03, 0.05, 0.3}).Draw(t, "layer")}
		for range min(n, 60) {
			l.Areas = append(l.Areas, scale*rapid.Float64Range(0.01, 1).Draw(t, "area"))
		}
		spike := -1
		for len(l.Areas) < n {
			l.Areas = append(l.Areas, scale/2)
		}
		if n > 60 {
			spike = rapid.IntRange(60, n-1).Draw(t, "spike")
			l.Areas[spike] = 1.7 * scale
		}
		svg := Curve([]CurveLine{l}, CurveOptions{ID: "c", Title: "t"})
		requireWellFormed(t, svg)
		perArea, perMM, x0, y0 := axisScale(t, svg)
		paths := regexp.MustCompile(`class="series series-1"[^>]* d="([^"]*)"`).FindAllStringSubmatch(svg, -1)
		require.Len(t, paths, 2)
		line := pathLines(t, paths[1][1])[0]
		// Rounding of paths and of the figures' places to 0.01 mm, and the line's
		// simplification to 0.04.
		const within = 0.06
		require.InDelta(t, x0, line[0].X, within)
		require.InDelta(t, x0+float64(n)*l.Layer*perMM, line[len(line)-1].X, within*float64(n)*l.Layer*perMM/20+within)
		top := 0.0
		for _, a := range l.Areas {
			top = max(top, a)
		}
		highest := math.Inf(1)
		for _, p := range line {
			highest = min(highest, p.Y)
		}
		require.InDelta(t, y0-top*perArea, highest, 2*within)
		if n <= 60 {
			for k, a := range l.Areas {
				at := shadow.Point{X: x0 + (float64(k)+0.5)*l.Layer*perMM, Y: y0 - a*perArea}
				nearest := math.Inf(1)
				for i := 1; i < len(line); i++ {
					nearest = min(nearest, distance(at, line[i-1], line[i]))
				}
				require.Less(t, nearest, 3*within, "layer %d", k)
			}
		}
	})
}

func TestCurveOfAnything(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, lines := range [][]CurveLine{
		nil, {{}}, {{Label: "none", Layer: 0.05}}, {{Label: "flat", Layer: 0.05, Areas: []float64{0, 0}}},
		{{Label: "odd <&\x01>", Layer: nan, Areas: []float64{1}}, {Layer: inf, Areas: []float64{1, 2}}, {Layer: -1, Areas: []float64{3}}},
		{{Label: "wild", Layer: 1e-300, Areas: []float64{nan, inf, -inf, -3, 5e-324, 1e300, 1e-29}}},
		{{Label: "vast", Layer: 1e30, Areas: []float64{1e30, 2e30}}, {Label: "b", Layer: 1, Areas: []float64{1}}, {Layer: 2, Areas: []float64{1}}, {Layer: 2, Areas: []float64{1}}},
	} {
		for _, o := range []CurveOptions{{ID: "c", Title: "t"}, {ID: "c", Title: "t", WidthMM: 3, HeightMM: 0.1, TextMM: 9}, {ID: "c", Title: "t", WidthMM: inf, TextMM: nan}} {
			requireWellFormed(t, Curve(lines, o))
		}
	}
	// A quarter of a million layers make a picture of some kilobytes.
	many := make([]float64, 250_000)
	for k := range many {
		many[k] = float64(k*7919%1000) + 1
	}
	require.Less(t, len(Curve([]CurveLine{{Label: "noise", Layer: 0.05, Areas: many}}, CurveOptions{ID: "c", Title: "t"})), 40_000)
}

func TestRoundStepUp(t *testing.T) {
	for v, want := range map[float64]float64{1: 1, 1.01: 2, 2: 2, 2.1: 5, 5: 5, 5.1: 10, 480: 500, 0.012: 0.02, 0.3: 0.5, 1e6: 1e6} {
		require.InEpsilon(t, want, roundStepUp(v), 1e-9, "%v", v)
	}
}
