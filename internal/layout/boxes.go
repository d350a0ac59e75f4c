package layout

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"cardback/internal/measure/shadow"
)

// rect is a rectangle on a plate.
type rect struct{ x0, y0, x1, y1 float64 }

// boxSlack, in mm, is by how much a box may be too large for the room left: for
// sums of decimals. A plate's width is a sum of at most some thousand boxes,
// each rounded by less than 1e-12 mm; what may be lost stays below Tolerance.
const boxSlack = 1e-9

// boxBudget bounds the packing of boxes, in free rectangles looked at.
const boxBudget = 6_000_000

// boxes packs the pieces' least boxes, each grown by the spacing, into the
// usable rectangle grown by it: exact where the grid of cells is not. It returns
// an empty plan for a round plate, or where a piece's least box is too large.
//
// The free room of a plate is kept as its largest free rectangles, overlapping
// ones (the method of maximal rectangles, described among others by J. Jylänki,
// 2010, from memory). Of all corners a box is put where the shorter side left
// over is shortest, or lowest, or where it leaves the least area. Where one plate
// fewer would hold the boxes' area, tight.go tries that.
func (s *searcher) boxes(ctx context.Context, all []int) plan {
	t := s.table
	if t.round {
		return plan{}
	}
	sizes := make([]shadow.Point, len(s.shapes))
	for i, sh := range s.shapes {
		if sh == nil {
			continue
		}
		w, h := sh.least.X, sh.least.Y
		sizes[i] = shadow.Point{X: w + t.space, Y: h + t.space}
		w, h = max(w, h), min(w, h)
		if w > max(t.usable.X, t.usable.Y)+boxSlack || h > min(t.usable.X, t.usable.Y)+boxSlack {
			return plan{}
		}
	}
	orders := s.orders(all)
	var best plan
	rng := rand.New(rand.NewPCG(1, 1))
	work := 0
	for try := 0; work < boxBudget && ctx.Err() == nil && try < 400; try++ {
		order := orders[try/3%len(orders)]
		if try >= 3*len(orders) {
			order = s.shaken(order, rng)
		}
		p := boxPacking{searcher: s, sizes: sizes, choice: try % 3}
		got, ok := p.pack(order, len(best.sheets))
		work += p.work
		if ok && (len(best.sheets) == 0 || got.better(best)) {
			best = got
		}
		if len(best.sheets) == s.bound {
			break
		}
	}
	for len(best.sheets) > s.bound && len(all) <= tightPieces && ctx.Err() == nil {
		p := boxPacking{searcher: s, sizes: sizes}
		got, ok := p.tightly(ctx, all, len(best.sheets)-1)
		if !ok {
			break
		}
		best = got
	}
	return best
}

type boxPacking struct {
	*searcher
	sizes  []shadow.Point
	choice int
	work   int
}

type boxSheet struct {
	sheet
	free []rect
}

// pack lays the boxes in their order, each on the first plate with room. It is
// false where more than most plates would be needed; most is 0 for no limit.
func (p *boxPacking) pack(order []int, most int) (plan, bool) {
	t := p.table
	var sheets []*boxSheet
	full := make([]int, len(p.sizes)) // by shape: so many plates have no room for it
next:
	for _, i := range order {
		for k := full[i]; k < len(sheets); k++ {
			if p.lay(sheets[k], i) {
				full[i] = k
				continue next
			}
		}
		full[i] = len(sheets)
		if most > 0 && len(sheets) >= most {
			return plan{}, false
		}
		b := &boxSheet{free: []rect{{0, 0, t.usable.X + t.space, t.usable.Y + t.space}}}
		sheets = append(sheets, b)
		if !p.lay(b, i) {
			return plan{}, false
		}
	}
	var out plan
	for _, b := range sheets {
		out.sheets = append(out.sheets, &b.sheet)
	}
	return out, true
}

func (p *boxPacking) lay(b *boxSheet, i int) bool {
	var at rect
	over, found := false, false
	best := [2]float64{math.Inf(1), math.Inf(1)}
	p.work += 2 * len(b.free)
	for k := range 2 {
		size := p.sizes[i]
		if k == 1 {
			size.X, size.Y = size.Y, size.X
		}
		for _, f := range b.free {
			w, h := f.x1-f.x0-size.X, f.y1-f.y0-size.Y
			if min(w, h) < -boxSlack {
				continue
			}
			var v [2]float64
			switch p.choice {
			case 0:
				v = [2]float64{min(w, h), max(w, h)}
			case 1:
				v = [2]float64{f.y0 + size.Y, f.x0}
			default:
				v = [2]float64{float64((f.x1-f.x0)*(f.y1-f.y0)) - float64(size.X*size.Y), min(w, h)}
			}
			if v[0] < best[0] || v[0] == best[0] && v[1] < best[1] {
				best, over, found = v, k == 1, true
				at = rect{f.x0, f.y0, f.x0 + size.X, f.y0 + size.Y}
			}
		}
	}
	if !found {
		return false
	}
	p.work += b.cut(at)
	p.put(&b.sheet, i, at.x0, at.y0, over)
	return true
}

// put notes the piece with the corner of its box at x and y of the usable
// rectangle, the box a quarter turn over or not.
func (p *boxPacking) put(s *sheet, i int, x, y float64, over bool) {
	sh, t := p.shapes[i], p.table
	deg := sh.box
	if over {
		deg += 90
	}
	low, _ := box(sh.hull, deg)
	s.laid = append(s.laid, laid{i, within360(deg), t.margin + x - low.X, t.margin + y - low.Y})
	s.fill += sh.area
}

// cut takes a box out of the free rectangles, and returns the work it was.
func (b *boxSheet) cut(a rect) int {
	var out []rect
	for _, f := range b.free {
		if a.x0 >= f.x1-boxSlack || a.x1 <= f.x0+boxSlack || a.y0 >= f.y1-boxSlack || a.y1 <= f.y0+boxSlack {
			out = append(out, f)
			continue
		}
		if a.x0 > f.x0+boxSlack {
			out = append(out, rect{f.x0, f.y0, a.x0, f.y1})
		}
		if a.x1 < f.x1-boxSlack {
			out = append(out, rect{a.x1, f.y0, f.x1, f.y1})
		}
		if a.y0 > f.y0+boxSlack {
			out = append(out, rect{f.x0, f.y0, f.x1, a.y0})
		}
		if a.y1 < f.y1-boxSlack {
			out = append(out, rect{f.x0, a.y1, f.x1, f.y1})
		}
	}
	// Only the largest are kept: none that lies in another.
	holds := func(f, g rect) bool { return f.x0 <= g.x0 && f.y0 <= g.y0 && f.x1 >= g.x1 && f.y1 >= g.y1 }
	b.free = b.free[:0]
	for i, g := range out {
		if !slices.ContainsFunc(out[:i], func(f rect) bool { return holds(f, g) }) &&
			!slices.ContainsFunc(out[i+1:], func(f rect) bool { return holds(f, g) && f != g }) {
			b.free = append(b.free, g)
		}
	}
	return len(out) * len(out)
}
