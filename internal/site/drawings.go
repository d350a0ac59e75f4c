package site

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/draw"
	"cardback/internal/measure/shadow"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// Widths of pictures in their own millimetres. They are near to what the page
// gives them, so that type and scale come out about as stated: a desk's column
// is some 200 mm of CSS pixels, a phone's 80 mm, an A4 sheet's 175 mm.
const (
	deskMM  = 200
	phoneMM = 82
	sheetMM = 175
)

// Charts is one picture laid out for two widths.
type Charts struct {
	Desk, Phone template.HTML
	Caption     string
}

// picture marks SVG made by package draw, which escapes what it writes.
func picture(svg string) template.HTML { return template.HTML(svg) }

// edgeOn is the share of a part's largest shadow below which its front is taken
// to show it edge on. Common practice, no source: a figure is known from the
// front, but a thin part lying flat shows only an edge there.
const edgeOn = 0.3

// telling is the view a part is drawn from on charts: the front, or the view
// with the largest shadow where the front shows the part edge on.
func telling(cs *survey.CutSurvey) *draw.Drawing {
	best := draw.Choose(cs.Drawing, 1)
	if len(best) == 0 {
		return nil
	}
	if front := cs.Drawing[shadow.Front]; front != nil && front.Outline.Area() >= edgeOn*best[0].Outline.Area() {
		return front
	}
	return best[0]
}

// piecesOf begins the caption over the pieces of a whole.
const piecesOf = "Pieces of "

// items are a release's parts for a chart. Parts without a readable mesh are
// left out: the table lists them with their error.
func (b *builder) items(r release.Release) []draw.ChartItem {
	var out []draw.ChartItem
	for i, p := range r.Parts {
		cs := b.readable(p)
		if cs == nil {
			continue
		}
		view := telling(cs)
		if view == nil {
			continue
		}
		it := draw.ChartItem{Number: fmt.Sprint(i + 1), Drawings: []*draw.Drawing{view}, Count: p.Quantity, Twin: p.MirroredTwin}
		if whole, ok := partBySlug(r, p.Replaces); ok {
			it.Group = piecesOf + whole.Name
		}
		if p.Choice != "" {
			it.Group = "Choose one: " + p.Choice
		}
		out = append(out, it)
	}
	return out
}

// charts is the parts sheet's picture.
func (b *builder) charts(r release.Release) Charts {
	items := b.items(r)
	if len(items) == 0 {
		return Charts{}
	}
	title := fmt.Sprintf("%s: %s at one scale, numbered as in the table", r.Title, plural(len(items), "part", "parts"))
	o := draw.ChartOptions{ID: "parts-desk", Title: title, WidthMM: deskMM, HeightMM: 0.8 * deskMM, Inches: b.in.units().inches}
	c := Charts{Caption: "Every part at one scale, with the numbers of the table; the ruler gives the scale. A part with a twin stands beside its mirror image."}
	if !slices.ContainsFunc(items, func(it draw.ChartItem) bool { return it.Twin }) {
		c.Caption = "Every part at one scale, with the numbers of the table; the ruler gives the scale."
	}
	c.Desk = picture(draw.Chart(items, o))
	o.ID, o.WidthMM, o.HeightMM = "parts-phone", phoneMM, 3*phoneMM
	c.Phone = picture(draw.Chart(items, o))
	return c
}

// sheetChart is the parts chart of an assembly sheet.
func (b *builder) sheetChart(r release.Release) template.HTML {
	items := b.items(r)
	if len(items) == 0 {
		return ""
	}
	return picture(draw.Chart(items, draw.ChartOptions{ID: "parts", Title: r.Title + ": parts at one scale, numbered", WidthMM: sheetMM, HeightMM: 0.7 * sheetMM, Inches: b.in.units().inches}))
}

// notEdgeOn leaves out the views that show a thin part as a mere edge.
func notEdgeOn(views []*draw.Drawing) []*draw.Drawing {
	largest := 0.0
	for _, d := range views {
		largest = max(largest, d.Outline.Area())
	}
	return slices.DeleteFunc(views, func(d *draw.Drawing) bool { return d.Outline.Area() < edgeOn*largest })
}

// frontispiece is the part with the most to see, in the views that show it: it says at a
// glance what kind of thing the release is and how it was modelled. The most to
// see is the greatest length of outlines and inner lines.
func (b *builder) frontispiece(r release.Release) Charts {
	if c, ok := b.posed(r); ok {
		return c
	}
	best, number := 0.0, 0
	var views []*draw.Drawing
	for i, p := range r.Parts {
		cs := b.readable(p)
		if cs == nil {
			continue
		}
		all := notEdgeOn(draw.Choose(cs.Drawing, 3))
		seen := 0.0
		for _, d := range all {
			seen += lineLength(d)
		}
		if seen > best {
			best, number, views = seen, i, all
		}
	}
	if len(views) == 0 {
		return Charts{}
	}
	part := r.Parts[number]
	var from []string
	for _, d := range views {
		from = append(from, seenFrom(d.View))
	}
	seen := "from " + words.List(from)
	if len(views) > 1 {
		seen += ", at one scale"
	}
	return front(views, part.Name+": "+seen, fmt.Sprintf("Part %d, %s: %s.", number+1, part.Name, seen), 0.4)
}

