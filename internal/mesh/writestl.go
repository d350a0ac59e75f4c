package mesh

import (
	"bufio"
	"io"
	"math"

	"github.com/hschendel/stl"
)

// WriteSTL writes m as a binary STL. The header is cut to 80 bytes and padded
// with zeros; coordinates are rounded to 32-bit numbers; each normal is the unit
// normal of the triangle's winding, computed in 64 bits, or zero where the area
// is; attributes are zero. The same mesh and header give the same bytes on every
// machine. A coordinate that a 32-bit number cannot hold is an error, before anything
// is written.
func WriteSTL(w io.Writer, m *Mesh, header string) error {
	if len(m.Triangles) > MaxTriangles {
		return refuse("%d triangles; at most %d are written", len(m.Triangles), MaxTriangles)
	}
	solid := stl.Solid{BinaryHeader: []byte(header[:min(len(header), 80)]), Triangles: make([]stl.Triangle, len(m.Triangles))}
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		if !finite(a) || !finite(b) || !finite(c) {
			return refuse("triangle %d has a corner that a 32-bit number cannot hold", i+1)
		}
		solid.Triangles[i] = stl.Triangle{Normal: vec32(unitNormal(a, b, c)), Vertices: [3]stl.Vec3{vec32(a), vec32(b), vec32(c)}}
	}
	out := bufio.NewWriterSize(w, 64<<10)
	if err := solid.WriteAll(out); err != nil {
		return err
	}
	return out.Flush()
}

func vec32(v Vec) stl.Vec3 {
	return stl.Vec3{float32(v.X) + 0, float32(v.Y) + 0, float32(v.Z) + 0} // + 0: never −0
}

// unitNormal is the direction of (b−a)×(c−a), or zero for a triangle without
// area or too large or small for its square to be a number.
func unitNormal(a, b, c Vec) Vec {
	n := b.Sub(a).Cross(c.Sub(a))
	length := n.Norm()
	if length == 0 || math.IsInf(length, 0) || math.IsNaN(length) {
		return Vec{}
	}
	return Vec{n.X / length, n.Y / length, n.Z / length}
}
