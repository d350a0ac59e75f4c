package fit

import (
	"container/heap"
	"context"
	"math"

	"cardback/internal/mesh"
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

// localSearches is how many times an improved posture is improved further by
// small steps; the branch and bound does not depend on it.
const localSearches = 24

// mostRounds is how often points that stick out are added to the chosen ones at one
// orientation before it is left: some ten are enough for anything but a part of very
// many points made so that each hides the next.
const mostRounds = 100

// climbs is how many steps, taken or not, one such search may have: about
// twice what it takes to halve the first step down to 1e-12.
const climbs = 80

// tipping is one search for a tipped orientation.
type tipping struct {
	part
	posture
	chosen   map[int]bool // of part.points, those that the posture looks at
	moved    int          // by how many places the plate's axes are moved on
	best     float64      // the most to spare so far, over the chosen points
	searches int
	compass  *compass // over part.points, where there is one
}

// newTipping prepares a search. On a rectangular plate any side may stand for
// the height, as the part may be turned in any way: the shortest does, because
// it excludes most directions, and does so without a look at the footprint.
func newTipping(pt part) *tipping {
	s := &tipping{part: pt, chosen: map[int]bool{}, best: math.Inf(-1)}
	if room := pt.room; !pt.round {
		switch least := min(room.X, room.Y, room.Z); least {
		case room.Z:
		case room.X:
			s.moved, s.part.room = 1, mesh.Vec{X: room.Y, Y: room.Z, Z: room.X}
		default:
			s.moved, s.part.room = 2, mesh.Vec{X: room.Z, Y: room.X, Z: room.Y}
		}
	}
	s.posture.room, s.posture.round = s.part.room, pt.round
	s.choose()
	return s
}

// onPlate is a rotation found by the search, with the plate's own axes back in
// their places: row i of rot belongs to the axis i + moved. Going round by a
// place keeps it a rotation.
func (s *tipping) onPlate(rot [9]float64) (out [9]float64) {
	for i := range 9 {
		out[(i+3*s.moved)%9] = rot[i]
	}
	return out
}

// offPlate undoes onPlate.
func (s *tipping) offPlate(rot [9]float64) (out [9]float64) {
	for i := range 9 {
		out[i] = rot[(i+3*s.moved)%9]
	}
	return out
}

// tipped answers for a part that fits neither as supplied nor turned, where
// the best turn leaves turned to spare (negative).
//
// The search looks at a subset of the points. That is sound for the proof: the
// extents of a subset are never larger. An orientation in which the subset fits
// is tried on all points; if it fails, the points that stick out join the
// subset.
func (pt part) tipped(ctx context.Context, res Result, turned float64) Result {
	miss := "it misses " + missText(-turned) + " as supplied or turned."
	s := newTipping(pt)

	along := s.longest()
	if diagonal := pt.diagonal(); along.Norm() > diagonal+pt.slop {
		res.Verdict = CannotFit
		res.Reason = "Proved: no orientation fits, since the part is longer than the plate from corner to corner; " + miss
		return res
	}
	if s.wider(min(pt.room.X, pt.room.Y, pt.room.Z)+pt.slop, widthBudget) {
		res.Verdict = CannotFit
		res.Reason = "Proved: no orientation fits, since the part is nowhere as narrow as the plate is; " + miss
		return res
	}
	for _, up := range s.seeds(along) {
		if rot, ok := s.try(up); ok {
			return s.found(res, rot)
		}
	}

	q := make(queue, 0, 64)
	serial := 0
	for _, c := range wholeSphere() {
		q = append(q, c)
	}
	heap.Init(&q)
	settled := -1
	for len(q) > 0 && q[0].ceiling >= -pt.slop {
		switch {
		case ctx.Err() != nil:
			res.Reason = "Stopped before there was an answer."
			return res
		case settled < 0 && q[0].ceiling < Tolerance-pt.slop:
			settled = s.work
		}
		if settled < 0 && s.work > pointBudget {
			res.Reason = "Neither an orientation that fits nor a proof that there is none was found; " + miss
			return res
		}
		if settled >= 0 && s.work > settled+polishBudget {
			res.Verdict = CannotFit
			res.Reason = "Proved: no orientation fits with 0.1 mm to spare; " + miss
			return res
		}
		c := heap.Pop(&q).(cell)
		for _, k := range c.quarters() {
			up := k.centre()
			s.stand(up)
			k.ceiling = min(c.ceiling, s.ceiling(k, -pt.slop))
			if k.ceiling < -pt.slop {
				continue
			}
			if rot, ok := s.try(up); ok {
				return s.found(res, rot)
			}
			serial++
			k.serial = serial
			heap.Push(&q, k)
		}
	}
	res.Verdict = CannotFit
	res.Reason = "Proved: no orientation fits; " + miss
	return res
}

func (pt part) diagonal() float64 {
	if pt.round {
		return mesh.Vec{X: pt.room.X, Z: pt.room.Z}.Norm()
	}
	return pt.room.Norm()
}

// manyPoints is the count up to which all points are looked at; of more, those
// farthest along probes spread over the sphere.
const manyPoints, probes = 64, 48

func (s *tipping) choose() {
	n := len(s.part.points)
	if n <= manyPoints {
		for i := range n {
			s.add(i)
		}
		return
	}
	for k := range probes {
		// A spiral of equal areas over the half-sphere.
		z := (float64(k) + 0.5) / probes
		r := math.Sqrt(1 - float64(z*z))
		sin, cos := math.Sincos(float64(k) * math.Pi * (3 - math.Sqrt(5)))
		s.addExtremes(mesh.Vec{X: r * cos, Y: r * sin, Z: z})
	}
}

func (s *tipping) add(i int) bool {
	if s.chosen[i] {
		return false
	}
	s.chosen[i] = true
	s.posture.points = append(s.posture.points, s.part.points[i])
	return true
}

// addExtremes adds the points farthest along v and against it; it reports
// whether either was new.
func (s *tipping) addExtremes(v mesh.Vec) bool {
	if c := s.compass; c != nil {
		a := s.add(c.farthest(v.Scale(-1), c.toward(v.Scale(-1), 0)))
		return s.add(c.farthest(v, c.toward(v, 0))) || a
	}
	low, high := 0, 0
	least, most := math.Inf(1), math.Inf(-1)
	for i, p := range s.part.points {
		d := p.Dot(v)
		if d < least {
			low, least = i, d
		}
		if d > most {
			high, most = i, d
		}
	}
	a, b := s.add(low), s.add(high)
	return a || b
}

// longest returns the longest chord between two chosen points.
func (s *tipping) longest() mesh.Vec {
	var out mesh.Vec
	var most float64
	for i, p := range s.posture.points {
		for _, q := range s.posture.points[:i] {
			if d := p.Sub(q); d.Dot(d) > most {
				out, most = d, d.Dot(d)
			}
		}
	}
	return out
}

// seeds are upward directions worth trying first: the part's own axes, and
// those that lay its longest chord along a diagonal of the plate, rolled about
// that chord in twelve steps.
func (s *tipping) seeds(along mesh.Vec) []mesh.Vec {
	out := []mesh.Vec{{X: 1}, {Y: 1}, {Z: 1}}
	l := along.Norm()
	if l == 0 {
		return out
	}
	s.stand(along.Scale(1 / l))
	rise := s.part.room.Z / s.part.diagonal()
	across := math.Sqrt(max(0, 1-float64(rise*rise)))
	right, ahead, chord := s.right, s.ahead, s.up
	for k := range 12 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 6)
		v := chord.Scale(rise).Add(right.Scale(across * cos)).Add(ahead.Scale(across * sin))
		out = append(out, v.Scale(1/v.Norm()))
	}
	return out
}

