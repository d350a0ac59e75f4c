package bore

import (
	"math"

	"cardback/internal/mesh"
)

// cylinder is an endless one: a unit axis through a point, and a radius.
type cylinder struct {
	axis, at mesh.Vec
	radius   float64
}

// across takes a point to its distance along the axis from at, and to its place
// in the plane across it.
func (c *cylinder) across(p, u, v mesh.Vec) (t, x, y float64) {
	d := p.Sub(c.at)
	return d.Dot(c.axis), d.Dot(u), d.Dot(v)
}

// frame gives two unit vectors that make a right-handed frame with the axis.
func frame(axis mesh.Vec) (u, v mesh.Vec) {
	w := mesh.Vec{X: 1}
	if math.Abs(axis.X) > math.Abs(axis.Y) || math.Abs(axis.X) > math.Abs(axis.Z) {
		w = mesh.Vec{Y: 1}
		if math.Abs(axis.Y) > math.Abs(axis.Z) {
			w = mesh.Vec{Z: 1}
		}
	}
	u = unit(axis.Cross(w))
	return u, axis.Cross(u)
}

func unit(a mesh.Vec) mesh.Vec { return a.Scale(1 / a.Norm()) }

// fitCircle is the algebraic circle (Kåsa's: least squares of x² + y² − 2ax − 2by
// − c) through points as seen along the axis: a start for fitCylinder.
func fitCircle(points []mesh.Vec, axis mesh.Vec) (cylinder, bool) {
	var mean mesh.Vec
	for _, p := range points {
		mean = mean.Add(p.Scale(1 / float64(len(points))))
	}
	u, v := frame(axis)
	c := cylinder{axis: axis, at: mean}
	var a [5][6]float64
	scale := 0.0
	for _, p := range points {
		_, x, y := c.across(p, u, v)
		scale = max(scale, math.Abs(x), math.Abs(y))
	}
	if !(scale > 0) {
		return c, false
	}
	for _, p := range points {
		_, x, y := c.across(p, u, v)
		x, y = x/scale, y/scale
		row := [4]float64{x, y, 1, float64(x*x) + float64(y*y)}
		for i := range 3 {
			for j := range 4 {
				to := j
				if j == 3 {
					to = 5
				}
				a[i][to] += float64(row[i] * row[j])
			}
		}
	}
	x, ok := solve(&a, 3)
	if !ok {
		return c, false
	}
	cx, cy := x[0]/2, x[1]/2
	c.at = mean.Add(u.Scale(cx * scale)).Add(v.Scale(cy * scale))
	c.radius = scale * math.Sqrt(x[2]+float64(cx*cx)+float64(cy*cy))
	return c, c.radius > 0 && !math.IsInf(c.radius, 0)
}

// fitCylinder is the cylinder with the least sum of squares of the points'
// distances from its surface, by Gauss and Newton's method from a near start. at
// comes out level with the points' mean. rms and worst are distances, in mm.
func fitCylinder(points []mesh.Vec, from cylinder) (c cylinder, rms, worst float64, ok bool) {
	return fitUntil(points, from, 12, 1e-14)
}

// fitRoughly is fitCylinder to a ten-thousandth of the radius, for a look whether
// it is worth going on.
func fitRoughly(points []mesh.Vec, from cylinder) (c cylinder, rms, worst float64, ok bool) {
	return fitUntil(points, from, 3, 1e-4)
}

