package draw

import (
	"html"
	"math"
	"strings"
	"unicode"

	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
)

// Mark points out a place on a figure: a ring around it and a label beside the
// ring, the number under which a list speaks of it.
type Mark struct {
	Label string
	At    shadow.Point // in the drawing's coordinates: see Spot
}

// Spot is where point p of a mesh with the given bounds lies on a drawing of
// that mesh in view v. What lies behind the surface is marked all the same.
func Spot(v shadow.View, bounds mesh.Box, p mesh.Vec) shadow.Point {
	x, y, _ := v.Project(p)
	left, bottom, _ := v.Project(bounds.Min)
	return shadow.Point{X: x - left, Y: y - bottom}
}

// Sizes of marks in mm on paper. The margin is what a ring and its label take
// beside a place on the drawing's very edge.
const (
	markRing   = 1.9
	markStroke = 0.45
	markText   = 4.2
	markLong   = 3.0 // of a label with letters
	markGap    = 0.4 // from the ring to the label
	markMargin = 2*markRing + markGap + markText
	markWide   = 0.55 // of a digit, as a share of the text's height
	markPad    = 0.8  // beside a label, both sides together
)

// directions in which a label is tried, eighths of a turn from the first choice.
var labelTurns = [8]float64{0, 1, -1, 2, -2, 3, -3, 4}

type rect struct{ left, top, right, bottom float64 }

func (a rect) meets(b rect) bool {
	return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
}

// marks writes rings and labels. A label goes to the side of its ring that is
// farthest from the drawing's middle, or, where another ring or label is there,
// to the nearest free side; one with letters is kept on the picture's width. Marks
// nearer than a ring's radius share one ring.
func marks(out *strings.Builder, list []Mark, t placed, width, height float64) {
	type ring struct {
		x, y  float64
		label string
	}
	var rings []ring
next:
	for _, m := range list {
		p := t.point(m.At)
		for i := range rings {
			if math.Hypot(rings[i].x-p.X, rings[i].y-p.Y) < markRing {
				rings[i].label += ", " + m.Label
				continue next
			}
		}
		rings = append(rings, ring{p.X, p.Y, m.Label})
	}
	var taken []rect
	for _, r := range rings {
		taken = append(taken, rect{r.x - markRing, r.y - markRing, r.x + markRing, r.y + markRing})
	}
	const halo = ` stroke="Canvas"`
	for _, r := range rings {
		// Halo first, so that a ring shows on ink and on paper.
		out.WriteString(`<circle class="halo" cx="` + short(r.x) + `" cy="` + short(r.y) + `" r="` + short(markRing) + `" fill="none"` + halo + ` stroke-width="` + short(3*markStroke) + `"/>`)
		out.WriteString(`<circle class="mark" cx="` + short(r.x) + `" cy="` + short(r.y) + `" r="` + short(markRing) + `" fill="none" stroke="currentColor" stroke-width="` + short(markStroke) + `"/>`)
	}
	for _, r := range rings {
		size := markText
		worded := strings.IndexFunc(r.label, unicode.IsLetter) >= 0
		if worded {
			size = markLong
		}
		wide := markWide*size*float64(len(r.label)) + markPad
		away := math.Atan2(r.y-height/2, r.x-width/2)
		var best rect
		for i, eighths := range labelTurns {
			angle := away + eighths*math.Pi/4
			x := r.x + math.Cos(angle)*(markRing+markGap+wide/2)
			y := r.y + math.Sin(angle)*(markRing+markGap+size/2)
			box := rect{x - wide/2, y - size/2, x + wide/2, y + size/2}
			free := !worded || box.left >= 0 && box.right <= width
			for _, o := range taken {
				free = free && !box.meets(o)
			}
			if i == 0 || free {
				best = box
			}
			if free {
				break
			}
		}
		taken = append(taken, best)
		// The label stands on paper of its own, so that it shows on ink. Digits
		// reach seven tenths of the height up from their baseline, so they stand in
		// the box's middle with it 0.15 above the foot.
		out.WriteString(`<path class="ground" fill="Canvas" d="M` + short(best.left) + ` ` + short(best.top) + `h` + short(best.right-best.left) + `v` + short(best.bottom-best.top) + `h` + short(best.left-best.right) + `z"/>`)
		out.WriteString(`<text class="mark" x="` + short((best.left+best.right)/2) + `" y="` + short(best.bottom-0.15*size) + `" font-size="` + short(size) + `" fill="currentColor" text-anchor="middle">` + html.EscapeString(xmlText(r.label)) + `</text>`)
	}
}
