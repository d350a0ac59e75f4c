package fit

import (
	"container/heap"
	"context"
	"errors"
	"math"
	"strconv"

	"cardback/internal/mesh"
)

// ScaleGap is the relative width to which the largest scale is closed in.
const ScaleGap = 0.001

// scaleBudget bounds the search for the largest scale, in points looked at; it
// takes about a second of processor time.
const scaleBudget = 64_000_000

// Scale is the greatest uniform scale at which a part fits on a plate in any
// orientation, closed in from both sides. At most MaxScale.
type Scale struct {
	// Largest is attained: so scaled and turned by Rotation, the part fits.
	Largest float64
	// AtMost is proved: at no greater scale does the part fit in any
	// orientation.
	AtMost   float64
	Rotation [9]float64 // row-major, as in Result
	Extents  mesh.Vec   // of the part in that orientation, not scaled
	Reason   string     // one plain sentence
}

// Certified reports whether the two bounds are within ScaleGap of each other.
// They are not only where the budget of the search was not enough.
func (s Scale) Certified() bool { return s.AtMost <= s.Largest*(1+ScaleGap) }

// LargestScale finds the greatest scale at which the part with the given hull
// fits on the plate in any orientation. An empty hull, and a part without extent
// in any direction, may be scaled by MaxScale; where the margin leaves nothing
// of the plate, the scale is 0. The error is for what is not a length, and the
// context's.
//
// A scaled part fits in an orientation when its load there, the greatest share
// that an extent takes of its room, is at most one over the scale: the least
// load is sought by branch and bound over the direction that points up, the
// turn being settled exactly. Cells whose bound is within ScaleGap of the least
// load found are dropped.
func LargestScale(ctx context.Context, hull []mesh.Vec, p Plate) (Scale, error) {
	if why := notLengths(hull, p); why != "" {
		return Scale{}, errors.New("largest scale: " + why)
	}
	out := Scale{Rotation: identity, Extents: extents(hull)}
	room := p.usable()
	switch {
	case min(room.X, room.Y, room.Z) <= 0:
		out.Reason = "Nothing is left of the plate within its margin."
		return out, nil
	case len(hull) == 0:
		out.Largest, out.AtMost, out.Reason = MaxScale, MaxScale, "There is nothing to place."
		return out, nil
	}
	pt := newPart(hull, room, p.Round)
	s := scaling{tipping: newTipping(pt), least: math.Inf(1)}
	bound, err := s.run(ctx)
	if err != nil {
		return Scale{}, err
	}
	s.finish()
	out.Rotation = withoutMinusZero(s.onPlate(s.rot))
	out.Extents = pt.extentsIn(out.Rotation)
	out.Largest = min(1/s.least, MaxScale)
	// What rounding may have added to the bound: see slop, of which this is the
	// part that grows with the size.
	bound -= 2e-14 * pt.radius / min(room.X, room.Y, room.Z)
	out.AtMost = MaxScale
	if bound > 1/MaxScale {
		out.AtMost = max(1/bound, out.Largest)
	}
	out.Reason = "The largest scale in any orientation is " + percentText(out.Largest)
	switch {
	case out.Largest == MaxScale:
		out.Reason = "The part may be scaled without end."
	case out.Certified():
		out.Reason += "; proved to within 0.1 %."
	default:
		out.Reason += " or more, and proved to be at most " + percentText(out.AtMost*1.0001) + "."
	}
	return out, nil
}

// percentText rounds down, so that what is said to fit does, but for the last
// digits of the search.
func percentText(scale float64) string {
	return strconv.FormatFloat(math.Floor(scale*1e4+1e-6)/100, 'f', -1, 64) + " %"
}

// scaling is one search for the largest scale.
type scaling struct {
	*tipping
	least float64    // load found so far, over all points
	rot   [9]float64 // the orientation that has it
}