// posed is the figure as it stands assembled, from the front and the side, where
// the release has its pose.
func (b *builder) posed(r release.Release) (Charts, bool) {
	if r.Pose == nil {
		return Charts{}, false
	}
	cs, ok := b.in.Survey.Measured(*r.Pose)
	if !ok {
		return Charts{}, false
	}
	var views []*draw.Drawing
	for _, v := range []shadow.View{shadow.Front, shadow.Side} {
		if d := cs.Drawing[v]; d != nil && len(d.Outline) > 0 {
			views = append(views, d)
		}
	}
	if len(views) < 2 {
		return Charts{}, false
	}
	const seen = "assembled, from the front and the side, at one scale"
	return front(views, r.Title+": "+seen, r.Title+", "+seen+".", 0.6), true
}

// front draws views side by side, on a desk no higher than a share of the width.
func front(views []*draw.Drawing, title, caption string, share float64) Charts {
	items := []draw.ChartItem{{Drawings: views}}
	o := draw.ChartOptions{ID: "front-desk", Title: title, WidthMM: deskMM, Scale: fill(views, deskMM, share*deskMM), HideRuler: true, Centred: true}
	c := Charts{Caption: caption}
	c.Desk = picture(draw.Chart(items, o))
	o.ID, o.WidthMM, o.Scale = "front-phone", phoneMM, fill(views, phoneMM, phoneMM)
	c.Phone = picture(draw.Chart(items, o))
	return c
}

// fill is the scale at which views side by side take most of a width, unless
// they reach the height first.
func fill(views []*draw.Drawing, width, height float64) float64 {
	var w, h float64
	for _, d := range views {
		w, h = w+d.Width, max(h, d.Height)
	}
	return min(0.9*width/w, height/h)
}

// lineLength is the length in mm of everything drawn.
func lineLength(d *draw.Drawing) float64 {
	sum := 0.0
	add := func(line []shadow.Point) {
		for i := 1; i < len(line); i++ {
			sum += math.Hypot(line[i].X-line[i-1].X, line[i].Y-line[i-1].Y)
		}
	}
	for _, r := range d.Outline {
		add(r)
	}
	for _, lines := range [][][]shadow.Point{d.Creases, d.Depths} {
		for _, l := range lines {
			add(l)
		}
	}
	return sum
}

// rangeScale is the one scale of the catalogue's chart: the widest part of the
// range takes most of a line, and nothing is drawn larger than it is.
func (b *builder) rangeScale() float64 {
	widest := 1.0
	for _, r := range b.in.Site.Releases {
		for _, it := range b.items(r) {
			widest = max(widest, it.Drawings[0].Width)
		}
	}
	return min(1, 0.9*rangeMM/widest)
}

// rangeRuler is the ruler of the catalogue's chart, its type larger on a phone.
func (b *builder) rangeRuler(scale float64) Charts {
	o := draw.ChartOptions{ID: "range-ruler", Title: "A ruler at the scale of the chart", WidthMM: rangeMM, Scale: scale, Inches: b.in.units().inches, TextMM: 3.6}
	c := Charts{Desk: picture(draw.Chart(nil, o))}
	o.ID, o.TextMM = "range-ruler-phone", 6
	c.Phone = picture(draw.Chart(nil, o))
	return c
}

// rangeMM is the width of a line of the catalogue's chart.
const rangeMM = 170

// rangeChart is one release on the catalogue's chart: one of each part, and of
// a whole and its pieces the whole.
func (b *builder) rangeChart(r release.Release, scale float64) template.HTML {
	items := slices.DeleteFunc(b.items(r), func(it draw.ChartItem) bool { return strings.HasPrefix(it.Group, piecesOf) })
	if len(items) == 0 {
		return ""
	}
	for i := range items {
		items[i].Number, items[i].Group, items[i].Count, items[i].Twin = "", "", 1, false
	}
	return picture(draw.Chart(items, draw.ChartOptions{
		ID: fmt.Sprintf("range-%d", r.Number), Title: "The parts of " + r.Title,
		WidthMM: rangeMM, HeightMM: 10 * rangeMM, TextMM: 1.2, Scale: scale, HideRuler: true,
	}))
}

// toSize draws a cut of rod, wire or cord, or a magnet's face, in the size it
// has; paper shows it exactly, a screen nearly so. The id must be unique on the
// page.
func toSize(h bench.Hardware, cut float64, id string) template.HTML {
	const room = 60 // mm: a phone's column
	switch {
	case h.Kind == bench.Magnet && h.Diameter > 0 && h.Diameter <= room:
		d, r := fixed(h.Diameter), fixed(h.Diameter/2)
		return template.HTML(`<svg class="to-size" aria-hidden="true" width="` + d + `mm" height="` + d + `mm" viewBox="0 0 ` + d + ` ` + d + `"><circle cx="` + r + `" cy="` + r + `" r="` + r + `"/></svg>`)
	case (h.Kind == bench.Rod || h.Kind == bench.Wire || h.Kind == bench.Cord) && h.Diameter > 0 && cut > 0:
		return picture(draw.Hardware(draw.HardwareOptions{ID: id, Title: h.Name + ", to size", DiameterMM: h.Diameter, LengthMM: cut, WidthMM: room, TextMM: 1.6}))
	}
	return ""
}
