package mend

import (
	"cmp"
	"slices"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
)

// dropRepeated leaves out triangles with a repeated vertex.
func dropRepeated(m *mesh.Mesh) (*mesh.Mesh, int) {
	return without(m, func(i int) bool { return repeats(m.Triangles[i]) })
}

// dropNoArea leaves out triangles whose corners lie on one line, exactly. Their
// sides, of unlike length, are cracks then.
func dropNoArea(m *mesh.Mesh) (*mesh.Mesh, int) {
	return without(m, func(i int) bool {
		a, b, c := m.Corners(i)
		p := exact.NewPlane(a, b, c)
		return !p.HasArea() && exact.Collinear(a, b, c)
	})
}

func repeats(t [3]uint32) bool { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0] }

func without(m *mesh.Mesh, drop func(triangle int) bool) (*mesh.Mesh, int) {
	kept := make([][3]uint32, 0, len(m.Triangles))
	for i, t := range m.Triangles {
		if !drop(i) {
			kept = append(kept, t)
		}
	}
	if n := len(m.Triangles) - len(kept); n > 0 {
		return &mesh.Mesh{Vertices: m.Vertices, Triangles: kept}, n
	}
	return m, 0
}

// dropDoubles leaves of all triangles on the same three corners what they come to
// together: of those that face one way more than the other, one; of as many each
// way, which enclose nothing between them, none. doubled counts what is left out
// because another faces the same way, backs the pairs that face each other.
func dropDoubles(m *mesh.Mesh) (out *mesh.Mesh, doubled, backs int) {
	type placed struct {
		corners [3]uint32 // ascending
		number  int
		even    bool // wound as an even permutation of them
	}
	all := make([]placed, 0, len(m.Triangles))
	for i, t := range m.Triangles {
		if !repeats(t) {
			c, even := sorted(t)
			all = append(all, placed{c, i, even})
		}
	}
	slices.SortFunc(all, func(a, b placed) int {
		return cmp.Or(slices.Compare(a.corners[:], b.corners[:]), cmp.Compare(a.number, b.number))
	})
	drop := map[int]bool{}
	for len(all) > 0 {
		n, net := 0, 0
		for n < len(all) && all[n].corners == all[0].corners {
			if all[n].even {
				net++
			} else {
				net--
			}
			n++
		}
		if n > 1 {
			kept := false
			for _, p := range all[:n] {
				if keep := !kept && net != 0 && p.even == (net > 0); keep {
					kept = true
				} else {
					drop[p.number] = true
				}
			}
			pairs := (n - max(net, -net)) / 2
			backs += pairs
			doubled += max(net, -net) - 1
			if net == 0 {
				doubled++
			}
		}
		all = all[n:]
	}
	out, _ = without(m, func(i int) bool { return drop[i] })
	return out, doubled, backs
}

// sorted returns the corners ascending, and whether that is an even permutation.
func sorted(t [3]uint32) (c [3]uint32, even bool) {
	even = true
	for _, k := range [3]int{0, 1, 0} {
		if t[k] > t[k+1] {
			t[k], t[k+1] = t[k+1], t[k]
			even = !even
		}
	}
	return t, even
}

// compact leaves out vertices that no triangle uses, keeping the order.
func compact(m *mesh.Mesh) *mesh.Mesh {
	used := make([]bool, len(m.Vertices))
	for _, t := range m.Triangles {
		used[t[0]], used[t[1]], used[t[2]] = true, true, true
	}
	number := make([]uint32, len(m.Vertices))
	out := &mesh.Mesh{Triangles: make([][3]uint32, len(m.Triangles))}
	for v, p := range m.Vertices {
		if used[v] {
			number[v] = uint32(len(out.Vertices))
			out.Vertices = append(out.Vertices, p)
		}
	}
	for i, t := range m.Triangles {
		out.Triangles[i] = [3]uint32{number[t[0]], number[t[1]], number[t[2]]}
	}
	return out
}

// Rounded is m with coordinates that a binary STL can hold, and corners with equal
// ones made one, over the whole mesh: what a reader of that file has.
func Rounded(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Triangles: make([][3]uint32, len(m.Triangles))}
	first := make(map[mesh.Vec]uint32, len(m.Vertices))
	number := make([]uint32, len(m.Vertices))
	for v, p := range m.Vertices {
		p = mesh.Vec{X: float64(float32(p.X)), Y: float64(float32(p.Y)), Z: float64(float32(p.Z))}
		n, seen := first[p]
		if !seen {
			n = uint32(len(out.Vertices))
			first[p] = n
			out.Vertices = append(out.Vertices, p)
		}
		number[v] = n
	}
	for i, t := range m.Triangles {
		out.Triangles[i] = [3]uint32{number[t[0]], number[t[1]], number[t[2]]}
	}
	return out
}
