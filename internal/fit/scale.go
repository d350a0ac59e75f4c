package fit

import (
	"container/heap"
	"context"
	"errors"
	"math"

	"cardback/internal/fit/footprint"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
	"cardback/internal/words"
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
	if why := notFit(hull, p); why != "" {
		return Scale{}, errors.New("largest scale: " + why)
	}
	out := Scale{Rotation: rotation.Identity, Extents: footprint.Extents(hull)}
	room := p.Usable()
	switch {
	case min(room.X, room.Y, room.Z) <= 0:
		out.Reason = "Nothing is left of the plate within its margin."
		return out, nil
	case len(hull) == 0:
		out.Largest, out.AtMost, out.Reason = MaxScale, MaxScale, "There is nothing to place."
		return out, nil
	}
	pt := posture.NewPart(hull, room, p.Round)
	s := scaling{Tipping: posture.NewTipping(pt), least: math.Inf(1)}
	bound, err := s.run(ctx)
	if err != nil {
		return Scale{}, err
	}
	s.finish()
	out.Rotation = rotation.WithoutMinusZero(s.OnPlate(s.rot))
	out.Extents = pt.ExtentsIn(out.Rotation)
	out.Largest = min(1/s.least, MaxScale)
	// What rounding may have added to the bound: see slop, of which this is the
	// part that grows with the size.
	bound -= 2e-14 * pt.Radius / min(room.X, room.Y, room.Z)
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
	return words.Percent(math.Floor(scale*1e4+1e-6)/1e4, 2)
}

// scaling is one search for the largest scale.
type scaling struct {
	*posture.Tipping
	least float64    // load found so far, over all points
	rot   [9]float64 // the orientation that has it
}

// run returns a bound that no orientation's load is below.
func (s *scaling) run(ctx context.Context) (float64, error) {
	// In the file's orientation, turned: one of these is never beaten by Fit.
	corners := footprint.Corners(nil, append([]mesh.Vec(nil), s.Part.Points...))
	turn := footprint.Dir{X: 1, Y: 0}
	if !s.Part.Round {
		room := s.OnPlateRoom()
		turn, _ = s.Turns.LeastLoad(corners, room.X, room.Y)
	}
	s.keep(s.OffPlate([9]float64{turn.X, turn.Y, 0, -turn.Y, turn.X, 0, 0, 0, 1}))
	for _, up := range s.Seeds(s.Longest()) {
		s.tryLoad(up, true)
	}
	q := make(posture.Queue, 0, 64)
	for _, c := range posture.WholeSphere() {
		heap.Push(&q, c)
	}
	serial := 0
	dropped := math.Inf(1) // least bound of a cell that was dropped
	for len(q) > 0 {
		// The queue gives the highest ceiling first, which is minus the load.
		bound := -q[0].Ceiling
		if enough := s.least / (1 + 0.999*ScaleGap); bound >= enough || s.least <= 1/MaxScale || s.Work > scaleBudget {
			return min(dropped, bound), nil
		}
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		c := heap.Pop(&q).(posture.Cell)
		for _, k := range c.Quarters() {
			enough := s.least / (1 + 0.999*ScaleGap)
			up := k.Centre()
			s.Stand(up)
			k.Ceiling = min(c.Ceiling, -s.LeastLoad(k, enough))
			if -k.Ceiling >= enough {
				dropped = min(dropped, -k.Ceiling)
				continue
			}
			s.tryLoad(up, false)
			serial++
			k.Serial = serial
			heap.Push(&q, k)
		}
	}
	return dropped, nil
}

// tryLoad measures the posture and, where it may be the best so far, those
// near it.
func (s *scaling) tryLoad(up mesh.Vec, seed bool) {
	s.Stand(up)
	load, turn := s.Load()
	if load >= s.least && !seed {
		return
	}
	if s.Searches < posture.LocalSearches {
		s.Searches++
		up, load, turn = s.lighten(up, load)
	}
	for range posture.MostRounds {
		if load >= s.least {
			return
		}
		rot := s.Rotation(turn)
		s.keep(rot)
		if !s.StickOut(rot) {
			return
		}
		s.Stand(up)
		load, turn = s.Load()
	}
}

// lighten climbs from up towards a lesser load.
func (s *scaling) lighten(up mesh.Vec, load float64) (mesh.Vec, float64, footprint.Dir) {
	up, _ = s.Climb(up, -load, func(more float64) float64 {
		if high := s.Height() / s.Part.Room.Z; -high <= more {
			return -high
		}
		got, _ := s.Load()
		return -got
	}, func(float64) float64 { return 1e-7 })
	s.Stand(up)
	load, turn := s.Load()
	return up, load, turn
}

// keep remembers the orientation if it is the best so far, over all points.
func (s *scaling) keep(rot [9]float64) {
	if load := s.Part.LoadIn(rot); load < s.least {
		s.least, s.rot = load, rot
	}
}

// finish goes some more steps from the best, which costs nothing beside the
// search, and writes the rotation in plain decimals.
func (s *scaling) finish() {
	for range 4 {
		s.Stand(mesh.Vec{X: s.rot[6], Y: s.rot[7], Z: s.rot[8]})
		load, _ := s.Load()
		_, _, turn := s.lighten(s.Up, load)
		rot := s.Rotation(turn)
		s.keep(rot)
		if !s.StickOut(rot) {
			break
		}
	}
	s.rot = rotation.InTwelveDecimals(s.rot)
	s.least = s.Part.LoadIn(s.rot)
}
