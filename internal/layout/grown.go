package layout

import (
	"math"
	"slices"

	"cardback/internal/measure/shadow"
)

// grownBands is how many bands a shape is cut into to take its grown area. An
// edge costs at most a band's height times its length, within a band of its ends
// too: the area comes out too small by less than the circumference times a band.
const grownBands = 300

// grownArea is at most the area of the outline grown by r all round, and not
// much less. In each band from y = low to high, of height h, it is h times the
// length of those x whose whole upright stretch lies in the grown region:
//
//   - inside the outline: no capsule of radius dev around an edge comes near,
//     and the winding number at any point of the stretch is not zero;
//   - within r of the boundary. Any point of an edge has a point of the outline's
//     own boundary within dev (that runs from one end to the other inside the
//     capsule), so it is enough to be within r − dev of the edge; and as that is
//     a convex region, to be in it at low and at high.
func grownArea(edges []edge, hull []shadow.Point, r float64) float64 {
	corner, size := box(hull, 0)
	h := (size.Y + 2*r) / grownBands
	if !(h > 0) {
		return 0
	}
	type span struct {
		x0, x1 float64
		step   int
	}
	bands := make([]struct{ near, edges []span }, grownBands)
	band := func(y float64) int { return int(math.Floor((y - corner.Y + r) / h)) }
	for _, e := range edges {
		blocks := newCapsule(e.a, e.b, e.dev)
		lo, hi := min(e.a.Y, e.b.Y), max(e.a.Y, e.b.Y)
		for k := max(0, band(lo-e.dev)-1); k < min(grownBands, band(hi+e.dev)+2); k++ {
			low := corner.Y - r + float64(k)*h
			high := low + h
			if lo-e.dev <= high && hi+e.dev >= low {
				x0, x1 := blocks.across(low, high)
				mid, step := (low+high)/2, 0
				if (e.a.Y <= mid) != (e.b.Y <= mid) {
					if step = 1; e.a.Y > mid {
						step = -1
					}
				}
				bands[k].edges = append(bands[k].edges, span{x0, x1, step})
			}
		}
		g := r - e.dev
		if g <= 0 {
			continue
		}
		fills := newCapsule(e.a, e.b, g)
		for k := max(0, band(lo-g)-1); k < min(grownBands, band(hi+g)+2); k++ {
			low := corner.Y - r + float64(k)*h
			high := low + h
			if low < lo-g || high > hi+g {
				continue
			}
			a0, a1 := fills.across(low, low)
			b0, b1 := fills.across(high, high)
			if x0, x1 := max(a0, b0), min(a1, b1); x0 < x1 {
				bands[k].near = append(bands[k].near, span{x0, x1, 0})
			}
		}
	}
	sum := 0.0
	for _, b := range bands {
		byStart := func(p, q span) int { return compare(p.x0, q.x0) }
		slices.SortFunc(b.edges, byStart)
		spans := b.near
		winding, end := 0, math.Inf(-1)
		for _, e := range b.edges {
			if e.x0 > end && winding != 0 {
				spans = append(spans, span{end, e.x0, 0})
			}
			end = max(end, e.x1)
			winding += e.step
		}
		slices.SortFunc(spans, byStart)
		end = math.Inf(-1)
		for _, s := range spans {
			if s.x1 > end {
				sum += s.x1 - max(s.x0, end)
				end = s.x1
			}
		}
	}
	return sum * h * (1 - sure)
}
