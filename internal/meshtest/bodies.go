// Package meshtest holds what the tests of several packages need: bodies whose
// measures are known from formulas, ways of turning, moving and spoiling them, and
// readers of the shared reference figures. Only tests import it.
package meshtest

import (
	"math"

	"cardback/internal/mesh"
)

// The solids below are built with float64 corners, so that they miss their
// formulas by rounding only.

// Polar is a point given by its distance from the z axis, its angle in radians and its height.
func Polar(r, angle, z float64) mesh.Vec {
	return mesh.Vec{X: r * math.Cos(angle), Y: r * math.Sin(angle), Z: z}
}

// AddFan adds a convex polygon as triangles from its first corner.
func AddFan(m *mesh.Mesh, corner ...uint32) {
	for i := 2; i < len(corner); i++ {
		m.Triangles = append(m.Triangles, [3]uint32{corner[0], corner[i-1], corner[i]})
	}
}

// Box has a corner at the origin and sides a, b and c along the axes.
func Box(a, b, c float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range 8 {
		m.Vertices = append(m.Vertices, mesh.Vec{X: a * float64(i&1), Y: b * float64(i>>1&1), Z: c * float64(i>>2)})
	}
	for _, f := range [][]uint32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		AddFan(m, f...)
	}
	return m
}

// Frustum stands on z = 0; its n-gons are inscribed in circles of radius r1 and,
// at height h, r2. r2 = 0 makes a cone.
func Frustum(n int, r1, r2, h float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for _, ring := range [][2]float64{{r1, 0}, {r2, h}} {
		if ring[0] == 0 {
			m.Vertices = append(m.Vertices, mesh.Vec{Z: ring[1]})
			continue
		}
		for i := range n {
			m.Vertices = append(m.Vertices, Polar(ring[0], 2*math.Pi*float64(i)/float64(n), ring[1]))
		}
	}
	var bottom, top []uint32
	for i := range n {
		a, b := uint32(i), uint32((i+1)%n)
		if r2 == 0 {
			AddFan(m, a, b, uint32(n))
		} else {
			AddFan(m, a, b, uint32(n)+b, uint32(n)+a)
			top = append(top, uint32(n)+a)
		}
		bottom = append(bottom, uint32(n-1-i))
	}
	AddFan(m, bottom...)
	AddFan(m, top...)
	return m
}

// Dome has around longitudes and the given bands of latitude from angle lowest
// (measured from the equator, −π/2 for a whole sphere) to the north pole.
func Dome(r float64, around, bands int, lowest float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	whole := lowest <= -math.Pi/2
	first := 0
	if whole {
		first = 1
	}
	for k := first; k < bands; k++ {
		lat := lowest + (math.Pi/2-lowest)*float64(k)/float64(bands)
		for i := range around {
			m.Vertices = append(m.Vertices, Polar(r*math.Cos(lat), 2*math.Pi*float64(i)/float64(around), r*math.Sin(lat)))
		}
	}
	rings := bands - first
	for k := range rings - 1 {
		for i := range around {
			a, b := uint32(k*around+i), uint32(k*around+(i+1)%around)
			AddFan(m, a, b, b+uint32(around), a+uint32(around))
		}
	}
	m.Vertices = append(m.Vertices, mesh.Vec{Z: r})
	var base []uint32
	for i := range around {
		last := uint32((rings - 1) * around)
		AddFan(m, last+uint32(i), last+uint32((i+1)%around), uint32(len(m.Vertices)-1))
		base = append(base, uint32(around-1-i))
	}
	if !whole {
		AddFan(m, base...)
		return m
	}
	m.Vertices = append(m.Vertices, mesh.Vec{Z: -r})
	for i := range around {
		AddFan(m, uint32((i+1)%around), uint32(i), uint32(len(m.Vertices)-1))
	}
	return m
}

func UVSphere(r float64, around, bands int) *mesh.Mesh { return Dome(r, around, bands, -math.Pi/2) }

// RingTorus lies about z: m steps round the ring of radius R, n round its section
// of radius r, and its corners are taken through round.
func RingTorus(m, n int, R, r float64, round func(float64) float64) *mesh.Mesh {
	out := &mesh.Mesh{}
	for i := range m {
		for j := range n {
			v := 2 * math.Pi * float64(j) / float64(n)
			p := Polar(R+r*math.Cos(v), 2*math.Pi*float64(i)/float64(m), r*math.Sin(v))
			out.Vertices = append(out.Vertices, mesh.Vec{X: round(p.X), Y: round(p.Y), Z: round(p.Z)})
		}
	}
	at := func(i, j int) uint32 { return uint32(i%m*n + j%n) }
	for i := range m {
		for j := range n {
			AddFan(out, at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1))
		}
	}
	return out
}

