// Package posture says how large a part is with a given direction up, and how
// large it is at least with any direction up of a whole cell of them: the ground of
// every search over orientations. Its central type is Posture, which looks at some
// points of a Part; Tipping chooses which, and climbs from one direction to a better one.
//
// A bound holds for each orientation of its cell, up to Slop, which is derived in
// part.go; the bounds themselves are derived at fallIn. Fewer and Compass keep the
// searches of parts with many points short, and leave out no point that decides.
package posture

import (
	"math"

	"cardback/internal/fit/footprint"
	"cardback/internal/mesh"
)

// Posture looks at some of a part's points with a given direction up. It owns
// the room for doing that again and again.
type Posture struct {
	Room  mesh.Vec
	Round bool
	// points are a subset of the part's, so that what is too large here is too
	// large in full.
	Points []mesh.Vec

	Right, Ahead, Up mesh.Vec // an orthonormal frame
	seen             []mesh.Vec
	Feet             []mesh.Vec // corners of the footprint, with their heights
	tall             mesh.Vec   // the chord from the lowest point to the highest, in the part's own axes
	Turns            footprint.Turns
	Work             int // points looked at so far
}

// Stand takes up as the vertical and projects the points.
func (s *Posture) Stand(up mesh.Vec) {
	s.Up = up
	// The axis least along up gives a frame far from degenerate.
	axis := mesh.Vec{X: 1}
	if ax, ay, az := math.Abs(up.X), math.Abs(up.Y), math.Abs(up.Z); ay <= ax && ay <= az {
		axis = mesh.Vec{Y: 1}
	} else if az <= ax && az <= ay {
		axis = mesh.Vec{Z: 1}
	}
	r := up.Cross(axis)
	s.Right = r.Scale(1 / r.Norm())
	s.Ahead = up.Cross(s.Right)
	s.seen = s.seen[:0]
	low, high := 0, 0
	for i, p := range s.Points {
		v := mesh.Vec{X: p.Dot(s.Right), Y: p.Dot(s.Ahead), Z: p.Dot(up)}
		s.seen = append(s.seen, v)
		if v.Z < s.seen[low].Z {
			low = i
		}
		if v.Z > s.seen[high].Z {
			high = i
		}
	}
	s.tall = s.Points[high].Sub(s.Points[low])
	s.Work += len(s.Points)
	s.Feet = s.Feet[:0]
}

func (s *Posture) Height() float64 { return s.tall.Dot(s.Up) }

func (s *Posture) Corners() []mesh.Vec {
	if len(s.Feet) == 0 {
		s.Feet = footprint.Corners(s.Feet, s.seen)
		s.Work += 4 * len(s.Points) // sorting
	}
	return s.Feet
}

// Clearance returns the most that any turn leaves free in this posture, and that
// turn. A posture too tall is not turned at all.
func (s *Posture) Clearance() (float64, footprint.Dir) {
	clearance := s.Room.Z - s.Height()
	s.Work += 4 * len(s.Corners())
	if s.Round {
		return min(clearance, s.Room.X-2*footprint.LeastCircle(s.Feet).R), footprint.Dir{X: 1, Y: 0}
	}
	f, flat := s.Turns.BestTurn(s.Feet, s.Room.X, s.Room.Y)
	return min(clearance, flat), f
}

// Rotation is the matrix that brings the posture, turned so that f lies along
// the width, onto the plate.
func (s *Posture) Rotation(f footprint.Dir) [9]float64 {
	x := s.Right.Scale(f.X).Add(s.Ahead.Scale(f.Y))
	y := s.Ahead.Scale(f.X).Sub(s.Right.Scale(f.Y))
	z := s.Up
	return [9]float64{x.X, x.Y, x.Z, y.X, y.Y, y.Z, z.X, z.Y, z.Z}
}

// fall is by how much extents may fall short of those at a cell's centre when
// the upward direction moves elsewhere in the cell; see fallIn.
type fall struct {
	Low  float64 // no orientation in the cell is less high
	sin  float64 // sin δ
	bend float64 // 1 − cos δ
}

