package solid

import "cardback/internal/mesh"

// Crack splits one of the triangles at the longest side, at a point so far inside of its
// middle, and leaves the other as it is: what a modelling program does that works out
// one corner twice. The surface then looks closed and is not.
func Crack(m *mesh.Mesh, gap float64) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: append([]mesh.Vec{}, m.Vertices...), Triangles: append([][3]uint32{}, m.Triangles...)}
	longest, at, side := 0.0, 0, 0
	for i, t := range m.Triangles {
		for k := range 3 {
			if d := m.Vertices[t[k]].Sub(m.Vertices[t[(k+1)%3]]).Norm(); d > longest {
				longest, at, side = d, i, k
			}
		}
	}
	t := m.Triangles[at]
	a, b, c := t[side], t[(side+1)%3], t[(side+2)%3]
	middle := m.Vertices[a].Add(m.Vertices[b]).Scale(0.5)
	in := m.Bounds().Centre().Sub(middle)
	n := uint32(len(out.Vertices))
	out.Vertices = append(out.Vertices, middle.Add(in.Scale(gap/in.Norm())))
	out.Triangles[at] = [3]uint32{a, n, c}
	out.Triangles = append(out.Triangles, [3]uint32{n, b, c})
	return Rest32(out)
}