// Exactly and AsFloat32 round coordinates, or do not.
func Exactly(x float64) float64   { return x }
func AsFloat32(x float64) float64 { return float64(float32(x)) }

// HoledBox is a box a × b × c about the origin with a square hole of the given
// width through it along z.
func HoledBox(a, b, c, hole float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for _, z := range []float64{-c / 2, c / 2} {
		for _, s := range [][2]float64{{a / 2, b / 2}, {hole / 2, hole / 2}} {
			for _, q := range [][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
				m.Vertices = append(m.Vertices, mesh.Vec{X: s[0] * q[0], Y: s[1] * q[1], Z: z})
			}
		}
	}
	for i := range uint32(4) {
		j := (i + 1) % 4
		AddFan(m, i, j, 8+j, 8+i)       // outer wall
		AddFan(m, 4+j, 4+i, 12+i, 12+j) // hole wall
		AddFan(m, j, i, 4+i, 4+j)       // bottom
		AddFan(m, 8+i, 8+j, 12+j, 12+i) // top
	}
	return m
}

// height is six times the volume of the tetrahedron on abc with its tip at p.
func height(a, b, c, p mesh.Vec) float64 { return b.Sub(a).Cross(c.Sub(a)).Dot(p.Sub(a)) }

// Deltahedron meshes a convex polyhedron from its corners: every triple of corners
// with all others on one side is a triangle, so it is for triangulated faces only.
func Deltahedron(corners []mesh.Vec) *mesh.Mesh {
	m := &mesh.Mesh{Vertices: corners}
	n := len(corners)
	for i := range n {
		for j := range n {
			for k := range n {
				if i >= j || i >= k || j == k {
					continue // the least corner first, both windings
				}
				inside := true
				for l := range n {
					if l != i && l != j && l != k && height(corners[i], corners[j], corners[k], corners[l]) > -1e-9 {
						inside = false
					}
				}
				if inside {
					m.Triangles = append(m.Triangles, [3]uint32{uint32(i), uint32(j), uint32(k)})
				}
			}
		}
	}
	return m
}

// Tetrahedron has edge 2√2.
func Tetrahedron() *mesh.Mesh {
	return Deltahedron([]mesh.Vec{{X: 1, Y: 1, Z: 1}, {X: 1, Y: -1, Z: -1}, {X: -1, Y: 1, Z: -1}, {X: -1, Y: -1, Z: 1}})
}

// Octahedron has edge √2.
func Octahedron() *mesh.Mesh {
	return Deltahedron([]mesh.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}})
}

// Icosahedron has edge 2.
func Icosahedron() *mesh.Mesh {
	phi := (1 + math.Sqrt(5)) / 2
	var c []mesh.Vec
	for _, s := range []float64{-1, 1} {
		for _, t := range []float64{-phi, phi} {
			c = append(c, mesh.Vec{Y: s, Z: t}, mesh.Vec{X: s, Y: t}, mesh.Vec{Z: s, X: t})
		}
	}
	return Deltahedron(c)
}

// Dodecahedron has edge √5 − 1; its faces are found as the corners in one plane
// with each of the icosahedron's axes.
func Dodecahedron() *mesh.Mesh {
	phi := (1 + math.Sqrt(5)) / 2
	m := &mesh.Mesh{}
	for _, s := range []float64{-1, 1} {
		for _, t := range []float64{-1, 1} {
			m.Vertices = append(m.Vertices, mesh.Vec{X: s, Y: t, Z: 1}, mesh.Vec{X: s, Y: t, Z: -1},
				mesh.Vec{Y: s * phi, Z: t / phi}, mesh.Vec{X: s * phi, Y: t / phi}, mesh.Vec{Z: s * phi, X: t / phi})
		}
	}
	for _, axis := range Icosahedron().Vertices {
		e1 := mesh.Vec{X: axis.Y, Y: axis.Z, Z: axis.X}.Cross(axis)
		e2 := axis.Cross(e1)
		most := 0.0
		for _, v := range m.Vertices {
			most = max(most, v.Dot(axis))
		}
		var face []uint32
		for i, v := range m.Vertices {
			if v.Dot(axis) > most-0.1 {
				face = append(face, uint32(i))
			}
		}
		angle := func(i uint32) float64 {
			v := m.Vertices[i]
			return math.Atan2(v.Dot(e2)/e2.Norm(), v.Dot(e1)/e1.Norm())
		}
		for i := range face {
			for j := range i {
				if angle(face[i]) < angle(face[j]) {
					face[i], face[j] = face[j], face[i]
				}
			}
		}
		AddFan(m, face...)
	}
	return m
}

