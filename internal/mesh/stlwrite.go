package mesh

import (
	"bufio"
	"encoding/binary"
	"io"
	"math"
)

// WriteSTL writes m as a binary STL. The header is cut to 80 bytes and padded
// with zeros; coordinates are rounded to 32-bit numbers; each normal is the unit
// normal of the triangle's winding, computed in 64 bits, or zero where the area
// is; attributes are zero. The same mesh and header give the same bytes on every
// machine. A coordinate that a 32-bit number cannot hold is an error.
func WriteSTL(w io.Writer, m *Mesh, header string) error {
	if len(m.Triangles) > MaxTriangles {
		return refuse("%d triangles; at most %d are written", len(m.Triangles), MaxTriangles)
	}
	out := bufio.NewWriterSize(w, 64<<10)
	var head [stlHeader]byte
	copy(head[:80], header)
	binary.LittleEndian.PutUint32(head[80:], uint32(len(m.Triangles)))
	if _, err := out.Write(head[:]); err != nil {
		return err
	}
	var record [stlRecord]byte
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		if !finite(a) || !finite(b) || !finite(c) {
			return refuse("triangle %d has a corner that a 32-bit number cannot hold", i+1)
		}
		for k, v := range [4]Vec{unitNormal(a, b, c), a, b, c} {
			put32(record[12*k:], v.X)
			put32(record[12*k+4:], v.Y)
			put32(record[12*k+8:], v.Z)
		}
		if _, err := out.Write(record[:]); err != nil {
			return err
		}
	}
	return out.Flush()
}

func put32(b []byte, x float64) {
	binary.LittleEndian.PutUint32(b, math.Float32bits(float32(x)+0)) // + 0: never −0
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
