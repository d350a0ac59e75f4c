package draw

import (
	"html"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/measure/shadow"
	"cardback/internal/words"
)

// PlateItem is one copy of a part where it lies on a plate.
type PlateItem struct {
	Number  string         // on the release's chart: written on the silhouette
	Name    string         // in the list beside the plate; copies share number and name
	Outline shadow.Outline // in mm, Y up, from the plate's lower left corner
}

// PlateChartOptions describe a plate and say how it is shown.
type PlateChartOptions struct {
	ID          string  // prefix of the ids in the chart; must be unique on the page
	Title       string  // what is shown, for those who do not see it
	Description string  // what lies on it, likewise; empty means the list of names
	PlateWidth  float64 // mm; a round plate has its diameter twice
	PlateDepth  float64
	Margin      float64 // kept free along the edge, mm
	Round       bool
	WidthMM     float64 // of the picture; 0 means 180
	TextMM      float64 // height of the type; 0 means 3.6
	Inches      bool    // whether lengths are told in inches as well
	HideRuler   bool
}

// PlateChart is a plate seen from above with what lies on it, at the largest round
// scale up to true size, as inline SVG. The plate's edge is drawn through, the line of
// its margin is dashed; silhouettes are solid and carry their part's number, or
// have it beside them where it does not go on. Width and depth are written on two
// sides, the names of the parts beside or below, and a ruler comes last.
// Its user units are mm at its stated width. It has no size of its own.
func PlateChart(items []PlateItem, o PlateChartOptions) (svg string) {
	defer notDrawn(&svg, o.ID, o.Title)
	sane := ChartOptions{WidthMM: o.WidthMM, TextMM: o.TextMM}.filled()
	o.WidthMM, o.TextMM = sane.WidthMM, sane.TextMM
	o.PlateWidth, o.PlateDepth = max(finite(o.PlateWidth), 1e-3), max(finite(o.PlateDepth), 1e-3)
	o.Margin = min(finite(o.Margin), min(o.PlateWidth, o.PlateDepth)/2)
	c := newPlateChart(items, o)
	var body, b strings.Builder
	c.frame(&body)
	c.silhouettes(&body)
	c.numbers(&body)
	c.dimensions(&body)
	y := c.list(&body)
	if !o.HideRuler {
		y = ruler(&body, ChartOptions{WidthMM: o.WidthMM, TextMM: o.TextMM, Inches: o.Inches}, layout{scale: c.scale}, y)
	}
	open(&b, "plate-chart", o.ID, o.Title, o.WidthMM, y, false)
	desc := o.Description
	if desc == "" {
		desc = "On the plate: " + strings.Join(c.legend, "; ") + "."
		if len(c.legend) == 0 {
			desc = "The plate is empty."
		}
	}
	b.WriteString(`<desc>` + html.EscapeString(xmlText(desc)) + `</desc>`)
	b.WriteString(body.String())
	b.WriteString("</svg>")
	return b.String()
}

// plateChart is one chart in the making. All places are mm of the picture, Y down.
type plateChart struct {
	PlateChartOptions
	scale           float64
	at              placed
	left, top       float64 // the plate's upper left corner
	width, depth    float64 // as drawn
	items           []PlateItem
	rings           [][]shadow.Ring // of each item, as drawn
	boxes           []block         // around them
	labels          []block         // taken by numbers so far
	legend          []string        // "3 Upper arm ×2"
	legendWidth     float64         // of the widest
	legendOnTheSide bool
}

func newPlateChart(items []PlateItem, o PlateChartOptions) *plateChart {
	c := &plateChart{PlateChartOptions: o, items: items}
	c.listNames()
	c.left, c.top = 2.1*o.TextMM, 0.2
	room := max(o.WidthMM-c.left-0.2, 1)
	fits := func(s float64) bool { return max(o.PlateWidth, o.PlateDepth)*s <= room*(1+1e-9) }
	c.scale = 1
	for _, s := range roundScales {
		if s <= 1 {
			if c.scale = s; fits(s) {
				break
			}
		}
	}
	for !fits(c.scale) {
		c.scale /= 2
	}
	c.width, c.depth = float64(o.PlateWidth*c.scale), float64(o.PlateDepth*c.scale)
	c.legendOnTheSide = room-c.width >= c.legendWidth+float64(1.5*o.TextMM) && float64(len(c.legend))*1.35*o.TextMM <= max(c.depth, 20)
	c.at = placed{x: c.left, bottom: c.top + c.depth, scale: c.scale}
	for _, it := range items {
		var rings []shadow.Ring
		for _, r := range it.Outline.Simplify(chartTolerance / c.scale) {
			rings = append(rings, c.at.points(r))
		}
		c.rings = append(c.rings, rings)
		c.boxes = append(c.boxes, boxAround(rings))
	}
	return c
}

// listNames gathers the copies of each part, in the order of their first.
func (c *plateChart) listNames() {
	type key struct{ number, name string }
	times := map[key]int{}
	var order []key
	for _, it := range c.items {
		k := key{it.Number, it.Name}
		if times[k] == 0 {
			order = append(order, k)
		}
		times[k]++
	}
	slices.SortStableFunc(order, func(a, b key) int {
		m, err1 := strconv.Atoi(a.number)
		n, err2 := strconv.Atoi(b.number)
		if err1 != nil || err2 != nil {
			return 0
		}
		return m - n
	})
	for _, k := range order {
		s := strings.TrimSpace(k.number + " " + k.name)
		if n := times[k]; n > 1 {
			s += " ×" + strconv.Itoa(n)
		}
		c.legend = append(c.legend, s)
		c.legendWidth = max(c.legendWidth, wordsWidth(s, c.TextMM))
	}
}