// run returns a bound that no orientation's load is below.
func (s *scaling) run(ctx context.Context) (float64, error) {
	// In the file's orientation, turned: one of these is never beaten by Fit.
	corners := footprint(nil, append([]mesh.Vec(nil), s.part.points...))
	turn := dir{1, 0}
	if !s.part.round {
		room := s.onPlateRoom()
		turn, _ = s.t.leastLoad(corners, room.X, room.Y)
	}
	s.keep(s.offPlate([9]float64{turn.x, turn.y, 0, -turn.y, turn.x, 0, 0, 0, 1}))
	for _, up := range s.seeds(s.longest()) {
		s.tryLoad(up, true)
	}
	q := make(queue, 0, 64)
	for _, c := range wholeSphere() {
		heap.Push(&q, c)
	}
	serial := 0
	dropped := math.Inf(1) // least bound of a cell that was dropped
	for len(q) > 0 {
		// The queue gives the highest ceiling first, which is minus the load.
		bound := -q[0].ceiling
		if enough := s.least / (1 + 0.999*ScaleGap); bound >= enough || s.least <= 1/MaxScale || s.work > scaleBudget {
			return min(dropped, bound), nil
		}
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		c := heap.Pop(&q).(cell)
		for _, k := range c.quarters() {
			enough := s.least / (1 + 0.999*ScaleGap)
			up := k.centre()
			s.stand(up)
			k.ceiling = min(c.ceiling, -s.leastLoad(k, enough))
			if -k.ceiling >= enough {
				dropped = min(dropped, -k.ceiling)
				continue
			}
			s.tryLoad(up, false)
			serial++
			k.serial = serial
			heap.Push(&q, k)
		}
	}
	return dropped, nil
}

// onPlateRoom is the room by the plate's own axes.
func (s *tipping) onPlateRoom() mesh.Vec {
	r := s.part.room
	v := [3]float64{r.X, r.Y, r.Z}
	at := func(i int) float64 { return v[(i+3-s.moved)%3] }
	return mesh.Vec{X: at(0), Y: at(1), Z: at(2)}
}

// tryLoad measures the posture and, where it may be the best so far, those
// near it.
func (s *scaling) tryLoad(up mesh.Vec, seed bool) {
	s.stand(up)
	load, turn := s.load()
	if load >= s.least && !seed {
		return
	}
	if s.searches < localSearches {
		s.searches++
		up, load, turn = s.lighten(up, load)
	}
	for range mostRounds {
		if load >= s.least {
			return
		}
		rot := s.rotation(turn)
		s.keep(rot)
		if !s.stickOut(rot) {
			return
		}
		s.stand(up)
		load, turn = s.load()
	}
}

// lighten climbs from up towards a lesser load.
func (s *scaling) lighten(up mesh.Vec, load float64) (mesh.Vec, float64, dir) {
	up, _ = s.climb(up, -load, func(more float64) float64 {
		if high := s.height() / s.part.room.Z; -high <= more {
			return -high
		}
		got, _ := s.load()
		return -got
	}, func(float64) float64 { return 1e-7 })
	s.stand(up)
	load, turn := s.load()
	return up, load, turn
}

// keep remembers the orientation if it is the best so far, over all points.
func (s *scaling) keep(rot [9]float64) {
	if load := s.part.loadIn(rot); load < s.least {
		s.least, s.rot = load, rot
	}
}

// finish goes some more steps from the best, which costs nothing beside the
// search, and writes the rotation in plain decimals.
func (s *scaling) finish() {
	for range 4 {
		s.stand(mesh.Vec{X: s.rot[6], Y: s.rot[7], Z: s.rot[8]})
		load, _ := s.load()
		_, _, turn := s.lighten(s.up, load)
		rot := s.rotation(turn)
		s.keep(rot)
		if !s.stickOut(rot) {
			break
		}
	}
	s.rot = inTwelveDecimals(s.rot)
	s.least = s.part.loadIn(s.rot)
}

// loadIn is what posture.load says, by multiplying every point.
func (pt part) loadIn(rot [9]float64) float64 {
	turned := make([]mesh.Vec, len(pt.points))
	for i, v := range pt.points {
		turned[i] = Apply(rot, v)
	}
	e := extents(turned)
	if pt.round {
		return max(2*leastCircle(footprint(nil, turned)).r/pt.room.X, e.Z/pt.room.Z)
	}
	return max(e.X/pt.room.X, e.Y/pt.room.Y, e.Z/pt.room.Z)
}
