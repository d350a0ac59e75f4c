package mesh

import "math"

// torus is a closed torus about z of centre radius 10 and section radius 2 with
// 2·m·n triangles, its coordinates rounded to 32 bits: m steps round, n round
// the section.
func torus(m, n int) *Mesh {
	out := &Mesh{}
	for i := range m {
		u := 2 * math.Pi * float64(i) / float64(m)
		for j := range n {
			v := 2 * math.Pi * float64(j) / float64(n)
			r := 10 + 2*math.Cos(v)
			p := Vec{r * math.Cos(u), r * math.Sin(u), 2 * math.Sin(v)}
			out.Vertices = append(out.Vertices, Vec{float64(float32(p.X)), float64(float32(p.Y)), float64(float32(p.Z))})
		}
	}
	at := func(i, j int) uint32 { return uint32(i%m*n + j%n) }
	for i := range m {
		for j := range n {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			out.Triangles = append(out.Triangles, [3]uint32{a, b, c}, [3]uint32{a, c, d})
		}
	}
	return out
}

// millionTorus has exactly a million triangles and half a million vertices.
func millionTorus() *Mesh { return torus(1000, 500) }
