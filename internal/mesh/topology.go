package mesh

import "slices"

// Topology counts how the triangles of a mesh join. Triangles with a repeated
// vertex take no part in any of it.
type Topology struct {
	// Edges is the number of distinct vertex pairs that are a side of a triangle.
	Edges int
	// OpenEdges have one triangle, NonManifoldEdges three or more.
	OpenEdges, NonManifoldEdges int
	// InconsistentEdges have exactly two triangles, which run along the edge the
	// same way: one of the two is the wrong way out.
	InconsistentEdges int
	// Closed: at least one triangle, and every edge has exactly two.
	Closed bool
	// ConsistentlyOriented: no inconsistent edge.
	ConsistentlyOriented bool
	// Shells is the number of sets of triangles connected through shared edges,
	// whatever the number of triangles on the edge. Shells that touch in a
	// vertex only are apart.
	Shells int
	// ShellOf gives each triangle's shell, numbered from 0 by first triangle; −1
	// for a triangle with a repeated vertex.
	ShellOf []int32
	// UsedVertices are the vertices that triangles taking part use.
	UsedVertices int
	// Euler is UsedVertices − Edges + triangles taking part. For a closed surface
	// without pinched vertices it is the sum of 2 − 2·genus over the shells.
	Euler int
}

// repeats reports whether a triangle uses a vertex twice.
func repeats(t [3]uint32) bool { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0] }

// Topology counts edges, shells and what hangs on them. It takes time in
// proportion to the triangles (a counting sort of their sides by the lower
// vertex, then a small sort at each vertex) and about 30 bytes a triangle.
func (m *Mesh) Topology() Topology {
	t := Topology{ShellOf: make([]int32, len(m.Triangles))}
	// start[v] is the first side whose lower vertex is v, after the counting.
	start := make([]uint32, len(m.Vertices)+1)
	used := make([]bool, len(m.Vertices))
	faces := 0
	for _, tri := range m.Triangles {
		if repeats(tri) {
			continue
		}
		faces++
		for k := range 3 {
			used[tri[k]] = true
			start[min(tri[k], tri[(k+1)%3])+1]++
		}
	}
	for v := range m.Vertices {
		start[v+1] += start[v]
		if used[v] {
			t.UsedVertices++
		}
	}
	// A side is packed as upper vertex, triangle, direction: 32 + 31 + 1 bits.
	sides := make([]uint64, 3*faces)
	for i, tri := range m.Triangles {
		if repeats(tri) {
			continue
		}
		for k := range 3 {
			a, b, way := tri[k], tri[(k+1)%3], uint64(0)
			if a > b {
				a, b, way = b, a, 1
			}
			sides[start[a]] = uint64(b)<<32 | uint64(i)<<1 | way
			start[a]++
		}
	}
	sets := newForest(t.ShellOf)
	from := uint32(0)
	for v := range m.Vertices { // start[v] is now the end of v's sides
		group := sides[from:start[v]]
		from = start[v]
		slices.Sort(group)
		for len(group) > 0 {
			n := 1
			for n < len(group) && group[n]>>32 == group[0]>>32 {
				sets.join(int32(uint32(group[0])>>1), int32(uint32(group[n])>>1))
				n++
			}
			t.Edges++
			switch {
			case n == 1:
				t.OpenEdges++
			case n > 2:
				t.NonManifoldEdges++
			case group[0]&1 == group[1]&1:
				t.InconsistentEdges++
			}
			group = group[n:]
		}
	}
	t.Closed = faces > 0 && t.OpenEdges == 0 && t.NonManifoldEdges == 0
	t.ConsistentlyOriented = t.InconsistentEdges == 0
	t.Euler = t.UsedVertices - t.Edges + faces
	t.Shells = numberShells(m.Triangles, t.ShellOf)
	return t
}

// forest is a union of disjoint sets whose root is always the least member, so
// that a parent never has a greater number than its child.
type forest []int32

func newForest(parent []int32) forest {
	for i := range parent {
		parent[i] = int32(i)
	}
	return parent
}

func (f forest) root(i int32) int32 {
	for f[i] != i {
		f[i] = f[f[i]]
		i = f[i]
	}
	return i
}

func (f forest) join(a, b int32) {
	a, b = f.root(a), f.root(b)
	if a < b {
		f[b] = a
	} else {
		f[a] = b
	}
}

// numberShells turns parents into shell numbers in place. A parent comes before
// its child, so by the time a triangle is reached its parent has its number.
func numberShells(triangles [][3]uint32, parent []int32) int {
	shells := int32(0)
	for i, tri := range triangles {
		switch {
		case repeats(tri):
			parent[i] = -1
		case parent[i] == int32(i):
			parent[i] = shells
			shells++
		default:
			parent[i] = parent[parent[i]]
		}
	}
	return int(shells)
}