// FallIn looks at the cell on whose centre s stands.
//
// Height. For the fixed chord c of the tallest pair and a direction v of the
// cell, v is Σλᵢvᵢ over its corners vᵢ, λ ≥ 0, made a unit vector; as
// |Σλᵢvᵢ| ≤ Σλᵢ, c·v ≥ min c·vᵢ wherever that is not negative.
//
// Footprint. Let δ be the greatest angle from the centre u to a corner, which
// for a convex cell is the greatest to any direction in it. An orientation with
// v up is one with u up followed, in the part's frame, by the least rotation
// from u to v: by an angle β ≤ δ, about an axis square to u. With t the
// horizontal unit vector towards which u is tipped, that moves a horizontal
// unit vector e to e − (e·t)[(1−cos β)t + sin β u], so for any chord c with
// horizontal part h
//
//	c·e' ≥ c·e − |h|(1−cos δ) − |c·u| sin δ.
//
// The extent along e' is at least c·e'. Taking for c the pair that realises
// the extent at each turn makes the bound tight at the centre, and lossless to
// first order where that pair lies level.
//
// Round plates. The same movement shifts each corner of the least circle,
// measured from a point at its centre and midway in height, by at most
// r(1−cos δ) + z sin δ, with z half the spread in height of the corners on the
// circle; the radius falls by no more than the greatest shift.
func (s *Posture) FallIn(c Cell) fall {
	// The sine is taken from the cross product: from the cosine it would come
	// out as 0 for angles below 1e-8, and the bound would be too low.
	f := fall{Low: math.Inf(1)}
	for _, v := range c.Corners() {
		f.sin = max(f.sin, v.Cross(s.Up).Norm())
		f.Low = min(f.Low, s.tall.Dot(v))
	}
	f.sin, f.Low = min(f.sin, 1), max(f.Low, 0)
	f.bend = float64(f.sin*f.sin) / (1 + math.Sqrt(1-float64(f.sin*f.sin)))
	return f
}

// of is the most by which the extent along a chord of the footprint falls.
func (f fall) of(chord mesh.Vec) float64 {
	return float64(footprint.Dir{X: chord.X, Y: chord.Y}.Norm()*f.bend) + float64(math.Abs(chord.Z)*f.sin)
}

// LeastDiameter bounds from below the diameter of the circle around the
// footprint throughout the cell. The circle found may be too large by nearly,
// and corners on it may be that far inside.
func (s *Posture) LeastDiameter(f fall) float64 {
	k := footprint.LeastCircle(s.Corners())
	lowest, highest := math.Inf(1), math.Inf(-1)
	for _, p := range s.Feet {
		if k.Distance(p) >= k.R*(1-1e3*footprint.Nearly) {
			lowest, highest = min(lowest, p.Z), max(highest, p.Z)
		}
	}
	return 2*(k.R-float64(k.R*(f.bend+2*footprint.Nearly))) - float64((highest-lowest)*f.sin)
}

// Ceiling bounds from above what any orientation whose upward direction lies
// in the cell leaves free; s must stand on the cell's centre. It stops early,
// with a valid bound, once that is below enough. On rectangular plates the
// largest turn of the footprint is sought with the fall added to the room, arc
// by arc.
func (s *Posture) Ceiling(c Cell, enough float64) float64 {
	fall := s.FallIn(c)
	most := s.Room.Z - fall.Low
	if most < enough {
		return most
	}
	s.Work += 4 * len(s.Corners())
	if s.Round {
		return min(most, s.Room.X-s.LeastDiameter(fall))
	}
	flat := math.Inf(1)
	s.Turns.Each(s.Feet, func(f0, f1 footprint.Dir, a, b mesh.Vec) {
		_, over := footprint.LeastMax(f0, f1, footprint.Dir{X: a.X, Y: a.Y}, s.Room.X+fall.of(a), footprint.Dir{X: b.Y, Y: -b.X}, s.Room.Y+fall.of(b))
		flat = min(flat, over)
	})
	return min(most, -flat)
}

// Load is the greatest share of its room that an extent takes, in the posture
// and at its best turn, and that turn: one over the scale at which the posture
// just fits.
func (s *Posture) Load() (float64, footprint.Dir) {
	high := s.Height() / s.Room.Z
	s.Work += 4 * len(s.Corners())
	if s.Round {
		return max(high, 2*footprint.LeastCircle(s.Feet).R/s.Room.X), footprint.Dir{X: 1, Y: 0}
	}
	f, flat := s.Turns.LeastLoad(s.Feet, s.Room.X, s.Room.Y)
	return max(high, flat), f
}

// LeastLoad bounds from below the load of any orientation whose upward
// direction lies in the cell, as ceiling does for what is left free; it stops
// early, with a valid bound, once that is above enough.
func (s *Posture) LeastLoad(c Cell, enough float64) float64 {
	fall := s.FallIn(c)
	least := fall.Low / s.Room.Z
	if least > enough {
		return least
	}
	s.Work += 4 * len(s.Corners())
	if s.Round {
		return max(least, s.LeastDiameter(fall)/s.Room.X)
	}
	flat := math.Inf(1)
	s.Turns.Each(s.Feet, func(f0, f1 footprint.Dir, a, b mesh.Vec) {
		w, d := s.Room.X, s.Room.Y
		_, v := footprint.LeastMax(f0, f1, footprint.Dir{X: a.X / w, Y: a.Y / w}, fall.of(a)/w, footprint.Dir{X: b.Y / d, Y: -b.X / d}, fall.of(b)/d)
		flat = min(flat, v)
	})
	return max(least, flat)
}
