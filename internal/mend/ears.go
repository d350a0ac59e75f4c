package mend

import (
	"cardback/internal/measure/sound"
	"cardback/internal/mesh"
)

// ears leaves out triangles narrower than a distance that hang by one side at most:
// what three corners almost on one line leave where nothing was meant. Each that goes
// evens two edges, and makes one uneven at the most.
func ears(m *mesh.Mesh, open []sound.OpenEdge, within float64, how *Closing) (out *mesh.Mesh, changed bool) {
	sides := make(map[int32]int, len(open))
	for _, e := range open {
		sides[e.Triangle]++
	}
	out, n := without(m, func(i int) bool {
		if sides[int32(i)] < 2 {
			return false
		}
		corner, high := apexOf(m, i)
		if high > within {
			return false
		}
		how.Flattened++
		how.moved(high, m.Vertices[corner])
		return true
	})
	return out, n > 0
}

// apexOf is the corner across the longest side of a triangle, and its height over it.
func apexOf(m *mesh.Mesh, i int) (corner uint32, high float64) {
	t := m.Triangles[i]
	longest := -1.0
	for k := range 3 {
		e := sound.OpenEdge{From: t[k], To: t[(k+1)%3]}
		if d := m.Vertices[e.To].Sub(m.Vertices[e.From]).Norm(); d > longest {
			longest, corner = d, t[(k+2)%3]
			_, high = foot(m, m.Vertices[corner], e)
		}
	}
	return corner, high
}
