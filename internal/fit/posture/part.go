package posture

import (
	"math"

	"cardback/internal/fit/footprint"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// Part is a point set moved to the middle of its bounds, and the room it is to
// go into.
type Part struct {
	Points []mesh.Vec
	Radius float64 // no point is farther from the origin
	Room   mesh.Vec
	Round  bool
	Slop   float64
}

// Slop is what float64 may add to an extent, in mm, for a part whose points
// lie within radius of its centre; what is larger than its room by less than
// slop fits.
//
// A rotated coordinate is a sum of three products of a coordinate and an entry
// of the matrix. With u = 2⁻⁵³ it is wrong by at most 3u of the sum of the
// products' sizes, which is at most √3·radius; the entries are themselves
// wrong by a few u (taken as 8u); an extent is a difference of two: in all
// 2·(3+8)·√3·u·radius < 5e-15·radius. Corners that footprint takes for one add
// 2·cornerGap of at most twice the radius: 8e-15·radius. 2e-14 holds both; and for
// parts below 50 m, which is all that is printed, a flat 1e-9 mm is taken.
func Slop(radius float64) float64 { return 2e-14 * max(radius, 5e4) }

// Farthest is the greatest coordinate, in mm, that is taken for a length (a
// thousand kilometres); squares of more might overflow further on.
const Farthest = 1e9

// NotLengths says in a sentence what of the part is no length, if anything.
func NotLengths(points []mesh.Vec) string {
	for _, v := range points {
		if !(max(math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z)) <= Farthest) {
			return "The part has a coordinate that is not a length."
		}
	}
	return ""
}

func NewPart(hull []mesh.Vec, room mesh.Vec, round bool) Part {
	pt := Part{Points: make([]mesh.Vec, len(hull)), Room: room, Round: round}
	centre := footprint.Bounds(hull).Centre()
	for i, v := range hull {
		pt.Points[i] = v.Sub(centre)
		pt.Radius = max(pt.Radius, pt.Points[i].Norm())
	}
	pt.Slop = Slop(pt.Radius)
	return pt
}

// Clearance measures what the orientation leaves free, by multiplying every point:
// the least over height, width and depth, or over height and diameter.
// Negative: by how much the worst of them is too large.
func (pt Part) Clearance(rot [9]float64) float64 {
	turned := make([]mesh.Vec, len(pt.Points))
	for i, v := range pt.Points {
		turned[i] = rotation.Apply(rot, v)
	}
	e := footprint.Extents(turned)
	if pt.Round {
		c := footprint.LeastCircle(footprint.Corners(nil, turned))
		return min(pt.Room.X-2*c.R, pt.Room.Z-e.Z)
	}
	return min(pt.Room.X-e.X, pt.Room.Y-e.Y, pt.Room.Z-e.Z)
}

func (pt Part) ExtentsIn(rot [9]float64) mesh.Vec {
	turned := make([]mesh.Vec, len(pt.Points))
	for i, v := range pt.Points {
		turned[i] = rotation.Apply(rot, v)
	}
	return footprint.Extents(turned)
}

// LoadIn is what posture.load says, by multiplying every point.
func (pt Part) LoadIn(rot [9]float64) float64 {
	turned := make([]mesh.Vec, len(pt.Points))
	for i, v := range pt.Points {
		turned[i] = rotation.Apply(rot, v)
	}
	e := footprint.Extents(turned)
	if pt.Round {
		return max(2*footprint.LeastCircle(footprint.Corners(nil, turned)).R/pt.Room.X, e.Z/pt.Room.Z)
	}
	return max(e.X/pt.Room.X, e.Y/pt.Room.Y, e.Z/pt.Room.Z)
}