// fitUntil stops after a number of rounds, or when a step is small against the
// radius.
func fitUntil(points []mesh.Vec, from cylinder, rounds int, small float64) (c cylinder, rms, worst float64, ok bool) {
	c = from
	var mean mesh.Vec
	for _, p := range points {
		mean = mean.Add(p.Scale(1 / float64(len(points))))
	}
	for round := range rounds + 1 {
		c.at = c.at.Add(c.axis.Scale(mean.Sub(c.at).Dot(c.axis)))
		u, v := frame(c.axis)
		var a [5][6]float64
		rms, worst = 0, 0
		reach := 0.0
		for _, p := range points {
			t, x, y := c.across(p, u, v)
			rho := math.Hypot(x, y)
			if !(rho > 0) {
				return c, 0, 0, false
			}
			off := rho - c.radius
			rms += float64(off * off)
			worst = max(worst, math.Abs(off))
			t /= c.radius
			reach = max(reach, math.Abs(t))
			row := [6]float64{x / rho, y / rho, 1, t * x / rho, t * y / rho, off}
			for i := range 5 {
				for j := range 6 {
					a[i][j] += float64(row[i] * row[j])
				}
			}
		}
		rms = math.Sqrt(rms / float64(len(points)))
		if round == rounds {
			break
		}
		x, solved := solve(&a, 5)
		if !solved {
			return c, 0, 0, false
		}
		step := math.Hypot(x[0], x[1]) + math.Abs(x[2]) + reach*math.Hypot(x[3], x[4])
		c.at = c.at.Add(u.Scale(x[0])).Add(v.Scale(x[1]))
		c.axis = unit(c.axis.Add(u.Scale(x[3] / c.radius)).Add(v.Scale(x[4] / c.radius)))
		c.radius += x[2]
		if !(c.radius > 0) || math.IsInf(c.radius, 0) || !(c.axis.Dot(from.axis) > 0.9) {
			return c, 0, 0, false
		}
		if step < small*c.radius {
			break
		}
	}
	return c, rms, worst, !math.IsNaN(rms)
}

// solve solves the first n equations of a by elimination with the largest pivot;
// the right side is column 5. It says no where they are all but dependent.
func solve(a *[5][6]float64, n int) (x [5]float64, ok bool) {
	largest := 0.0
	for i := range n {
		largest = max(largest, math.Abs(a[i][i]))
	}
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i][k]) > math.Abs(a[best][k]) {
				best = i
			}
		}
		a[k], a[best] = a[best], a[k]
		// Below 1e-13 of the largest, a pivot is rounding of sums of up to some
		// hundred products.
		if !(math.Abs(a[k][k]) > 1e-13*largest) {
			return x, false
		}
		for i := k + 1; i < n; i++ {
			f := a[i][k] / a[k][k]
			for j := k; j < 6; j++ {
				a[i][j] -= float64(f * a[k][j])
			}
		}
	}
	for k := n - 1; k >= 0; k-- {
		sum := a[k][5]
		for j := k + 1; j < n; j++ {
			sum -= float64(a[k][j] * x[j])
		}
		x[k] = sum / a[k][k]
	}
	return x, true
}

// leastAxis is the direction to which the normals are nearest to perpendicular:
// the eigenvector of the least eigenvalue of the sum of weight·n·nᵀ, by Jacobi's
// rotations. values are in rising order.
func leastAxis(m [3][3]float64) (axis mesh.Vec, values [3]float64) {
	v := [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	for range 12 {
		for p := range 2 {
			for q := p + 1; q < 3; q++ {
				if m[p][q] == 0 {
					continue
				}
				theta := (m[q][q] - m[p][p]) / (2 * m[p][q])
				t := 1 / (math.Abs(theta) + math.Sqrt(float64(theta*theta)+1))
				if theta < 0 {
					t = -t
				}
				c := 1 / math.Sqrt(float64(t*t)+1)
				s := t * c
				for k := range 3 {
					x, y := m[k][p], m[k][q]
					m[k][p], m[k][q] = float64(c*x)-float64(s*y), float64(s*x)+float64(c*y)
				}
				for k := range 3 {
					x, y := m[p][k], m[q][k]
					m[p][k], m[q][k] = float64(c*x)-float64(s*y), float64(s*x)+float64(c*y)
				}
				for k := range 3 {
					x, y := v[k][p], v[k][q]
					v[k][p], v[k][q] = float64(c*x)-float64(s*y), float64(s*x)+float64(c*y)
				}
			}
		}
	}
	order := [3]int{0, 1, 2}
	for i := range 3 {
		for j := i + 1; j < 3; j++ {
			if m[order[j]][order[j]] < m[order[i]][order[i]] {
				order[i], order[j] = order[j], order[i]
			}
		}
	}
	k := order[0]
	for i := range 3 {
		values[i] = m[order[i]][order[i]]
	}
	return mesh.Vec{X: v[0][k], Y: v[1][k], Z: v[2][k]}, values
}
