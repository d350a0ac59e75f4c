package slice

import (
	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
)

// sectionAt is the area in mm², signed by the winding, and the perimeter in mm of
// the section of m at height z, or at a corner's height just above it. It is
// meant for one height; Cut takes all at once. The area has a meaning only where
// sections close (see Layers.Encloses).
func sectionAt(m *mesh.Mesh, z float64) (area, perimeter float64) {
	centre := m.Bounds().Centre()
	z -= centre.Z
	var twice, length exact.Sum
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		a, b, c = a.Sub(centre), b.Sub(centre), c.Sub(centre)
		low, mid, high, sign := byHeight(&a, &b, &c)
		s := strip{sign: sign}
		switch {
		case low.Z <= z && z < mid.Z:
			s.short.set(low, mid)
		case mid.Z <= z && z < high.Z:
			s.short.set(mid, high)
		default:
			continue
		}
		s.long.set(low, high)
		v, l := s.at(z)
		twice.Add(v)
		length.Add(l)
	}
	return twice.Value() / 2, length.Value()
}
