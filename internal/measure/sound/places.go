package sound

import (
	"math"
	"math/big"

	"cardback/internal/mesh"
)

// spread chooses up to MostPlaces pairs that lie as far apart as can be had: each
// is the one farthest from all before it. Pairs that cross come before pairs that
// only touch, but leave one place for those.
func spread(m *mesh.Mesh, crossing, touching []pair) []Crossing {
	all := append(crossing, touching...)
	at := make([]mesh.Vec, len(all))
	nearest := make([]float64, len(all)) // distance to the nearest chosen one
	for i, p := range all {
		at[i] = whereabouts(m, p)
		nearest[i] = math.Inf(1)
	}
	var places []Crossing
	choose := func(from, to, most int) {
		for len(places) < most {
			best := -1
			for i := from; i < to; i++ {
				if nearest[i] >= 0 && (best < 0 || nearest[i] > nearest[best]) {
					best = i
				}
			}
			if best < 0 {
				return
			}
			p := all[best]
			places = append(places, Crossing{Triangles: p, At: commonPoint(m, p), Touch: best >= len(crossing)})
			for i := range all {
				nearest[i] = min(nearest[i], at[i].Sub(at[best]).Norm())
			}
			nearest[best] = -1
		}
	}
	choose(0, len(crossing), MostPlaces-min(1, len(touching)))
	choose(len(crossing), len(all), MostPlaces)
	return places
}

// whereabouts is the middle of what the triangles' boxes have in common.
func whereabouts(m *mesh.Mesh, p pair) mesh.Vec {
	s, t := cornersOf(m, p[0]), cornersOf(m, p[1])
	b, c := s.box(), t.box()
	return mesh.Box{
		Min: mesh.Vec{X: max(b.Min.X, c.Min.X), Y: max(b.Min.Y, c.Min.Y), Z: max(b.Min.Z, c.Min.Z)},
		Max: mesh.Vec{X: min(b.Max.X, c.Max.X), Y: min(b.Max.Y, c.Max.Y), Z: min(b.Max.Z, c.Max.Z)},
	}.Centre()
}

func (s *corners) box() mesh.Box {
	return mesh.Box{
		Min: mesh.Vec{X: min(s[0].X, s[1].X, s[2].X), Y: min(s[0].Y, s[1].Y, s[2].Y), Z: min(s[0].Z, s[1].Z, s[2].Z)},
		Max: mesh.Vec{X: max(s[0].X, s[1].X, s[2].X), Y: max(s[0].Y, s[1].Y, s[2].Y), Z: max(s[0].Z, s[1].Z, s[2].Z)},
	}
}

// commonPoint is a point that two meeting triangles have in common, worked out in
// fractions and rounded once: between nearly parallel triangles float64 could
// miss it by any distance. It is the mean of the points in which a side of one
// meets the other, and so within what they have in common, which is convex.
func commonPoint(m *mesh.Mesh, p pair) mesh.Vec {
	s, t := cornersOf(m, p[0]), cornersOf(m, p[1])
	a, b := fractions(&s), fractions(&t)
	points := append(a.sidesIn(&b), b.sidesIn(&a)...)
	if len(points) == 0 {
		return whereabouts(m, p) // not a pair that meets
	}
	sum := points[0]
	for _, q := range points[1:] {
		sum = sum.plus(q)
	}
	mean := sum.times(big.NewRat(1, int64(len(points))))
	round := func(x *big.Rat) float64 { f, _ := x.Float64(); return f }
	return mesh.Vec{X: round(mean[0]), Y: round(mean[1]), Z: round(mean[2])}
}

// fraction is a point or direction in fractions.
type fraction [3]*big.Rat

// fractionCorners are a triangle's.
type fractionCorners [3]fraction

func fractions(s *corners) fractionCorners {
	var f fractionCorners
	for i, p := range s {
		for k := range 3 {
			f[i][k] = new(big.Rat).SetFloat64(p.Component(k))
		}
	}
	return f
}

func (a fraction) plus(b fraction) fraction {
	return fraction{new(big.Rat).Add(a[0], b[0]), new(big.Rat).Add(a[1], b[1]), new(big.Rat).Add(a[2], b[2])}
}

func (a fraction) minus(b fraction) fraction {
	return fraction{new(big.Rat).Sub(a[0], b[0]), new(big.Rat).Sub(a[1], b[1]), new(big.Rat).Sub(a[2], b[2])}
}

func (a fraction) times(x *big.Rat) fraction {
	return fraction{new(big.Rat).Mul(a[0], x), new(big.Rat).Mul(a[1], x), new(big.Rat).Mul(a[2], x)}
}

func (a fraction) dot(b fraction) *big.Rat {
	sum := new(big.Rat)
	for k := range 3 {
		sum.Add(sum, new(big.Rat).Mul(a[k], b[k]))
	}
	return sum
}

func (a fraction) cross(b fraction) fraction {
	var c fraction
	for k := range 3 {
		i, j := (k+1)%3, (k+2)%3
		c[k] = new(big.Rat).Sub(new(big.Rat).Mul(a[i], b[j]), new(big.Rat).Mul(a[j], b[i]))
	}
	return c
}

func (s *fractionCorners) normal() fraction {
	return s[1].minus(s[0]).cross(s[2].minus(s[0]))
}

// sidesIn are the ends of what s's sides have in common with t: each side is cut
// down by t's plane and by the three planes that stand on t's sides.
func (s *fractionCorners) sidesIn(t *fractionCorners) []fraction {
	n := t.normal()
	var points []fraction
	for i := range 3 {
		p, q := s[i], s[(i+1)%3]
		lo, hi := new(big.Rat), big.NewRat(1, 1)
		d := q.minus(p)
		keep := func(inward, through fraction) { // (p + x·d − through)·inward ≥ 0
			at, slope := p.minus(through).dot(inward), d.dot(inward)
			if slope.Sign() == 0 {
				if at.Sign() < 0 {
					lo, hi = big.NewRat(1, 1), new(big.Rat)
				}
				return
			}
			x := new(big.Rat).Quo(at.Neg(at), slope)
			if slope.Sign() > 0 && x.Cmp(lo) > 0 {
				lo = x
			} else if slope.Sign() < 0 && x.Cmp(hi) < 0 {
				hi = x
			}
		}
		keep(n, t[0])
		keep(n.times(big.NewRat(-1, 1)), t[0])
		for k := range 3 {
			keep(n.cross(t[(k+1)%3].minus(t[k])), t[k])
		}
		if lo.Cmp(hi) <= 0 {
			points = append(points, p.plus(d.times(lo)), p.plus(d.times(hi)))
		}
	}
	return points
}
