package posture

import (
	"math"

	"cardback/internal/mesh"
)

// Fewer chooses some of the points so that in every direction the farthest of all
// is at most gap farther than the farthest of those: the hull of all lies within
// gap of the hull of those. A smooth body of radius R keeps some 10 R/gap of them, a
// box its corners. It ends with its budget of work at the latest, past which it
// keeps whatever it has not excluded; what it promises does not depend on that.
//
// The method is to divide the directions into cells as the searches do. In a cell
// of directions at most δ from its middle v, where q is farthest, no p with
// (q−p)·v > |q−p| sin δ is ever farther than q, so p is left out of the cell's
// candidates. A direction u of the cell is Σλₖuₖ over its corners, with λₖ ≥ 0, and
// as u·v ≤ 1 and uₖ·v ≥ cos δ, Σλₖ ≤ 1/cos δ. With h the distance of the farthest,
// which is at most Σλₖh(uₖ) in the direction u,
//
//	h(u) − q·u ≤ Σλₖ (h(uₖ) − q·uₖ) ≤ max (h(uₖ) − q·uₖ) / cos δ,
//
// so that q alone stands for the cell where that is at most gap.
func Fewer(points []mesh.Vec, gap float64, budget int) (kept []mesh.Vec, work int) {
	type task struct {
		Cell
		sign float64
		from []int32 // candidates
	}
	all := make([]int32, len(points))
	radius := 0.0
	for i, p := range points {
		all[i] = int32(i)
		radius = max(radius, p.Norm())
	}
	keep := make([]bool, len(points))
	var todo []task
	if len(points) > 0 {
		for _, c := range WholeSphere() {
			todo = append(todo, task{c, 1, all}, task{c, -1, all})
		}
	}
	for len(todo) > 0 {
		t := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		v := t.Centre().Scale(t.sign)
		corners := t.Corners()
		sin := 0.0
		for i := range corners {
			corners[i] = corners[i].Scale(t.sign)
			sin = max(sin, corners[i].Cross(v).Norm())
		}
		at, most := t.from[0], math.Inf(-1)
		for _, i := range t.from {
			if d := points[i].Dot(v); d > most {
				at, most = i, d
			}
		}
		q := points[at]
		var left []int32
		known := true // all that are left are kept
		far := [4]float64{math.Inf(-1), math.Inf(-1), math.Inf(-1), math.Inf(-1)}
		const rounding = 1e-9 // far above that of the squares, some 1e-15
		sin2 := float64(sin*sin) + rounding
		for _, i := range t.from {
			p := points[i]
			d := q.Sub(p)
			if a := d.Dot(v); a > 0 && float64(a*a) > float64(d.Dot(d)*sin2) {
				continue
			}
			left = append(left, i)
			known = known && keep[i]
			for k, u := range corners {
				far[k] = max(far[k], p.Dot(u))
			}
		}
		work += 2*len(t.from) + 4*len(left)
		off := Slop(radius) // what rounding may hide
		for k, u := range corners {
			off = max(off, far[k]-q.Dot(u)+Slop(radius))
		}
		switch cos := math.Sqrt(max(0, 1-float64(sin*sin))); {
		case known:
		case off <= float64(gap*cos):
			keep[at] = true
		case len(left) <= 2 || t.Half < math.Pi/4/(1<<20) || work > budget:
			for _, i := range left {
				keep[i] = true
			}
		default:
			for _, c := range t.Quarters() {
				todo = append(todo, task{c, t.sign, left})
			}
		}
	}
	for i, k := range keep {
		if k {
			kept = append(kept, points[i])
		}
	}
	return kept, work
}
