package draw

import (
	"cmp"
	"context"
	"html"
	"math"
	"slices"
	"strings"

	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
)

// Laid is a drawing with the place of its lower left corner in its view's plane, so
// that two can be laid over each other as their meshes lie.
type Laid struct {
	*Drawing
	At shadow.Point
}

// Lay draws a mesh where it is. Its errors are Draw's.
func Lay(ctx context.Context, m *mesh.Mesh, v shadow.View) (Laid, error) {
	d, err := Draw(ctx, m, v)
	x, y, _ := v.Project(m.Bounds().Min)
	return Laid{d, shadow.Point{X: x, Y: y}}, err
}

// Showing is the view in which most of a difference along d is seen: the one that looks
// least along it. Of equal ones it is the first.
func Showing(d mesh.Vec) shadow.View {
	best, most := shadow.Views[0], -1.0
	for _, v := range shadow.Views {
		x, y, _ := v.Project(d)
		if seen := math.Hypot(x, y); seen > most*(1+1e-9) {
			best, most = v, seen
		}
	}
	return best
}

// MarkAt is the mark of a point on an overlay in the view.
func MarkAt(v shadow.View, p mesh.Vec, label string) Mark {
	x, y, _ := v.Project(p)
	return Mark{Label: label, At: shadow.Point{X: x, Y: y}}
}

// OverlayOptions say how an overlay is shown.
type OverlayOptions struct {
	ID          string // prefix of the ids in the picture; must be unique on the page
	Title       string // what is shown, for those who do not see it
	Description string // what has changed, likewise
	Marks       []Mark // places pointed out, in the plane of the view
	WidthMM     float64
	TextMM      float64
	Inches      bool
}

// Widths of the lines of an overlay, and its hatching, in mm.
const (
	overNewLine  = 0.35
	overOldLine  = 0.3
	overDash     = "1.6 1.1"
	overInside   = 0.12
	overHatch    = 1.1 // between lines
	overHatching = 0.18
	overSpeck    = 0.15 // shorter hatches are left out: what simplified outlines differ by
)

// Overlay is the old state of a part and the new one over each other in one view, at the
// largest round scale, as inline SVG: the new outline drawn through, the old
// one dashed, what has come hatched one way and what has gone the other, the new
// one's inner lines fine, and places ringed. It says so below, and nothing hangs on
// colour. Its user units are mm at its stated width.
//
// Outlines are shadows, so a change that no outline shows, such as a hollow in a
// face, is told by its mark alone.
func Overlay(old, new Laid, o OverlayOptions) (svg string) {
	defer notDrawn(&svg, o.ID, o.Title)
	sane := ChartOptions{WidthMM: o.WidthMM, TextMM: o.TextMM}.filled()
	o.WidthMM, o.TextMM = sane.WidthMM, sane.TextMM
	left, bottom := min(old.At.X, new.At.X), min(old.At.Y, new.At.Y)
	width := max(old.At.X+old.Width, new.At.X+new.Width) - left
	height := max(old.At.Y+old.Height, new.At.Y+new.Height) - bottom
	scale := overlayScale(width, height, sane)
	high := float64(height*scale) + 2*markMargin
	indent := max((o.WidthMM-float64(width*scale))/2, markMargin)
	place := func(l Laid) placed {
		return placed{x: indent + float64((l.At.X-left)*scale), bottom: high - markMargin - float64((l.At.Y-bottom)*scale), scale: scale}
	}
	oldRings, newRings := overlayRings(old, place(old)), overlayRings(new, place(new))

	var body strings.Builder
	stroke := func(class string, width float64, more, d string) {
		if d != "" {
			body.WriteString(`<path class="` + class + `" fill="none" stroke="currentColor" stroke-width="` + short(width) + `"` + more + ` stroke-linejoin="round" d="` + d + `"/>`)
		}
	}
	stroke("come", overHatching, "", hatching(newRings, oldRings, 1))
	stroke("gone", overHatching, "", hatching(oldRings, newRings, -1))
	inside := newPen(2)
	small := new.reduced(chartTolerance/scale, chartLine/scale, chartApart/scale)
	for _, lines := range [][][]shadow.Point{small.Creases, small.Depths} {
		for _, l := range lines {
			inside.line(place(new).points(l), false)
		}
	}
	stroke("within", overInside, ` stroke-linecap="round"`, inside.text.String())
	stroke("new", overNewLine, "", closedPath(newRings))
	stroke("old", overOldLine, ` stroke-dasharray="`+overDash+`"`, closedPath(oldRings))
	at := placed{x: indent - float64(left*scale), bottom: high - markMargin + float64(bottom*scale), scale: scale}
	marks(&body, o.Marks, at, o.WidthMM, high)
	y := overlayKey(&body, o, high)
	y = ruler(&body, ChartOptions{WidthMM: o.WidthMM, TextMM: o.TextMM, Inches: o.Inches}, layout{scale: scale}, y)

	var b strings.Builder
	open(&b, "overlay "+new.View.String(), o.ID, o.Title, o.WidthMM, y, false)
	if o.Description != "" {
		b.WriteString(`<desc>` + html.EscapeString(xmlText(o.Description)) + `</desc>`)
	}
	b.WriteString(body.String())
	b.WriteString("</svg>")
	return b.String()
}

