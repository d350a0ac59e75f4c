package draw

import (
	"bytes"
	"encoding/xml"
	"flag"
	"image"
	"image/color"
	_ "image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/measure/shadow"
)

var update = flag.Bool("update", false, "write the golden drawings anew")

func requireGolden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("../../testdata/draw", name)
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, string(want), got)
}

// requireWellFormed parses a picture and checks what a strict page asks of it:
// one root, no style, no script, names that lead to the title.
func requireWellFormed(t require.TestingT, svg string) {
	dec := xml.NewDecoder(strings.NewReader(svg))
	ids, labelled, roots, depth := map[string]bool{}, "", 0, 0
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		switch e := tok.(type) {
		case xml.StartElement:
			if depth == 0 {
				roots++
				require.Equal(t, "svg", e.Name.Local)
			}
			depth++
			require.Contains(t, []string{"svg", "title", "desc", "path", "circle", "text"}, e.Name.Local)
			for _, a := range e.Attr {
				require.NotEqual(t, "style", a.Name.Local)
				require.False(t, strings.HasPrefix(a.Name.Local, "on"))
				switch a.Name.Local {
				case "id":
					require.False(t, ids[a.Value])
					ids[a.Value] = true
				case "aria-labelledby":
					labelled = a.Value
				case "d", "viewBox":
					require.NotRegexp(t, `NaN|Inf|e`, a.Value)
				}
			}
		case xml.EndElement:
			depth--
		}
	}
	require.Equal(t, 1, roots)
	require.True(t, ids[labelled], "the picture's name")
}

// pathLines reads path data back into absolute lines: an independent check of
// the pen.
func pathLines(t require.TestingT, d string) [][]shadow.Point {
	tokens := regexp.MustCompile(`[a-z]|-?(\d+\.?\d*|\.\d+)`).FindAllString(d, -1)
	require.Equal(t, strings.ReplaceAll(d, " ", ""), strings.Join(tokens, ""))
	var lines [][]shadow.Point
	var at, start shadow.Point
	letter := ""
	for i := 0; i < len(tokens); {
		if c := tokens[i]; c >= "a" {
			letter = c
			i++
			if c == "z" {
				at = start
			}
			continue
		}
		num := func() float64 {
			v, err := strconv.ParseFloat(tokens[i], 64)
			require.NoError(t, err)
			i++
			return v
		}
		switch letter {
		case "m":
			at = shadow.Point{X: at.X + num(), Y: at.Y + num()}
			start = at
			lines = append(lines, nil)
			letter = "l"
		case "l":
			at = shadow.Point{X: at.X + num(), Y: at.Y + num()}
		case "h":
			at.X += num()
		case "v":
			at.Y += num()
		default:
			require.Fail(t, "letter "+letter)
		}
		lines[len(lines)-1] = append(lines[len(lines)-1], at)
	}
	return lines
}

func attribute(t require.TestingT, svg, class, name string) string {
	found := regexp.MustCompile(`<\w+ class="` + class + `"[^>]* ` + name + `="([^"]*)"`).FindStringSubmatch(svg)
	require.NotNil(t, found, "%s of %s", name, class)
	return found[1]
}

func TestNumbersArePrintedShort(t *testing.T) {
	for _, c := range []struct {
		steps    int64
		decimals int
		want     string
	}{{0, 2, "0"}, {100, 2, "1"}, {-100, 2, "-1"}, {5, 2, ".05"}, {-50, 2, "-.5"}, {123, 2, "1.23"}, {1230, 2, "12.3"}, {7, 0, "7"}, {100000, 2, "1000"}} {
		require.Equal(t, c.want, formatSteps(c.steps, c.decimals))
	}
}

// What is printed, read back, is every point to within half a step.
func TestPathReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.Float64Range(-200, 200)
		point := rapid.Custom(func(t *rapid.T) shadow.Point {
			p := shadow.Point{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y")}
			if rapid.Bool().Draw(t, "whole") {
				p = shadow.Point{X: math.Round(p.X / 50), Y: math.Round(p.Y / 50)}
			}
			return p
		})
		lines := rapid.SliceOfN(rapid.SliceOfN(point, 2, 12), 1, 4).Draw(t, "lines")
		closed := rapid.Bool().Draw(t, "closed")
		p := newPen(2)
		for _, l := range lines {
			p.line(l, closed)
		}
		got := pathLines(t, p.text.String())
		require.Len(t, got, len(lines))
		for i, l := range lines {
			k := 0
			for _, q := range l {
				// A point that rounds to the one before it is not printed.
				if k < len(got[i]) && math.Abs(got[i][k].X-q.X) < 0.0051 && math.Abs(got[i][k].Y-q.Y) < 0.0051 {
					k++
					continue
				}
				require.Positive(t, k)
				require.InDelta(t, got[i][k-1].X, q.X, 0.0051)
				require.InDelta(t, got[i][k-1].Y, q.Y, 0.0051)
			}
			require.Equal(t, len(got[i]), k)
		}
	})
}