// Moved applies a function to every corner.
func Moved(m *mesh.Mesh, f func(mesh.Vec) mesh.Vec) *mesh.Mesh {
	out := &mesh.Mesh{Triangles: m.Triangles}
	for _, v := range m.Vertices {
		out.Vertices = append(out.Vertices, f(v))
	}
	return out
}

// Together is several meshes as one.
func Together(meshes ...*mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{}
	for _, m := range meshes {
		n := uint32(len(out.Vertices))
		out.Vertices = append(out.Vertices, m.Vertices...)
		for _, t := range m.Triangles {
			out.Triangles = append(out.Triangles, [3]uint32{t[0] + n, t[1] + n, t[2] + n})
		}
	}
	return out
}

// InsideOut turns every triangle over.
func InsideOut(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: m.Vertices}
	for _, t := range m.Triangles {
		out.Triangles = append(out.Triangles, [3]uint32{t[0], t[2], t[1]})
	}
	return out
}

// Shift moves a point by (x, y, z).
func Shift(x, y, z float64) func(mesh.Vec) mesh.Vec {
	return func(p mesh.Vec) mesh.Vec { return p.Add(mesh.Vec{X: x, Y: y, Z: z}) }
}

// Without leaves a triangle out.
func Without(m *mesh.Mesh, triangle int) *mesh.Mesh {
	return &mesh.Mesh{Vertices: m.Vertices, Triangles: append(append([][3]uint32{}, m.Triangles[:triangle]...), m.Triangles[triangle+1:]...)}
}

// TurnedOver winds one triangle the other way.
func TurnedOver(m *mesh.Mesh, triangle int) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: m.Vertices, Triangles: append([][3]uint32{}, m.Triangles...)}
	t := out.Triangles[triangle]
	out.Triangles[triangle] = [3]uint32{t[0], t[2], t[1]}
	return out
}

// Scaled is m, s times as large.
func Scaled(m *mesh.Mesh, s float64) *mesh.Mesh {
	return Moved(m, func(p mesh.Vec) mesh.Vec { return p.Scale(s) })
}

// Turned is m turned about an axis through the origin, by an angle in radians.
func Turned(m *mesh.Mesh, about mesh.Vec, angle float64) *mesh.Mesh {
	out := &mesh.Mesh{Triangles: m.Triangles}
	s, c := math.Sincos(angle)
	k := about.Scale(1 / about.Norm())
	for _, p := range m.Vertices { // Rodrigues' formula
		q := p.Scale(c).Add(k.Cross(p).Scale(s)).Add(k.Scale(k.Dot(p) * (1 - c)))
		out.Vertices = append(out.Vertices, q)
	}
	return out
}

// Million is one of two meshes of a million triangles with 32-bit coordinates. Half of
// the torus's vertices are on its hull, far more than on any sculpt; the lump
// (a sphere with waves) is more like one.
func Million(shape string) *mesh.Mesh {
	if shape == "torus" {
		return RingTorus(1000, 500, 10, 2, AsFloat32)
	}
	return Moved(UVSphere(1, 1000, 501), func(p mesh.Vec) mesh.Vec {
		r := 20 + math.Sin(17*p.X)*math.Sin(23*p.Y) + math.Sin(11*p.Z+5*p.X)
		return mesh.Vec{X: AsFloat32(r * p.X), Y: AsFloat32(r * p.Y), Z: AsFloat32(1.5 * r * p.Z)}
	})
}

// Fan is n triangles on one edge of 20 mm, all round it: n(n−1)/2 pairs whose boxes
// meet, and none that crosses.
func Fan(n int) *mesh.Mesh {
	m := &mesh.Mesh{Vertices: []mesh.Vec{{}, {Z: 20}}}
	for i := range n {
		m.Vertices = append(m.Vertices, Polar(20, 2*math.Pi*float64(i)/float64(n), 10))
		m.Triangles = append(m.Triangles, [3]uint32{0, 1, uint32(i + 2)})
	}
	return m
}
