package layout

import (
	"context"
	"slices"
)

// tightNodes bounds the search for a tight packing, in steps.
const tightNodes = 400_000

// tightPieces is the number of pieces up to which it is tried.
const tightPieces = 64

// tight packs boxes onto a given number of plates where little may be left over,
// by trying and taking back: the lowest stretch of the skyline, of those the one
// on the left, gets each kind of box in its left corner in turn, or is left
// empty up to its lower neighbour. What is left empty must stay within what the
// plates have to spare. With nothing to spare the search misses no packing, as
// something must lie in that corner.
type tight struct {
	w, h    float64
	kinds   []boxKind // the largest first
	left    int       // boxes to be packed
	plates  int       // that may still be begun
	spare   float64   // mm², of all plates
	nodes   int
	plate   int
	placed  []tightBox
	stopped func() bool
}

type boxKind struct {
	shape int
	w, h  float64
	count int
}

type tightBox struct {
	plate, shape int
	x, y         float64
	over         bool
}

// step is a stretch of the skyline.
type step struct{ x, w, y float64 }

// tightly tries to pack the boxes onto the given number of plates.
func (p *boxPacking) tightly(ctx context.Context, all []int, plates int) (plan, bool) {
	t := p.table
	f := &tight{w: t.usable.X + t.space, h: t.usable.Y + t.space, plates: plates - 1, left: len(all), nodes: tightNodes}
	f.stopped = func() bool { return f.nodes%1024 == 0 && ctx.Err() != nil }
	f.spare = float64(plates) * f.w * f.h
	for _, i := range all {
		size := p.sizes[i]
		f.spare -= size.X * size.Y
		// Of boxes of one size it does not matter which.
		if k := slices.IndexFunc(f.kinds, func(k boxKind) bool { return k.shape == i }); k >= 0 {
			f.kinds[k].count++
		} else {
			f.kinds = append(f.kinds, boxKind{i, size.X, size.Y, 1})
		}
	}
	// What rounding may make of it: each box is up to boxSlack too large.
	f.spare += boxSlack * float64(len(all)) * (f.w + f.h)
	if f.spare < 0 {
		return plan{}, false
	}
	slices.SortStableFunc(f.kinds, func(a, b boxKind) int { return compare(b.w*b.h, a.w*a.h) })
	if !f.fill([]step{{0, f.w, 0}}, 0) {
		return plan{}, false
	}
	out := plan{make([]*sheet, f.plate+1)}
	for i := range out.sheets {
		out.sheets[i] = &sheet{}
	}
	for _, b := range f.placed {
		p.put(out.sheets[b.plate], b.shape, b.x, b.y, b.over)
	}
	return out, true
}

// fill packs what is left above the skyline and on further plates, with so much
// left empty already.
func (f *tight) fill(sky []step, empty float64) bool {
	if f.left == 0 {
		return true
	}
	if f.nodes--; f.nodes < 0 || f.stopped() {
		f.nodes = -1
		return false
	}
	low := 0
	for i, s := range sky {
		if s.y < sky[low].y {
			low = i
		}
	}
	at := sky[low]
	if at.y >= f.h-boxSlack {
		if f.plates == 0 {
			return false
		}
		f.plates--
		f.plate++
		if f.fill([]step{{0, f.w, 0}}, empty) {
			return true
		}
		f.plates++
		f.plate--
		return false
	}
	for k := range f.kinds {
		kind := &f.kinds[k]
		if kind.count == 0 {
			continue
		}
		for over := range 2 {
			w, h := kind.w, kind.h
			if over == 1 {
				if w == h {
					break
				}
				w, h = h, w
			}
			if w > at.w+boxSlack || at.y+h > f.h+boxSlack {
				continue
			}
			kind.count--
			f.left--
			f.placed = append(f.placed, tightBox{f.plate, kind.shape, at.x, at.y, over == 1})
			next := slices.Clone(sky[:low])
			next = append(next, step{at.x, w, at.y + h})
			if rest := at.w - w; rest > boxSlack {
				next = append(next, step{at.x + w, rest, at.y})
			}
			if f.fill(level(append(next, sky[low+1:]...)), empty) {
				return true
			}
			f.placed = f.placed[:len(f.placed)-1]
			f.left++
			kind.count++
			if f.nodes < 0 {
				return false
			}
		}
	}
	up := f.h
	if low > 0 {
		up = min(up, sky[low-1].y)
	}
	if low+1 < len(sky) {
		up = min(up, sky[low+1].y)
	}
	if empty += at.w * (up - at.y); empty > f.spare {
		return false
	}
	next := slices.Clone(sky)
	next[low].y = up
	return f.fill(level(next), empty)
}

// level joins neighbouring stretches of one height.
func level(sky []step) []step {
	out := sky[:1]
	for _, s := range sky[1:] {
		if last := &out[len(out)-1]; s.y-last.y < boxSlack && last.y-s.y < boxSlack {
			last.w += s.w
			last.y = max(last.y, s.y)
		} else {
			out = append(out, s)
		}
	}
	return out
}
