package fit

import (
	"container/heap"
	"context"

	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// pointBudget and polishBudget bound the search for a tipped orientation, in
// points looked at, so that an answer never depends on the speed of a machine.
// The whole of it takes some 0.3 s of processor time, up to 0.5 s with the least
// width of a part of many points. The first bounds the whole search; the second
// what is still spent, once Tolerance is settled, on finding a fit tighter than
// that or on proving that there is none at all.
const (
	pointBudget  = 16_000_000
	polishBudget = 600_000
)

// tipped answers for a part that fits neither as supplied nor turned, where
// the best turn leaves turned to spare (negative).
//
// The search looks at a subset of the points. That is sound for the proof: the
// extents of a subset are never larger. An orientation in which the subset fits
// is tried on all points; if it fails, the points that stick out join the
// subset.
func tipped(ctx context.Context, pt posture.Part, res Result, turned float64) Result {
	miss := "it misses " + missText(-turned) + " as supplied or turned."
	s := posture.NewTipping(pt)

	along := s.Longest()
	if diagonal := pt.Diagonal(); along.Norm() > diagonal+pt.Slop {
		res.Verdict = CannotFit
		res.Reason = "Proved: no orientation fits, since the part is longer than the plate from corner to corner; " + miss
		return res
	}
	if s.Wider(min(pt.Room.X, pt.Room.Y, pt.Room.Z)+pt.Slop, posture.WidthBudget) {
		res.Verdict = CannotFit
		res.Reason = "Proved: no orientation fits, since the part is nowhere as narrow as the plate is; " + miss
		return res
	}
	for _, up := range s.Seeds(along) {
		if rot, ok := s.Try(up); ok {
			return foundTipped(s, res, rot)
		}
	}

	q := make(posture.Queue, 0, 64)
	serial := 0
	for _, c := range posture.WholeSphere() {
		q = append(q, c)
	}
	heap.Init(&q)
	settled := -1
	for len(q) > 0 && q[0].Ceiling >= -pt.Slop {
		switch {
		case ctx.Err() != nil:
			res.Reason = "Stopped before there was an answer."
			return res
		case settled < 0 && q[0].Ceiling < Tolerance-pt.Slop:
			settled = s.Work
		}
		if settled < 0 && s.Work > pointBudget {
			res.Reason = "Neither an orientation that fits nor a proof that there is none was found; " + miss
			return res
		}
		if settled >= 0 && s.Work > settled+polishBudget {
			res.Verdict = CannotFit
			res.Reason = "Proved: no orientation fits with 0.1 mm to spare; " + miss
			return res
		}
		c := heap.Pop(&q).(posture.Cell)
		for _, k := range c.Quarters() {
			up := k.Centre()
			s.Stand(up)
			k.Ceiling = min(c.Ceiling, s.Ceiling(k, -pt.Slop))
			if k.Ceiling < -pt.Slop {
				continue
			}
			if rot, ok := s.Try(up); ok {
				return foundTipped(s, res, rot)
			}
			serial++
			k.Serial = serial
			heap.Push(&q, k)
		}
	}
	res.Verdict = CannotFit
	res.Reason = "Proved: no orientation fits; " + miss
	return res
}

// foundTipped fills in a tipped answer, after some more steps towards the most to
// spare.
func foundTipped(s *posture.Tipping, res Result, rot [9]float64) Result {
	clearance := s.Part.Clearance(rot)
	for range 4 {
		up, _ := s.Improve(mesh.Vec{X: rot[6], Y: rot[7], Z: rot[8]}, clearance)
		s.Stand(up)
		_, f := s.Posture.Clearance()
		better := s.Rotation(f)
		if got := s.Part.Clearance(better); got > clearance {
			rot, clearance = better, got
		}
		if !s.StickOut(better) {
			break
		}
	}
	plain := rotation.InTwelveDecimals(rot)
	if got := s.Part.Clearance(plain); got >= -s.Part.Slop {
		rot, clearance = plain, got
	}
	rot = rotation.WithoutMinusZero(s.OnPlate(rot))
	res.Verdict, res.Rotation, res.Extents = Tipped, rot, s.Part.ExtentsIn(rot)
	res.Reason = "Fits tipped as the rotation says, with " + SpareText(clearance) + " to spare."
	return res
}
