package draw

import (
	"context"
	"math"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
)

// box is a closed box; several make one mesh with together.
func box(x0, y0, z0, x1, y1, z1 float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range 8 {
		p := mesh.Vec{X: x0, Y: y0, Z: z0}
		if i&1 > 0 {
			p.X = x1
		}
		if i&2 > 0 {
			p.Y = y1
		}
		if i&4 > 0 {
			p.Z = z1
		}
		m.Vertices = append(m.Vertices, p)
	}
	for _, q := range [][4]uint32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Triangles = append(m.Triangles, [3]uint32{q[0], q[1], q[2]}, [3]uint32{q[0], q[2], q[3]})
	}
	return m
}

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

// turn turns a mesh about Z, then about X, by degrees.
func turn(m *mesh.Mesh, z, x float64) *mesh.Mesh {
	out := &mesh.Mesh{Triangles: m.Triangles}
	sz, cz := math.Sincos(z * math.Pi / 180)
	sx, cx := math.Sincos(x * math.Pi / 180)
	for _, p := range m.Vertices {
		p = mesh.Vec{X: p.X*cz - p.Y*sz, Y: p.X*sz + p.Y*cz, Z: p.Z}
		out.Vertices = append(out.Vertices, mesh.Vec{X: p.X, Y: p.Y*cx - p.Z*sx, Z: p.Y*sx + p.Z*cx})
	}
	return out
}

func torus(k, n int, R, r float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range k {
		for j := range n {
			u, v := 2*math.Pi*float64(i)/float64(k), 2*math.Pi*float64(j)/float64(n)
			w := R + r*math.Cos(v)
			m.Vertices = append(m.Vertices, mesh.Vec{X: w * math.Cos(u), Y: w * math.Sin(u), Z: r * math.Sin(v)})
			a, b := uint32(i*n+j), uint32(i*n+(j+1)%n)
			c, d := uint32((i+1)%k*n+j), uint32((i+1)%k*n+(j+1)%n)
			m.Triangles = append(m.Triangles, [3]uint32{a, c, b}, [3]uint32{b, c, d})
		}
	}
	return m
}

func mustDraw(t require.TestingT, m *mesh.Mesh, v shadow.View) *Drawing {
	d, err := Draw(context.Background(), m, v)
	require.NoError(t, err)
	return d
}
