package change

import (
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// corner is a vertex that belongs to the surface and not to its triangles: where
// faces of more than two planes meet, or a border bends. What is known of it does
// not change when the surface is moved or cut otherwise: its distance from the
// centre, the sum of its angles, and the stretches of its normals, each weighted by
// its triangle's angle.
type corner struct {
	p     mesh.Vec // from the centre
	far   float64
	angle float64
	bend  [3]float64 // ascending, of sum 1
}

// A vertex is a corner where its normals have a least stretch of more than flat, some
// 10⁻³ radians from any two planes, or its angles are as far from making a straight
// border; roundings of coordinates tilt a triangle of 0.1 mm by some 10⁻⁵ radians.
const flat = 1e-6

// corners finds the corners, ascending by their distance from the centre, which is
// given for a surface scale times as large.
func (s *surface) corners(scale float64) []corner {
	m := s.mesh
	sums := make([][7]float64, len(m.Vertices))
	for i, t := range m.Triangles {
		a, b, c := m.Corners(i)
		n := b.Sub(a).Cross(c.Sub(a))
		long := n.Norm()
		if !(long > 0) {
			continue
		}
		n = n.Scale(1 / long)
		ends := [3]mesh.Vec{a, b, c}
		for k, v := range t {
			p, q := ends[(k+1)%3].Sub(ends[k]), ends[(k+2)%3].Sub(ends[k])
			w := math.Atan2(long, p.Dot(q))
			sum := &sums[v]
			for j, x := range [6]float64{n.X * n.X, n.Y * n.Y, n.Z * n.Z, n.X * n.Y, n.Y * n.Z, n.X * n.Z} {
				sum[j] += float64(w * x)
			}
			sum[6] += w
		}
	}
	var out []corner
	for _, v := range s.used {
		x := &sums[v]
		if x[6] == 0 {
			continue
		}
		_, bend := principal([3][3]float64{{x[0], x[3], x[5]}, {x[3], x[1], x[4]}, {x[5], x[4], x[2]}})
		for k := range bend {
			bend[k] /= x[6]
		}
		straight := math.Abs(x[6]/math.Pi - math.Round(x[6]/math.Pi))
		if bend[0] > flat || straight*math.Pi > 1e-3 {
			p := m.Vertices[v].Sub(s.centre).Scale(scale)
			out = append(out, corner{p, p.Norm(), x[6], bend})
		}
	}
	slices.SortFunc(out, func(a, b corner) int {
		switch {
		case a.far < b.far:
			return -1
		case a.far > b.far:
			return 1
		}
		return 0
	})
	return out
}

func (c *corner) like(o *corner) bool {
	const angles, bends = 0.01, 0.005
	if math.Abs(c.angle-o.angle) > angles {
		return false
	}
	for k := range 3 {
		if math.Abs(c.bend[k]-o.bend[k]) > bends {
			return false
		}
	}
	return true
}

// alikeIn visits the corners of a list that are like c, at its distance from the
// centre to within slack, until visit returns false.
func (c *corner) alikeIn(list []corner, slack float64, visit func(*corner) bool) {
	first, _ := slices.BinarySearchFunc(list, c.far-slack, func(o corner, far float64) int {
		if o.far < far {
			return -1
		}
		return 1
	})
	for i := first; i < len(list) && list[i].far <= c.far+slack; i++ {
		if c.like(&list[i]) && !visit(&list[i]) {
			return
		}
	}
}

// How many corners are looked at as a base, how many like one another, and how many
// motions are tried.
const mostBases, mostAlike, mostTries = 400, 300, 60

// cornerPairs is a pair of the old surface's corners whose like are rare, and the
// new surface's corners.
type cornerPairs struct {
	a, b  corner
	ok    bool
	new   []corner
	slack float64
}

// findCorners chooses the pair: not on one line with the centre, and as few others
// like them as may be.
func (f *finder) findCorners() *cornerPairs {
	old := f.o.corners(f.scale)
	p := &cornerPairs{new: f.n.corners(1), slack: 4 * f.limit}
	if len(old) < 2 {
		return p
	}
	type base struct {
		corner
		rare int
	}
	var bases []base
	farthest := old[len(old)-1].far
	for k := range min(mostBases, len(old)) {
		c := old[len(old)-1-k*len(old)/min(mostBases, len(old))]
		if c.far < 0.1*farthest || c.far == 0 {
			continue
		}
		n := 0
		c.alikeIn(old, p.slack, func(*corner) bool { n++; return n < mostAlike })
		bases = append(bases, base{c, n})
	}
	slices.SortStableFunc(bases, func(a, b base) int { return a.rare - b.rare })
	if len(bases) == 0 {
		return p
	}
	// All corners of a long thin part are nearly on one line with its centre, so what
	// counts is half the best there is.
	p.a = bases[0].corner
	widest := 0.0
	for _, b := range bases {
		widest = max(widest, p.a.p.Cross(b.p).Norm()/b.far)
	}
	for _, b := range bases {
		if wide := p.a.p.Cross(b.p).Norm() / b.far; wide >= widest/2 && wide > 1e-6*p.a.far {
			p.b, p.ok = b.corner, true
			break
		}
	}
	return p
}

// byCorners tries the motions that take the old pair to a pair of the new surface's.
func (f *finder) byCorners(ctx context.Context, mirrored bool) (bool, error) {
	if f.corners == nil {
		f.corners = f.findCorners()
	}
	p := f.corners
	if !p.ok {
		return false, nil
	}
	from := frame(p.a.p, p.b.p, false)
	apart := p.a.p.Sub(p.b.p).Norm()
	tries := 0
	var found bool
	var err error
	firsts := 0
	p.a.alikeIn(p.new, p.slack, func(a *corner) bool {
		seconds := 0
		p.b.alikeIn(p.new, p.slack, func(b *corner) bool {
			seconds++
			if math.Abs(a.p.Sub(b.p).Norm()-apart) <= 2*p.slack {
				r := rotation.Product(frame(a.p, b.p, mirrored), transposed(from))
				m := f.about(r)
				if f.near(m, 0.003*f.n.span) {
					tries++
					found, err = f.settled(ctx, r)
				}
			}
			return !found && err == nil && tries < mostTries && seconds < mostAlike && ctx.Err() == nil
		})
		firsts++
		return !found && err == nil && tries < mostTries && firsts < mostAlike && ctx.Err() == nil
	})
	if err == nil {
		err = ctx.Err()
	}
	return found, err
}

// frame has three unit vectors for columns: along a, towards b from it, and across
// both, to the other side where mirrored.
func frame(a, b mesh.Vec, mirrored bool) [9]float64 {
	u := a.Scale(1 / a.Norm())
	v := b.Sub(u.Scale(u.Dot(b)))
	v = v.Scale(1 / v.Norm())
	w := u.Cross(v)
	if mirrored {
		w = w.Scale(-1)
	}
	return [9]float64{u.X, v.X, w.X, u.Y, v.Y, w.Y, u.Z, v.Z, w.Z}
}

func transposed(r [9]float64) [9]float64 {
	return [9]float64{r[0], r[3], r[6], r[1], r[4], r[7], r[2], r[5], r[8]}
}