// try looks for a fit at up and, where that is the best so far, near it. What
// it returns has been checked on all points.
func (s *tipping) try(up mesh.Vec) ([9]float64, bool) {
	s.stand(up)
	spare, f := s.posture.spare()
	if spare < -s.part.slop && spare > s.best && s.searches < localSearches {
		s.searches++
		up, _ = s.improve(up, spare)
		s.stand(up)
		spare, f = s.posture.spare()
	}
	for range mostRounds {
		if spare < -s.part.slop {
			break
		}
		rot := s.rotation(f)
		if s.part.spare(rot) >= -s.part.slop {
			return rot, true
		}
		if !s.stickOut(rot) {
			break
		}
		s.stand(up)
		spare, f = s.posture.spare()
	}
	s.best = max(s.best, spare)
	return identity, false
}

// stickOut adds the points that reach farthest in the orientation; it reports
// whether any was new.
func (s *tipping) stickOut(rot [9]float64) bool {
	if s.compass == nil {
		s.work += 8 * len(s.part.points) // checked once and gone through three times
	}
	added := false
	for i := range 3 {
		added = s.addExtremes(mesh.Vec{X: rot[3*i], Y: rot[3*i+1], Z: rot[3*i+2]}) || added
	}
	if s.part.round {
		turned, number := s.afoot(rot)
		s.work += 8 * len(turned)
		k := leastCircle(footprint(nil, append([]mesh.Vec(nil), turned...)))
		for i, v := range turned {
			if k.distance(v) >= k.r*(1-1e3*nearly) {
				added = s.add(number(i)) || added
			}
		}
	}
	return added
}

