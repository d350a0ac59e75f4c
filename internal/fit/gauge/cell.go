package gauge

import (
	"math"

	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// rotations is a set of rotations: those whose unit quaternion passes, from the
// origin, through a cube on one face of the four-dimensional cube around it. Four faces cover all
// rotations, because q and −q are the same. Its sides lie on great spheres,
// so it is convex, and no rotation in it is farther from the centre's than the
// worst of its corners.
type rotations struct {
	face    int        // the component that is greatest
	at      [3]float64 // angles of its middle, seen along the three others
	half    float64    // half its width in each
	ceiling float64    // no rotation in it leaves more to spare
	serial  int        // order of making, which breaks ties
}

type quaternion [4]float64

func allRotations() [4]rotations {
	var out [4]rotations
	for i := range out {
		out[i] = rotations{face: i, half: math.Pi / 4, ceiling: math.Inf(1)}
	}
	return out
}

func (c rotations) through(a, b, d float64) quaternion {
	v := [3]float64{math.Tan(a), math.Tan(b), math.Tan(d)}
	var q quaternion
	q[c.face] = 1
	n := 1.0
	for i, x := range v {
		q[(c.face+1+i)%4] = x
		n += float64(x * x)
	}
	n = math.Sqrt(n)
	for i := range q {
		q[i] /= n
	}
	return q
}

func (c rotations) centre() quaternion { return c.through(c.at[0], c.at[1], c.at[2]) }

// reach is the greatest angle by which a rotation of the set differs from the
// centre's. Turning by an angle is half of it between quaternions; that is
// taken from the chord, since a cosine would come out as 1 for small ones. A share
// of 1e-12 holds the rounding.
func (c rotations) reach() float64 {
	q := c.centre()
	most := 0.0
	for k := range 8 {
		sign := func(bit int) float64 { return c.half * float64(2*(k>>bit&1)-1) }
		p := c.through(c.at[0]+sign(0), c.at[1]+sign(1), c.at[2]+sign(2))
		d := 0.0
		for i := range q {
			d += float64((p[i] - q[i]) * (p[i] - q[i]))
		}
		most = max(most, d)
	}
	return 4 * math.Asin(min(1, math.Sqrt(most)/2)) * (1 + 1e-12)
}

func (c rotations) eighths() [8]rotations {
	h := c.half / 2
	var out [8]rotations
	for k := range out {
		out[k] = c
		out[k].half = h
		for i := range 3 {
			out[k].at[i] += h * float64(2*(k>>i&1)-1)
		}
	}
	return out
}

func (q quaternion) matrix() [9]float64 {
	w, x, y, z := q[0], q[1], q[2], q[3]
	p := func(a, b float64) float64 { return float64(a * b) }
	return [9]float64{
		1 - 2*(p(y, y)+p(z, z)), 2 * (p(x, y) - p(z, w)), 2 * (p(x, z) + p(y, w)),
		2 * (p(x, y) + p(z, w)), 1 - 2*(p(x, x)+p(z, z)), 2 * (p(y, z) - p(x, w)),
		2 * (p(x, z) - p(y, w)), 2 * (p(y, z) + p(x, w)), 1 - 2*(p(x, x)+p(y, y)),
	}
}

// about is the rotation by |v| about v.
func about(v mesh.Vec) [9]float64 {
	n := v.Norm()
	if n == 0 {
		return rotation.Identity
	}
	s, c := math.Sincos(n / 2)
	v = v.Scale(s / n)
	return quaternion{c, v.X, v.Y, v.Z}.matrix()
}

// within bounds the certificate over all rotations that differ from rot by at most the
// angle reach.
//
// With M = Σw Qh nᵀ at rot = Q, and a further turn by θ about the unit vector k,
// Rodrigues' formula R = 1 + sin θ [k] + (1 − cos θ)[k]² gives
//
//	σ ≤ room − tr(RM) = at(Q) − sin θ k·g + (1 − cos θ)(tr M − kᵀMk),  g = Σw Qh × n.
//
// With |k·g| ≤ |g| and kᵀMk at least the least eigenvalue of M's symmetric part
// the right side is A sin θ + B(1 − cos θ), greatest at tan θ = −A/B or at the
// end. Where the orientation is the best of all, g is zero, and the bound rises with
// the square of the angle only.
func (c *certificate) within(rot [9]float64, reach float64) float64 {
	m := rotation.Product(rot, c.turn)
	g := torque(m)
	a := g.Norm()
	b := m[0] + m[4] + m[8] - leastEigenvalue(m)
	peak := math.Atan2(a, -b)
	if reach < peak {
		peak = reach
	}
	half := math.Sin(peak / 2)
	return c.room - (m[0] + m[4] + m[8]) + c.slack() + float64(a*math.Sin(peak)) + float64(b*float64(2*half*half))
}

// torque is Σw p × n for m = Σw p nᵀ.
func torque(m [9]float64) mesh.Vec {
	return mesh.Vec{X: m[5] - m[7], Y: m[6] - m[2], Z: m[1] - m[3]}
}

// leastEigenvalue bounds from below the least eigenvalue of m's symmetric part
// (the closed form for three rows, after O. K. Smith, 1961, from memory). Its
// rounding, for entries below 100 mm, is far below the 1e-9 taken off, except
// where two eigenvalues meet: there the cosine loses half the digits, and 1e-6 of the spread holds
// that.
func leastEigenvalue(m [9]float64) float64 {
	xy, xz, yz := (m[1]+m[3])/2, (m[2]+m[6])/2, (m[5]+m[7])/2
	mean := (m[0] + m[4] + m[8]) / 3
	x, y, z := m[0]-mean, m[4]-mean, m[8]-mean
	p := math.Sqrt((float64(x*x) + float64(y*y) + float64(z*z) + 2*(float64(xy*xy)+float64(xz*xz)+float64(yz*yz))) / 6)
	if p == 0 {
		return mean - 1e-9
	}
	det := float64(x*(float64(y*z)-float64(yz*yz))) - float64(xy*(float64(xy*z)-float64(yz*xz))) + float64(xz*(float64(xy*yz)-float64(y*xz)))
	r := min(max(det/(2*p*p*p), -1), 1)
	return mean + 2*p*math.Cos(math.Acos(r)/3+2*math.Pi/3) - 1e-6*p - 1e-9
}

// rotationQueue is a heap of sets of rotations, the highest ceiling first
// (container/heap).
type rotationQueue []rotations

func (q rotationQueue) Len() int { return len(q) }
func (q rotationQueue) Less(i, j int) bool {
	if q[i].ceiling != q[j].ceiling {
		return q[i].ceiling > q[j].ceiling
	}
	return q[i].serial < q[j].serial
}
func (q rotationQueue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *rotationQueue) Push(c any)   { *q = append(*q, c.(rotations)) }
func (q *rotationQueue) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}
