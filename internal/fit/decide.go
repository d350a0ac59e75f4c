package fit

import (
	"context"
	"math"

	"cardback/internal/mesh"
)

// slop is what float64 may add to an extent, in mm, for a part whose points
// lie within radius of its centre; what is larger than its room by less than
// slop fits.
//
// A rotated coordinate is a sum of three products of a coordinate and an entry
// of the matrix. With u = 2⁻⁵³ it is wrong by at most 3u of the sum of the
// products' sizes, which is at most √3·radius; the entries are themselves
// wrong by a few u (taken as 8u); an extent is a difference of two: in all
// 2·(3+8)·√3·u·radius < 5e-15·radius. Corners that footprint takes for one add
// 2·apart of at most twice the radius: 8e-15·radius. 2e-14 holds both; and for
// parts below 50 m, which is all that is printed, a flat 1e-9 mm is taken.
func slop(radius float64) float64 { return 2e-14 * max(radius, 5e4) }

// farthest is the greatest coordinate, in mm, that is taken for a length (a
// thousand kilometres); squares of more might overflow further on.
const farthest = 1e9

var identity = [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}

// part is a point set moved to the middle of its bounds, and the room it is to
// go into.
type part struct {
	points []mesh.Vec
	radius float64 // no point is farther from the origin
	room   mesh.Vec
	round  bool
	slop   float64
}

// Fit decides whether the part with the given hull fits on the plate, and how,
// preferring the least change: as supplied, turned, tipped. The hull is the
// vertices of the part's convex hull in mm, in any order and anywhere in
// space; points inside it do no harm but cost time. It is not written to.
//
// As supplied, turned and LargestScale are decided exactly, up to slop. A
// Tipped answer has been checked by multiplying every point; CannotFit is a
// proof to within Tolerance, which see. An empty hull fits as supplied.
// Undecided is given for coordinates or plates that are not finite, for a
// margin below zero, when ctx ends first, and past the budget of the search for
// a tipped orientation.
func Fit(ctx context.Context, hull []mesh.Vec, p Plate) Result {
	res, pt, spare, done := fitTurned(hull, p)
	if done {
		return res
	}
	return pt.tipped(ctx, res, spare)
}

// fitTurned decides what can be decided without tipping. Where it is not done,
// the part fits neither as supplied nor turned, and spare, negative, is what the
// best turn leaves.
func fitTurned(hull []mesh.Vec, p Plate) (res Result, pt part, spare float64, done bool) {
	res = Result{Verdict: Undecided, Rotation: identity, Tolerance: Tolerance}
	if res.Reason = notLengths(hull, p); res.Reason != "" {
		return res, pt, 0, true
	}
	room := p.usable()
	res.Extents = extents(hull)
	if min(room.X, room.Y, room.Z) <= 0 {
		res.Verdict, res.Reason = CannotFit, "Nothing is left of the plate within its margin."
		return res, pt, 0, true
	}
	if len(hull) == 0 {
		res.Verdict, res.LargestScale, res.Reason = AsSupplied, MaxScale, "There is nothing to place."
		return res, pt, 0, true
	}

	pt = newPart(hull, room, p.Round)
	corners := footprint(nil, append([]mesh.Vec(nil), pt.points...))
	var t turns
	res.LargestScale = min(pt.room.Z/res.Extents.Z, pt.turnedScale(&t, corners), MaxScale)

	spare = pt.spare(identity)
	if spare >= -pt.slop {
		res.Verdict, res.Reason = AsSupplied, "Fits as supplied with "+spareText(spare)+" to spare."
		return res, pt, spare, true
	}
	if !pt.round {
		f, flat := t.bestTurn(corners, pt.room.X, pt.room.Y)
		spare = min(flat, pt.room.Z-res.Extents.Z)
		if spare >= -pt.slop {
			if sure := pt.turned(res, f, spare); sure.Verdict == Turned {
				return sure, pt, spare, true
			}
			// The two roundings differ where the last digits decide; then it does
			// not fit as far as anyone can check.
			spare = pt.spare(identity)
		}
	}
	return res, pt, spare, false
}

