package measure

import (
	"math"

	"cardback/internal/mesh"
)

// The solids below are built with float64 corners, so that they miss their
// formulas by rounding only.

func polar(r, angle, z float64) mesh.Vec {
	return mesh.Vec{X: r * math.Cos(angle), Y: r * math.Sin(angle), Z: z}
}

// addFan adds a convex polygon as triangles from its first corner.
func addFan(m *mesh.Mesh, corner ...uint32) {
	for i := 2; i < len(corner); i++ {
		m.Triangles = append(m.Triangles, [3]uint32{corner[0], corner[i-1], corner[i]})
	}
}

func box(a, b, c float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range 8 {
		m.Vertices = append(m.Vertices, mesh.Vec{X: a * float64(i&1), Y: b * float64(i>>1&1), Z: c * float64(i>>2)})
	}
	for _, f := range [][]uint32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		addFan(m, f...)
	}
	return m
}

// frustum stands on z = 0; its n-gons are inscribed in circles of radius r1 and,
// at height h, r2. r2 = 0 makes a cone.
func frustum(n int, r1, r2, h float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for _, ring := range [][2]float64{{r1, 0}, {r2, h}} {
		if ring[0] == 0 {
			m.Vertices = append(m.Vertices, mesh.Vec{Z: ring[1]})
			continue
		}
		for i := range n {
			m.Vertices = append(m.Vertices, polar(ring[0], 2*math.Pi*float64(i)/float64(n), ring[1]))
		}
	}
	var bottom, top []uint32
	for i := range n {
		a, b := uint32(i), uint32((i+1)%n)
		if r2 == 0 {
			addFan(m, a, b, uint32(n))
		} else {
			addFan(m, a, b, uint32(n)+b, uint32(n)+a)
			top = append(top, uint32(n)+a)
		}
		bottom = append(bottom, uint32(n-1-i))
	}
	addFan(m, bottom...)
	addFan(m, top...)
	return m
}

// dome has around longitudes and the given bands of latitude from angle lowest
// (measured from the equator, −π/2 for a whole sphere) to the north pole.
func dome(r float64, around, bands int, lowest float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	whole := lowest <= -math.Pi/2
	first := 0
	if whole {
		first = 1
	}
	for k := first; k < bands; k++ {
		lat := lowest + (math.Pi/2-lowest)*float64(k)/float64(bands)
		for i := range around {
			m.Vertices = append(m.Vertices, polar(r*math.Cos(lat), 2*math.Pi*float64(i)/float64(around), r*math.Sin(lat)))
		}
	}
	rings := bands - first
	for k := range rings - 1 {
		for i := range around {
			a, b := uint32(k*around+i), uint32(k*around+(i+1)%around)
			addFan(m, a, b, b+uint32(around), a+uint32(around))
		}
	}
	m.Vertices = append(m.Vertices, mesh.Vec{Z: r})
	var base []uint32
	for i := range around {
		last := uint32((rings - 1) * around)
		addFan(m, last+uint32(i), last+uint32((i+1)%around), uint32(len(m.Vertices)-1))
		base = append(base, uint32(around-1-i))
	}
	if !whole {
		addFan(m, base...)
		return m
	}
	m.Vertices = append(m.Vertices, mesh.Vec{Z: -r})
	for i := range around {
		addFan(m, uint32((i+1)%around), uint32(i), uint32(len(m.Vertices)-1))
	}
	return m
}

func uvSphere(r float64, around, bands int) *mesh.Mesh { return dome(r, around, bands, -math.Pi/2) }

// ringTorus lies about z: m steps round the ring of radius R, n round its section
// of radius r, and its corners are taken through round.
func ringTorus(m, n int, R, r float64, round func(float64) float64) *mesh.Mesh {
	out := &mesh.Mesh{}
	for i := range m {
		for j := range n {
			v := 2 * math.Pi * float64(j) / float64(n)
			p := polar(R+r*math.Cos(v), 2*math.Pi*float64(i)/float64(m), r*math.Sin(v))
			out.Vertices = append(out.Vertices, mesh.Vec{X: round(p.X), Y: round(p.Y), Z: round(p.Z)})
		}
	}
	at := func(i, j int) uint32 { return uint32(i%m*n + j%n) }
	for i := range m {
		for j := range n {
			addFan(out, at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1))
		}
	}
	return out
}

func exactly(x float64) float64   { return x }
func asFloat32(x float64) float64 { return float64(float32(x)) }

// holedBox is a box a × b × c about the origin with a square hole of the given
// width through it along z.
func holedBox(a, b, c, hole float64) *mesh.Mesh {
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
		addFan(m, i, j, 8+j, 8+i)       // outer wall
		addFan(m, 4+j, 4+i, 12+i, 12+j) // hole wall
		addFan(m, j, i, 4+i, 4+j)       // bottom
		addFan(m, 8+i, 8+j, 12+j, 12+i) // top
	}
	return m
}

// deltahedron meshes a convex polyhedron from its corners: every triple of corners
// with all others on one side is a triangle, so it is for triangulated faces only.
func deltahedron(corners []mesh.Vec) *mesh.Mesh {
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
					if l != i && l != j && l != k && sideOf(corners[i], corners[j], corners[k], corners[l]) >= 0 {
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

func tetrahedron() *mesh.Mesh { // edge 2√2
	return deltahedron([]mesh.Vec{{X: 1, Y: 1, Z: 1}, {X: 1, Y: -1, Z: -1}, {X: -1, Y: 1, Z: -1}, {X: -1, Y: -1, Z: 1}})
}

func octahedron() *mesh.Mesh { // edge √2
	return deltahedron([]mesh.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}})
}

func icosahedron() *mesh.Mesh { // edge 2
	phi := (1 + math.Sqrt(5)) / 2
	var c []mesh.Vec
	for _, s := range []float64{-1, 1} {
		for _, t := range []float64{-phi, phi} {
			c = append(c, mesh.Vec{Y: s, Z: t}, mesh.Vec{X: s, Y: t}, mesh.Vec{Z: s, X: t})
		}
	}
	return deltahedron(c)
}

// dodecahedron has edge √5 − 1; its faces are found as the corners in one plane
// with each of the icosahedron's axes.
func dodecahedron() *mesh.Mesh {
	phi := (1 + math.Sqrt(5)) / 2
	m := &mesh.Mesh{}
	for _, s := range []float64{-1, 1} {
		for _, t := range []float64{-1, 1} {
			m.Vertices = append(m.Vertices, mesh.Vec{X: s, Y: t, Z: 1}, mesh.Vec{X: s, Y: t, Z: -1},
				mesh.Vec{Y: s * phi, Z: t / phi}, mesh.Vec{X: s * phi, Y: t / phi}, mesh.Vec{Z: s * phi, X: t / phi})
		}
	}
	for _, axis := range icosahedron().Vertices {
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
		addFan(m, face...)
	}
	return m
}

// moved applies a function to every corner.
func moved(m *mesh.Mesh, f func(mesh.Vec) mesh.Vec) *mesh.Mesh {
	out := &mesh.Mesh{Triangles: m.Triangles}
	for _, v := range m.Vertices {
		out.Vertices = append(out.Vertices, f(v))
	}
	return out
}

// together is several meshes as one.
func together(meshes ...*mesh.Mesh) *mesh.Mesh {
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

// insideOut turns every triangle over.
func insideOut(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: m.Vertices}
	for _, t := range m.Triangles {
		out.Triangles = append(out.Triangles, [3]uint32{t[0], t[2], t[1]})
	}
	return out
}
