package mesh

import (
	"math"
	"slices"
)

// MaxCoordinate, in mm, is the farthest that a corner may lie from the origin along
// an axis: 10 km. 32-bit coordinates are 1 mm apart there, so nothing of a figure is
// left; what is read as farther was misread, damaged or made to exhaust whoever lays
// a grid over it. A part of 1 m whose micrometres were taken for millimetres is at
// a tenth of it.
const MaxCoordinate = 1e7

// CheckReach refuses a mesh that reaches farther. Reading does not: what the file
// says can be told of any numbers, but nothing is drawn, laid or fitted of these.
func (m *Mesh) CheckReach() error {
	far := func(p Vec) bool { return max(math.Abs(p.X), math.Abs(p.Y), math.Abs(p.Z)) > MaxCoordinate }
	if !slices.ContainsFunc(m.Vertices, far) {
		return nil
	}
	for i, t := range m.Triangles {
		for _, v := range t {
			if p := m.Vertices[v]; far(p) {
				return refuse("triangle %d has a corner at (%.4g, %.4g, %.4g) mm, more than 10 km from the origin, where no part is; is the file damaged, or its unit wrong?", i+1, p.X, p.Y, p.Z)
			}
		}
	}
	return nil
}
