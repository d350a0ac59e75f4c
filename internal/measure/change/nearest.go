package change

import (
	"math"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// nearestOf is the point of triangle abc that is nearest to p, by the region of
// the plane that p lies over; sides and corners have regions of their own. A
// triangle so narrow that its plane is uncertain is taken as its three sides.
func nearestOf(p, a, b, c mesh.Vec) mesh.Vec {
	ab, ac := b.Sub(a), c.Sub(a)
	n := ab.Cross(ac)
	nn := n.Dot(n)
	// |n| is |ab||ac| times the sine of the angle between, with an error of a few
	// 2⁻⁵³ of |ab||ac|: at a sine of 10⁻⁷ the normal is right to some 10⁻⁹.
	if nn > 1e-14*float64(ab.Dot(ab)*ac.Dot(ac)) {
		ap := p.Sub(a)
		v := ap.Cross(ac).Dot(n) // the weights of b and c, times nn
		w := ab.Cross(ap).Dot(n)
		if v >= 0 && w >= 0 && v+w <= nn {
			return a.Add(ab.Scale(v / nn)).Add(ac.Scale(w / nn))
		}
	}
	best, least := a, math.Inf(1)
	for _, s := range [3][2]mesh.Vec{{a, b}, {b, c}, {c, a}} {
		q := nearestOnSegment(p, s[0], s[1])
		if d := q.Sub(p); d.Dot(d) < least {
			best, least = q, d.Dot(d)
		}
	}
	return best
}

func nearestOnSegment(p, a, b mesh.Vec) mesh.Vec {
	ab := b.Sub(a)
	along, whole := p.Sub(a).Dot(ab), ab.Dot(ab)
	switch {
	case !(along > 0):
		return a
	case along >= whole:
		return b
	}
	return a.Add(ab.Scale(along / whole))
}

// target is a surface that distances are measured to.
type target struct {
	mesh *mesh.Mesh
	tree *tree.Tree
}

// gap is the distance of p from triangle t; +Inf where it is beyond all numbers.
func (g *target) gap(p mesh.Vec, t int32) float64 {
	a, b, c := g.mesh.Corners(int(t))
	d := nearestOf(p, a, b, c).Sub(p).Norm()
	if math.IsNaN(d) {
		return math.Inf(1)
	}
	return d
}

// nearest finds the distance of p from the surface where it is at most reach, and
// the triangle, of which hint is one that is likely, or −1. Else it is +Inf and −1.
func (g *target) nearest(p mesh.Vec, reach float64, hint int32) (float64, int32) {
	best, at := reach, int32(-1)
	if hint >= 0 {
		if d := g.gap(p, hint); d <= best {
			best, at = d, hint
		}
	}
	g.tree.Near(p, best, func(t int32) float64 {
		if t != hint {
			if d := g.gap(p, t); d < best || d == best && (at < 0 || t < at) {
				best, at = d, t
			}
		}
		return best
	})
	if at < 0 {
		return math.Inf(1), -1
	}
	return best, at
}

// at is the point of triangle t nearest to p, or p where there is no triangle.
func (g *target) at(p mesh.Vec, t int32) mesh.Vec {
	if t < 0 {
		return p
	}
	a, b, c := g.mesh.Corners(int(t))
	return nearestOf(p, a, b, c)
}
