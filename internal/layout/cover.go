package layout

import (
	"math"
	"math/bits"
	"slices"

	"cardback/internal/measure/shadow"
)

// cellSlack is the share of a cell by which an outline may reach into a cell
// without taking it. It is there for sums of decimals that ought to end on a
// cell's side: sizes within 10 m in cells of a thousandth of that or more round
// by some 1e-12 of a cell.
const cellSlack = 1e-9

// edge is a stretch of an outline's boundary: the outline's own points between
// a and b lie within dev of the segment ab.
type edge struct {
	a, b shadow.Point
	dev  float64
}

// run is a row's cells from x0 up to, not including, x1.
type run struct{ y, x0, x1 int }

// straightenWork bounds straighten, in points looked at: about a second. Past it what is
// left stays as it is, which no tolerance forbids; only a ring made for it, such as a
// comb whose teeth are found one by one, comes to it.
const straightenWork = 1 << 27

// straighten returns the ring's boundary with fewer corners, no point of it
// farther than tol from its edge.
//
// What matters is that the outline can be covered from the edges alone. A
// stretch of boundary together with its chord makes a loop inside the capsule of
// radius dev around the chord, as that is convex. Outside all capsules the
// winding number of the straightened ring is therefore the outline's own, even
// where straightening made the ring cross itself: no care is needed to prevent
// that, unlike in shadow.Outline.Simplify, which makes outlines to be shown.
// (Douglas and Peucker's method.)
func straighten(r shadow.Ring, tol float64) []edge {
	if len(r) < 2 {
		return nil
	}
	far := 0
	for i, p := range r {
		if distance(p, r[0]) > distance(r[far], r[0]) {
			far = i
		}
	}
	closed := append(slices.Clone(r), r[0])
	var out []edge
	type stretch struct{ lo, hi int }
	todo := []stretch{{far, len(closed) - 1}}
	if far > 0 {
		todo = append(todo, stretch{0, far})
	}
	for work := 0; len(todo) > 0; { // each stretch before those after it
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if s.hi-s.lo > 1 && work > straightenWork {
			for i := s.lo; i < s.hi; i++ {
				out = append(out, edge{closed[i], closed[i+1], 0})
			}
			continue
		}
		a, b := closed[s.lo], closed[s.hi]
		dev, at := 0.0, -1
		for i := s.lo + 1; i < s.hi; i++ {
			if d := fromSegment(closed[i], a, b); d > dev {
				dev, at = d, i
			}
		}
		work += s.hi - s.lo
		if dev > tol {
			todo = append(todo, stretch{at, s.hi}, stretch{s.lo, at})
			continue
		}
		out = append(out, edge{a, b, dev})
	}
	return out
}

func distance(a, b shadow.Point) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

// fromSegment is the distance of p from the segment ab.
func fromSegment(p, a, b shadow.Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	l := float64(dx*dx) + float64(dy*dy)
	if l == 0 {
		return distance(p, a)
	}
	t := min(max((float64((p.X-a.X)*dx)+float64((p.Y-a.Y)*dy))/l, 0), 1)
	return math.Hypot(p.X-a.X-float64(t*dx), p.Y-a.Y-float64(t*dy))
}

