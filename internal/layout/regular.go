package layout

import (
	"context"
	"math"
	"slices"
)

// manyPieces is the number of pieces from which on those that are alike are laid
// in full plates of one kind first, and the rest is searched. Below it the search
// takes a second or two.
const manyPieces = 200

// fullestWork bounds the filling of one plate by one rule after another, in words looked
// at: some three seconds. A rule that has begun is finished.
const fullestWork = 2_000_000_000

// alike lays the pieces of one shape: the fullest plate that any rule fills is
// repeated, and as many copies of it as there are left are on the last. The order of
// pieces that are alike is no matter, so that there is nothing else to try but
// other rules. It is an empty plan where the context ends.
func (s *searcher) alike(ctx context.Context, shape, copies int) plan {
	full := s.fullest(ctx, shape, copies)
	if full == nil {
		return plan{}
	}
	var out plan
	for copies > 0 {
		n := min(copies, len(full.laid))
		out.sheets = append(out.sheets, s.firstOf(full, n))
		copies -= n
	}
	return out
}

// firstOf is the sheet with the first n of its pieces.
func (s *searcher) firstOf(full *sheet, n int) *sheet {
	out := &sheet{t: full.t, laid: slices.Clone(full.laid[:n])}
	for _, l := range out.laid {
		out.fill += s.shapes[l.shape].area
	}
	return out
}

// fullest is the sheet of one shape, as full as the rules and the exact packing of
// boxes make it. Of equal ones it is the first.
func (s *searcher) fullest(ctx context.Context, shape, copies int) *sheet {
	order := slices.Repeat([]int{shape}, copies)
	best := s.fullestOfBoxes(shape, copies)
	before := s.work
	for _, r := range rules {
		if r.over && s.table.round {
			continue
		}
		if best != nil && (len(best.laid) == copies || s.work-before > fullestWork) || ctx.Err() != nil {
			break
		}
		p := packing{table: s.table, shapes: s.shapes, rule: r}
		got := p.fill(ctx, order)
		s.work += p.work
		if best == nil || len(got.laid) > len(best.laid) {
			best = got
		}
	}
	if ctx.Err() != nil {
		return nil
	}
	return best
}

// fullestOfBoxes lays the shape's least box in rows, each way round: what a plate takes
// to within rounding, where a grid of cells may not see it. It is nil where none goes.
func (s *searcher) fullestOfBoxes(shape, copies int) *sheet {
	t, sh := s.table, s.shapes[shape]
	if t.round {
		return nil
	}
	var best *sheet
	p := boxPacking{searcher: s}
	for k := range 2 {
		w, h := sh.least.X, sh.least.Y
		if k == 1 {
			w, h = h, w
		}
		fit := func(room, size float64) int {
			if size > room+boxSlack {
				return 0
			}
			// Sums of so many decimals are off by less than boxSlack.
			return 1 + int(math.Floor((room-size+boxSlack)/(size+t.space)))
		}
		across, up := fit(t.usable.X, w), fit(t.usable.Y, h)
		if n := min(across*up, copies); n > 0 && (best == nil || n > len(best.laid)) {
			best = &sheet{t: t}
			for i := range n {
				p.put(best, shape, float64(i%across)*(w+t.space), float64(i/across)*(h+t.space), k == 1)
			}
		}
	}
	return best
}

// bulk lays full plates of one kind of each shape that fills some, and returns them with
// the pieces that are left, less than a plate's worth of each.
func (s *searcher) bulk(ctx context.Context, all []int) (done []*sheet, left []int) {
	count := make([]int, len(s.shapes))
	for _, i := range all {
		count[i]++
	}
	for i, n := range count {
		// A plate of nothing but the shape holds no more than its area goes into the
		// usable one, so that of fewer there is no plate to set aside.
		if n == 0 || float64(n)*s.shapes[i].area < s.table.usable.X*s.table.usable.Y {
			continue
		}
		full := s.fullest(ctx, i, n)
		if full == nil {
			continue
		}
		for count[i] >= len(full.laid) && len(full.laid) < n {
			done = append(done, s.firstOf(full, len(full.laid)))
			count[i] -= len(full.laid)
		}
	}
	for _, i := range all {
		if count[i] > 0 {
			left = append(left, i)
			count[i]--
		}
	}
	return done, left
}