// overlayScale is the largest round scale at which so much goes on the picture.
func overlayScale(width, height float64, o ChartOptions) float64 {
	fits := func(s float64) bool {
		return float64(width*s) <= (o.WidthMM-2*markMargin)*(1+1e-9) && float64(height*s) <= o.HeightMM*(1+1e-9)
	}
	if !(width > 0 || height > 0) || math.IsInf(width+height, 0) {
		return 1
	}
	scale := 10.0 // of tiny parts
	for _, s := range append([]float64{10, 5}, roundScales...) {
		if scale = s; fits(s) {
			return s
		}
	}
	for !fits(scale) && scale > 1e-12 {
		scale /= 2
	}
	return scale
}

// overlayRings is an outline as it is drawn.
func overlayRings(l Laid, t placed) []shadow.Ring {
	var out []shadow.Ring
	for _, r := range l.Outline.Simplify(chartTolerance / t.scale) {
		out = append(out, t.points(r))
	}
	return out
}

func closedPath(rings []shadow.Ring) string {
	p := newPen(2)
	for _, r := range rings {
		p.line(r, true)
	}
	return p.text.String()
}

// hatching draws lines at 45° over what is within one set of rings and not within
// another, rising to the right for lean 1 and falling for −1. Along each line the
// rings of both are crossed in order; which side one is on is the parity of
// crossings.
func hatching(within, without []shadow.Ring, lean float64) string {
	const half = math.Sqrt2 / 2
	// In turned coordinates lines are those of equal v.
	turned := func(p shadow.Point) (u, v float64) {
		return float64(half * (p.X - lean*p.Y)), float64(half * (p.X + lean*p.Y))
	}
	type crossing struct {
		u     float64
		other bool
	}
	lines := map[int][]crossing{}
	low, high := math.MaxInt, math.MinInt
	for k, rings := range [2][]shadow.Ring{within, without} {
		for _, r := range rings {
			for i, p := range r {
				u1, v1 := turned(p)
				u2, v2 := turned(r[(i+1)%len(r)])
				if v1 > v2 {
					u1, v1, u2, v2 = u2, v2, u1, v1
				}
				// Lines stand between whole steps, half of them up, so that few corners
				// lie on one; from v1 on and before v2.
				for n := int(math.Ceil(v1/overHatch - 0.5)); float64((float64(n)+0.5)*overHatch) < v2; n++ {
					v := float64((float64(n) + 0.5) * overHatch)
					lines[n] = append(lines[n], crossing{u1 + float64((u2-u1)*((v-v1)/(v2-v1))), k == 1})
					low, high = min(low, n), max(high, n)
				}
			}
		}
	}
	p := newPen(2)
	for n := low; n <= high; n++ {
		line := lines[n]
		slices.SortFunc(line, func(a, b crossing) int { return cmp.Compare(a.u, b.u) })
		in := [2]bool{}
		for i, c := range line {
			if c.other {
				in[1] = !in[1]
			} else {
				in[0] = !in[0]
			}
			if !in[0] || in[1] || i+1 == len(line) || line[i+1].u-c.u < overSpeck {
				continue
			}
			at := func(u float64) shadow.Point {
				v := float64((float64(n) + 0.5) * overHatch)
				return shadow.Point{X: float64(half * (u + v)), Y: float64(lean * half * (v - u))}
			}
			p.line([]shadow.Point{at(c.u), at(line[i+1].u)}, false)
		}
	}
	return p.text.String()
}

// overlayKey says below what the lines are, and returns the height so far.
func overlayKey(out *strings.Builder, o OverlayOptions, y float64) float64 {
	text := 0.8 * o.TextMM
	wide, high, gap := float64(2.4*o.TextMM), float64(0.85*text), float64(0.5*o.TextMM)
	x := 0.2
	base := y + float64(1.2*o.TextMM)
	for _, k := range []struct {
		class, words, more string
		width, lean        float64
	}{
		{"new", "new", "", overNewLine, 0},
		{"old", "old", ` stroke-dasharray="` + overDash + `"`, overOldLine, 0},
		{"come", "added", "", overHatching, 1},
		{"gone", "taken away", "", overHatching, -1},
	} {
		needs := wide + gap + wordsWidth(k.words, text) + 2*gap
		if x > 1 && x+needs > o.WidthMM {
			x, base = 0.2, base+float64(1.5*o.TextMM)
		}
		foot := base + float64(0.1*text)
		box := shadow.Ring{{X: x, Y: foot - high}, {X: x + wide, Y: foot - high}, {X: x + wide, Y: foot}, {X: x, Y: foot}}
		p := newPen(2)
		p.line([]shadow.Point{{X: x, Y: base - float64(0.3*text)}, {X: x + wide, Y: base - float64(0.3*text)}}, false)
		d := p.text.String()
		if k.lean != 0 {
			d = hatching([]shadow.Ring{box}, nil, k.lean)
		}
		out.WriteString(`<path class="` + k.class + `" fill="none" stroke="currentColor" stroke-width="` + short(k.width) + `"` + k.more + ` d="` + d + `"/>`)
		out.WriteString(`<text class="key" x="` + short(x+wide+gap) + `" y="` + short(base) + `" font-size="` + short(text) + `" text-anchor="start" fill="currentColor">` + k.words + `</text>`)
		x += needs
	}
	return base + float64(0.3*o.TextMM)
}
