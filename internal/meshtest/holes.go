package meshtest

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"cardback/internal/mesh"
)

func outward(m *mesh.Mesh) *mesh.Mesh {
	volume := 0.0
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		volume += a.Dot(b.Cross(c))
	}
	if volume < 0 {
		return InsideOut(m)
	}
	return m
}

// rimCorners is how many corners a drilled plate's outline has: so many that no
// triangle from the outline to the hole cuts across the hole.
const rimCorners = 16

// DrilledPlate is a square plate from z = 0 to the given thickness with a hole of
// n sides through its middle. The hole's corners lie on a circle of diameter d
// about an axis that leans from z by lean, towards the direction turn, in radians.
func DrilledPlate(n int, d, width, thickness, lean, turn float64) *mesh.Mesh {
	axis := Polar(math.Sin(lean), turn, math.Cos(lean))
	u := Polar(math.Cos(lean), turn, -math.Sin(lean))
	v := axis.Cross(u)
	middle := mesh.Vec{Z: thickness / 2}
	m := &mesh.Mesh{}
	for _, z := range []float64{0, thickness} {
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * (float64(i) + 0.3) / float64(n))
			p := middle.Add(u.Scale(d / 2 * c)).Add(v.Scale(d / 2 * s))
			m.Vertices = append(m.Vertices, p.Add(axis.Scale((z-p.Z)/axis.Z)))
		}
	}
	for _, z := range []float64{0, thickness} {
		for i := range rimCorners {
			// Along the square's sides, in equal steps.
			f := float64(i%(rimCorners/4))/(rimCorners/8) - 1
			q := [][2]float64{{f, -1}, {1, f}, {-f, 1}, {-1, -f}}[i/(rimCorners/4)]
			m.Vertices = append(m.Vertices, mesh.Vec{X: q[0] * width / 2, Y: q[1] * width / 2, Z: z})
		}
	}
	var ring, square [2][]uint32
	for side := range 2 {
		for i := range n {
			ring[side] = append(ring[side], uint32(side*n+i))
		}
		for i := range rimCorners {
			square[side] = append(square[side], uint32(2*n+rimCorners*side+i))
		}
		centre := middle.Add(axis.Scale((float64(side)*thickness - thickness/2) / axis.Z))
		before := len(m.Triangles)
		zip(m, ring[side], square[side], centre)
		if side == 0 {
			for k := before; k < len(m.Triangles); k++ {
				t := &m.Triangles[k]
				t[1], t[2] = t[2], t[1]
			}
		}
	}
	for i := range n {
		j := (i + 1) % n
		AddFan(m, ring[0][j], ring[0][i], ring[1][i], ring[1][j])
	}
	for i := range rimCorners {
		j := (i + 1) % rimCorners
		AddFan(m, square[0][i], square[0][j], square[1][j], square[1][i])
	}
	return outward(m)
}

// zip fills the flat between two loops that both go round a centre, seen from +z
// counterclockwise, the first inside the second.
func zip(m *mesh.Mesh, inner, outer []uint32, centre mesh.Vec) {
	type corner struct {
		angle float64
		outer bool
		at    int
	}
	var all []corner
	for k, loop := range [2][]uint32{inner, outer} {
		for i, v := range loop {
			p := m.Vertices[v].Sub(centre)
			all = append(all, corner{math.Atan2(p.Y, p.X), k == 1, i})
		}
	}
	slices.SortFunc(all, func(a, b corner) int { return cmp.Compare(a.angle, b.angle) })
	last := func(outer bool) int {
		for i := len(all) - 1; ; i-- {
			if all[i].outer == outer {
				return all[i].at
			}
		}
	}
	in, out := last(false), last(true)
	for _, c := range all {
		if c.outer {
			m.Triangles = append(m.Triangles, [3]uint32{inner[in], outer[out], outer[c.at]})
			out = c.at
		} else {
			m.Triangles = append(m.Triangles, [3]uint32{inner[in], outer[out], inner[c.at]})
			in = c.at
		}
	}
}

// LumpyBead is a lump with a cylindrical hole of diameter d through it along z,
// meshed as a sculpt is: around by along corners, scattered over the surface, and
// diagonals at random. All corners of the hole's wall lie on the cylinder; its
// mouths are curved, and the hole is high ± wave high where they are.
func LumpyBead(r *rand.Rand, around, along int, d, high, wave, width float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	phase := r.Float64() * 7
	for k := range 2 * along {
		for i := range around {
			u := 2 * math.Pi * (float64(i) + 0.5*(r.Float64()-0.5)) / float64(around)
			shift := 0.5 * (r.Float64() - 0.5)
			if k == 0 || k == along { // the mouths' corners
				shift = 0
			}
			mouth := high/2 + wave*math.Sin(3*u+phase)
			if k <= along { // the wall, downwards
				m.Vertices = append(m.Vertices, Polar(d/2, u, mouth*(1-2*(float64(k)+shift)/float64(along))))
				continue
			}
			s := math.Pi * (float64(k-along) + shift) / float64(along) // outside, upwards
			out := width * (1 + 0.15*math.Sin(2*u+5*s) + 0.1*math.Cos(5*u-3*s+phase))
			m.Vertices = append(m.Vertices, Polar(d/2+out*math.Sin(s), u, -mouth*math.Cos(s)))
		}
	}
	at := func(k, i int) uint32 { return uint32(k%(2*along)*around + i%around) }
	for k := range 2 * along {
		for i := range around {
			a, b, c, e := at(k, i), at(k, i+1), at(k+1, i+1), at(k+1, i)
			if r.IntN(2) == 0 {
				AddFan(m, a, b, c, e)
			} else {
				AddFan(m, b, c, e, a)
			}
		}
	}
	return outward(m)
}
