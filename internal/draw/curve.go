package draw

import (
	"html"
	"math"
	"strconv"
	"strings"

	"cardback/internal/measure/shadow"
	"cardback/internal/words"
)

// CurveLine is the areas of one pose's layers.
type CurveLine struct {
	Label string    // what is told of it in the key: "as supplied, 60 layers"
	Layer float64   // mm, height of a layer
	Areas []float64 // mm², from the lowest layer
}

// CurveOptions say how a curve is shown.
type CurveOptions struct {
	ID          string  // prefix of the ids in the picture; must be unique on the page
	Title       string  // what is shown, for those who do not see it
	Description string  // what can be read from it, likewise; may be empty
	WidthMM     float64 // of the picture; 0 means 100, the width of a phone
	HeightMM    float64 // of the field; 0 means 0.5 of the width
	TextMM      float64 // height of the type; 0 means 3.4
}

func (o CurveOptions) filled() CurveOptions {
	fill := func(v *float64, standard float64) {
		if !(*v > 0) || math.IsInf(*v, 0) {
			*v = standard
		}
	}
	fill(&o.WidthMM, 100)
	fill(&o.HeightMM, 0.5*o.WidthMM)
	fill(&o.TextMM, 3.4)
	return o
}

// patterns tell lines apart without colour: drawn through, dashed, dotted. More
// lines than these begin anew.
var patterns = [...]string{``, ` stroke-dasharray="1.8 1"`, ` stroke-dasharray=".1 1" stroke-linecap="round"`}

// Curve shows layers' areas, upwards, over their height, from left to right, as
// inline SVG. Its user units are mm at its stated width, and it has that as
// its size; a style sheet may let it shrink. Each layer is a step as long as it is
// high; where there are more than can be told apart, the least and the greatest of
// each tenth of a mm of paper are drawn, so that no peak is lost. The key
// stands above, a line of it for each curve. Areas below nothing, or that are no
// number, are drawn as nothing.
func Curve(lines []CurveLine, o CurveOptions) (svg string) {
	defer notDrawn(&svg, o.ID, o.Title)
	o = o.filled()
	tall, most := 0.0, 0.0
	for _, l := range lines {
		tall = max(tall, finite(l.Layer)*float64(len(l.Areas)))
		for _, a := range l.Areas {
			most = max(most, finite(a))
		}
	}
	f := newField(o, tall, most)
	var body strings.Builder
	y := 0.9 * o.TextMM
	for i, l := range lines {
		y = f.key(&body, i, l.Label, y)
	}
	f.top = y + float64(1.9*o.TextMM)
	f.axes(&body)
	for i, l := range lines {
		p := newPen(2)
		if points := f.steps(l); len(points) > 1 {
			p.line(points, false)
			body.WriteString(seriesPath(i, p))
		}
	}
	var b strings.Builder
	open(&b, "curve", o.ID, o.Title, o.WidthMM, f.top+o.HeightMM+float64(3.2*o.TextMM), true)
	if o.Description != "" {
		b.WriteString(`<desc>` + html.EscapeString(xmlText(o.Description)) + `</desc>`)
	}
	b.WriteString(body.String())
	b.WriteString("</svg>")
	return b.String()
}

// finite is v as far as it can be drawn.
func finite(v float64) float64 {
	if v > 1e-30 && !math.IsInf(v, 0) {
		return min(v, 1e30)
	}
	return 0
}

func seriesPath(i int, p *pen) string {
	return `<path class="series series-` + strconv.Itoa(i+1) + `" fill="none" stroke="currentColor" stroke-width=".45" stroke-linejoin="round"` + patterns[i%len(patterns)] + ` d="` + p.text.String() + `"/>`
}

// field is the place of the curves between the axes, in mm of the picture.
type field struct {
	CurveOptions
	left, top, width   float64
	stepX, stepY       float64 // between figures, in mm of height and mm² of area
	farthest, greatest float64 // where the axes end
}

func newField(o CurveOptions, tall, most float64) *field {
	f := &field{CurveOptions: o}
	if tall == 0 {
		tall = 1
	}
	if most == 0 {
		most = 1
	}
	// At least two and a half heights of type from figure to figure.
	f.stepY = roundStepUp(most / max(2, min(5, math.Floor(o.HeightMM/(2.5*o.TextMM)))))
	f.greatest = math.Ceil(most/f.stepY-1e-9) * f.stepY
	wide := 0.0
	for k := 0.0; k*f.stepY <= f.greatest*(1+1e-9); k++ {
		wide = max(wide, textWidth(figureText(k*f.stepY, f.stepY), o.TextMM))
	}
	f.left = wide + float64(0.9*o.TextMM)
	f.width = max(o.WidthMM-f.left-float64(1.2*o.TextMM), o.TextMM)
	f.farthest = tall
	f.stepX = roundStepUp(tall / max(1, min(6, math.Floor(f.width/(textWidth(figureText(tall, tall/4), o.TextMM)+2*o.TextMM)))))
	return f
}

func (f *field) point(height, area float64) shadow.Point {
	return shadow.Point{X: f.left + float64(f.width*(height/f.farthest)), Y: f.top + float64(f.HeightMM*(1-area/f.greatest))}
}

