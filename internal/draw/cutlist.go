package draw

import (
	"html"
	"strconv"
	"strings"

	"cardback/internal/measure/shadow"
	"cardback/internal/words"
)

// CutPieces is a run of equal pieces on a bar.
type CutPieces struct {
	LengthMM float64
	Count    int
}

// CutBar is one way of cutting a bar, used for Times bars.
type CutBar struct {
	Times    int
	Pieces   []CutPieces
	OffcutMM float64 // what is left at the end
}

// CutListOptions describe the bars and say how they are shown.
type CutListOptions struct {
	ID          string // prefix of the ids in the drawing; must be unique on the page
	Title       string // what is shown, for those who do not see it
	Description string // the cuts in words, likewise; empty means the drawing's own
	StockMM     float64
	KerfMM      float64
	WidthMM     float64 // of the picture; 0 means 180
	TextMM      float64 // height of the type; 0 means 3.6
	Inches      bool    // whether the ruler has inches as well
	HideRuler   bool
}

// Widths in mm of the picture, after those of the charts.
const (
	// leastKerf is how wide the gap between two pieces is drawn at least: thinner cuts
	// run together in print. What a gap takes beyond the kerf comes off the pieces
	// beside it in equal halves, so that the cut's middle stands to scale.
	leastKerf = 0.3
	// leastPiece is how wide a piece is drawn at least.
	leastPiece = 0.15
)

// CutList draws bars to scale along their length, one row for each way of cutting,
// as inline SVG: pieces are solid, cuts are gaps, and what is left over is an open,
// dashed end. Above each bar stands how many are cut so and what is left over, below
// it the pieces' lengths, each run of equal ones under a bracket. Bars are as thick
// as they have to be to be seen. Nothing depends on colour. Its user units are mm at
// its stated width; it has no size of its own.
func CutList(bars []CutBar, o CutListOptions) (svg string) {
	defer notDrawn(&svg, o.ID, o.Title)
	sane := ChartOptions{WidthMM: o.WidthMM, TextMM: o.TextMM}.filled()
	o.WidthMM, o.TextMM = sane.WidthMM, sane.TextMM
	o.StockMM, o.KerfMM = max(finite(o.StockMM), 1e-3), finite(o.KerfMM)
	c := cutChart{o: o, scale: o.scale(bars)}
	for _, bar := range bars {
		c.bar(bar)
	}
	if !o.HideRuler {
		c.y = ruler(&c.body, ChartOptions{WidthMM: o.WidthMM, TextMM: o.TextMM, Inches: o.Inches}, layout{scale: c.scale}, c.y)
	}
	var b strings.Builder
	open(&b, "cut-list", o.ID, o.Title, o.WidthMM, max(c.y, o.TextMM), false)
	desc := o.Description
	if desc == "" {
		desc = strings.Join(c.said, " ")
	}
	b.WriteString(`<desc>` + html.EscapeString(xmlText(desc)) + `</desc>`)
	b.WriteString(c.body.String())
	b.WriteString("</svg>")
	return b.String()
}

// scale is the largest at which the bar and the labels under it go on the picture: a
// label begins where its run does.
func (o CutListOptions) scale(bars []CutBar) float64 {
	s := (o.WidthMM - 2*cutEdge) / o.StockMM
	for _, bar := range bars {
		at := 0.0
		for _, p := range bar.Pieces {
			room := o.WidthMM - cutEdge - textWidth(p.label(), o.TextMM) - float64(0.2*o.TextMM)
			if at > 0 && at < o.StockMM && room > o.WidthMM/2 {
				s = min(s, room/at)
			}
			at += float64(float64(max(p.Count, 0)) * (finite(p.LengthMM) + o.KerfMM))
		}
	}
	return s
}

// cutEdge is kept free at both ends of a bar for its outline, in mm of the picture.
const cutEdge = 0.2

// cutChart is one drawing in the making.
type cutChart struct {
	o     CutListOptions
	scale float64
	body  strings.Builder
	y     float64 // of the next row's top
	said  []string
}

func (c *cutChart) text(class, anchor string, x, y float64, s string) {
	c.body.WriteString(`<text class="` + class + `" x="` + short(x) + `" y="` + short(y) + `" font-size="` + short(c.o.TextMM) + `" text-anchor="` + anchor + `" fill="currentColor">` + html.EscapeString(xmlText(s)) + `</text>`)
}

// at is the place of a length along the bar.
func (c *cutChart) at(mm float64) float64 { return cutEdge + float64(mm*c.scale) }

func rectangle(p *pen, x0, x1, y0, y1 float64) {
	p.line([]shadow.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}, true)
}

