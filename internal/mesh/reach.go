package mesh

import (
	"cardback/internal/words"
	"errors"
	"fmt"
	"math"
	"slices"
)

// maxCoordinate, in mm, is the farthest that a corner may lie from the origin along
// an axis: 10 km. 32-bit coordinates are 1 mm apart there, so nothing of a figure is
// left; what is read as farther was misread, damaged or made to exhaust whoever lays
// a grid over it. A part of 1 m whose micrometres were taken for millimetres is at
// a tenth of it.
const maxCoordinate = 1e7

// CheckReach refuses a mesh that reaches farther. Reading does not: what the file
// says can be told of any numbers, but nothing is drawn, laid or fitted of these.
func (m *Mesh) CheckReach() error {
	far := func(p Vec) bool { return max(math.Abs(p.X), math.Abs(p.Y), math.Abs(p.Z)) > maxCoordinate }
	if !slices.ContainsFunc(m.Vertices, far) {
		return nil
	}
	for i, t := range m.Triangles {
		for _, v := range t {
			if p := m.Vertices[v]; far(p) {
				return refuse("triangle %d has a corner at (%s, %s, %s) mm, more than 10 km from the origin, where no part is; is the file damaged, or its unit wrong?", i+1, words.Significant(p.X, 4), words.Significant(p.Y, 4), words.Significant(p.Z, 4))
			}
		}
	}
	return nil
}

// mostTriangles is what stars can number.
const mostTriangles = 1 << 30

// Check refuses what no measure could be taken of: a corner that is not finite or
// beyond the range of 32-bit numbers, a triangle of vertices that do not exist, and
// more of either than can be numbered. Whatever was read passes.
func (m *Mesh) Check() error {
	if len(m.Vertices) > math.MaxInt32 || len(m.Triangles) > mostTriangles {
		return errors.New("more vertices or triangles than can be numbered")
	}
	for i, p := range m.Vertices {
		// Also false for what is not a number.
		if !(math.Abs(p.X) <= math.MaxFloat32 && math.Abs(p.Y) <= math.MaxFloat32 && math.Abs(p.Z) <= math.MaxFloat32) {
			return fmt.Errorf("vertex %d at (%v, %v, %v) is not within the range of 32-bit numbers", i, p.X, p.Y, p.Z)
		}
	}
	for i, t := range m.Triangles {
		if v := max(t[0], t[1], t[2]); int64(v) >= int64(len(m.Vertices)) {
			return fmt.Errorf("triangle %d has vertex %d of %d", i, v, len(m.Vertices))
		}
	}
	return nil
}
