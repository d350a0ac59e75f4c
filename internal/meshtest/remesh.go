package meshtest

import (
	"math/rand/v2"

	"cardback/internal/mesh"
)

// Remesh cuts every triangle into four at the middles of its edges, times over.
// The surface stays the same, to the rounding of the middles.
func Remesh(m *mesh.Mesh, times int) *mesh.Mesh {
	for range times {
		out := &mesh.Mesh{Vertices: append([]mesh.Vec{}, m.Vertices...)}
		middles := map[[2]uint32]uint32{}
		middle := func(a, b uint32) uint32 {
			k := [2]uint32{min(a, b), max(a, b)}
			i, ok := middles[k]
			if !ok {
				i = uint32(len(out.Vertices))
				middles[k] = i
				out.Vertices = append(out.Vertices, m.Vertices[k[0]].Scale(0.5).Add(m.Vertices[k[1]].Scale(0.5)))
			}
			return i
		}
		for _, t := range m.Triangles {
			ab, bc, ca := middle(t[0], t[1]), middle(t[1], t[2]), middle(t[2], t[0])
			out.Triangles = append(out.Triangles, [3]uint32{t[0], ab, ca}, [3]uint32{t[1], bc, ab}, [3]uint32{t[2], ca, bc}, [3]uint32{ab, bc, ca})
		}
		m = out
	}
	return m
}

// Noise moves each coordinate of each vertex by at most size, evenly spread.
func Noise(m *mesh.Mesh, rng *rand.Rand, size float64) *mesh.Mesh {
	return Moved(m, func(p mesh.Vec) mesh.Vec {
		return p.Add(mesh.Vec{X: 2*rng.Float64() - 1, Y: 2*rng.Float64() - 1, Z: 2*rng.Float64() - 1}.Scale(size))
	})
}