// wordsWidth is as textWidth, of words, which average less than figures.
func wordsWidth(s string, height float64) float64 { return 0.9 * textWidth(s, height) }

// frame draws the plate's edge and the line of its margin.
func (c *plateChart) frame(out *strings.Builder) {
	for _, line := range []struct {
		class, look string
		in          float64
	}{{"edge", `stroke-width=".3"`, 0}, {"margin", `stroke-width=".18" stroke-dasharray="1.2 .9"`, c.Margin * c.scale}} {
		if line.class == "margin" && line.in <= 0 {
			continue
		}
		w, d := max(c.width-2*line.in, 0), max(c.depth-2*line.in, 0)
		look := ` fill="none" stroke="currentColor" ` + line.look + `/>`
		if c.Round {
			out.WriteString(`<circle class="` + line.class + `" cx="` + short(c.left+c.width/2) + `" cy="` + short(c.top+c.depth/2) + `" r="` + short(w/2) + `"` + look)
			continue
		}
		x0, y0, x1, y1 := c.left+line.in, c.top+line.in, c.left+line.in+w, c.top+line.in+d
		p := newPen(2)
		p.line([]shadow.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}, true)
		out.WriteString(`<path class="` + line.class + `" d="` + p.text.String() + `"` + look)
	}
}

func (c *plateChart) silhouettes(out *strings.Builder) {
	for _, rings := range c.rings {
		p := newPen(2)
		for _, r := range rings {
			p.line(r, true)
		}
		if p.text.Len() > 0 {
			out.WriteString(`<path class="silhouette" fill="currentColor" fill-rule="evenodd" d="` + p.text.String() + `"/>`)
		}
	}
}

// dimensions writes width and depth on lines with ticks, below and to the left.
func (c *plateChart) dimensions(out *strings.Builder) {
	tick := 0.35 * c.TextMM
	small := 0.8 * c.TextMM
	p := newPen(2)
	y := c.top + c.depth + float64(0.6*c.TextMM)
	right, bottom := c.left+c.width, c.top+c.depth
	p.line([]shadow.Point{{X: c.left, Y: y}, {X: right, Y: y}}, false)
	for _, x := range []float64{c.left, right} {
		p.line([]shadow.Point{{X: x, Y: y - tick}, {X: x, Y: y + tick}}, false)
	}
	text := c.lengthText(c.PlateWidth)
	if c.Round {
		text = "⌀ " + text
	}
	c.text(out, "dimension", "middle", c.left+c.width/2, y+float64(1.1*c.TextMM), small, text)
	if !c.Round {
		x := c.left - float64(0.6*c.TextMM)
		p.line([]shadow.Point{{X: x, Y: c.top}, {X: x, Y: bottom}}, false)
		for _, y := range []float64{c.top, bottom} {
			p.line([]shadow.Point{{X: x - tick, Y: y}, {X: x + tick, Y: y}}, false)
		}
		tx, ty := short(x-float64(0.45*c.TextMM)), short(c.top+c.depth/2)
		out.WriteString(`<text class="dimension" x="` + tx + `" y="` + ty + `" font-size="` + short(small) + `" text-anchor="middle" transform="rotate(-90 ` + tx + ` ` + ty + `)" fill="currentColor">` + html.EscapeString(c.lengthText(c.PlateDepth)) + `</text>`)
	}
	out.WriteString(`<path class="dimension" fill="none" stroke="currentColor" stroke-width=".18" d="` + p.text.String() + `"/>`)
}

func (c *plateChart) lengthText(mm float64) string {
	s := words.Rounded(mm, 3) + " mm"
	if c.Inches {
		s += " (" + words.Fixed(mm/mmPerInch, 2) + " in)"
	}
	return s
}

// list writes the names, on the side or below in columns, and returns the height
// so far.
func (c *plateChart) list(out *strings.Builder) float64 {
	below := c.top + c.depth + float64(2.1*c.TextMM)
	line := 1.35 * c.TextMM
	if c.legendOnTheSide {
		x, y := c.left+c.width+float64(1.2*c.TextMM), c.top+c.TextMM
		for _, s := range c.legend {
			c.text(out, "name", "start", x, y, c.TextMM, s)
			y += line
		}
		return max(below, y)
	}
	column := c.legendWidth + float64(1.5*c.TextMM)
	columns := max(int((c.WidthMM+1.5*c.TextMM)/column), 1)
	rows := (len(c.legend) + columns - 1) / columns
	y := below + c.TextMM
	for i, s := range c.legend {
		c.text(out, "name", "start", float64(i/rows)*column, y+float64(i%rows)*line, c.TextMM, s)
	}
	return y + float64(rows)*line - float64(0.5*c.TextMM)
}

// text writes one label.
func (c *plateChart) text(out *strings.Builder, class, anchor string, x, y, size float64, s string) {
	out.WriteString(`<text class="` + class + `" x="` + short(x) + `" y="` + short(y) + `" font-size="` + short(size) + `" text-anchor="` + anchor + `" fill="currentColor">` + html.EscapeString(xmlText(s)) + `</text>`)
}