func TestFigure(t *testing.T) {
	d := mustDraw(t, turn(torus(64, 32, 10, 3), 0, 55), shadow.Top)
	svg := Figure(d, FigureOptions{ID: "ring", Title: "Ring, from above <& \"so\">\x01"})
	requireWellFormed(t, svg)
	requireGolden(t, "torus.svg", svg)
	area := 0.0
	for _, l := range pathLines(t, attribute(t, svg, "silhouette", "d")) {
		area -= shadow.Outline{l}.Area() // Y runs down on paper
	}
	require.InEpsilon(t, d.Outline.Area(), area, 1e-3)
	double := Figure(d, FigureOptions{ID: "a", Title: "b", Scale: 2, Mirrored: true})
	requireWellFormed(t, double)
	area = 0
	for _, l := range pathLines(t, attribute(t, double, "silhouette", "d")) {
		area += shadow.Outline{l}.Area() // and the mirror turns it back
	}
	require.InEpsilon(t, 4*d.Outline.Area(), area, 1e-3)
	turned := mustDraw(t, turn(together(box(0, 0, 0, 30, 20, 10), box(10, 5, 10, 20, 15, 18)), 35, 25), shadow.Front)
	requireGolden(t, "blocks.svg", Figure(turned, FigureOptions{ID: "blocks", Title: "Two blocks"}))
}

func sampleItems(t require.TestingT) []ChartItem {
	ring := mustDraw(t, turn(torus(64, 32, 10, 3), 0, 55), shadow.Top)
	blocks := turn(together(box(0, 0, 0, 30, 20, 10), box(10, 5, 10, 20, 15, 18)), 35, 25)
	front, side := mustDraw(t, blocks, shadow.Front), mustDraw(t, blocks, shadow.Side)
	pin := mustDraw(t, box(0, 0, 0, 2, 2, 12), shadow.Front)
	bar := mustDraw(t, box(0, 0, 0, 70, 6, 9), shadow.Front)
	return []ChartItem{
		{Number: "1", Drawings: []*Drawing{front, side}},
		{Number: "2", Drawings: []*Drawing{ring}, Group: "Choose one"},
		{Number: "3", Drawings: []*Drawing{pin}, Group: "Choose one"},
		{Number: "4", Drawings: []*Drawing{pin}, Count: 12},
		{Number: "5", Drawings: []*Drawing{side}, Twin: true},
		{Number: "6", Drawings: []*Drawing{bar}},
		{Number: "7"},
	}
}

func TestChart(t *testing.T) {
	items := sampleItems(t)
	for name, o := range map[string]ChartOptions{
		"chart-phone.svg": {ID: "c", Title: "All parts", WidthMM: 90, Inches: true},
		"chart-desk.svg":  {ID: "c", Title: "All parts", WidthMM: 240},
	} {
		svg := Chart(items, o)
		requireWellFormed(t, svg)
		requireGolden(t, name, svg)
		require.Equal(t, svg, Chart(items, o))
		numbers := regexp.MustCompile(`<text class="number"[^>]*>([^<]*)<`).FindAllStringSubmatch(svg, -1)
		require.Len(t, numbers, len(items))
		require.Equal(t, "1", numbers[0][1])
		require.Equal(t, "4 ×12", numbers[3][1])
		require.Contains(t, svg, ">Choose one<")
		for _, d := range regexp.MustCompile(` d="([^"]*)"`).FindAllStringSubmatch(svg, -1) {
			for _, l := range pathLines(t, d[1]) {
				for _, p := range l {
					require.True(t, p.X >= -0.01 && p.X <= o.WidthMM+0.01, "%v", p)
				}
			}
		}
	}
}