// cover returns the cells, of sides pitch with corners at whole multiples of it,
// that the region within the edges meets when it is grown by r all round: no
// cell is left out but for cellSlack. With within, cells beyond the box from the
// origin to that corner are left out.
//
// The grown region is the region itself and a capsule around each stretch of its
// boundary. Capsules (of radius r + dev) are covered row by row exactly. A cell
// that none of them meets lies inside the region or outside it as a whole, and
// its centre tells which.
func cover(edges []edge, r, pitch float64, within *shadow.Point) []run {
	if len(edges) == 0 {
		return nil
	}
	lo := shadow.Point{X: math.Inf(1), Y: math.Inf(1)}
	hi := shadow.Point{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, e := range edges {
		g := r + e.dev
		lo.X, lo.Y = min(lo.X, e.a.X-g, e.b.X-g), min(lo.Y, e.a.Y-g, e.b.Y-g)
		hi.X, hi.Y = max(hi.X, e.a.X+g, e.b.X+g), max(hi.Y, e.a.Y+g, e.b.Y+g)
	}
	if within != nil {
		lo, hi = shadow.Point{}, *within
	}
	x0, x1 := cells(lo.X, hi.X, pitch)
	y0, y1 := cells(lo.Y, hi.Y, pitch)
	if x1 <= x0 || y1 <= y0 {
		// Thinner than the slack: it still takes the cells it lies in.
		x1, y1 = max(x1, x0+1), max(y1, y0+1)
	}
	words := (x1-x0)/64 + 1
	bitmap := make([]uint64, words*(y1-y0))
	for _, e := range edges {
		c := newCapsule(e.a, e.b, r+e.dev)
		c.rows(pitch, y0, y1, func(y, c0, c1 int) {
			set(bitmap[(y-y0)*words:(y-y0+1)*words], max(c0, x0)-x0, min(c1, x1)-x0)
		})
	}
	type crossing struct {
		x    float64
		step int
	}
	rows := make([][]crossing, y1-y0)
	for _, e := range edges {
		a, b, step := e.a, e.b, 1
		if a.Y > b.Y {
			a, b, step = b, a, -1
		}
		// Rows whose middle y has a.Y ≤ y < b.Y.
		for y := max(y0, int(math.Floor(a.Y/pitch-0.5))); y < y1; y++ {
			mid := (float64(y) + 0.5) * pitch
			if mid >= b.Y {
				break
			}
			if mid >= a.Y {
				x := a.X + float64((mid-a.Y)/(b.Y-a.Y)*(b.X-a.X))
				rows[y-y0] = append(rows[y-y0], crossing{x, step})
			}
		}
	}
	for y, row := range rows {
		slices.SortFunc(row, func(p, q crossing) int { return compare(p.x, q.x) })
		winding := 0
		for i, c := range row {
			winding += c.step
			if winding != 0 && i+1 < len(row) {
				// Cells whose middle lies between the crossings.
				c0 := int(math.Ceil(c.x/pitch - 0.5))
				c1 := int(math.Ceil(row[i+1].x/pitch - 0.5))
				set(bitmap[y*words:(y+1)*words], max(c0, x0)-x0, min(c1, x1)-x0)
			}
		}
	}
	var out []run
	for y := range y1 - y0 {
		row := bitmap[y*words : (y+1)*words]
		for x := next(row, 0, true); x < x1-x0; {
			end := min(next(row, x, false), x1-x0)
			out = append(out, run{y + y0, x + x0, end + x0})
			x = next(row, end, true)
		}
	}
	return out
}

// cells is the range of cells that the open interval from lo to hi meets.
func cells(lo, hi, pitch float64) (int, int) {
	return int(math.Floor(lo/pitch + cellSlack)), int(math.Ceil(hi/pitch - cellSlack))
}

// set sets the bits from lo up to, not including, hi.
func set(row []uint64, lo, hi int) {
	for lo < hi {
		n := min(hi-lo, 64-lo&63)
		row[lo>>6] |= (^uint64(0) >> (64 - n)) << (lo & 63)
		lo += n
	}
}

// next is the first bit from x on that is set, or that is not; the row's length
// where there is none.
func next(row []uint64, x int, isSet bool) int {
	for i := x >> 6; i < len(row); i++ {
		w := row[i]
		if !isSet {
			w = ^w
		}
		if i == x>>6 {
			w &= ^uint64(0) << (x & 63)
		}
		if w != 0 {
			return i<<6 + bits.TrailingZeros64(w)
		}
	}
	return len(row) << 6
}

// capsule is the points within r of the segment ab.
type capsule struct {
	a, b       shadow.Point // a not above b
	r          float64
	down, left bool    // which way the edge ran
	nx, ny     float64 // from the segment to the straight side on its right
}

func newCapsule(a, b shadow.Point, r float64) capsule {
	c := capsule{a: a, b: b, r: r, down: b.Y < a.Y, left: b.X < a.X}
	if c.down {
		c.a, c.b = b, a
	}
	dx, dy := c.b.X-c.a.X, c.b.Y-c.a.Y
	if l := math.Sqrt(float64(dx*dx) + float64(dy*dy)); l > 0 {
		c.nx, c.ny = float64(r*dy)/l, -float64(r*dx)/l
	}
	return c
}

// rows calls f with the cells that the capsule meets, row by row from y0 up to,
// not including, y1. A capsule without width that runs along the sides of cells
// takes those on its left, which is inside the outline: so no spike is too thin
// to be seen, and a box takes no more than its own cells.
func (c *capsule) rows(pitch float64, y0, y1 int, f func(y, x0, x1 int)) {
	lo, hi := cells(c.a.Y-c.r, c.b.Y+c.r, pitch)
	if hi <= lo {
		lo = int(math.Round(c.a.Y / pitch))
		if c.left {
			lo--
		}
		hi = lo + 1
	}
	for y := max(lo, y0); y < min(hi, y1); y++ {
		left, right := c.across(float64(y)*pitch, float64(y+1)*pitch)
		x0, x1 := cells(left, right, pitch)
		if x1 <= x0 {
			x0 = int(math.Round(left / pitch))
			if !c.down {
				x0--
			}
			x1 = x0 + 1
		}
		f(y, x0, x1)
	}
}

// across is the least and the greatest X of the capsule's points with Y from low
// to high, a strip that it meets.
func (c *capsule) across(low, high float64) (float64, float64) {
	return -c.reach(low, high, -1), c.reach(low, high, 1)
}

// reach is the greatest X of those points, or with side −1 of their mirror image.
// The right side is a concave function of Y whose greatest value is that of the
// end farther right, so in the strip it is greatest at the Y nearest to that
// end's.
func (c *capsule) reach(low, high, side float64) float64 {
	ax, bx := side*c.a.X, side*c.b.X
	top := c.a.Y
	switch {
	case bx > ax:
		top = c.b.Y
	case bx == ax: // the whole side is farthest right
		top = min(max((low+high)/2, c.a.Y), c.b.Y)
	}
	y := min(max(top, low), high)
	y = min(max(y, c.a.Y-c.r), c.b.Y+c.r)
	x := math.Inf(-1)
	rr := float64(c.r * c.r)
	if h := rr - float64((y-c.a.Y)*(y-c.a.Y)); h >= 0 {
		x = ax + math.Sqrt(h)
	}
	if h := rr - float64((y-c.b.Y)*(y-c.b.Y)); h >= 0 {
		x = max(x, bx+math.Sqrt(h))
	}
	// The straight side.
	ny := side * c.ny
	if y0, y1 := c.a.Y+ny, c.b.Y+ny; y0 <= y && y <= y1 && y0 < y1 {
		x = max(x, ax+c.nx+float64((y-y0)/(y1-y0)*(bx-ax)))
	}
	if math.IsInf(x, -1) { // rounding at the capsule's tip
		x = max(ax, bx)
	}
	return x
}
