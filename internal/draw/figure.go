package draw

import (
	"html"
	"strconv"
	"strings"
)

// FigureOptions say how one drawing is shown.
type FigureOptions struct {
	ID       string  // prefix of the ids in the figure; must be unique on the page
	Title    string  // what is shown, for those who do not see it
	Scale    float64 // printed size over true size; 0 means 1
	Mirrored bool    // shown as its mirror image
	Marks    []Mark  // places pointed out; they give the figure a margin
}

// Figure is one drawing as inline SVG, its user units mm on paper. It has its
// printed size as width and height; a style sheet may let it shrink.
func Figure(d *Drawing, o FigureOptions) (svg string) {
	defer notDrawn(&svg, o.ID, o.Title)
	scale := o.Scale
	if !(scale > 0) {
		scale = 1
	}
	margin := 0.0
	if len(o.Marks) > 0 {
		margin = markMargin
	}
	width, height := float64(d.Width*scale)+2*margin, float64(d.Height*scale)+2*margin
	t := placed{x: margin, bottom: height - margin, scale: scale}
	if o.Mirrored {
		t.mirror = d.Width
	}
	var b strings.Builder
	open(&b, "figure "+d.View.String(), o.ID, o.Title, width, height, true)
	d.shapes(&b, t, decimalsFor(d.Tolerance*scale), false)
	marks(&b, o.Marks, t, width, height)
	b.WriteString("</svg>")
	return b.String()
}

// open writes the start of a picture of the given size in mm, named for screen
// readers.
func open(b *strings.Builder, class, id, title string, width, height float64, sized bool) {
	w, h := short(width), short(height)
	b.WriteString(`<svg class="` + class + `" viewBox="0 0 ` + w + ` ` + h + `"`)
	if sized {
		b.WriteString(` width="` + w + `mm" height="` + h + `mm"`)
	}
	name := html.EscapeString(id + "-title")
	b.WriteString(` role="img" aria-labelledby="` + name + `"><title id="` + name + `">` + html.EscapeString(xmlText(title)) + `</title>`)
}

// xmlText leaves out what XML cannot hold.
func xmlText(s string) string {
	return strings.Map(func(r rune) rune {
		if r < 0x20 && r != '\t' && r != '\n' || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
}

// short prints a length with as many decimals as its size asks for: two from
// 1 mm on.
func short(v float64) string {
	decimals := 2
	for limit := 1.0; v != 0 && v < limit && decimals < 6; limit /= 10 {
		decimals++
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
