package draw

import (
	"html"
	"strings"

	"cardback/internal/measure/shadow"
)

// HardwareOptions describe a length of rod, wire or cord.
type HardwareOptions struct {
	ID, Title  string
	DiameterMM float64
	LengthMM   float64
	WidthMM    float64 // room for the picture; 0 means 100. Longer stock is drawn with a break
	TextMM     float64 // height of the type; 0 means 3.6
	Label      string  // written under it: "32 mm"
}

// Hardware draws a cut length to size: a bar as long and thick as the piece,
// with its length under it. A piece that is longer than the room is shown
// broken, as the trade draws it, with its length written all the same.
func Hardware(o HardwareOptions) (svg string) {
	defer notDrawn(&svg, o.ID, o.Title)
	if !(o.WidthMM > 0) {
		o.WidthMM = 100
	}
	if !(o.TextMM > 0) {
		o.TextMM = 3.6
	}
	thick := max(o.DiameterMM, 0.1)
	length := min(o.LengthMM, o.WidthMM)
	broken := o.LengthMM > o.WidthMM
	width := max(length, min(textWidth(o.Label, o.TextMM), o.WidthMM))
	left := (width - length) / 2
	top := 0.5 * thick // room for the break's slant
	p := newPen(2)
	bar := func(from, to, slantFrom, slantTo float64) {
		p.line([]shadow.Point{{X: from + slantFrom, Y: top + thick}, {X: to + slantTo, Y: top + thick}, {X: to - slantTo, Y: top}, {X: from - slantFrom, Y: top}}, true)
	}
	if broken {
		mid, slant := left+length/2, min(0.3*thick, 1)
		bar(left, mid-0.8-slant, 0, slant)
		bar(mid+0.8+slant, left+length, slant, 0)
	} else {
		bar(left, left+length, 0, 0)
	}
	base := top + thick + float64(1.2*o.TextMM)
	q := newPen(2)
	end := func(x float64) {
		q.line([]shadow.Point{{X: x, Y: top + thick + float64(0.15*o.TextMM)}, {X: x, Y: top + thick + float64(0.6*o.TextMM)}}, false)
	}
	end(left)
	end(left + length)
	var b strings.Builder
	open(&b, "hardware", o.ID, o.Title, width, base+float64(0.4*o.TextMM), true)
	b.WriteString(`<path class="silhouette" fill="currentColor" d="` + p.text.String() + `"/>`)
	b.WriteString(`<path class="ruler" fill="none" stroke="currentColor" stroke-width=".2" d="` + q.text.String() + `"/>`)
	b.WriteString(`<text class="number" x="` + short(width/2) + `" y="` + short(base) + `" font-size="` + short(o.TextMM) + `" text-anchor="middle" fill="currentColor">` + html.EscapeString(xmlText(o.Label)) + `</text></svg>`)
	return b.String()
}
