package fit

import (
	"cmp"
	"context"
	"math"

	"cardback/internal/fit/footprint"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
	"cardback/internal/words"
)

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
	res, pt, clearance, done := fitTurned(hull, p)
	if done {
		return res
	}
	return tipped(ctx, pt, res, clearance)
}

// fitTurned decides what can be decided without tipping. Where it is not done,
// the part fits neither as supplied nor turned, and clearance, negative, is what the
// best turn leaves.
func fitTurned(hull []mesh.Vec, p Plate) (res Result, pt posture.Part, clearance float64, done bool) {
	res = Result{Verdict: Undecided, Rotation: rotation.Identity, Tolerance: Tolerance}
	if res.Reason = notFit(hull, p); res.Reason != "" {
		return res, pt, 0, true
	}
	room := p.Usable()
	res.Extents = footprint.Extents(hull)
	if min(room.X, room.Y, room.Z) <= 0 {
		res.Verdict, res.Reason = CannotFit, "Nothing is left of the plate within its margin."
		return res, pt, 0, true
	}
	if len(hull) == 0 {
		res.Verdict, res.LargestScale, res.Reason = AsSupplied, MaxScale, "There is nothing to place."
		return res, pt, 0, true
	}

	pt = posture.NewPart(hull, room, p.Round)
	corners := footprint.Corners(nil, append([]mesh.Vec(nil), pt.Points...))
	var t footprint.Turns
	res.LargestScale = min(pt.Room.Z/res.Extents.Z, turnedScale(pt, &t, corners), MaxScale)

	clearance = pt.Clearance(rotation.Identity)
	if clearance >= -pt.Slop {
		res.Verdict, res.Reason = AsSupplied, "Fits as supplied with "+SpareText(clearance)+" to spare."
		return res, pt, clearance, true
	}
	if !pt.Round {
		f, flat := t.BestTurn(corners, pt.Room.X, pt.Room.Y)
		clearance = min(flat, pt.Room.Z-res.Extents.Z)
		if clearance >= -pt.Slop {
			if sure := turnedResult(pt, res, f, clearance); sure.Verdict == Turned {
				return sure, pt, clearance, true
			}
			// The two roundings differ where the last digits decide; then it does
			// not fit as far as anyone can check.
			clearance = pt.Clearance(rotation.Identity)
		}
	}
	return res, pt, clearance, false
}

func turnedScale(pt posture.Part, t *footprint.Turns, corners []mesh.Vec) float64 {
	if pt.Round {
		return pt.Room.X / (2 * footprint.LeastCircle(corners).R)
	}
	return t.LargestTurnedScale(corners, pt.Room.X, pt.Room.Y)
}

// notFit says in a sentence what of the part or the plate is no length, if
// anything.
func notFit(hull []mesh.Vec, p Plate) string { return cmp.Or(posture.NotLengths(hull), p.Flaw()) }

// turnedResult fills in a turned answer. The angle is the one with the most to
// spare, written with as few decimals as keep nine tenths of that, so that it
// can be typed into another program and still be true. The answer is left
// Undecided where multiplying every point does not bear the turn out.
func turnedResult(pt posture.Part, res Result, f footprint.Dir, clearance float64) Result {
	g := footprint.Dir{X: f.X, Y: -f.Y}.Upper() // half a turn changes no extent
	exact := math.Atan2(g.Y, g.X) * 180 / math.Pi
	res.TurnDeg, res.Rotation = exact, [9]float64{g.X, -g.Y, 0, g.Y, g.X, 0, 0, 0, 1}
	for _, unit := range [...]float64{1, 10, 100, 1e4, 1e6, 1e9} {
		deg := math.Round(exact*unit) / unit
		rot := rotation.AboutVertical(deg)
		if s := pt.Clearance(rot); deg < 180 && s >= 0.9*clearance && s >= 0 {
			res.TurnDeg, res.Rotation, clearance = deg, rot, s
			break
		}
	}
	if pt.Clearance(res.Rotation) < -pt.Slop {
		return res
	}
	res.Verdict = Turned
	res.Extents = pt.ExtentsIn(res.Rotation)
	res.Reason = "Fits turned " + words.Degrees(res.TurnDeg) + " about the vertical, with " + SpareText(clearance) + " to spare."
	return res
}
