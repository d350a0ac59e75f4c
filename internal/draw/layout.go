package draw

import (
	"math"
	"unicode/utf8"
)

// layout is a chart's rows at one scale, all lengths in the chart's mm.
type layout struct {
	scale         float64
	rows          []row
	viewGap       float64 // between the views of one part
	labelHeight   float64 // under a row, its gap to the next included
	captionHeight float64
}

// row is a row of cells whose drawings stand on one baseline.
type row struct {
	cells     []cell
	height    float64 // of the tallest drawing
	captioned bool
}

// cell is the place of one item.
type cell struct {
	item     ChartItem
	label    string
	views    []chartView
	x, width float64
	drawn    float64 // width of its drawings alone
}

type chartView struct {
	drawing  *Drawing
	mirrored bool
}

// views lists what an item shows: the first drawing, its mirror image for a
// part with a twin, then the others.
func (it ChartItem) views() []chartView {
	var out []chartView
	for i, d := range it.Drawings {
		out = append(out, chartView{d, false})
		if i == 0 && it.Twin {
			out = append(out, chartView{d, true})
		}
	}
	return out
}

// opens reports whether a group's caption stands over cell i.
func (r row) opens(i int) bool {
	g := r.cells[i].item.Group
	return g != "" && (i == 0 || r.cells[i-1].item.Group != g)
}

// groupEnd is the right end of the group that cell i opens.
func (r row) groupEnd(i int) float64 {
	g := r.cells[i].item.Group
	for i+1 < len(r.cells) && r.cells[i+1].item.Group == g {
		i++
	}
	return r.cells[i].x + r.cells[i].width
}

// textWidth is a generous estimate of the width of s set in type of the given
// height: no common sans serif has figures wider than 0.62 of it, or lower-case
// letters that average more.
func textWidth(s string, height float64) float64 {
	return 0.62 * height * float64(utf8.RuneCountInString(s))
}

// layOut chooses the scale and breaks the items into rows.
func layOut(items []ChartItem, o ChartOptions) layout {
	if o.Scale > 0 {
		return layOutAt(items, o, o.Scale)
	}
	for i := 0; ; i++ {
		scale := roundScales[min(i, len(roundScales)-1)]
		if over := i - len(roundScales) + 1; over > 0 {
			scale = math.Ldexp(scale, -over)
		}
		l := layOutAt(items, o, scale)
		if l.fits(o) || i > 60 { // by then even the largest drawing is smaller than its number
			return l
		}
	}
}

// fits reports whether no row is too wide and all together are not too high.
func (l layout) fits(o ChartOptions) bool {
	height := 0.0
	for _, r := range l.rows {
		height += r.height + l.labelHeight
		if r.captioned {
			height += l.captionHeight
		}
		last := r.cells[len(r.cells)-1]
		if last.x+last.width > o.WidthMM*(1+1e-9) {
			return false
		}
	}
	return height <= o.HeightMM
}

func layOutAt(items []ChartItem, o ChartOptions, scale float64) layout {
	l := layout{scale: scale, viewGap: 0.7 * o.TextMM, labelHeight: 2.9 * o.TextMM, captionHeight: 2 * o.TextMM}
	cells := make([]cell, len(items))
	for i, it := range items {
		c := cell{item: it, label: it.label(), views: it.views()}
		for k, v := range c.views {
			if k > 0 {
				c.drawn += l.viewGap
			}
			c.drawn += float64(v.drawing.Width * scale)
		}
		c.width = max(c.drawn, textWidth(c.label, o.TextMM))
		cells[i] = c
	}
	// A group's caption must not run into the next item: its last cell is widened.
	for i := 0; i < len(cells); {
		j, width := i, 0.0
		for ; j < len(cells) && cells[j].item.Group == cells[i].item.Group; j++ {
			width += cells[j].width
		}
		if g := cells[i].item.Group; g != "" {
			if need := textWidth(g, o.TextMM); need > cells[i].width {
				if j == i+1 || need > width {
					cells[i].width = min(need, o.WidthMM)
				}
			}
		}
		i = j
	}
	for _, span := range breakRows(cells, o.WidthMM, leastGap(o)) {
		l.rows = append(l.rows, setRow(cells[span[0]:span[1]], o, scale))
	}
	evenLastRow(l.rows, o)
	return l
}

// leastGap is the least space between two items of a row.
func leastGap(o ChartOptions) float64 { return 1.5 * o.TextMM }

// breakRows breaks cells into rows as a careful typesetter breaks lines: among
// all ways with the fewest rows, the one with the least sum of squares of the
// empty widths, the last row's included, so that rows come out alike.
func breakRows(cells []cell, width, gap float64) [][2]int {
	n := len(cells)
	type choice struct {
		rows int
		cost float64
		from int
	}
	best := make([]choice, n+1)
	for end := 1; end <= n; end++ {
		best[end] = choice{rows: math.MaxInt}
		used := -gap
		for from := end - 1; from >= 0; from-- {
			used += cells[from].width + gap
			if used > width && from < end-1 {
				break
			}
			empty := max(width-used, 0)
			c := choice{best[from].rows + 1, best[from].cost + float64(empty*empty), from}
			if b := best[end]; c.rows < b.rows || c.rows == b.rows && c.cost < b.cost {
				best[end] = c
			}
		}
	}
	var spans [][2]int
	for end := n; end > 0; end = best[end].from {
		spans = append([][2]int{{best[end].from, end}}, spans...)
	}
	return spans
}

// setRow spreads cells over the width with even gaps, and no wider than three
// least ones: what is left over stays free on the right.
func setRow(cells []cell, o ChartOptions, scale float64) row {
	r := row{cells: cells}
	total := 0.0
	for _, c := range cells {
		total += c.width
		r.captioned = r.captioned || c.item.Group != ""
		for _, v := range c.views {
			r.height = max(r.height, float64(v.drawing.Height*scale))
		}
	}
	gap := 0.0
	if len(cells) > 1 {
		gap = min((o.WidthMM-total)/float64(len(cells)-1), 4*leastGap(o))
	}
	place(cells, gap)
	return r
}

func place(cells []cell, gap float64) {
	x := 0.0
	for i := range cells {
		cells[i].x = x
		x += cells[i].width + gap
	}
}

// evenLastRow gives the last row no wider gaps than the one before it.
func evenLastRow(rows []row, o ChartOptions) {
	if len(rows) < 2 {
		return
	}
	gapOf := func(r row) float64 {
		if len(r.cells) < 2 {
			return math.Inf(1)
		}
		return r.cells[1].x - r.cells[0].x - r.cells[0].width
	}
	last := rows[len(rows)-1]
	if before := max(gapOf(rows[len(rows)-2]), leastGap(o)); before < gapOf(last) {
		place(last.cells, before)
	}
}
