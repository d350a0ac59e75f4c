package layout

import (
	"container/heap"
	"context"
	"math"

	"cardback/internal/measure/shadow"
)

// inscribed is the radius of a disc that lies inside the outline: nearly the
// largest there is (to a thousandth of the outline's size), and never larger,
// wherever the search ends. Squares that may hold a better centre than the best
// so far are quartered, the most promising first: from its centre, no point of a
// square has more room than half the square's diagonal beyond the centre's.
//
// A disc that keeps clear of every capsule around the straightened boundary lies
// inside the outline itself if its centre does; see straighten.
func inscribed(ctx context.Context, edges []edge, hull []shadow.Point) float64 {
	low, size := box(hull, 0)
	half := max(size.X, size.Y) / 2
	room := func(p shadow.Point) float64 {
		d, winding := math.Inf(1), 0
		for _, e := range edges {
			d = min(d, fromSegment(p, e.a, e.b)-e.dev)
			if (e.a.Y <= p.Y) != (e.b.Y <= p.Y) {
				left := float64((e.b.X-e.a.X)*(p.Y-e.a.Y)) - float64((e.b.Y-e.a.Y)*(p.X-e.a.X))
				switch {
				case e.a.Y <= p.Y && left > 0:
					winding++
				case e.a.Y > p.Y && left < 0:
					winding--
				}
			}
		}
		if winding == 0 {
			return -math.Abs(d)
		}
		return d
	}
	at := func(p shadow.Point, half float64) square {
		d := room(p)
		return square{p, half, d, d + half*math.Sqrt2}
	}
	q := squares{at(shadow.Point{X: low.X + size.X/2, Y: low.Y + size.Y/2}, half)}
	best := q[0].room
	// Room inside a dev or two of the boundary counts as none, so a square may
	// look worse than its corners by that much; only the radius suffers.
	for tried := 0; len(q) > 0 && tried < 500 && ctx.Err() == nil; tried++ {
		s := heap.Pop(&q).(square)
		if s.most <= best+half/1000 {
			break
		}
		h := s.half / 2
		for k := range 4 {
			c := at(shadow.Point{X: s.at.X + h*float64(2*(k&1)-1), Y: s.at.Y + h*float64(2*(k>>1)-1)}, h)
			best = max(best, c.room)
			heap.Push(&q, c)
		}
	}
	return max(0, best)
}

type square struct {
	at         shadow.Point
	half       float64
	room, most float64
}

// squares is a heap, the most promising first (container/heap).
type squares []square

func (q squares) Len() int           { return len(q) }
func (q squares) Less(i, j int) bool { return q[i].most > q[j].most }
func (q squares) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *squares) Push(s any)        { *q = append(*q, s.(square)) }
func (q *squares) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}
