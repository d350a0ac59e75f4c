package change

import (
	"math"

	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// settle improves a motion that is nearly right: points of the old surface are drawn
// onto the planes of the triangles of the new one nearest to them, by least squares in
// the six small movements that a rigid body has, again and again (Chen and Medioni,
// Object modelling by registration of multiple range images, 1992).
func (f *finder) settle(m Motion) Motion {
	const most, points = 12, 300
	verts := f.o.spread(points)
	for range most {
		var sums [6][7]float64 // the normal equations
		size := f.n.span
		for _, v := range verts {
			p := m.Apply(f.o.mesh.Vertices[v])
			_, t := f.n.nearest(p, math.Inf(1), -1)
			if t < 0 {
				continue
			}
			a, b, c := f.n.mesh.Corners(int(t))
			n := b.Sub(a).Cross(c.Sub(a))
			long := n.Norm()
			if !(long > 0) {
				continue
			}
			n = n.Scale(1 / long)
			arm := p.Sub(f.n.centre).Scale(1 / size).Cross(n)
			row := [7]float64{arm.X, arm.Y, arm.Z, n.X, n.Y, n.Z, f.n.at(p, t).Sub(p).Dot(n)}
			for i := range 6 {
				for j := range 7 {
					sums[i][j] += float64(row[i] * row[j])
				}
			}
		}
		// What nothing holds, as the turning of a cylinder, stays where it is, and what
		// is held by a hundredth of the points or less comes into place more slowly.
		for i := range 6 {
			sums[i][i] += 1e-5 * float64(len(verts))
		}
		x, ok := solve6(sums)
		if !ok {
			return m
		}
		turn := rotationBy(mesh.Vec{X: x[0], Y: x[1], Z: x[2]}.Scale(1 / size))
		next := Motion{Matrix: rotation.Product(turn, m.Matrix), Scale: m.Scale}
		// The turn is about the new centre.
		about := Motion{Matrix: turn, Scale: 1}
		next.Shift = about.Apply(m.Shift.Sub(f.n.centre)).Add(f.n.centre).Add(mesh.Vec{X: x[3], Y: x[4], Z: x[5]})
		m = next
		if small := math.Abs(x[0]) + math.Abs(x[1]) + math.Abs(x[2]) + math.Abs(x[3]) + math.Abs(x[4]) + math.Abs(x[5]); small < 1e-9*size {
			break
		}
	}
	return m
}

// solve6 solves six equations, given as rows with their right sides, by elimination
// with the greatest pivot.
func solve6(e [6][7]float64) (x [6]float64, ok bool) {
	for i := range 6 {
		p := i
		for k := i; k < 6; k++ {
			if math.Abs(e[k][i]) > math.Abs(e[p][i]) {
				p = k
			}
		}
		e[i], e[p] = e[p], e[i]
		if !(math.Abs(e[i][i]) > 0) {
			return x, false
		}
		for k := i + 1; k < 6; k++ {
			w := e[k][i] / e[i][i]
			for j := i; j < 7; j++ {
				e[k][j] -= float64(w * e[i][j])
			}
		}
	}
	for i := 5; i >= 0; i-- {
		x[i] = e[i][6]
		for j := i + 1; j < 6; j++ {
			x[i] -= float64(e[i][j] * x[j])
		}
		x[i] /= e[i][i]
	}
	return x, true
}

// rotationBy turns about the axis w by its length in radians (Rodrigues).
func rotationBy(w mesh.Vec) [9]float64 {
	angle := w.Norm()
	if angle == 0 {
		return Still.Matrix
	}
	u := w.Scale(1 / angle)
	s, c := math.Sincos(angle)
	var r [9]float64
	for i := range 3 {
		for j := range 3 {
			r[3*i+j] = float64((1 - c) * float64(u.Component(i)*u.Component(j)))
		}
		r[4*i] += c
	}
	r[1] -= float64(s * u.Z)
	r[2] += float64(s * u.Y)
	r[3] += float64(s * u.Z)
	r[5] -= float64(s * u.X)
	r[6] -= float64(s * u.Y)
	r[7] += float64(s * u.X)
	return r
}

// principal is the directions in which a symmetric matrix only stretches, and by how
// much, ascending (Jacobi's method: the largest entry beside the diagonal is turned
// away until none is left).
func principal(a [3][3]float64) (axes [3]mesh.Vec, by [3]float64) {
	v := [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	for range 60 {
		p, q := 0, 1
		if math.Abs(a[0][2]) > math.Abs(a[p][q]) {
			p, q = 0, 2
		}
		if math.Abs(a[1][2]) > math.Abs(a[p][q]) {
			p, q = 1, 2
		}
		if math.Abs(a[p][q]) <= 1e-300+0x1p-54*(math.Abs(a[p][p])+math.Abs(a[q][q])) {
			break
		}
		s, c := math.Sincos(0.5 * math.Atan2(2*a[p][q], a[p][p]-a[q][q]))
		for k := range 3 {
			x, y := a[k][p], a[k][q]
			a[k][p], a[k][q] = float64(c*x)+float64(s*y), float64(c*y)-float64(s*x)
		}
		for k := range 3 {
			x, y := a[p][k], a[q][k]
			a[p][k], a[q][k] = float64(c*x)+float64(s*y), float64(c*y)-float64(s*x)
			x, y = v[p][k], v[q][k]
			v[p][k], v[q][k] = float64(c*x)+float64(s*y), float64(c*y)-float64(s*x)
		}
	}
	order := [3]int{0, 1, 2}
	for i := range 3 {
		for j := i + 1; j < 3; j++ {
			if a[order[j]][order[j]] < a[order[i]][order[i]] {
				order[i], order[j] = order[j], order[i]
			}
		}
	}
	for i, k := range order {
		axes[i], by[i] = mesh.Vec{X: v[k][0], Y: v[k][1], Z: v[k][2]}, a[k][k]
	}
	return axes, by
}