// The box of the sixth item is 70 by 9 mm: on a chart with a given scale its
// rectangle measures that times the scale, and so does the ruler.
func TestChartIsToScale(t *testing.T) {
	items := sampleItems(t)[5:6]
	for _, scale := range []float64{0.5, 1, 2} {
		svg := Chart(items, ChartOptions{ID: "c", Title: "t", WidthMM: 200, Scale: scale, Inches: true})
		area := -shadow.Outline{pathLines(t, attribute(t, svg, "silhouette", "d"))[0]}.Area()
		require.InEpsilon(t, 70*9*scale*scale, area, 1e-3)
		var figures []float64
		var at []float64
		for _, m := range regexp.MustCompile(`<text class="ruler" x="([^"]*)" y="([^"]*)"[^>]*middle[^>]*>(\d+)<`).FindAllStringSubmatch(svg, -1) {
			x, _ := strconv.ParseFloat(m[1], 64)
			n, _ := strconv.ParseFloat(m[3], 64)
			if len(figures) > 0 && n == 0 {
				n, x = 0, at[0] // the inch side begins
				require.Greater(t, len(figures), 3)
				figures, at = nil, nil
			}
			figures, at = append(figures, n), append(at, x)
			unit := mmPerInch
			if strings.Index(svg, ">"+m[3]+"<") > 0 && !strings.Contains(svg[:strings.Index(svg, m[0])], ">mm<") {
				unit = 1
			}
			require.InDelta(t, at[0]+n*unit*scale, x, 0.02)
		}
		require.GreaterOrEqual(t, len(figures), 2)
	}
}

func TestCrowdedLinesAreThinnedOut(t *testing.T) {
	line := func(y float64) []shadow.Point { return []shadow.Point{{X: 1, Y: y}, {X: 19, Y: y}} }
	across := []shadow.Point{{X: 10, Y: 0.1}, {X: 10, Y: 9.9}}
	d := &Drawing{
		Outline: shadow.Outline{{{X: 0, Y: 0}, {X: 20, Y: 0}, {X: 20, Y: 10}, {X: 0, Y: 10}}},
		Depths:  [][]shadow.Point{line(4)},
		Creases: [][]shadow.Point{line(0.2), line(4.2), line(6), line(6.3), across, {{X: 1, Y: 8}, {X: 1.8, Y: 8}}},
	}
	r := d.reduced(0.01, 1, 0.4)
	require.Equal(t, d.Depths, r.Depths)
	require.Equal(t, [][]shadow.Point{line(6), across}, r.Creases)
	require.Len(t, d.Creases, 6, "the drawing itself stays as it is")
}

func TestTickRanks(t *testing.T) {
	for _, c := range []struct{ step, least, second, third, fine float64 }{
		{10, 0.8, 5, 1, 1},
		{10, 1.2, 5, 1, 5},
		{20, 0.8, 10, 5, 1},
		{20, 1.5, 10, 5, 5},
		{50, 0.8, 10, 5, 1},
		{100, 1.6, 50, 10, 2},
		{100, 4, 50, 10, 5},
		{100, 12, 50, 10, 50},
		{5, 0.2, 1, 0.5, 0.5},
		{200, 4, 100, 50, 5},
	} {
		second, third, fine := tickRanks(c.step, c.least)
		require.InDeltaSlice(t, []float64{c.second, c.third, c.fine}, []float64{second, third, fine}, 1e-9, "%v", c)
	}
}

func TestChartOfOddItems(t *testing.T) {
	for _, items := range [][]ChartItem{nil, {{}}, {{Number: "1", Drawings: []*Drawing{{}}}}, {{Number: "<&>", Group: "a\x00b"}}} {
		requireWellFormed(t, Chart(items, ChartOptions{ID: "x", Title: "y"}))
	}
	huge := &Drawing{Width: 1e7, Height: 1e5}
	requireWellFormed(t, Chart([]ChartItem{{Number: "1", Drawings: []*Drawing{huge}}}, ChartOptions{ID: "x", Title: "y", WidthMM: 90}))
}