// text writes one label.
func (f *field) text(out *strings.Builder, class, anchor string, x, y float64, s string) {
	out.WriteString(`<text class="` + class + `" x="` + short(x) + `" y="` + short(y) + `" font-size="` + short(f.TextMM) + `" text-anchor="` + anchor + `" fill="currentColor">` + html.EscapeString(xmlText(s)) + `</text>`)
}

// key writes a curve's label beside a piece of its line, over as many lines of type
// as it takes, and returns the height for the next.
func (f *field) key(out *strings.Builder, i int, label string, y float64) float64 {
	sample := 3 * f.TextMM
	p := newPen(2)
	mid := y - float64(0.3*f.TextMM)
	p.line([]shadow.Point{{X: 0.2, Y: mid}, {X: sample, Y: mid}}, false)
	out.WriteString(seriesPath(i, p))
	left := sample + float64(0.6*f.TextMM)
	line := ""
	for _, word := range append(strings.Split(label, " "), "") { // a fixed space does not part words
		// Words, unlike a few figures, average at most 0.53 of their type's height.
		if next := strings.TrimSpace(line + " " + word); word != "" && (line == "" || 0.85*textWidth(next, f.TextMM) <= f.WidthMM-left) {
			line = next
			continue
		}
		f.text(out, "label", "start", left, y, line)
		y += float64(1.35 * f.TextMM)
		line = word
	}
	return y
}

// axes draws both, with fine lines across at the areas' figures.
func (f *field) axes(out *strings.Builder) {
	grid, axis := newPen(2), newPen(2)
	origin, end := f.point(0, 0), f.point(f.farthest, 0)
	tick := 0.35 * f.TextMM
	for k := 0.0; k*f.stepY <= f.greatest*(1+1e-9); k++ {
		p := f.point(0, k*f.stepY)
		if k > 0 {
			grid.line([]shadow.Point{p, {X: end.X, Y: p.Y}}, false)
		}
		axis.line([]shadow.Point{{X: p.X - tick, Y: p.Y}, p}, false)
		f.text(out, "ruler", "end", p.X-tick-float64(0.3*f.TextMM), p.Y+float64(0.35*f.TextMM), figureText(k*f.stepY, f.stepY))
	}
	for k := 0.0; k*f.stepX <= f.farthest*(1+1e-9); k++ {
		p := f.point(k*f.stepX, 0)
		axis.line([]shadow.Point{p, {X: p.X, Y: p.Y + tick}}, false)
		f.text(out, "ruler", "middle", p.X, p.Y+tick+float64(1.05*f.TextMM), figureText(k*f.stepX, f.stepX))
	}
	axis.line([]shadow.Point{f.point(0, f.greatest), origin, end}, false)
	out.WriteString(`<path class="grid" fill="none" stroke="currentColor" stroke-width=".15" stroke-opacity=".3" d="` + grid.text.String() + `"/>`)
	out.WriteString(`<path class="axis" fill="none" stroke="currentColor" stroke-width=".25" d="` + axis.text.String() + `"/>`)
	f.text(out, "caption", "start", 0, f.top-float64(0.85*f.TextMM), "layer area, mm²")
	f.text(out, "caption", "end", end.X, origin.Y+float64(2.75*f.TextMM), "height, mm")
}

// steps is a curve's line: up from nothing, a step for each layer, and down again.
func (f *field) steps(l CurveLine) []shadow.Point {
	layer := finite(l.Layer)
	if layer == 0 || len(l.Areas) == 0 {
		return nil
	}
	const column = 0.1 // mm of paper: less than half a pixel
	columns := max(int(f.width/column), 1)
	out := []shadow.Point{f.point(0, 0)}
	if len(l.Areas) <= columns {
		for k, a := range l.Areas {
			out = append(out, f.point(float64(k)*layer, finite(a)), f.point(float64(k+1)*layer, finite(a)))
		}
	} else {
		for c := range columns {
			lo, hi := c*len(l.Areas)/columns, (c+1)*len(l.Areas)/columns
			least, most := lo, lo
			for k := lo; k < hi; k++ {
				if finite(l.Areas[k]) < finite(l.Areas[least]) {
					least = k
				}
				if finite(l.Areas[k]) > finite(l.Areas[most]) {
					most = k
				}
			}
			for _, k := range []int{min(least, most), max(least, most)} {
				out = append(out, f.point((float64(k)+0.5)*layer, finite(l.Areas[k])))
			}
		}
	}
	out = append(out, f.point(float64(len(l.Areas))*layer, 0))
	return simplify(out, chartTolerance)
}

// roundStepUp is the least of 1, 2, 5 times a power of ten that is at least v.
func roundStepUp(v float64) float64 {
	s := roundStep(v)
	if s >= v*(1-1e-9) {
		return s
	}
	if next := roundStep(2 * s); next > s {
		return next
	}
	return roundStep(2.5 * s * (1 + 1e-9)) // from 2 to 5
}

// figureText is a figure of an axis whose figures are step apart.
func figureText(v, step float64) string {
	if v >= 1e7 || step < 1e-4 {
		return words.Significant(v, 3)
	}
	return words.Fixed(v, max(0, -int(math.Floor(math.Log10(step)+1e-9))))
}
