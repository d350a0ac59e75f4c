package draw

import (
	"html"
	"math"
	"strconv"
	"strings"

	"cardback/internal/measure/shadow"
)

// ChartItem is one part on a chart.
type ChartItem struct {
	Number   string     // as it is called on the chart: "1", "12a"
	Drawings []*Drawing // the views to show, side by side on one baseline
	Count    int        // how many are printed; above 1 it is written beside the number
	Twin     bool       // its mirror image is printed too: drawn beside the first view
	Group    string     // a caption, such as "Choose one", over neighbours that share it
}

// ChartOptions say how a chart is laid out.
type ChartOptions struct {
	ID        string  // prefix of the ids in the chart; must be unique on the page
	Title     string  // what is shown, for those who do not see it
	WidthMM   float64 // of the picture; 0 means 180. The chart is never wider
	HeightMM  float64 // the scale is chosen so that the rows stay within it, if they can; 0 means 160 or 0.7 of the width, whichever is more
	TextMM    float64 // height of the type; 0 means 3.6
	Scale     float64 // drawn size over true size; 0 means the largest round one that fits
	Inches    bool    // whether the ruler has inches as well
	HideRuler bool
	Centred   bool // rows stand in the middle of the width rather than at its left
}

// roundScales are the scales that a chart chooses from; below the last it goes
// on by halves.
var roundScales = []float64{4, 3, 2, 1.5, 1, 0.75, 2. / 3, 0.5, 0.4, 1. / 3, 0.25, 0.2, 0.15, 0.125, 0.1, 0.075, 0.05}

// On a chart lines are simplified to within chartTolerance; those shorter than
// chartLine, or closer than chartApart to another, are left out. All are mm of
// the chart: where it is shown with type of a legible size, 4 pixels to the mm,
// they are a sixth of a pixel; five pixels, about the height of a small letter;
// and a pixel and a half, the least that leaves ink between two lines.
const (
	chartTolerance = 0.04
	chartLine      = 1.25
	chartApart     = 0.375
)

func (o ChartOptions) filled() ChartOptions {
	fill := func(v *float64, standard float64) {
		if !(*v > 0) || math.IsInf(*v, 0) {
			*v = standard
		}
	}
	fill(&o.WidthMM, 180)
	fill(&o.HeightMM, max(160, 0.7*o.WidthMM))
	fill(&o.TextMM, 3.6)
	return o
}

// Chart is an identification chart of all items, at one scale, in rows, in the
// order given, as inline SVG. Its user units are mm at its stated width. It has
// no size of its own: it fills the width that the page gives it. Items without
// a drawing keep their number.
func Chart(items []ChartItem, o ChartOptions) (svg string) {
	defer notDrawn(&svg, o.ID, o.Title)
	o = o.filled()
	l := layOut(items, o)
	var b, body strings.Builder
	y := 0.0
	text := func(class, anchor string, x, y float64, s string) {
		body.WriteString(`<text class="` + class + `" x="` + short(x) + `" y="` + short(y) + `" font-size="` + short(o.TextMM) + `" text-anchor="` + anchor + `" fill="currentColor">` + html.EscapeString(xmlText(s)) + `</text>`)
	}
	for _, row := range l.rows {
		if row.captioned {
			y += float64(l.captionHeight)
		}
		baseline := y + row.height
		shift := 0.0
		if last := row.cells[len(row.cells)-1]; o.Centred {
			shift = max(0, (o.WidthMM-last.x-last.width)/2)
		}
		named := false
		for i, c := range row.cells {
			c.x += shift
			named = named || c.label != ""
			if row.opens(i) {
				left, right := c.x, row.groupEnd(i)+shift
				text("caption", "start", left, y-float64(0.55*o.TextMM), c.item.Group)
				p := newPen(2)
				p.line([]shadow.Point{{X: left, Y: y - float64(0.2*o.TextMM)}, {X: right, Y: y - float64(0.2*o.TextMM)}}, false)
				body.WriteString(`<path class="bracket" fill="none" stroke="currentColor" stroke-width=".2" d="` + p.text.String() + `"/>`)
			}
			x := c.x + (c.width-c.drawn)/2
			for _, v := range c.views {
				t := placed{x: x, bottom: baseline, scale: l.scale}
				if v.mirrored {
					t.mirror = v.drawing.Width
				}
				v.drawing.reduced(chartTolerance/l.scale, chartLine/l.scale, chartApart/l.scale).shapes(&body, t, 2, true)
				x += float64(v.drawing.Width*l.scale) + l.viewGap
			}
			text("number", "middle", c.x+c.width/2, baseline+float64(1.35*o.TextMM), c.label)
		}
		y = baseline
		if named {
			y += l.labelHeight
		}
	}
	if !o.HideRuler {
		y = ruler(&body, o, l, y)
	}
	open(&b, "chart", o.ID, o.Title, o.WidthMM, y, false)
	b.WriteString(body.String())
	b.WriteString("</svg>")
	return b.String()
}

// label is what stands under an item: its number, and "×2".
func (it ChartItem) label() string {
	s := it.Number
	if it.Count > 1 {
		s = strings.TrimSpace(s + " ×" + strconv.Itoa(it.Count))
	}
	return s
}

// Choose picks n of a part's views for a chart: those with the largest
// silhouettes, in the order of the views. Of two views equally large the
// earlier is taken.
func Choose(views [3]*Drawing, n int) []*Drawing {
	taken := [3]bool{}
	for range min(n, 3) {
		best := -1
		for i, d := range views {
			if d == nil || taken[i] {
				continue
			}
			if best < 0 || d.Outline.Area() > views[best].Outline.Area()*(1+1e-9) {
				best = i
			}
		}
		if best >= 0 {
			taken[best] = true
		}
	}
	var out []*Drawing
	for i, d := range views {
		if taken[i] {
			out = append(out, d)
		}
	}
	return out
}