// Rows keep the order, stay within the width, and leave even gaps.
func TestRowsFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var items []ChartItem
		for i := range rapid.IntRange(1, 30).Draw(t, "items") {
			it := ChartItem{Number: strconv.Itoa(i + 1), Count: rapid.IntRange(1, 20).Draw(t, "count"), Twin: rapid.Bool().Draw(t, "twin")}
			for range rapid.IntRange(1, 2).Draw(t, "views") {
				it.Drawings = append(it.Drawings, &Drawing{Width: rapid.Float64Range(0.5, 300).Draw(t, "width"), Height: rapid.Float64Range(0.5, 300).Draw(t, "height")})
			}
			if rapid.Bool().Draw(t, "grouped") {
				it.Group = "Choose one of these"
			}
			items = append(items, it)
		}
		o := ChartOptions{WidthMM: rapid.SampledFrom([]float64{90, 180, 260}).Draw(t, "chart")}.filled()
		l := layOut(items, o)
		next := 1
		for _, r := range l.rows {
			x := 0.0
			for i, c := range r.cells {
				require.Equal(t, strconv.Itoa(next), c.item.Number)
				next++
				if i > 0 {
					require.GreaterOrEqual(t, c.x-x, leastGap(o)*(1-1e-9))
				}
				x = c.x + c.width
			}
			require.LessOrEqual(t, x, o.WidthMM*(1+1e-9))
		}
		require.Equal(t, len(items)+1, next)
	})
}

func TestChoosePicksTheLargestViews(t *testing.T) {
	m := box(0, 0, 0, 30, 20, 10)
	var all [3]*Drawing
	for _, v := range shadow.Views {
		all[v] = mustDraw(t, m, v)
	}
	require.Equal(t, []*Drawing{all[shadow.Top]}, Choose(all, 1))
	require.Equal(t, []*Drawing{all[shadow.Front], all[shadow.Top]}, Choose(all, 2))
	require.Equal(t, all[:], Choose(all, 3))
	require.Empty(t, Choose([3]*Drawing{}, 2))
}

func TestHardwareIsToSize(t *testing.T) {
	svg := Hardware(HardwareOptions{ID: "h", Title: "Rod", DiameterMM: 1.5, LengthMM: 32, Label: "32 mm"})
	requireWellFormed(t, svg)
	requireGolden(t, "rod.svg", svg)
	require.InDelta(t, -32*1.5, shadow.Outline{pathLines(t, attribute(t, svg, "silhouette", "d"))[0]}.Area(), 0.01)
	long := Hardware(HardwareOptions{ID: "h", Title: "Rod", DiameterMM: 3, LengthMM: 300, Label: "300 mm"})
	requireWellFormed(t, long)
	require.Len(t, pathLines(t, attribute(t, long, "silhouette", "d")), 2, "broken")
	requireGolden(t, "rod-broken.svg", long)
}

func TestStandaloneIsADocument(t *testing.T) {
	file := Standalone(Chart(sampleItems(t), ChartOptions{ID: "c", Title: "All parts"}))
	require.True(t, bytes.HasPrefix(file, []byte("<?xml")))
	require.Contains(t, string(file), `xmlns="http://www.w3.org/2000/svg"`)
	require.Contains(t, string(file), "prefers-color-scheme:dark")
	dec := xml.NewDecoder(bytes.NewReader(file))
	for {
		_, err := dec.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
	}
}

// The share of ink on a thumbnail is the silhouette's area at its scale.
func TestThumbnailHasItsInk(t *testing.T) {
	bar := mustDraw(t, box(0, 0, 0, 60, 6, 20), shadow.Front)
	o := PNGOptions{Width: 300, Height: 200}
	text, err := PNG([]ChartItem{{Drawings: []*Drawing{bar}}}, o)
	require.NoError(t, err)
	again, err := PNG([]ChartItem{{Drawings: []*Drawing{bar}}}, o)
	require.NoError(t, err)
	require.Equal(t, text, again)
	img, format, err := image.Decode(bytes.NewReader(text))
	require.NoError(t, err)
	require.Equal(t, "png", format)
	require.Equal(t, image.Rect(0, 0, 300, 200), img.Bounds())
	dark := 0
	for y := range 200 {
		for x := range 300 {
			if g := color.GrayModel.Convert(img.At(x, y)).(color.Gray); g.Y < 128 {
				dark++
			}
		}
	}
	// The bar is as wide as the room: 300 less two margins of 6 % of 200, to within the scale's 1 %.
	width := 300 - 2*0.06*200
	require.InEpsilon(t, width*width/3, float64(dark), 0.04)
	require.Less(t, color.GrayModel.Convert(img.At(150, 100)).(color.Gray).Y, uint8(60))
	require.Greater(t, color.GrayModel.Convert(img.At(150, 20)).(color.Gray).Y, uint8(200))
	empty, err := PNG(nil, PNGOptions{})
	require.NoError(t, err)
	require.NotEmpty(t, empty)
	_, err = PNG(nil, PNGOptions{Width: 100000})
	require.ErrorContains(t, err, "16 to 2400")
}
