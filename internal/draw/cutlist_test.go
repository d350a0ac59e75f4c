package draw

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func walkersRods() []CutBar {
	return []CutBar{
		{Times: 1, Pieces: []CutPieces{{26, 4}, {16.5, 1}, {15, 1}, {12.5, 4}, {12, 4}, {11, 4}}, OffcutMM: 4.5},
		{Times: 3, Pieces: []CutPieces{{149.5, 2}}},
		{Times: 1, Pieces: []CutPieces{{90, 1}, {6.8, 2}, {6, 1}, {5.5, 1}, {2, 1}}, OffcutMM: 175.9},
	}
}

func TestCutList(t *testing.T) {
	rod := CutListOptions{ID: "c", Title: "Cut list of rod, 2 mm <&>", StockMM: 300, KerfMM: 1, Inches: true}
	cord := CutListOptions{ID: "c", Title: "Cord", StockMM: 5000, Description: "Five pieces of cord.", WidthMM: 90}
	for name, c := range map[string]struct {
		bars []CutBar
		o    CutListOptions
	}{
		"cutlist-rod.svg":  {walkersRods(), rod},
		"cutlist-cord.svg": {[]CutBar{{Times: 1, Pieces: []CutPieces{{200, 1}, {40, 4}}, OffcutMM: 4640}}, cord},
	} {
		svg := CutList(c.bars, c.o)
		requireWellFormed(t, svg)
		requireGolden(t, name, svg)
		require.Equal(t, svg, CutList(c.bars, c.o))
		require.NotRegexp(t, `(fill|stroke)="(#|rgb)`, svg, "one ink")
	}
	svg := CutList(walkersRods(), rod)
	require.Contains(t, svg, "<title id=\"c-title\">Cut list of rod, 2 mm &lt;&amp;&gt;</title>")
	require.Contains(t, svg, "<desc>1 × 300 mm: 4 × 26 mm, 16.5 mm, 15 mm, 4 × 12.5 mm, 4 × 12 mm, 4 × 11 mm; 4.5 mm left over. 3 × 300 mm: 2 × 149.5 mm; nothing left over. 1 × 300 mm: ")
	for _, text := range []string{">3 × 300 mm<", ">nothing left over<", ">4.5 mm left over<", ">4 × 11<", ">16.5<"} {
		require.Contains(t, svg, text)
	}
	require.Len(t, regexp.MustCompile(`class="offcut"`).FindAllString(svg, -1), 2, "the second bar has none")
	require.NotContains(t, CutList(walkersRods(), CutListOptions{StockMM: 300, HideRuler: true}), `class="ruler"`)
	requireWellFormed(t, CutList(nil, CutListOptions{}))
	requireWellFormed(t, CutList([]CutBar{{Pieces: []CutPieces{{math.NaN(), -3}, {math.Inf(1), 1 << 40}, {0, 5}}, OffcutMM: math.NaN()}}, CutListOptions{StockMM: math.Inf(1), KerfMM: math.NaN()}))
}

// rowsOf reads the drawn pieces of each bar back: where each begins and ends.
func rowsOf(t require.TestingT, svg string) (rows [][][2]float64) {
	for _, m := range regexp.MustCompile(`class="silhouette"[^>]* d="([^"]*)"`).FindAllStringSubmatch(svg, -1) {
		var row [][2]float64
		x := 0.0
		for _, part := range strings.Split(strings.TrimPrefix(m[1], "m"), "m") {
			num := regexp.MustCompile(`-?(\d+\.?\d*|\.\d+)`).FindAllString(part, 3)
			require.GreaterOrEqual(t, len(num), 3, part)
			move, err := strconv.ParseFloat(num[0], 64)
			require.NoError(t, err)
			wide, err := strconv.ParseFloat(num[2], 64)
			require.NoError(t, err)
			x += move
			row = append(row, [2]float64{x, x + wide})
		}
		rows = append(rows, row)
	}
	return rows
}

// Each piece stands where it is cut, to within what a thin kerf is widened by and the
// rounding of the picture; none overlaps the next; labels do not touch.
func TestCutListIsToScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := CutListOptions{StockMM: rapid.Float64Range(100, 1000).Draw(t, "stock"), KerfMM: rapid.Float64Range(0, 2).Draw(t, "kerf")}
		bar := CutBar{Times: 1}
		left := o.StockMM
		var starts []float64
		for left > 0.06*o.StockMM && len(bar.Pieces) < 8 {
			l := rapid.Float64Range(0.03, 0.3).Draw(t, "length") * o.StockMM
			n := rapid.IntRange(1, 3).Draw(t, "count")
			if float64(n)*(l+o.KerfMM) > left {
				break
			}
			for range n {
				starts = append(starts, o.StockMM-left)
				left -= l + o.KerfMM
			}
			bar.Pieces = append(bar.Pieces, CutPieces{l, n})
		}
		if len(starts) == 0 {
			t.Skip("nothing fits")
		}
		bar.OffcutMM = max(left, 0)
		svg := CutList([]CutBar{bar}, o)
		scale := o.filledForTest().scale([]CutBar{bar})
		row := rowsOf(t, svg)[0]
		require.Len(t, row, len(starts))
		i := 0
		for _, p := range bar.Pieces {
			for range p.Count {
				want := [2]float64{cutEdge + starts[i]*scale, cutEdge + (starts[i]+p.LengthMM)*scale}
				require.InDelta(t, want[0], row[i][0], leastKerf/2+0.011)
				require.InDelta(t, want[1], row[i][1], leastKerf/2+0.021)
				if i > 0 {
					require.GreaterOrEqual(t, row[i][0]-row[i-1][1], leastKerf-0.04, "a cut can be seen")
				}
				i++
			}
		}
		requireLabelsApart(t, svg)
	})
}

func (o CutListOptions) filledForTest() CutListOptions {
	sane := ChartOptions{WidthMM: o.WidthMM, TextMM: o.TextMM}.filled()
	o.WidthMM, o.TextMM = sane.WidthMM, sane.TextMM
	return o
}

func requireLabelsApart(t require.TestingT, svg string) {
	type box struct{ x0, x1, y0, y1 float64 }
	var all []box
	for _, m := range regexp.MustCompile(`<text class="number" x="([^"]*)" y="([^"]*)" font-size="([^"]*)" text-anchor="start"[^>]*>([^<]*)<`).FindAllStringSubmatch(svg, -1) {
		var x, y, size float64
		_, err := fmt.Sscan(m[1]+" "+m[2]+" "+m[3], &x, &y, &size)
		require.NoError(t, err)
		b := box{x, x + textWidth(m[4], size), y - 0.75*size, y + 0.2*size}
		require.LessOrEqual(t, b.x1, 180.01, "%s goes over the edge", m[4])
		for _, o := range all {
			apart := b.x1 <= o.x0 || o.x1 <= b.x0 || b.y1 <= o.y0 || o.y1 <= b.y0
			require.True(t, apart, "labels touch: %v %v", b, o)
		}
		all = append(all, b)
	}
	require.NotEmpty(t, all)
}
