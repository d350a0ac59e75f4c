package fit

import (
	"math"

	"cardback/internal/mesh"
)

// posture looks at some of a part's points with a given direction up. It owns
// the room for doing that again and again.
type posture struct {
	room  mesh.Vec
	round bool
	// points are a subset of the part's, so that what is too large here is too
	// large in full.
	points []mesh.Vec

	right, ahead, up mesh.Vec // an orthonormal frame
	seen             []mesh.Vec
	feet             []mesh.Vec // corners of the footprint, with their heights
	tall             mesh.Vec   // the chord from the lowest point to the highest, in the part's own axes
	t                turns
	work             int // points looked at so far
}

// stand takes up as the vertical and projects the points.
func (s *posture) stand(up mesh.Vec) {
	s.up = up
	// The axis least along up gives a frame far from degenerate.
	axis := mesh.Vec{X: 1}
	if ax, ay, az := math.Abs(up.X), math.Abs(up.Y), math.Abs(up.Z); ay <= ax && ay <= az {
		axis = mesh.Vec{Y: 1}
	} else if az <= ax && az <= ay {
		axis = mesh.Vec{Z: 1}
	}
	r := up.Cross(axis)
	s.right = r.Scale(1 / r.Norm())
	s.ahead = up.Cross(s.right)
	s.seen = s.seen[:0]
	low, high := 0, 0
	for i, p := range s.points {
		v := mesh.Vec{X: p.Dot(s.right), Y: p.Dot(s.ahead), Z: p.Dot(up)}
		s.seen = append(s.seen, v)
		if v.Z < s.seen[low].Z {
			low = i
		}
		if v.Z > s.seen[high].Z {
			high = i
		}
	}
	s.tall = s.points[high].Sub(s.points[low])
	s.work += len(s.points)
	s.feet = s.feet[:0]
}

func (s *posture) height() float64 { return s.tall.Dot(s.up) }

func (s *posture) corners() []mesh.Vec {
	if len(s.feet) == 0 {
		s.feet = footprint(s.feet, s.seen)
		s.work += 4 * len(s.points) // sorting
	}
	return s.feet
}

// spare returns the most that any turn leaves free in this posture, and that
// turn. A posture too tall is not turned at all.
func (s *posture) spare() (float64, dir) {
	spare := s.room.Z - s.height()
	s.work += 4 * len(s.corners())
	if s.round {
		return min(spare, s.room.X-2*leastCircle(s.feet).r), dir{1, 0}
	}
	f, flat := s.t.bestTurn(s.feet, s.room.X, s.room.Y)
	return min(spare, flat), f
}

// rotation is the matrix that brings the posture, turned so that f lies along
// the width, onto the plate.
func (s *posture) rotation(f dir) [9]float64 {
	x := s.right.Scale(f.x).Add(s.ahead.Scale(f.y))
	y := s.ahead.Scale(f.x).Sub(s.right.Scale(f.y))
	z := s.up
	return [9]float64{x.X, x.Y, x.Z, y.X, y.Y, y.Z, z.X, z.Y, z.Z}
}

// fall is by how much extents may fall short of those at a cell's centre when
// the upward direction moves elsewhere in the cell; see fallIn.
type fall struct {
	low  float64 // no orientation in the cell is less high
	sin  float64 // sin δ
	bend float64 // 1 − cos δ
}

// fallIn looks at the cell on whose centre s stands.
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
func (s *posture) fallIn(c cell) fall {
	// The sine is taken from the cross product: from the cosine it would come
	// out as 0 for angles below 1e-8, and the bound would be too low.
	f := fall{low: math.Inf(1)}
	for _, v := range c.corners() {
		f.sin = max(f.sin, v.Cross(s.up).Norm())
		f.low = min(f.low, s.tall.Dot(v))
	}
	f.sin, f.low = min(f.sin, 1), max(f.low, 0)
	f.bend = float64(f.sin*f.sin) / (1 + math.Sqrt(1-float64(f.sin*f.sin)))
	return f
}

// of is the most by which the extent along a chord of the footprint falls.
func (f fall) of(chord mesh.Vec) float64 {
	return float64(dir{chord.X, chord.Y}.norm()*f.bend) + float64(math.Abs(chord.Z)*f.sin)
}

// leastDiameter bounds from below the diameter of the circle around the
// footprint throughout the cell. The circle found may be too large by nearly,
// and corners on it may be that far inside.
func (s *posture) leastDiameter(f fall) float64 {
	k := leastCircle(s.corners())
	lowest, highest := math.Inf(1), math.Inf(-1)
	for _, p := range s.feet {
		if k.distance(p) >= k.r*(1-1e3*nearly) {
			lowest, highest = min(lowest, p.Z), max(highest, p.Z)
		}
	}
	return 2*(k.r-float64(k.r*(f.bend+2*nearly))) - float64((highest-lowest)*f.sin)
}

// ceiling bounds from above what any orientation whose upward direction lies
// in the cell leaves free; s must stand on the cell's centre. It stops early,
// with a valid bound, once that is below enough. On rectangular plates the
// largest turn of the footprint is sought with the fall added to the room, arc
// by arc.
func (s *posture) ceiling(c cell, enough float64) float64 {
	fall := s.fallIn(c)
	most := s.room.Z - fall.low
	if most < enough {
		return most
	}
	s.work += 4 * len(s.corners())
	if s.round {
		return min(most, s.room.X-s.leastDiameter(fall))
	}
	flat := math.Inf(1)
	s.t.each(s.feet, func(f0, f1 dir, a, b mesh.Vec) {
		_, over := leastMax(f0, f1, dir{a.X, a.Y}, s.room.X+fall.of(a), dir{b.Y, -b.X}, s.room.Y+fall.of(b))
		flat = min(flat, over)
	})
	return min(most, -flat)
}

// load is the greatest share of its room that an extent takes, in the posture
// and at its best turn, and that turn: one over the scale at which the posture
// just fits.
func (s *posture) load() (float64, dir) {
	high := s.height() / s.room.Z
	s.work += 4 * len(s.corners())
	if s.round {
		return max(high, 2*leastCircle(s.feet).r/s.room.X), dir{1, 0}
	}
	f, flat := s.t.leastLoad(s.feet, s.room.X, s.room.Y)
	return max(high, flat), f
}

// leastLoad bounds from below the load of any orientation whose upward
// direction lies in the cell, as ceiling does for what is left free; it stops
// early, with a valid bound, once that is above enough.
func (s *posture) leastLoad(c cell, enough float64) float64 {
	fall := s.fallIn(c)
	least := fall.low / s.room.Z
	if least > enough {
		return least
	}
	s.work += 4 * len(s.corners())
	if s.round {
		return max(least, s.leastDiameter(fall)/s.room.X)
	}
	flat := math.Inf(1)
	s.t.each(s.feet, func(f0, f1 dir, a, b mesh.Vec) {
		w, d := s.room.X, s.room.Y
		_, v := leastMax(f0, f1, dir{a.X / w, a.Y / w}, fall.of(a)/w, dir{b.Y / d, -b.X / d}, fall.of(b)/d)
		flat = min(flat, v)
	})
	return max(least, flat)
}
