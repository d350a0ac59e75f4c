package hull

import (
	"context"
	"math"
	"slices"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
)

// none stands for no facet and no point.
const none = -1

// facet is a triangle of the growing hull, counter-clockwise seen from outside. Its
// plane is not kept but made when it is wanted: a hull may have as many facets as
// the mesh has triangles, and a plane takes twice the memory of all the rest.
type facet struct {
	corner    [3]int32
	neighbour [3]int32 // across the side from corner k to corner k+1
	waiting   int32    // which of quickhull.waiting it has; none without points
	// seen tells, for the point now being added, whether it was looked at (the
	// number of the addition) and found in sight (that number, negative); gone
	// marks a facet that has been replaced.
	seen int32
}

// gone is a number that no addition has.
const gone = math.MinInt32

// waiting are the points that wait on a facet: all lie strictly outside it, each
// waits on one facet only. Few facets have any at a time.
type waiting struct {
	first, far int32 // far is the highest
	farHeight  float64
}

// block is how many facets are set aside at once: growing a list of them would
// copy the whole hull again and again.
const block = 1 << 12

type quickhull struct {
	points  []mesh.Vec
	blocks  [][]facet
	count   int32         // of facets, gone ones included
	free    []int32       // facets that are gone, to be used again
	todo    []int32       // facets on which points may wait
	planes  []exact.Plane // scratch: those of the facets that points are put on
	next    []int32       // of the points waiting on the same facet
	waiting []waiting
	left    []int32 // places in waiting to be used again
	from    []int32 // by corner: the new facet whose border edge begins there
}

func newQuickhull(points []mesh.Vec, corner [4]int32) *quickhull {
	q := &quickhull{
		points: points,
		next:   make([]int32, len(points)),
		from:   make([]int32, len(points)),
	}
	a, b, c, d := corner[0], corner[1], corner[2], corner[3]
	if exact.Side(points[a], points[b], points[c], points[d]) > 0 {
		b, c = c, b
	}
	q.make([3]int32{a, b, c}, [3]int32{1, 2, 3})
	q.make([3]int32{a, d, b}, [3]int32{3, 2, 0})
	q.make([3]int32{b, d, c}, [3]int32{1, 3, 0})
	q.make([3]int32{c, d, a}, [3]int32{2, 1, 0})
	first := []int32{0, 1, 2, 3}
	q.usePlanes(first)
	for p := range points {
		q.wait(int32(p), first)
	}
	q.todo = first
	return q
}

func (q *quickhull) at(i int32) *facet { return &q.blocks[i/block][i%block] }

// make adds a facet.
func (q *quickhull) make(corner, neighbour [3]int32) int32 {
	f := facet{
		corner:    corner,
		neighbour: neighbour,
		waiting:   none,
	}
	if n := len(q.free); n > 0 {
		i := q.free[n-1]
		q.free = q.free[:n-1]
		*q.at(i) = f
		return i
	}
	if q.count%block == 0 {
		q.blocks = append(q.blocks, make([]facet, block))
	}
	q.count++
	*q.at(q.count - 1) = f
	return q.count - 1
}

func (q *quickhull) planeOf(f *facet) exact.Plane {
	return exact.NewPlane(q.points[f.corner[0]], q.points[f.corner[1]], q.points[f.corner[2]])
}

// over reports whether point p lies strictly outside facet f, whose plane is
// given, and its height, which is to be trusted only as far as choosing a high
// point goes.
func (q *quickhull) over(f *facet, plane *exact.Plane, p int32) (bool, float64) {
	h, certain := plane.Height(q.points[p])
	if certain {
		return h > 0, h
	}
	c := f.corner
	if p == c[0] || p == c[1] || p == c[2] {
		return false, 0
	}
	return exact.SideExactly(q.points[c[0]], q.points[c[1]], q.points[c[2]], q.points[p]) > 0, max(h, 0)
}

// usePlanes makes the planes of the facets that wait is to be called with.
func (q *quickhull) usePlanes(facets []int32) {
	q.planes = q.planes[:0]
	for _, i := range facets {
		q.planes = append(q.planes, q.planeOf(q.at(i)))
	}
}

// wait puts point p on the first of the facets that it lies outside of. A point
// that is outside none of them is inside the hull for good.
func (q *quickhull) wait(p int32, facets []int32) {
	for k, i := range facets {
		f := q.at(i)
		if over, h := q.over(f, &q.planes[k], p); over {
			w := q.waitingOn(f)
			q.next[p] = w.first
			w.first = p
			if w.far == none || h > w.farHeight {
				w.far, w.farHeight = p, h
			}
			return
		}
	}
}

func (q *quickhull) waitingOn(f *facet) *waiting {
	if f.waiting == none {
		if n := len(q.left); n > 0 {
			f.waiting, q.left = q.left[n-1], q.left[:n-1]
		} else {
			f.waiting = int32(len(q.waiting))
			q.waiting = append(q.waiting, waiting{})
		}
		q.waiting[f.waiting] = waiting{first: none, far: none}
	}
	return &q.waiting[f.waiting]
}

