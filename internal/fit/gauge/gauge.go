// Package gauge decides whether a part lies wholly in the small-parts cylinder, in any
// orientation whatever. Result is the answer; Decide makes one. The gauge's floor slants,
// so all three angles of an orientation count, and the search goes over all rotations.
//
// What is said to lie in it has been checked point by point; that nothing does is a
// proof, to within Tolerance at worst; and what the budget of work does not settle is
// undecided. The bounds are derived in lie.go and cell.go.
package gauge

import (
	"container/heap"
	"context"

	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// The small-parts cylinder of 16 CFR 1501.4: 1.25 in wide inside, with a floor
// that slants so that its depth runs from 1.00 in to 2.25 in. The inches decide;
// EN 71-1 and ISO 8124-1 use the same gauge with rounded millimetres. In the
// gauge's own frame z points up, the rim lies at z = 0 and the deep side at +x,
// so that what is inside has
//
//	x² + y² ≤ Radius²  and  −MidDepth − x ≤ z ≤ 0.
//
// The floor falls 31.75 mm over a width of 31.75 mm: at exactly 45°.
const (
	Radius   = 1.25 * 25.4 / 2
	MidDepth = (1.00 + 2.25) / 2 * 25.4
)

// Tolerance is the resolution, in mm, at which Outside is proved: no
// orientation leaves that much to spare all round. It is given for exact
// contacts alone; where the work allows, the proof is that there is no fit at all.
const Tolerance = 0.01

// Verdict says whether a part lies in the small-parts cylinder.
type Verdict string

const (
	Inside  Verdict = "fits the gauge"
	Outside Verdict = "does not fit the gauge" // proved, to within Tolerance
	// Undecided is neither found nor excluded within the budget; a caution
	// for small parts then applies as if it were found.
	Undecided Verdict = "undecided"
)

// Result is the answer for one part. All its numbers are finite.
type Result struct {
	Verdict Verdict
	// Rotation and Offset lay the part in the gauge, for Inside: the point p of
	// the part comes to Apply(Rotation, p) + Offset in the gauge's frame, where
	// anyone can check that it is inside. Row-major; the identity otherwise.
	Rotation  [9]float64
	Offset    mesh.Vec
	Clearance float64 // mm that then are free all round: to the wall, the rim's plane and the floor
	// Tolerance is what an Outside is proved to; zero where there is no fit at all.
	Tolerance float64
	Reason    string // one plain sentence: what decided
}

// budget bounds the search, in points looked at, so that an answer never
// depends on the speed of a machine: about a second of processor time.
const budget = 60_000_000

// widthBudget bounds the search for a direction so narrow: a ball a twentieth of a
// millimetre too large, of thousands of points, is excluded by its width or not at all.
const widthBudget = 120_000_000

// Decide decides whether the part with the given hull lies wholly in the
// small-parts cylinder in any orientation. The gauge is convex, so the hull
// decides. The hull is in mm, in any order and anywhere in space; points inside it do
// no harm but cost time. It is not written to.
//
// Inside has been checked by multiplying every point; Outside is a proof
// by branch and bound over all rotations, see rotations and certificate. An empty hull is
// in the gauge. Undecided is given for coordinates that are no lengths, when
// ctx ends first, and past the budget.
func Decide(ctx context.Context, hull []mesh.Vec) Result {
	res := Result{Verdict: Undecided, Rotation: rotation.Identity}
	if why := posture.NotLengths(hull); why != "" {
		res.Reason = why
		return res
	}
	if len(hull) == 0 {
		res.Verdict, res.Reason = Inside, "There is nothing to lay in it."
		return res
	}
	const across = 2 * Radius
	pt := posture.NewPart(hull, mesh.Vec{X: across, Y: across, Z: across}, false)
	s := posture.NewTipping(pt)
	corner := mesh.Vec{X: across, Z: MidDepth + Radius} // from the rim to the floor's deepest point
	along := s.Longest()
	if along.Norm() > corner.Norm()+pt.Slop {
		res.Verdict, res.Reason = Outside, "Proved: two of its points are farther apart than any two in the gauge."
		return res
	}
	if s.Wider(across+pt.Slop, widthBudget) {
		res.Verdict, res.Reason = Outside, "Proved: it is nowhere as narrow as the gauge is wide."
		return res
	}
	g := newGauging(hull, pt, s.Chosen)
	for _, rot := range seeds(along) {
		g.few.turn(rot)
		if in, ok := g.try(rot, g.few.best()); ok {
			return g.found(res, in)
		}
	}
	if noShadow(ctx, pt) {
		res.Verdict, res.Reason = Outside, "Proved: seen from any side, it is wider than the gauge, or longer than it is deep."
		return res
	}
	return g.decide(ctx, res)
}

// shadowBudget bounds, in points looked at, the proof that a part goes into no
// round tube as wide and as deep as the gauge; it takes less than 0.2 s.
const shadowBudget = 8_000_000

// noShadow reports whether the part is proved to fit in no orientation within a
// level tube as wide as the gauge and as deep as its deep side: the floor's slant
// is left out, so that two angles decide and not three. A disc a little too wide, which leans
// in any way without ever getting narrower, is excluded so. It gives up on the first orientation in
// which the part fits, and past its budget.
func noShadow(ctx context.Context, pt posture.Part) bool {
	pt.Round = true
	pt.Room = mesh.Vec{X: 2 * Radius, Y: 2 * Radius, Z: MidDepth + Radius}
	s := posture.NewTipping(pt)
	whole := posture.WholeSphere()
	q := append(posture.Queue(nil), whole[:]...)
	heap.Init(&q)
	for len(q) > 0 {
		if s.Work > shadowBudget || ctx.Err() != nil {
			return false
		}
		c := heap.Pop(&q).(posture.Cell)
		for _, k := range c.Quarters() {
			up := k.Centre()
			s.Stand(up)
			k.Ceiling = min(c.Ceiling, s.Ceiling(k, -pt.Slop))
			if k.Ceiling < -pt.Slop {
				continue
			}
			if _, fits := s.Try(up); fits {
				return false
			}
			heap.Push(&q, k)
		}
	}
	return true
}
