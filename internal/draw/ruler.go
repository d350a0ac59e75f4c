package draw

import (
	"math"
	"strings"

	"cardback/internal/measure/shadow"
	"cardback/internal/words"
)

// mmPerInch is exact, by the international definition of 1959.
const mmPerInch = 25.4

// ruler writes a scale in true mm under the chart, and returns the chart's
// height with it. Ticks come in ranks: the longer, the rounder the length.
func ruler(out *strings.Builder, o ChartOptions, l layout, y float64) float64 {
	line := y + float64(2.2*o.TextMM)
	small := 0.8 * o.TextMM
	tall := 0.9 * o.TextMM
	left := textWidth("0", small)
	room := min(o.WidthMM, 160) - left - textWidth("000mm", small) // for the last figure and the unit
	most := max(room, small) / l.scale                             // true mm
	step := roundStep(most / 4)                                    // between figures
	length := math.Floor(most/step) * step
	label := func(x, y float64, anchor, s string) {
		out.WriteString(`<text class="ruler" x="` + short(x) + `" y="` + short(y) + `" font-size="` + short(small) + `" text-anchor="` + anchor + `" fill="currentColor">` + s + `</text>`)
	}
	p := newPen(2)
	tick := func(at, height float64) {
		x := left + float64(at*l.scale)
		p.line([]shadow.Point{{X: x, Y: line}, {X: x, Y: line - height}}, false)
	}
	p.line([]shadow.Point{{X: left, Y: line}, {X: left + float64(length*l.scale), Y: line}}, false)
	second, third, fine := tickRanks(step, leastTick/l.scale)
	for k := range int(math.Round(length/fine)) + 1 {
		at := float64(k) * fine
		switch {
		case multiple(at, step):
			tick(at, tall)
			label(left+float64(at*l.scale), line-tall-float64(0.3*small), "middle", words.Rounded(at, 3))
		case multiple(at, second):
			tick(at, 0.7*tall)
		case multiple(at, third):
			tick(at, 0.5*tall)
		default:
			tick(at, 0.32*tall)
		}
	}
	end := left + float64(length*l.scale)
	label(end+float64(0.6*small)+textWidth(words.Rounded(length, 3), small)/2, line-tall-float64(0.3*small), "start", "mm")
	bottom := line
	if o.Inches {
		inches(label, tick, l.scale, left, line, tall, small, length)
		bottom = line + tall + float64(1.2*small)
	}
	out.WriteString(`<path class="ruler" fill="none" stroke="currentColor" stroke-width=".18" d="` + p.text.String() + `"/>`)
	return bottom + float64(0.3*small)
}

// leastTick is the least distance of ticks, in mm of the chart: three pixels on a
// phone.
const leastTick = 0.8

// tickRanks are the distances of the second, third and finest ticks between
// figures that are step apart: 5 and 1 within 10; 10, 5 and 1 within 20 or 50;
// 50, 10 and a finer one within 100. Ranks closer than least are left out, and
// none is less than a millimetre unless the figures are under 10 apart.
func tickRanks(step, least float64) (second, third, fine float64) {
	power := math.Pow(10, math.Floor(math.Log10(step*(1+1e-9))))
	second, third = power, power/2
	if multiple(step, power*10) || step < 2*power*(1-1e-9) {
		second, third = step/2, step/10
	}
	allowed := func(f float64) bool { return f >= least && (f >= 1-1e-9 || step < 10) }
	fine = step
	for _, f := range []float64{second, third, power / 10, power / 20, power / 50, power / 100} {
		if allowed(f) && (f >= third || multiple(third, f)) {
			fine = f
		}
	}
	return second, third, fine
}

// inches puts the inch side under the line, in the halvings of a carpenter's
// rule down to sixteenths where there is room.
func inches(label func(x, y float64, anchor, s string), tick func(at, height float64), scale, left, line, tall, small, length float64) {
	whole := 1.0 // inches between figures
	for whole*mmPerInch*scale < 5*small {
		whole *= 2
	}
	parts := 1
	for parts < 16 && whole*mmPerInch*scale/float64(2*parts) >= leastTick {
		parts *= 2
	}
	for k := 0; ; k++ {
		at := float64(k) * whole / float64(parts) * mmPerInch
		if at > length*(1+1e-9) {
			break
		}
		height := tall
		for q := parts; q > 1 && k%q != 0; q /= 2 {
			height *= 0.76
		}
		tick(at, -height)
		if k%parts == 0 {
			s := words.Plain(float64(k/parts) * whole)
			label(left+float64(at*scale), line+tall+float64(0.9*small), "middle", s)
			if at+whole*mmPerInch > length*(1+1e-9) {
				label(left+float64(at*scale)+float64(0.6*small)+textWidth(s, small)/2, line+tall+float64(0.9*small), "start", "in")
			}
		}
	}
}

// roundStep is the largest of 1, 2, 5 times a power of ten that is at most v.
func roundStep(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{5, 2} {
		if m*p <= v*(1+1e-9) {
			return m * p
		}
	}
	return p
}

// multiple reports whether a is a whole number of b, past rounding.
func multiple(a, b float64) bool {
	q := a / b
	return math.Abs(q-math.Round(q)) < 1e-6
}