// improve climbs from up towards more to spare.
func (s *tipping) improve(up mesh.Vec, spare float64) (mesh.Vec, float64) {
	return s.climb(up, spare, func(more float64) float64 {
		if most := s.part.room.Z - s.height(); most <= more {
			return most
		}
		got, _ := s.posture.spare()
		return got
	}, func(spare float64) float64 {
		if spare > -0.01 && spare < -s.part.slop { // so near that the last digits decide
			return 1e-12
		}
		return 1e-7
	})
}

// afoot are the points, turned, that may be corners of the footprint, and which of the
// part's points they are.
func (s *tipping) afoot(rot [9]float64) (turned []mesh.Vec, number func(int) int) {
	if c := s.compass; c != nil {
		from := c.level(mesh.Vec{X: rot[6], Y: rot[7], Z: rot[8]})
		return c.turned(rot, from), func(i int) int { return int(from[i]) }
	}
	turned = make([]mesh.Vec, len(s.part.points))
	for i, v := range s.part.points {
		turned[i] = Apply(rot, v)
	}
	return turned, func(i int) int { return i }
}

// climb goes from up by steps in six directions, halved when none helps and
// turned a little each time, so as not to stall on a ridge. value measures the
// posture as it stands, and may stop early where that is no more than it is
// given; least is the shortest step that is worth it at a value.
func (s *tipping) climb(up mesh.Vec, value float64, measure, least func(float64) float64) (mesh.Vec, float64) {
	turn, step := 0.0, 0.2
	for range climbs {
		if step < least(value) {
			break
		}
		s.stand(up)
		right, ahead := s.right, s.ahead
		better := false
		for k := range 6 {
			sin, cos := math.Sincos(turn + float64(k)*math.Pi/3)
			v := up.Add(right.Scale(step * cos)).Add(ahead.Scale(step * sin))
			v = v.Scale(1 / v.Norm())
			s.stand(v)
			if got := measure(value); got > value {
				up, value, better = v, got, true
				break
			}
		}
		turn += 2.4 // near the golden angle: directions do not repeat
		if !better {
			step /= 2
		}
	}
	return up, value
}

// found fills in a tipped answer, after some more steps towards the most to
// spare.
func (s *tipping) found(res Result, rot [9]float64) Result {
	spare := s.part.spare(rot)
	for range 4 {
		up, _ := s.improve(mesh.Vec{X: rot[6], Y: rot[7], Z: rot[8]}, spare)
		s.stand(up)
		_, f := s.posture.spare()
		better := s.rotation(f)
		if got := s.part.spare(better); got > spare {
			rot, spare = better, got
		}
		if !s.stickOut(better) {
			break
		}
	}
	plain := inTwelveDecimals(rot)
	if got := s.part.spare(plain); got >= -s.part.slop {
		rot, spare = plain, got
	}
	rot = withoutMinusZero(s.onPlate(rot))
	res.Verdict, res.Rotation, res.Extents = Tipped, rot, s.part.extentsIn(rot)
	res.Reason = "Fits tipped as the rotation says, with " + spareText(spare) + " to spare."
	return res
}

// inTwelveDecimals hides the last bits, in which machines may differ.
func inTwelveDecimals(rot [9]float64) [9]float64 {
	for i, v := range rot {
		rot[i] = math.Round(v*1e12) / 1e12
	}
	return rot
}
