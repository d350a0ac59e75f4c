package meshtest

import (
	"encoding/binary"
	"math"

	"cardback/internal/mesh"
)

// FromBytes makes a mesh of any bytes, for fuzzing: a byte for the number of
// vertices, each of three 32-bit floats, then three bytes a triangle. It is nil
// where the bytes end too soon or hold what is not a finite number.
func FromBytes(data []byte) *mesh.Mesh {
	m := &mesh.Mesh{}
	if len(data) == 0 {
		return nil
	}
	n := int(data[0]%64) + 1
	data = data[1:]
	for range n {
		var c [3]float64
		for k := range 3 {
			if len(data) < 4 {
				return nil
			}
			c[k] = float64(math.Float32frombits(binary.LittleEndian.Uint32(data))) + 0 // no −0
			if math.IsNaN(c[k]) || math.IsInf(c[k], 0) {
				return nil
			}
			data = data[4:]
		}
		m.Vertices = append(m.Vertices, mesh.Vec{X: c[0], Y: c[1], Z: c[2]})
	}
	for ; len(data) >= 3; data = data[3:] {
		m.Triangles = append(m.Triangles, [3]uint32{uint32(int(data[0]) % n), uint32(int(data[1]) % n), uint32(int(data[2]) % n)})
	}
	return m
}

// Bytes writes a small mesh as FromBytes reads it.
func Bytes(m *mesh.Mesh) []byte {
	out := []byte{byte(len(m.Vertices) - 1)}
	for _, v := range m.Vertices {
		for k := range 3 {
			out = binary.LittleEndian.AppendUint32(out, math.Float32bits(float32(v.Component(k))))
		}
	}
	for _, t := range m.Triangles {
		out = append(out, byte(t[0]), byte(t[1]), byte(t[2]))
	}
	return out
}
