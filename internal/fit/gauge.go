package fit

import (
	"container/heap"
	"context"

	"cardback/internal/mesh"
)

// The small-parts cylinder of 16 CFR 1501.4: 1.25 in wide inside, with a floor
// that slants so that its depth runs from 1.00 in to 2.25 in. The inches decide;
// EN 71-1 and ISO 8124-1 use the same gauge with rounded millimetres. In the
// gauge's own frame z points up, the rim lies at z = 0 and the deep side at +x,
// so that what is inside has
//
//	x² + y² ≤ GaugeRadius²  and  −GaugeMidDepth − x ≤ z ≤ 0.
//
// The floor falls 31.75 mm over a width of 31.75 mm: at exactly 45°.
const (
	GaugeRadius   = 1.25 * 25.4 / 2
	GaugeMidDepth = (1.00 + 2.25) / 2 * 25.4
)

// GaugeTolerance is the resolution, in mm, at which NotInGauge is proved: no
// orientation leaves that much to spare all round. It is given for exact
// contacts alone; where the work allows, the proof is that there is no fit at all.
const GaugeTolerance = 0.01

// GaugeVerdict says whether a part lies in the small-parts cylinder.
type GaugeVerdict string

const (
	InGauge    GaugeVerdict = "fits the gauge"
	NotInGauge GaugeVerdict = "does not fit the gauge" // proved, to within GaugeTolerance
	// GaugeUndecided is neither found nor excluded within the budget; a caution
	// for small parts then applies as if it were found.
	GaugeUndecided GaugeVerdict = "undecided"
)

// Gauged is the answer for one part. All its numbers are finite.
type Gauged struct {
	Verdict GaugeVerdict
	// Rotation and Offset lay the part in the gauge, for InGauge: the point p of
	// the part comes to Apply(Rotation, p) + Offset in the gauge's frame, where
	// anyone can check that it is inside. Row-major; the identity otherwise.
	Rotation [9]float64
	Offset   mesh.Vec
	Spare    float64 // mm that then are free all round: to the wall, the rim's plane and the floor
	// Tolerance is what a NotInGauge is proved to; zero where there is no fit at all.
	Tolerance float64
	Reason    string // one plain sentence: what decided
}

// gaugeBudget bounds the search, in points looked at, so that an answer never
// depends on the speed of a machine: about a second of processor time.
const gaugeBudget = 60_000_000

// gaugeWidthBudget is widthBudget for the gauge: a ball a twentieth of a
// millimetre too large, of thousands of points, is excluded by its width or not at all.
const gaugeWidthBudget = 120_000_000

// SmallPart decides whether the part with the given hull lies wholly in the
// small-parts cylinder in any orientation. The gauge is convex, so the hull
// decides. The hull is in mm, in any order and anywhere in space; points inside it do
// no harm but cost time. It is not written to.
//
// InGauge has been checked by multiplying every point; NotInGauge is a proof
// by branch and bound over all rotations, see rotations and certificate. An empty hull is
// in the gauge. GaugeUndecided is given for coordinates that are no lengths, when
// ctx ends first, and past the budget.
func SmallPart(ctx context.Context, hull []mesh.Vec) Gauged {
	res := Gauged{Verdict: GaugeUndecided, Rotation: identity}
	if why := notLengths(hull, Plate{}); why != "" {
		res.Reason = why
		return res
	}
	if len(hull) == 0 {
		res.Verdict, res.Reason = InGauge, "There is nothing to lay in it."
		return res
	}
	const across = 2 * GaugeRadius
	pt := newPart(hull, mesh.Vec{X: across, Y: across, Z: across}, false)
	s := newTipping(pt)
	corner := mesh.Vec{X: across, Z: GaugeMidDepth + GaugeRadius} // from the rim to the floor's deepest point
	along := s.longest()
	if along.Norm() > corner.Norm()+pt.slop {
		res.Verdict, res.Reason = NotInGauge, "Proved: two of its points are farther apart than any two in the gauge."
		return res
	}
	if s.wider(across+pt.slop, gaugeWidthBudget) {
		res.Verdict, res.Reason = NotInGauge, "Proved: it is nowhere as narrow as the gauge is wide."
		return res
	}
	g := newGauging(hull, pt, s.chosen)
	for _, rot := range gaugeSeeds(along) {
		g.few.turn(rot)
		if in, ok := g.try(rot, g.few.best()); ok {
			return g.found(res, in)
		}
	}
	if noShadow(ctx, pt) {
		res.Verdict, res.Reason = NotInGauge, "Proved: seen from any side, it is wider than the gauge, or longer than it is deep."
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
func noShadow(ctx context.Context, pt part) bool {
	pt.round = true
	pt.room = mesh.Vec{X: 2 * GaugeRadius, Y: 2 * GaugeRadius, Z: GaugeMidDepth + GaugeRadius}
	s := newTipping(pt)
	whole := wholeSphere()
	q := append(queue(nil), whole[:]...)
	heap.Init(&q)
	for len(q) > 0 {
		if s.work > shadowBudget || ctx.Err() != nil {
			return false
		}
		c := heap.Pop(&q).(cell)
		for _, k := range c.quarters() {
			up := k.centre()
			s.stand(up)
			k.ceiling = min(c.ceiling, s.ceiling(k, -pt.slop))
			if k.ceiling < -pt.slop {
				continue
			}
			if _, fits := s.try(up); fits {
				return false
			}
			heap.Push(&q, k)
		}
	}
	return true
}
