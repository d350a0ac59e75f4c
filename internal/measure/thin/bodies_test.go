package thin_test

import (
	"math"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// revolved turns a closed profile of (radius, height) points about z in n steps. The
// profile runs so that the solid is on its left as seen with r to the right and z up;
// its radii are above zero but where two successive points lie on the axis.
func revolved(n int, profile ...[2]float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	at := make([][]uint32, len(profile))
	for k, p := range profile {
		for i := range n {
			if p[0] == 0 && i > 0 {
				at[k] = append(at[k], at[k][0])
				continue
			}
			at[k] = append(at[k], uint32(len(m.Vertices)))
			m.Vertices = append(m.Vertices, meshtest.Polar(p[0], 2*math.Pi*float64(i)/float64(n), p[1]))
		}
	}
	for k := range profile {
		a, b := at[k], at[(k+1)%len(profile)]
		for i := range n {
			j := (i + 1) % n
			if a[i] != a[j] {
				meshtest.AddFan(m, a[i], a[j], b[j])
			}
			if b[i] != b[j] {
				meshtest.AddFan(m, a[i], b[j], b[i])
			}
		}
	}
	return m
}

// prism raises a convex polygon, given anticlockwise, to a height.
func prism(height float64, polygon ...[2]float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	n := uint32(len(polygon))
	for _, z := range []float64{0, height} {
		for _, p := range polygon {
			m.Vertices = append(m.Vertices, mesh.Vec{X: p[0], Y: p[1], Z: z})
		}
	}
	var bottom, top []uint32
	for i := range n {
		j := (i + 1) % n
		meshtest.AddFan(m, i, j, n+j, n+i)
		bottom = append(bottom, n-1-i)
		top = append(top, n+i)
	}
	meshtest.AddFan(m, bottom...)
	meshtest.AddFan(m, top...)
	return m
}

// spring is a wire of n sides and radius r wound about z.
func spring(n, steps int, r, coil, pitch, turns float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for k := range steps + 1 {
		a := 2 * math.Pi * turns * float64(k) / float64(steps)
		c := meshtest.Polar(coil, a, pitch*turns*float64(k)/float64(steps))
		out := meshtest.Polar(1, a, 0)
		along := meshtest.Polar(coil, a+math.Pi/2, pitch/(2*math.Pi))
		along = along.Scale(1 / along.Norm())
		side := along.Cross(out)
		for i := range n {
			s, cs := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			m.Vertices = append(m.Vertices, c.Add(out.Scale(r*cs)).Add(side.Scale(r*s)))
		}
	}
	at := func(k, i int) uint32 { return uint32(k*n + i%n) }
	var first, last []uint32
	for k := range steps {
		for i := range n {
			meshtest.AddFan(m, at(k, i), at(k, i+1), at(k+1, i+1), at(k+1, i))
		}
	}
	for i := range n {
		first = append(first, at(0, n-1-i))
		last = append(last, at(steps, i))
	}
	meshtest.AddFan(m, first...)
	meshtest.AddFan(m, last...)
	return m
}

// drilled is a plate 20 × 20 × depth with a hole of n sides and radius r, web away
// from the side x = 10.
func drilled(n int, r, web, depth float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	x0 := 10 - web - r
	n = n / 4 * 4
	for _, z := range []float64{0, depth} {
		for i := range n { // the hole
			p := meshtest.Polar(r, 2*math.Pi*(float64(i)/float64(n)), z)
			m.Vertices = append(m.Vertices, p.Add(mesh.Vec{X: x0}))
		}
		for i := range n { // as many points round the sides, by quarters
			u, q := float64(i%(n/4))/float64(n/4), i/(n/4)
			p := [][2]float64{{10, 0}, {0, 10}, {-10, 0}, {0, -10}}
			corner := [][2]float64{{10, 10}, {-10, 10}, {-10, -10}, {10, -10}}[q]
			a, b := p[q], p[(q+1)%4]
			if u < 0.5 {
				b = corner
				u *= 2
			} else {
				a = corner
				u = 2*u - 1
			}
			m.Vertices = append(m.Vertices, mesh.Vec{X: a[0] + (b[0]-a[0])*u, Y: a[1] + (b[1]-a[1])*u, Z: z})
		}
	}
	k := uint32(n)
	for i := range k {
		j := (i + 1) % k
		meshtest.AddFan(m, j, k+j, k+i, i)             // bottom
		meshtest.AddFan(m, 2*k+i, 3*k+i, 3*k+j, 2*k+j) // top
		meshtest.AddFan(m, k+i, k+j, 3*k+j, 3*k+i)     // sides
		meshtest.AddFan(m, i, 2*k+i, 2*k+j, j)         // hole
	}
	return m
}