// borderEdge is a side between a facet in sight and one that is not.
type borderEdge struct {
	start, end int32
	beyond     int32 // the facet not in sight
	slot       int   // the side's place among that facet's neighbours
}

func (q *quickhull) grow(ctx context.Context) error {
	var sight, fresh []int32
	var border []borderEdge
	for turn := int32(1); len(q.todo) > 0; {
		at := q.todo[len(q.todo)-1]
		q.todo = q.todo[:len(q.todo)-1]
		if q.at(at).seen == gone || q.at(at).waiting == none {
			continue
		}
		if turn%1024 == 0 {
			if err := ctx.Err(); err != nil {
				return err
			}
		}
		p := q.waiting[q.at(at).waiting].far
		sight, border = q.look(at, p, turn, sight[:0], border[:0])
		turn++

		fresh = fresh[:0]
		for _, e := range border {
			f := q.make([3]int32{e.start, e.end, p}, [3]int32{e.beyond, none, none})
			q.at(e.beyond).neighbour[e.slot] = f
			q.from[e.start] = f
			fresh = append(fresh, f)
		}
		for i, e := range border {
			g := q.from[e.end]
			q.at(fresh[i]).neighbour[1] = g
			q.at(g).neighbour[2] = fresh[i]
		}
		q.usePlanes(fresh)
		for _, i := range sight {
			f := q.at(i)
			f.seen = gone
			if f.waiting == none {
				continue
			}
			for w := q.waiting[f.waiting].first; w != none; {
				following := q.next[w]
				if w != p {
					q.wait(w, fresh)
				}
				w = following
			}
			q.left = append(q.left, f.waiting)
		}
		q.free = append(q.free, sight...)
		for _, f := range fresh {
			if q.at(f).waiting != none {
				q.todo = append(q.todo, f)
			}
		}
	}
	return nil
}

// look collects the facets that p lies strictly outside of, beginning at one of
// them, and the border of that patch.
func (q *quickhull) look(at, p, turn int32, sight []int32, border []borderEdge) ([]int32, []borderEdge) {
	q.at(at).seen = -turn
	sight = append(sight, at)
	for i := 0; i < len(sight); i++ {
		f := q.at(sight[i])
		for k, n := range f.neighbour {
			g := q.at(n)
			if g.seen != turn && g.seen != -turn {
				g.seen = turn
				plane := q.planeOf(g)
				if over, _ := q.over(g, &plane, p); over {
					g.seen = -turn
					sight = append(sight, n)
				}
			}
			if g.seen == turn {
				start, end := f.corner[k], f.corner[(k+1)%3]
				border = append(border, borderEdge{start, end, n, slices.Index(g.corner[:], end)})
			}
		}
	}
	return sight, border
}

// result adds up the hull and picks its extreme points: those on three edges or
// more at which the surface truly bends. A corner in the middle of an edge has
// two, one in the middle of a face none.
func (q *quickhull) result() Hull {
	bends := make([]uint8, len(q.points))
	origin := q.points[q.at(0).corner[0]]
	for i := range q.count {
		if f := q.at(i); f.seen != gone {
			origin = q.points[f.corner[0]]
			break
		}
	}
	var volume, area exact.Sum
	for i := range q.count {
		f := q.at(i)
		if f.seen == gone {
			continue
		}
		plane := q.planeOf(f)
		a, b, c := q.points[f.corner[0]], q.points[f.corner[1]], q.points[f.corner[2]]
		volume.Add(a.Sub(origin).Dot(b.Sub(origin).Cross(c.Sub(origin))))
		area.Add(plane.Normal().Norm())
		for k, n := range f.neighbour {
			if n < i {
				continue // seen from the other side
			}
			start, end := f.corner[k], f.corner[(k+1)%3]
			g := q.at(n)
			opposite := g.corner[(slices.Index(g.corner[:], end)+2)%3]
			if h, certain := plane.Height(q.points[opposite]); certain && h < 0 || !certain && exact.SideExactly(a, b, c, q.points[opposite]) < 0 {
				bends[start] = min(bends[start], 2) + 1
				bends[end] = min(bends[end], 2) + 1
			}
		}
	}
	h := Hull{Volume: max(0, volume.Value()/6), Area: area.Value() / 2} // rounding may leave a sliver's below 0
	extreme := 0
	for _, n := range bends {
		if n >= 3 {
			extreme++
		}
	}
	h.Vertices = make([]mesh.Vec, 0, extreme)
	for p, n := range bends {
		if n >= 3 {
			h.Vertices = append(h.Vertices, q.points[p])
		}
	}
	slices.SortFunc(h.Vertices, compare)
	return h
}
