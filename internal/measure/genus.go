package measure

import (
	"cmp"
	"slices"

	"cardback/internal/mesh"
)

// genusOf is the number of handles of a closed surface, all shells together:
// half of Σ (2 − χ) over the shells, after each vertex where a surface touches
// itself has been split into as many as it has fans. It is nil for a surface
// that is not closed, and for a one-sided one (such as a Klein bottle), which
// has no handles to count. A surface that could be wound consistently counts as
// two-sided even where it is not.
func genusOf(m *mesh.Mesh, t mesh.Topology, fans int) *int {
	if !t.Closed || !t.ConsistentlyOriented && !twoSided(m) {
		return nil
	}
	euler := t.Euler + fans - t.UsedVertices
	genus := (2*t.Shells - euler) / 2
	return &genus
}

// twoSided reports whether the triangles of a closed mesh can be turned over so
// that no edge is run along twice the same way.
func twoSided(m *mesh.Mesh) bool {
	type side struct {
		low, high uint32
		triangle  int32
		down      bool // run from high to low
	}
	var sides []side
	for i, t := range m.Triangles {
		if repeats(t) {
			continue
		}
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			sides = append(sides, side{min(a, b), max(a, b), int32(i), a > b})
		}
	}
	slices.SortFunc(sides, func(a, b side) int {
		return cmp.Or(cmp.Compare(a.low, b.low), cmp.Compare(a.high, b.high), cmp.Compare(a.triangle, b.triangle))
	})
	// Sets of triangles whose turning hangs together; turned is against the parent.
	parent, turned := make([]int32, len(m.Triangles)), make([]bool, len(m.Triangles))
	for i := range parent {
		parent[i] = int32(i)
	}
	root := func(i int32) (int32, bool) {
		odd := false
		for parent[i] != i {
			up := parent[i]
			turned[i], parent[i] = turned[i] != turned[up], parent[up] // a root is turned against itself by nothing
			odd = odd != turned[i]
			i = parent[i]
		}
		return i, odd
	}
	for i := 0; i+1 < len(sides); i += 2 {
		a, b := sides[i], sides[i+1]
		ra, oddA := root(a.triangle)
		rb, oddB := root(b.triangle)
		differ := a.down == b.down // one of the two must be turned over
		if ra == rb {
			if (oddA != oddB) != differ {
				return false
			}
			continue
		}
		parent[max(ra, rb)] = min(ra, rb)
		turned[max(ra, rb)] = oddA != oddB != differ
	}
	return true
}
