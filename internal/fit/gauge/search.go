package gauge

import (
	"container/heap"
	"context"
	"math"

	"cardback/internal/fit"
	"cardback/internal/fit/footprint"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// gauging is one search for a place in the small-parts cylinder. It looks at a
// subset of the part's points, which is sound for the proof: what of a part does not fit
// keeps all of it out. A place in which the subset fits is tried with all points; if it
// fails, those that decide there join the subset.
type gauging struct {
	few, all lie
	middle   mesh.Vec // of the hull's bounds, where the points have their origin
	slop     float64
	chosen   map[int]bool // of all.points, those in few
	most     float64      // the most to spare so far, over the chosen points
	searches int
}

func newGauging(hull []mesh.Vec, pt posture.Part, chosen map[int]bool) *gauging {
	g := &gauging{all: lie{points: pt.Points}, middle: footprint.Bounds(hull).Centre(), slop: pt.Slop, chosen: map[int]bool{}, most: math.Inf(-1)}
	for i := range pt.Points { // in order, whatever the order in which they were chosen
		if chosen[i] {
			g.choose(i)
		}
	}
	return g
}

func (g *gauging) choose(i int) bool {
	if g.chosen[i] {
		return false
	}
	g.chosen[i] = true
	g.few.points = append(g.few.points, g.all.points[i])
	return true
}

// decide searches all rotations.
func (g *gauging) decide(ctx context.Context, res Result) Result {
	q := make(rotationQueue, 0, 64)
	serial := 0
	for _, c := range allRotations() {
		q = append(q, c)
	}
	heap.Init(&q)
	for len(q) > 0 && q[0].ceiling >= -g.slop {
		if ctx.Err() != nil {
			res.Reason = "Stopped before there was an answer."
			return res
		}
		if g.few.work+g.all.work > budget {
			if q[0].ceiling < Tolerance {
				res.Verdict, res.Tolerance = Outside, Tolerance
				res.Reason = "Proved: no orientation fits with 0.01 mm to spare all round."
				return res
			}
			res.Reason = "Neither an orientation that fits nor a proof that there is none was found."
			return res
		}
		c := heap.Pop(&q).(rotations)
		for _, k := range c.eighths() {
			top, in, ok := g.ceiling(k)
			if ok {
				return g.found(res, in)
			}
			k.ceiling = min(c.ceiling, top)
			if k.ceiling < -g.slop {
				continue
			}
			serial++
			k.serial = serial
			heap.Push(&q, k)
		}
	}
	res.Verdict, res.Reason = Outside, "Proved: no orientation fits."
	return res
}

// bundled is how many further certificates a set of rotations may be bounded with.
const bundled = 6

// ceiling bounds what any rotation of the set leaves free, and looks for a place on
// the way.
//
// The certificate of the centre bounds the set to first order by its torque, which
// is large wherever the best rotation is a ridge between two ways of falling. But a
// mixture of certificates, with weights of sum one, is a certificate too, and on a ridge
// the torques of its two sides cancel. So the set's edge is visited where the bound is
// highest, the certificate there mixed in as much as helps most, and so on.
func (g *gauging) ceiling(k rotations) (float64, placed, bool) {
	rot, reach := k.centre().matrix(), k.reach()
	g.few.turn(rot)
	in := g.few.best()
	proof := in.proof
	top := proof.within(rot, reach)
	if top < -g.slop {
		return top, placed{}, false
	}
	if in, ok := g.try(rot, in); ok {
		return top, in, true
	}
	for range bundled {
		t := torque(rotation.Product(rot, proof.turn))
		n := t.Norm()
		if n == 0 {
			break
		}
		there := rotation.Product(about(t.Scale(-reach/n)), rot)
		g.few.turn(there)
		in := g.few.best()
		if in.clearance >= -g.slop {
			if in, ok := g.try(there, in); ok {
				return top, in, true
			}
			break
		}
		mixed, got := mix(&proof, &in.proof, rot, reach)
		if got < -g.slop {
			return got, placed{}, false
		}
		little := top-got < 0.02*(top+g.slop)
		proof, top = mixed, min(top, got)
		if little {
			break
		}
	}
	return top, placed{}, false
}

// mix is the mixture of two certificates with the lowest bound over a set, to within
// what twelve steps of narrowing find; any mixture is sound.
func mix(a, b *certificate, rot [9]float64, reach float64) (certificate, float64) {
	at := func(share float64) (certificate, float64) {
		c := certificate{room: float64((1-share)*a.room) + float64(share*b.room), off: float64((1-share)*a.off) + float64(share*b.off)}
		for i := range c.turn {
			c.turn[i] = float64((1-share)*a.turn[i]) + float64(share*b.turn[i])
		}
		return c, c.within(rot, reach)
	}
	best, least := at(1)
	keep := func(c certificate, v float64) {
		if v < least {
			best, least = c, v
		}
	}
	keep(at(0))
	lo, hi := 0.0, 1.0
	const golden = 0.6180339887498949
	x, y := hi-golden*(hi-lo), lo+golden*(hi-lo)
	cx, fx := at(x)
	cy, fy := at(y)
	for range 12 {
		if fx < fy {
			hi, y, cy, fy = y, x, cx, fx
			x = hi - golden*(hi-lo)
			cx, fx = at(x)
		} else {
			lo, x, cx, fx = x, y, cy, fy
			y = lo + golden*(hi-lo)
			cy, fy = at(y)
		}
	}
	keep(cx, fx)
	keep(cy, fy)
	return best, least
}

// slack is what a certificate's rounding may hide: a part in the gauge has its
// middle within 100 mm of the gauge's origin.
func (c *certificate) slack() float64 { return 100 * c.off }

// gaugeSeeds are rotations worth trying first: the part's own axes each way up
// and in four turns, and those that lay its longest chord upright, or from the rim to the
// deepest point of the floor, rolled about it in twelve steps.
func seeds(along mesh.Vec) [][9]float64 {
	var out [][9]float64
	for _, up := range [...][9]float64{
		rotation.Identity, {1, 0, 0, 0, -1, 0, 0, 0, -1},
		{1, 0, 0, 0, 0, -1, 0, 1, 0}, {1, 0, 0, 0, 0, 1, 0, -1, 0},
		{0, 0, 1, 0, 1, 0, -1, 0, 0}, {0, 0, -1, 0, 1, 0, 1, 0, 0},
	} {
		for k := range 4 {
			out = append(out, rotation.Product(rotation.AboutVertical(float64(90*k)), up))
		}
	}
	n := along.Norm()
	if n == 0 {
		return out
	}
	along = along.Scale(1 / n)
	slant := mesh.Vec{X: 2 * Radius, Z: -(MidDepth + Radius)}
	for _, to := range [2]mesh.Vec{{Z: 1}, slant.Scale(1 / slant.Norm())} {
		for _, from := range [2]mesh.Vec{along, along.Scale(-1)} {
			lay := bringing(from, to)
			for k := range 12 {
				out = append(out, rotation.Product(about(to.Scale(float64(k)*math.Pi/6)), lay))
			}
		}
	}
	return out
}

// bringing is a rotation that brings the unit vector a to b.
func bringing(a, b mesh.Vec) [9]float64 {
	axis := a.Cross(b)
	s, c := axis.Norm(), a.Dot(b)
	if s > 1e-9 {
		return about(axis.Scale(math.Atan2(s, c) / s))
	}
	if c > 0 {
		return rotation.Identity
	}
	// Half a turn about anything square to it.
	other := a.Cross(mesh.Vec{X: 1})
	if math.Abs(a.X) > 0.6 {
		other = a.Cross(mesh.Vec{Y: 1})
	}
	return about(other.Scale(math.Pi / other.Norm()))
}

// try looks for a fit at rot and, where that is the best so far, near it. What
// it returns has been checked on all points.
func (g *gauging) try(rot [9]float64, in laid) (placed, bool) {
	if in.clearance < -g.slop && in.clearance > g.most && g.searches < posture.LocalSearches {
		g.searches++
		rot, in = g.climb(rot, in)
	}
	for range posture.MostRounds {
		if in.clearance < -g.slop {
			break
		}
		g.all.turn(rot)
		whole := g.all.best()
		if g.check(rot, whole.offset) >= -g.slop {
			return placed{rot, whole.offset}, true
		}
		if !g.deciding(whole) {
			break
		}
		g.few.turn(rot)
		in = g.few.best()
	}
	g.most = max(g.most, in.clearance)
	return placed{}, false
}

// placed is a part in the gauge: rotation, then offset, from the middle of its
// bounds.
type placed struct {
	rot    [9]float64
	offset mesh.Vec
}

// check measures what is free all round, by multiplying every point.
func (g *gauging) check(rot [9]float64, offset mesh.Vec) float64 {
	clearance := math.Inf(1)
	for _, p := range g.all.points {
		clearance = min(clearance, spareAt(rotation.Apply(rot, p).Add(offset)))
	}
	g.all.work += len(g.all.points)
	return clearance
}

// gaugeSpare is how far inside the gauge a point lies; negative outside.
func spareAt(p mesh.Vec) float64 {
	return min(Radius-math.Hypot(p.X, p.Y), -p.Z, floorRoom-floorFace.Dot(p))
}

// deciding adds to the subset the points of all that decide where the part now lies; it
// reports whether any was new.
func (g *gauging) deciding(in laid) bool {
	added := false
	for _, i := range in.points {
		added = g.choose(i) || added
	}
	return added
}

// climb goes from rot towards more to spare: against the torque of what decides,
// else by turns about three axes, either way; steps are halved when none helps, and the
// axes turned a little each time, so as not to stall on a ridge.
func (g *gauging) climb(rot [9]float64, in laid) ([9]float64, laid) {
	step := 0.2
	axes := rotation.Identity
	twist := about(mesh.Vec{X: 0.7, Y: 1.1, Z: 0.5})
	for range posture.Climbs {
		if step < 1e-7 && !(step > 1e-12 && in.clearance > -0.01 && in.clearance < -g.slop) {
			break
		}
		ways := make([]mesh.Vec, 0, 7)
		if t := torque(rotation.Product(rot, in.proof.turn)); t.Norm() > 0 {
			ways = append(ways, t.Scale(-1/t.Norm()))
		}
		for i := range 3 {
			v := mesh.Vec{X: axes[3*i], Y: axes[3*i+1], Z: axes[3*i+2]}
			ways = append(ways, v, v.Scale(-1))
		}
		better := false
		for _, v := range ways {
			next := rotation.Product(about(v.Scale(step)), rot)
			g.few.turn(next)
			if got := g.few.best(); got.clearance > in.clearance {
				rot, in, better = next, got, true
				break
			}
		}
		axes = rotation.Product(twist, axes)
		if !better {
			step /= 2
		}
	}
	return rot, in
}

// found fills in the answer, after some more steps towards the most to spare.
func (g *gauging) found(res Result, in placed) Result {
	clearance := g.check(in.rot, in.offset)
	for range 4 {
		g.few.turn(in.rot)
		rot, _ := g.climb(in.rot, g.few.best())
		g.all.turn(rot)
		whole := g.all.best()
		if got := g.check(rot, whole.offset); got > clearance {
			in, clearance = placed{rot, whole.offset}, got
		}
		if !g.deciding(whole) {
			break
		}
	}
	plain := placed{rotation.InTwelveDecimals(in.rot), in.offset}
	if got := g.check(plain.rot, plain.offset); got >= -g.slop {
		in, clearance = plain, got
	}
	res.Verdict, res.Rotation, res.Clearance = Inside, rotation.WithoutMinusZero(in.rot), max(clearance, 0)
	off := in.offset.Sub(rotation.Apply(in.rot, g.middle))
	res.Offset = mesh.Vec{X: off.X + 0, Y: off.Y + 0, Z: off.Z + 0}
	res.Reason = "Lies wholly in the gauge as the rotation and the offset say, with " + fit.SpareText(clearance) + " to spare all round."
	return res
}
