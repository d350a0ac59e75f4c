package draw

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/measure/shadow"
)

// pen writes path data. Points are rounded first and differences taken after,
// so that rounding does not add up along a line.
type pen struct {
	text     strings.Builder
	decimals int
	unit     float64 // steps to the mm
	x, y     int64   // where the pen is, in steps
}

func newPen(decimals int) *pen {
	return &pen{decimals: decimals, unit: math.Pow10(decimals)}
}

// decimalsFor is the number of decimals whose rounding is at most a quarter of
// the tolerance, at least 1.
func decimalsFor(tol float64) int {
	d := 1
	for d < 6 && math.Pow10(-d) > tol/2 {
		d++
	}
	return d
}

func (p *pen) steps(v float64) int64 { return int64(math.Round(v * p.unit)) }

// number writes steps as a decimal number, with a space before it if the last
// character needs one.
func (p *pen) number(steps int64) {
	s := formatSteps(steps, p.decimals)
	if n := p.text.Len(); n > 0 && s[0] != '-' {
		if last := p.text.String()[n-1]; last >= '0' && last <= '9' || last == '.' {
			p.text.WriteByte(' ')
		}
	}
	p.text.WriteString(s)
}

// formatSteps prints a number of 10^−decimals steps in the fewest characters.
func formatSteps(steps int64, decimals int) string {
	if steps == 0 {
		return "0"
	}
	sign := ""
	if steps < 0 {
		sign, steps = "-", -steps
	}
	s := strconv.FormatInt(steps, 10)
	for len(s) <= decimals {
		s = "0" + s
	}
	whole, part := s[:len(s)-decimals], strings.TrimRight(s[len(s)-decimals:], "0")
	if whole == "0" && part != "" {
		whole = ""
	}
	if part != "" {
		part = "." + part
	}
	return sign + whole + part
}

// line writes a polyline; closed joins its end to its start.
func (p *pen) line(points []shadow.Point, closed bool) {
	letter := byte(0)
	startX, startY := int64(0), int64(0)
	for i, q := range points {
		x, y := p.steps(q.X), p.steps(q.Y)
		dx, dy := x-p.x, y-p.y
		p.x, p.y = x, y
		if i == 0 {
			startX, startY = x, y
			p.text.WriteByte('m')
			p.number(dx)
			p.number(dy)
			letter = 'l' // pairs after a moveto are linetos
			continue
		}
		want := byte('l')
		switch {
		case dx == 0 && dy == 0:
			continue
		case dy == 0:
			want = 'h'
		case dx == 0:
			want = 'v'
		}
		if want != letter {
			p.text.WriteByte(want)
			letter = want
		}
		if want != 'v' {
			p.number(dx)
		}
		if want != 'h' {
			p.number(dy)
		}
	}
	if closed {
		p.text.WriteByte('z')
		p.x, p.y = startX, startY
	}
}

// placed maps a drawing's mm, Y up, to a picture's, Y down.
type placed struct {
	x, bottom float64 // where the drawing's lower left corner goes
	scale     float64
	mirror    float64 // > 0: the drawing's width, and it is drawn mirrored
}

func (t placed) point(p shadow.Point) shadow.Point {
	if t.mirror > 0 {
		p.X = t.mirror - p.X
	}
	return shadow.Point{X: t.x + float64(t.scale*p.X), Y: t.bottom - float64(t.scale*p.Y)}
}

func (t placed) points(line []shadow.Point) []shadow.Point {
	out := make([]shadow.Point, len(line))
	for i, p := range line {
		out[i] = t.point(p)
	}
	return out
}

// Widths of lines. Where a figure may be shown at any size they are screen
// pixels; on a chart, whose type has its size in mm, they are mm.
const (
	pixelLines = ` vector-effect="non-scaling-stroke"`
	creasePx   = ".8"
	depthPx    = "1.2"
	creaseMM   = ".15"
	depthMM    = ".22"
)

// shapes writes the paths of a drawing: silhouette, creases, depths.
func (d *Drawing) shapes(out *strings.Builder, t placed, decimals int, onChart bool) {
	write := func(attributes string, lines [][]shadow.Point, closed bool) {
		if len(lines) == 0 {
			return
		}
		p := newPen(decimals)
		for _, l := range lines {
			p.line(t.points(l), closed)
		}
		out.WriteString(`<path ` + attributes + ` d="` + p.text.String() + `"/>`)
	}
	rings := make([][]shadow.Point, len(d.Outline))
	for i, r := range d.Outline {
		rings[i] = r
	}
	write(`class="silhouette" fill="currentColor" fill-rule="evenodd"`, rings, true)
	const lines = ` fill="none" stroke="Canvas" stroke-linecap="round" stroke-linejoin="round"`
	crease, depth := ` stroke-width="`+creasePx+`"`+pixelLines, ` stroke-width="`+depthPx+`"`+pixelLines
	if onChart {
		crease, depth = ` stroke-width="`+creaseMM+`"`, ` stroke-width="`+depthMM+`"`
	}
	write(`class="crease"`+lines+crease, d.Creases, false)
	write(`class="depth"`+lines+depth, d.Depths, false)
}

// reduced is the drawing for a smaller scale, all lengths in true mm: simplified
// to within a tolerance, without lines shorter than least, and without those
// that run closer than near along the outline or a line before them; what
// passes before something comes before creases, long before short.
func (d *Drawing) reduced(tol, least, near float64) *Drawing {
	out := *d
	if tol > d.Tolerance {
		out.Tolerance = d.Tolerance + tol
		out.Outline = d.Outline.Simplify(tol)
	}
	lines := func(in [][]shadow.Point) [][]shadow.Point {
		kept := dropShort(slices.Clone(in), least)
		for i, l := range kept {
			kept[i] = simplify(l, tol)
		}
		return kept
	}
	drawn := newCrowd(near)
	for _, r := range out.Outline {
		drawn.add(append(slices.Clone(r), r[0]))
	}
	out.Depths = drawn.apart(lines(d.Depths))
	out.Creases = drawn.apart(lines(d.Creases))
	return &out
}