func (c *cutChart) bar(bar CutBar) {
	t := c.o.TextMM
	c.heading(bar)
	top := c.y + float64(1.5*t)
	foot := top + float64(1.5*t)
	runs, from := c.pieces(bar, top, foot)
	if from < c.o.StockMM && c.at(c.o.StockMM)-c.at(from) > leastPiece {
		p := newPen(2)
		rectangle(p, c.at(from), c.at(c.o.StockMM), top, foot)
		c.body.WriteString(`<path class="offcut" fill="none" stroke="currentColor" stroke-width=".25" stroke-dasharray="1.2 .9" d="` + p.text.String() + `"/>`)
	}
	c.y = c.lengths(runs, foot) + float64(0.5*t)
}

// heading tells above the bar how often it is cut and what is left.
func (c *cutChart) heading(bar CutBar) {
	head := strconv.Itoa(max(bar.Times, 1)) + " × " + words.Rounded(c.o.StockMM, 3) + " mm"
	base := c.y + c.o.TextMM
	c.text("caption", "start", c.at(0), base, head)
	left := words.Rounded(bar.OffcutMM, 3) + " mm left over"
	if bar.OffcutMM <= 0 {
		left = "nothing left over"
	}
	if textWidth(head, c.o.TextMM)+textWidth(left, c.o.TextMM) < c.o.WidthMM-c.o.TextMM {
		c.text("caption", "end", c.at(c.o.StockMM), base, left)
	}
	var parts []string
	for _, p := range bar.Pieces {
		parts = append(parts, p.label()+" mm")
	}
	c.said = append(c.said, head+": "+strings.Join(parts, ", ")+"; "+left+".")
}

func (p CutPieces) label() string {
	s := words.Rounded(p.LengthMM, 3)
	if p.Count > 1 {
		s = strconv.Itoa(p.Count) + " × " + s
	}
	return s
}

// cutRun is where a run of pieces stands in the picture.
type cutRun struct {
	from, to float64
	label    string
}

// pieces draws them and says where each run is, and where along the bar the last cut
// ends.
func (c *cutChart) pieces(bar CutBar, top, foot float64) (runs []cutRun, end float64) {
	p := newPen(2)
	at, drawn := 0.0, 0
	for _, w := range bar.Pieces {
		r := cutRun{from: c.at(at), label: w.label()}
		length := finite(w.LengthMM)
		for range min(max(w.Count, 0), mostDrawn-drawn) {
			drawn++
			x0, x1 := c.at(at), c.at(min(at+length, c.o.StockMM))
			if trim := max(leastKerf-float64(c.o.KerfMM*c.scale), 0) / 2; x1-x0 > 2*trim+leastPiece {
				if at > 0 {
					x0 += trim
				}
				if at+length < c.o.StockMM {
					x1 -= trim
				}
			}
			rectangle(p, x0, max(x1, x0+leastPiece), top, foot)
			at += length
			r.to = c.at(min(at, c.o.StockMM))
			at = min(at+c.o.KerfMM, c.o.StockMM)
		}
		if r.to > r.from {
			runs = append(runs, r)
		}
	}
	c.body.WriteString(`<path class="silhouette" fill="currentColor" d="` + p.text.String() + `"/>`)
	return runs, at
}

// mostDrawn bounds the pieces of one bar that are drawn; the brackets tell of all.
const mostDrawn = 2000

// lengths writes each run's length under a bracket, from its left end on. Where that
// would run into the next, it goes a line deeper, with a line down to it at the
// bracket's left end. A label lies deeper than all to its right that begin before it
// ends, so no line down crosses a label.
func (c *cutChart) lengths(runs []cutRun, foot float64) (bottom float64) {
	t := c.o.TextMM
	p := newPen(2)
	bottom = foot
	bracket := foot + float64(0.4*t)
	depth := make([]int, len(runs))
	for i := len(runs) - 1; i >= 0; i-- {
		r := runs[i]
		ends := r.from + textWidth(r.label, t) + float64(0.4*t)
		for k := i + 1; k < len(runs) && runs[k].from < ends; k++ {
			depth[i] = max(depth[i], depth[k]+1)
		}
		base := foot + float64(float64(depth[i])*1.2*t) + float64(1.5*t)
		p.line([]shadow.Point{{X: r.from, Y: foot + float64(0.15*t)}, {X: r.from, Y: bracket}, {X: r.to, Y: bracket}, {X: r.to, Y: foot + float64(0.15*t)}}, false)
		if depth[i] > 0 {
			p.line([]shadow.Point{{X: r.from, Y: bracket}, {X: r.from, Y: base}}, false)
		}
		c.text("number", "start", r.from+float64(0.2*t), base, r.label)
		bottom = max(bottom, base+float64(0.3*t))
	}
	if len(runs) > 0 {
		c.body.WriteString(`<path class="bracket" fill="none" stroke="currentColor" stroke-width=".2" d="` + p.text.String() + `"/>`)
	}
	return bottom
}