// notLengths says in a sentence what of the part or the plate is no length, if
// anything.
func notLengths(hull []mesh.Vec, p Plate) string {
	for _, v := range hull {
		if !(max(math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z)) <= farthest) {
			return "The part has a coordinate that is not a length."
		}
	}
	room := p.usable()
	if !(max(math.Abs(room.X), math.Abs(room.Y), math.Abs(room.Z)) <= farthest) {
		return "The plate has a dimension that is not a length."
	}
	if p.Margin < 0 {
		return "The plate's margin is below zero."
	}
	return ""
}

func newPart(hull []mesh.Vec, room mesh.Vec, round bool) part {
	pt := part{points: make([]mesh.Vec, len(hull)), room: room, round: round}
	centre := bounds(hull).Centre()
	for i, v := range hull {
		pt.points[i] = v.Sub(centre)
		pt.radius = max(pt.radius, pt.points[i].Norm())
	}
	pt.slop = slop(pt.radius)
	return pt
}

// spare measures what the orientation leaves free, by multiplying every point:
// the least over height, width and depth, or over height and diameter.
// Negative: by how much the worst of them is too large.
func (pt part) spare(rot [9]float64) float64 {
	turned := make([]mesh.Vec, len(pt.points))
	for i, v := range pt.points {
		turned[i] = Apply(rot, v)
	}
	e := extents(turned)
	if pt.round {
		c := leastCircle(footprint(nil, turned))
		return min(pt.room.X-2*c.r, pt.room.Z-e.Z)
	}
	return min(pt.room.X-e.X, pt.room.Y-e.Y, pt.room.Z-e.Z)
}

func (pt part) turnedScale(t *turns, corners []mesh.Vec) float64 {
	if pt.round {
		return pt.room.X / (2 * leastCircle(corners).r)
	}
	return t.largestTurnedScale(corners, pt.room.X, pt.room.Y)
}

// turned fills in a turned answer. The angle is the one with the most to
// spare, written with as few decimals as keep nine tenths of that, so that it
// can be typed into another program and still be true. The answer is left
// Undecided where multiplying every point does not bear the turn out.
func (pt part) turned(res Result, f dir, spare float64) Result {
	g := dir{f.x, -f.y}.upper() // half a turn changes no extent
	exact := math.Atan2(g.y, g.x) * 180 / math.Pi
	res.TurnDeg, res.Rotation = exact, [9]float64{g.x, -g.y, 0, g.y, g.x, 0, 0, 0, 1}
	for _, unit := range [...]float64{1, 10, 100, 1e4, 1e6, 1e9} {
		deg := math.Round(exact*unit) / unit
		rot := aboutVertical(deg)
		if s := pt.spare(rot); deg < 180 && s >= 0.9*spare && s >= 0 {
			res.TurnDeg, res.Rotation, spare = deg, rot, s
			break
		}
	}
	if pt.spare(res.Rotation) < -pt.slop {
		return res
	}
	res.Verdict = Turned
	res.Extents = pt.extentsIn(res.Rotation)
	res.Reason = "Fits turned " + degText(res.TurnDeg) + " about the vertical, with " + spareText(spare) + " to spare."
	return res
}

func (pt part) extentsIn(rot [9]float64) mesh.Vec {
	turned := make([]mesh.Vec, len(pt.points))
	for i, v := range pt.points {
		turned[i] = Apply(rot, v)
	}
	return extents(turned)
}

// Apply turns v by a Result's Rotation.
func Apply(rot [9]float64, v mesh.Vec) mesh.Vec {
	return mesh.Vec{
		X: mesh.Vec{X: rot[0], Y: rot[1], Z: rot[2]}.Dot(v),
		Y: mesh.Vec{X: rot[3], Y: rot[4], Z: rot[5]}.Dot(v),
		Z: mesh.Vec{X: rot[6], Y: rot[7], Z: rot[8]}.Dot(v),
	}
}

// aboutVertical is the rotation by deg degrees counter-clockwise about +Z,
// exact for right angles.
func aboutVertical(deg float64) [9]float64 {
	s, c := math.Sincos(deg * math.Pi / 180)
	if quarter := deg / 90; quarter == math.Trunc(quarter) {
		s, c = math.Round(s), math.Round(c)
	}
	return withoutMinusZero([9]float64{c, -s, 0, s, c, 0, 0, 0, 1})
}

// withoutMinusZero writes −0 as 0, which JSON would show.
func withoutMinusZero(rot [9]float64) [9]float64 {
	for i, v := range rot {
		if v == 0 {
			rot[i] = 0
		}
	}
	return rot
}
