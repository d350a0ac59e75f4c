package shadow

import (
	"context"
	"math/bits"
	"slices"
	"sync/atomic"
)

// snapRound makes the edges of a chain meet in common end points only. Every
// grid step's cell that holds an end point or a crossing is hot; an edge that
// passes through a hot cell is bent through its centre. No edges of the result
// cross, and none passes through an end point of another (Hobby's theorem), so
// it is done once. The chain stays closed: bending keeps the ends. If more than
// the given number of pairs of edges lie near each other it gives up with
// ErrIntricate. The pairs are added to those spent.
func snapRound(ctx context.Context, chain []weighted, pairs int64, spent *atomic.Int64) ([]weighted, error) {
	tree, err := segmentTree(ctx, chain)
	if err != nil {
		return nil, err
	}
	var tried atomic.Int64
	crossings := newPieces[gridPoint](len(chain))
	err = crossings.each(ctx, func(lo, hi int, out []gridPoint) []gridPoint {
		for i := lo; i < hi && ctx.Err() == nil && tried.Load() <= pairs; i++ {
			e, near := chain[i], int64(0)
			tree.near(e.a, e.b, func(j int32) {
				near++
				if int(j) > i {
					if p, ok := crossing(e.a, e.b, chain[j].a, chain[j].b); ok {
						out = append(out, p)
					}
				}
			})
			tried.Add(near)
		}
		return out
	})
	if err != nil {
		return nil, err
	}
	spent.Add(tried.Load())
	if tried.Load() > pairs {
		return nil, ErrIntricate
	}
	hot := crossings.joined()
	for _, e := range chain {
		hot = append(hot, e.a, e.b)
	}
	slices.SortFunc(hot, gridPoint.compare)
	hot = slices.Compact(hot)
	boxes := make([]gridBox, len(hot))
	for i, p := range hot {
		boxes[i] = gridBox{p, p}
	}
	cells := newBoxTree(boxes)
	bent := newPieces[weighted](len(chain))
	err = bent.each(ctx, func(lo, hi int, out []weighted) []weighted {
		var through []gridPoint
		for i := lo; i < hi && ctx.Err() == nil; i++ {
			e := chain[i]
			through = through[:0]
			cells.near(e.a, e.b, func(k int32) {
				if passes(e.a, e.b, hot[k]) {
					through = append(through, hot[k])
				}
			})
			// The cells that a segment passes, one after another, move along
			// both axes the segment's way or not at all, so the dot product
			// with its direction grows strictly.
			dx, dy := int64(e.b.x-e.a.x), int64(e.b.y-e.a.y)
			along := func(p gridPoint) int64 { return dx*int64(p.x-e.a.x) + dy*int64(p.y-e.a.y) }
			slices.SortFunc(through, func(p, q gridPoint) int { return sign64(along(p) - along(q)) })
			for k := 1; k < len(through); k++ {
				out = append(out, makeWeighted(through[k-1], through[k], e.weight))
			}
		}
		return out
	})
	return mergeEqual(bent.joined()), err
}

func sign64(x int64) int {
	switch {
	case x < 0:
		return -1
	case x > 0:
		return 1
	}
	return 0
}

// crossing is the grid point whose cell holds the point where the segments pq
// and rs cross inside both; ok is false where they do not, or touch in an end.
func crossing(p, q, r, s gridPoint) (at gridPoint, ok bool) {
	tp, tq := turn(r, s, p), turn(r, s, q)
	if !(tp < 0 && tq > 0 || tp > 0 && tq < 0) {
		return at, false
	}
	tr, ts := turn(p, q, r), turn(p, q, s)
	if !(tr < 0 && ts > 0 || tr > 0 && ts < 0) {
		return at, false
	}
	num, den := abs64(tp), abs64(tp)+abs64(tq) // the crossing is p + (q−p)·num/den
	return gridPoint{share(p.x, q.x, num, den), share(p.y, q.y, num, den)}, true
}

// share is a + (b−a)·num/den rounded down after adding a half, exactly:
// 0 < num < den < 2^59, so the product needs 128 bits and the quotient fits.
func share(a, b int32, num, den int64) int32 {
	d := int64(b) - int64(a)
	if d < 0 { // from the other end, so that everything stays positive
		a, d, num = b, -d, den-num
	}
	hi, lo := bits.Mul64(2*uint64(d), uint64(num))
	lo, carry := bits.Add64(lo, uint64(den), 0)
	q, _ := bits.Div64(hi+carry, lo, 2*uint64(den))
	return a + int32(q)
}

// passes reports whether the segment ab meets the cell around c: the square of
// one step with its left and lower sides, without its right and upper ones. By
// the separating-axis theorem it does when their boxes overlap and the cell's
// corners lie on both sides of the line; the rest decides lines through
// corners, of which only the lower left one belongs to the cell. End points
// never lie on a cell's sides, as those are at half steps.
func passes(a, b, c gridPoint) bool {
	if a == c || b == c {
		return true
	}
	if a.x > b.x {
		a, b = b, a
	}
	loY, hiY := min(a.y, b.y), max(a.y, b.y)
	if b.x < c.x || a.x > c.x || hiY < c.y || loY > c.y {
		return false // ends are whole, so meeting the open strip means reaching c
	}
	dx, dy := int64(b.x-a.x), int64(b.y-a.y)
	if dx == 0 || dy == 0 {
		return true
	}
	// Twice the turn of a, b and the corner at (±1/2, ±1/2) from c.
	mid := 2 * (dx*int64(c.y-a.y) - dy*int64(c.x-a.x))
	lowerLeft, lowerRight := mid-dx+dy, mid-dx-dy
	upperLeft, upperRight := mid+dx+dy, mid+dx-dy
	if dy > 0 { // rising: the line can leave out all but the upper left and lower right corners
		if upperLeft == 0 || lowerRight == 0 {
			return false
		}
		return (upperLeft > 0) != (lowerRight > 0)
	}
	// Falling: the outermost corners are the lower left, which counts, and the upper right.
	if lowerLeft == 0 {
		return true
	}
	if upperRight == 0 {
		return false
	}
	return (lowerLeft > 0) != (upperRight > 0)
}
