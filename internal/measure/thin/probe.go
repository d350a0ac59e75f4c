package thin

import (
	"math"
	"slices"

	"cardback/internal/measure/inside"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// opposed is the cosine of the greatest angle between two outward normals at which
// their surfaces count as the two sides of something thin: 140°. Facets of a pin
// face each other within 180° − 180°/n for odd n, so a pin of five sides (144°) is
// seen, and faces that meet at more than 40° are an edge, not a wall.
const opposed = -0.7660444431189780 // cos 140°

// probe asks a mesh about lengths inside it.
type probe struct {
	tree *tree.Tree
	mesh *mesh.Mesh
	eps  float64 // mm: what roundings of coordinates can come to
	far  float64 // mm: longer than the mesh

	solid *inside.Solid
	ruler *inside.Ruler
	work  int // triangles looked at along rays and for balls
}

func newProbe(t *tree.Tree) *probe {
	b := t.Mesh.Bounds()
	size := max(b.Size().X, b.Size().Y, b.Size().Z)
	most := max(math.Abs(b.Min.X), math.Abs(b.Min.Y), math.Abs(b.Min.Z), math.Abs(b.Max.X), math.Abs(b.Max.Y), math.Abs(b.Max.Z))
	// A point of a triangle is a sum of three products: a few units in the last
	// place of its coordinates; a crossing doubles that, and its division by the
	// slant of the ray is a few times more. 64 of them are on the safe side.
	solid := inside.Of(t)
	return &probe{tree: t, mesh: t.Mesh, eps: 64 * 0x1p-53 * most, far: 2 * size, solid: solid, ruler: solid.Ruler()}
}

// another is a probe of the same mesh, for another goroutine.
func (pr *probe) another() *probe {
	o := *pr
	o.work = 0
	o.ruler = pr.solid.Ruler()
	return &o
}

// spent reports whether so many samples have looked at more triangles than they may,
// each at that many and all together at a million beside: far more than any needs but
// where hundreds of surfaces lie over each other. It bounds the work, not the time.
func (pr *probe) spent(samples, each int) bool {
	return pr.work+pr.ruler.Work > 1<<20+samples*each
}

// What one sample may look at: along a short ray, along a line and for a ball, for a
// gauge, which takes some ten lines, and for walks, which take a hundred.
const (
	rayWork, lineWork, gaugeWork, walkWork = 1 << 8, 1 << 11, 1 << 13, 1 << 16
)

// exit is how far the line from p along d (unit) runs until it meets a surface from
// within, other than that of the triangle own, within far. It is +Inf, and the
// triangle −1, where there is none. The union of the shells does not end before.
func (pr *probe) exit(p, d mesh.Vec, own int32, far float64) (float64, int32) {
	best, hit := min(far, pr.far), int32(-1)
	pr.tree.AlongRay(p, d, best, func(t int32) float64 {
		if pr.work++; t == own {
			return best
		}
		a, b, c := pr.mesh.Corners(int(t))
		s, out, ok := cross(p, d, a, b, c)
		if ok && s > pr.eps && (s < best || s == best && hit >= 0 && t < hit) && out {
			best, hit = s, t
		}
		return best
	})
	if hit < 0 {
		return math.Inf(1), -1
	}
	return best, hit
}

// cross is where the line p + s·d meets the triangle abc, and whether it meets it
// from behind (Möller and Trumbore, 1997). Places within 1e-9 of the triangle's
// size beside it count, so that no ray slips through along an edge.
func cross(p, d, a, b, c mesh.Vec) (s float64, fromBehind, ok bool) {
	e, f := b.Sub(a), c.Sub(a)
	h := d.Cross(f)
	det := e.Dot(h)
	if det == 0 || math.IsNaN(det) {
		return 0, false, false
	}
	inv := 1 / det
	if math.IsInf(inv, 0) {
		return 0, false, false
	}
	const beside = 1e-9
	v := p.Sub(a)
	x := v.Dot(h) * inv
	if !(x >= -beside && x <= 1+beside) {
		return 0, false, false
	}
	q := v.Cross(e)
	y := d.Dot(q) * inv
	if !(y >= -beside && x+y <= 1+beside) {
		return 0, false, false
	}
	// det = −d·(e×f): the normal is along d where det is below zero.
	return f.Dot(q) * inv, det < 0, true
}

// shrink is the radius of the largest ball that touches the surface at p from
// within, its centre on the inward normal, with no other surface inside; at most
// r. contact is the triangle that it touches on its far side, −1 if r was small
// enough as it was. If among is not nil, only triangles for which it is true count. A
// triangle that lies within the union of the shells where the ball touches it is no
// surface and does not count; the search then begins again without it.
//
// The method is that of Ma, Bae and Choi (2012): the ball's nearest surface point
// q gives the next smaller ball, through p and q; here q is the first such point
// that comes up, the nearer boxes being searched first, which is found much sooner
// and leads to the same ball. A ball through q that is tangent
// to the plane at p has radius |pq|²/2h where h is q's depth below the plane; each
// next ball lies within the one before, so that no surface is passed over. It ends
// when no surface is nearer to the centre than r(1 − slack), and on the triangle
// that it touches last the radius is then made exact.
//
// What else may reach into the ball by slack·r makes the radius too great by
// slack·r/(1 − cos φ) at most, where φ is the angle at which p and q are seen from
// the centre: a point q at the distance s below p's plane, seen under φ, is at
// s + r·cos φ from the centre's height, and that grows by 1 − cos φ as fast as r. For
// opposed surfaces, φ ≥ 140°, that is slack·r/1.76, for a right angle slack·r.
func (pr *probe) shrink(p, n mesh.Vec, own int32, r, slack float64, among func(t int32) bool) (radius float64, contact int32) {
	contact = -1
	var within []int32 // triangles that the ball touches where they are no surface
	if among == nil {
		among = func(int32) bool { return true }
	}
	most := r
	for range 1000 {
		c := p.Sub(n.Scale(r))
		reach := r - max(slack*r, pr.eps)
		next, touch := r, int32(-1)
		still, looked := reach, 0
		pr.tree.Near(c, reach, func(t int32) float64 {
			if looked++; looked > enough {
				return -1
			}
			if looked%16 == 0 { // a look by distance is much the cheaper
				pr.work++
			}
			if t == own || pr.beyond(c, t, reach) {
				return still
			}
			if d, through := pr.through(p, n, c, t); d < reach && through < next && among(t) && !slices.Contains(within, t) {
				next, touch, still = through, t, -1 // enough: ask again about the smaller ball
			}
			return still
		})
		if touch >= 0 {
			r, contact = next, touch
			continue
		}
		if contact < 0 || !pr.buriedAt(p.Sub(n.Scale(r)), contact) {
			break
		}
		within = append(within, contact)
		r, contact = most, -1
		if len(within) == mostWithin {
			break
		}
	}
	if contact >= 0 {
		for range 40 {
			d, next := pr.through(p, n, p.Sub(n.Scale(r)), contact)
			if !(d < r-max(1e-9*r, pr.eps) && next < r) {
				break
			}
			r = next
		}
	}
	return r, contact
}

// buriedAt is buried for triangle t near its point q that is nearest to c. On an edge of
// a groove the normals of its faces may lead into the solid on either side, so it is
// asked off the edge, where the groove is wider than Gap unless it is sharper than 3°.
func (pr *probe) buriedAt(c mesh.Vec, t int32) bool {
	const off = 0.02 // mm
	a, b, d := pr.mesh.Corners(int(t))
	q := nearest(c, a, b, d)
	in := middle(pr.mesh, int(t)).Sub(q)
	if l := in.Norm(); l > off {
		in = in.Scale(off / l)
	}
	return pr.buried(q.Add(in), t)
}

// mostWithin is how many triangles one ball may touch within the union of the shells:
// more than the end of a round bar that is stuck in has. Where many bodies lie about
// there may be more; the ball then stays as it was given, which is too large and never
// too small.
const mostWithin = 128

// How far a surface may reach into a ball, as a share of its radius. With a much
// smaller one, every triangle of the surface about p, and all of those round a tube
// or a sphere whose every point the ball touches, would have to be looked at: their
// boxes reach into the ball though they themselves do not.
const (
	slackThin  = 0.015 // thin places: 0.85% at most
	slackFirst = 0.04  // whether a ball of Limit fits, where the ray says so
	slackBall  = 0.03  // Report.Ball: 1.7% between opposed surfaces, 3% at a right angle
)

// enough is how many triangles are looked at for one ball. Only where a ball touches
// the surface nearly all over, as in a sphere, are there more whose boxes reach into
// it; the nearer ones have then been seen, and the ray bounds the ball.
const enough = 2000

// beyond is whether triangle t is certainly not nearer to c than reach, by its first
// corner and the longer side there: what is soon said of most of a fine mesh.
func (pr *probe) beyond(c mesh.Vec, t int32, reach float64) bool {
	a, b, d := pr.mesh.Corners(int(t))
	e, f, g := b.Sub(a), d.Sub(a), c.Sub(a)
	far := g.Norm() - reach
	return far > 0 && float64(far*far) > max(e.Dot(e), f.Dot(f))
}

// through is how far triangle t is from the centre c, and the radius of the ball
// tangent to the plane at p that passes through its point nearest to c.
func (pr *probe) through(p, n, c mesh.Vec, t int32) (distance, radius float64) {
	a, b, d := pr.mesh.Corners(int(t))
	q := nearest(c, a, b, d)
	pq := p.Sub(q)
	h := pq.Dot(n)
	if !(h > 0) {
		return math.Inf(1), math.Inf(1)
	}
	return q.Sub(c).Norm(), pq.Dot(pq) / (2 * h)
}

// nearest is the point of the triangle abc that is nearest to p (by the regions of
// Ericson, Real-Time Collision Detection, 2005, section 5.1.5).
func nearest(p, a, b, c mesh.Vec) mesh.Vec {
	ab, ac, ap := b.Sub(a), c.Sub(a), p.Sub(a)
	d1, d2 := ab.Dot(ap), ac.Dot(ap)
	if d1 <= 0 && d2 <= 0 {
		return a
	}
	bp := p.Sub(b)
	d3, d4 := ab.Dot(bp), ac.Dot(bp)
	if d3 >= 0 && d4 <= d3 {
		return b
	}
	vc := float64(d1*d4) - float64(d3*d2)
	if vc <= 0 && d1 >= 0 && d3 <= 0 {
		return a.Add(ab.Scale(d1 / (d1 - d3)))
	}
	cp := p.Sub(c)
	d5, d6 := ab.Dot(cp), ac.Dot(cp)
	if d6 >= 0 && d5 <= d6 {
		return c
	}
	vb := float64(d5*d2) - float64(d1*d6)
	if vb <= 0 && d2 >= 0 && d6 <= 0 {
		return a.Add(ac.Scale(d2 / (d2 - d6)))
	}
	va := float64(d3*d6) - float64(d5*d4)
	if va <= 0 && d4 >= d3 && d5 >= d6 {
		return b.Add(c.Sub(b).Scale((d4 - d3) / ((d4 - d3) + (d5 - d6))))
	}
	w := 1 / (va + vb + vc)
	return a.Add(ab.Scale(vb * w)).Add(ac.Scale(vc * w))
}

// inward is how far the solid goes on from the surface point p along −n, and the
// triangle it ends at: to where the union of all shells ends, gaps that no printer
// leaves closed; and the middle of that. ok is false where p is no surface of that
// union, being within it, or where the line comes through an opening of the mesh.
func (pr *probe) inward(p, n mesh.Vec) (length float64, end int32, middle inner, ok bool) {
	spans, whole := pr.ruler.Spans(p, n.Scale(-1))
	if !whole {
		return math.Inf(1), -1, middle, false
	}
	for _, s := range spans {
		if math.Abs(s.From) <= pr.solid.Gap {
			half := (s.From + s.To) / 2
			return s.To, s.Leave, inner{p.Sub(n.Scale(half)), pr.ruler.Known(half)}, true
		}
	}
	return math.Inf(1), -1, middle, false
}

// buried is whether the point q of triangle t lies within the union of the shells, so
// that t is no surface of it there.
func (pr *probe) buried(q mesh.Vec, t int32) bool {
	n, ok := normal(pr.mesh, int(t))
	return ok && pr.ruler.Buried(q, n)
}

// inner is a point and its winding number.
type inner struct {
	p       mesh.Vec
	winding int
}

// step is the point d from c.
func (pr *probe) step(c inner, d mesh.Vec) (inner, bool) {
	q := c.p.Add(d)
	w, ok := pr.ruler.Step(c.p, q, c.winding)
	return inner{q, w}, ok
}

// chord is the stretch within the solid of the line through c along d (unit), where
// it is at most most long and ends at surfaces that face each other within 60°.
// Across the corner of a plate a line may be short, but between faces at a right
// angle: that is not thinness. length is +Inf where there is none.
func (pr *probe) chord(c inner, d mesh.Vec, most float64) (length float64, middle inner) {
	s, ok := pr.at(c, d, 0, most)
	if !ok || s.Enter < 0 || s.Leave < 0 || s.Length() > most {
		return math.Inf(1), c
	}
	m, _ := normal(pr.mesh, int(s.Enter))
	n, _ := normal(pr.mesh, int(s.Leave))
	if m.Dot(n) > -0.5 {
		return math.Inf(1), c
	}
	half := (s.From + s.To) / 2
	return s.Length(), inner{c.p.Add(d.Scale(half)), pr.ruler.Known(half)}
}

// at is the stretch within the solid of the line through c along d (unit) that c is
// in, or else the nearest that comes within reach of it. Where it goes on for more than
// most its end is at the triangle −1.
func (pr *probe) at(c inner, d mesh.Vec, reach, most float64) (best inside.Span, ok bool) {
	far := reach + most + 2*pr.solid.Gap
	spans, ok := pr.ruler.Within(c.p, d, c.winding, -far, far)
	if !ok {
		return inside.Span{}, false
	}
	off := math.Inf(1)
	for _, s := range spans {
		if o := max(s.From, -s.To, 0); o < off {
			best, off = s, o
		}
	}
	return best, off <= reach
}
