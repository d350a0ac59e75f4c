package site

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"cardback/internal/verdict/backlog"
	"cardback/internal/words"
)

// progressChart draws the counts of process i over the days, from the first point
// to the last: a line steps on the day that something was sealed or printed. There
// are at least two points. User units are mm at 100 mm of width.
func progressChart(points []backlog.ProgressPoint, i int) template.HTML {
	const (
		text        = 3.4 // height of type
		left, right = 9.0, 98.5
		top, height = 19.0, 40.0
	)
	first, last := points[0].Date, points[len(points)-1].Date
	most := 1
	for _, p := range points {
		most = max(most, p.By[i].Parts)
	}
	// Figures are 1, 2 or 5 times a power of ten apart, at most five of them.
	step := 1.0
	for k := 0; float64(most)/step > 5; k++ {
		step = []float64{2, 5, 10}[k%3] * math.Pow(10, float64(k/3))
	}
	greatest := math.Ceil(float64(most)/step) * step
	x := func(p backlog.ProgressPoint) float64 {
		return left + float64((right-left)*(p.Date.Sub(first).Hours()/last.Sub(first).Hours()))
	}
	y := func(v float64) float64 { return top + float64(height*(1-v/greatest)) }

	proc := points[0].By[i].Process
	var s strings.Builder
	fmt.Fprintf(&s, `<svg class="curve" viewBox="0 0 100 %s" role="img" aria-label="Parts for %s, from %s to %s: needed, with a cut, and printed well. The table below has the figures.">`,
		fixed(top+height+7), proc, words.Day(first), words.Day(last))
	label := func(class, anchor string, x, y float64, words string) {
		fmt.Fprintf(&s, `<text class="%s" x="%s" y="%s" font-size="%s" text-anchor="%s" fill="currentColor">%s</text>`, class, fixed(x), fixed(y), fixed(text), anchor, template.HTMLEscapeString(words))
	}
	line := func(class, dashes, width string, d string) {
		fmt.Fprintf(&s, `<path class="%s" fill="none" stroke="currentColor" stroke-width="%s"%s d="%s"/>`, class, width, dashes, d)
	}
	series := []struct {
		key, dashes string
		of          func(backlog.ProcessCount) int
	}{
		{"parts that " + proc.String() + " needs", ` stroke-dasharray=".1 1" stroke-linecap="round"`, func(c backlog.ProcessCount) int { return c.Parts }},
		{"with a cut for it", ` stroke-dasharray="1.8 1"`, func(c backlog.ProcessCount) int { return c.Cut }},
		{"with a good print of that very mesh", "", func(c backlog.ProcessCount) int { return c.Printed }},
	}
	for k, v := range series {
		at := 3 + float64(4.7*float64(k))
		line("series", v.dashes, ".6", fmt.Sprintf("M.3 %sh9", fixed(at-1)))
		label("key", "start", 11.5, at, v.key)
	}
	var grid, axis strings.Builder
	for v := 0.0; v <= greatest; v += step {
		if v > 0 {
			fmt.Fprintf(&grid, "M%s %sH%s", fixed(left), fixed(y(v)), fixed(right))
		}
		label("ruler", "end", left-1.6, y(v)+1.1, fmt.Sprint(v))
	}
	line("grid", ` stroke-opacity=".3"`, ".15", grid.String())
	fmt.Fprintf(&axis, "M%s %sV%sH%s", fixed(left), fixed(top), fixed(y(0)), fixed(right))
	for _, p := range points {
		if len(p.Sealed) > 0 {
			fmt.Fprintf(&axis, "M%s %sv1.2", fixed(x(p)), fixed(y(0)))
		}
	}
	line("axis", "", ".25", axis.String())
	label("ruler", "start", left, y(0)+5, words.Day(first))
	label("ruler", "end", right, y(0)+5, words.Day(last))
	for _, v := range series {
		var d strings.Builder
		for k, p := range points {
			if k == 0 {
				fmt.Fprintf(&d, "M%s %s", fixed(x(p)), fixed(y(float64(v.of(p.By[i])))))
				continue
			}
			fmt.Fprintf(&d, "H%sV%s", fixed(x(p)), fixed(y(float64(v.of(p.By[i])))))
		}
		line("series", v.dashes, ".6", d.String())
	}
	s.WriteString("</svg>")
	return template.HTML(s.String())
}
