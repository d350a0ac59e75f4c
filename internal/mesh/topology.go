package mesh

import (
	"context"
	"slices"
	"sync/atomic"

	"cardback/internal/parallel"
)

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
// proportion to the triangles, on all processors, and 20 bytes a triangle.
func (m *Mesh) Topology() Topology {
	ctx := context.Background() // which never ends, so that there is no error
	s, _ := m.Stars(ctx)
	t, _ := s.Topology(ctx)
	return t
}

// Closed reports whether the mesh has a triangle (without a repeated vertex) and
// every edge exactly two: what Topology says, without the shells. The error is
// the context's.
func (m *Mesh) Closed(ctx context.Context) (bool, error) {
	s, err := m.Stars(ctx)
	if err != nil {
		return false, err
	}
	e, err := s.edges(ctx, nil)
	return e.closed(s.faces), err
}

// Topology is that of the stars' mesh. The error is the context's.
func (s *Stars) Topology(ctx context.Context) (Topology, error) {
	sets := newForest(len(s.Mesh.Triangles))
	e, err := s.edges(ctx, sets)
	if err != nil {
		return Topology{}, err
	}
	return Topology{
		Edges: e.all, OpenEdges: e.open, NonManifoldEdges: e.nonManifold, InconsistentEdges: e.inconsistent,
		Closed:               e.closed(s.faces),
		ConsistentlyOriented: e.inconsistent == 0,
		Shells:               numberShells(s.Mesh.Triangles, sets),
		ShellOf:              sets,
		UsedVertices:         e.used,
		Euler:                e.used - e.all + s.faces,
	}, nil
}

// edgeCount is what the edges of some vertices come to.
type edgeCount struct {
	all, open, nonManifold, inconsistent int
	used                                 int // vertices with a star
}

func (e *edgeCount) closed(faces int) bool { return faces > 0 && e.open == 0 && e.nonManifold == 0 }

// edgePiece is how many vertices are looked at in one go.
const edgePiece = 1 << 13

// edges counts all edges, each at its lower vertex, and joins the triangles on
// each in sets, unless that is nil.
func (s *Stars) edges(ctx context.Context, sets forest) (edgeCount, error) {
	n := len(s.Mesh.Vertices)
	pieces := make([]edgeCount, parallel.Count(n, edgePiece))
	err := parallel.Pieces(ctx, n, edgePiece, func(i, lo, hi int) {
		var count edgeCount
		var sides []uint64
		for v := lo; v < hi; v++ {
			if len(s.Of(v)) > 0 {
				count.used++
				sides = s.sidesUp(v, sides[:0])
				count.add(sides, sets)
			}
		}
		pieces[i] = count
	})
	var all edgeCount
	for _, p := range pieces {
		all.all += p.all
		all.open += p.open
		all.nonManifold += p.nonManifold
		all.inconsistent += p.inconsistent
		all.used += p.used
	}
	return all, err
}

// sidesUp appends the sides of triangles that join v to a higher vertex, in
// ascending order. A side is packed as upper vertex, triangle, direction:
// 32 + 31 + 1 bits.
func (s *Stars) sidesUp(v int, sides []uint64) []uint64 {
	for _, c := range s.Of(v) {
		next, before := s.Others(c)
		if int(next) > v {
			sides = append(sides, uint64(next)<<32|uint64(c.Triangle())<<1)
		}
		if int(before) > v {
			sides = append(sides, uint64(before)<<32|uint64(c.Triangle())<<1|1)
		}
	}
	const few = 24 // of which a sort by insertion is quicker than the call of another
	if len(sides) > few {
		slices.Sort(sides)
		return sides
	}
	for i := 1; i < len(sides); i++ {
		x, k := sides[i], i
		for ; k > 0 && sides[k-1] > x; k-- {
			sides[k] = sides[k-1]
		}
		sides[k] = x
	}
	return sides
}

// add counts the edges that some sorted sides make.
func (e *edgeCount) add(sides []uint64, sets forest) {
	for len(sides) > 0 {
		n := 1
		for n < len(sides) && sides[n]>>32 == sides[0]>>32 {
			if sets != nil {
				sets.join(int32(uint32(sides[0])>>1), int32(uint32(sides[n])>>1))
			}
			n++
		}
		e.all++
		switch {
		case n == 1:
			e.open++
		case n > 2:
			e.nonManifold++
		case sides[0]&1 == sides[1]&1:
			e.inconsistent++
		}
		sides = sides[n:]
	}
}

// forest is a union of disjoint sets whose root is always the least member, so
// that a parent never has a greater number than its child. Sets may be joined by
// several goroutines at once (Anderson & Woll, Wait-free parallel algorithms for
// the union-find problem, STOC 1991: parents are changed by compare-and-swap
// alone): which sets there are in the end, and so their roots, does not depend
// on the order of joins.
type forest []int32

func newForest(n int) forest {
	parent := make(forest, n)
	for i := range parent {
		parent[i] = int32(i)
	}
	return parent
}

// root also lets each member on the way skip its parent.
func (f forest) root(i int32) int32 {
	for {
		p := atomic.LoadInt32(&f[i])
		if p == i {
			return i
		}
		g := atomic.LoadInt32(&f[p])
		if p == g {
			return p
		}
		atomic.CompareAndSwapInt32(&f[i], p, g)
		i = g
	}
}

func (f forest) join(a, b int32) {
	for {
		a, b = f.root(a), f.root(b)
		if a == b {
			return
		}
		if a > b {
			a, b = b, a
		}
		if atomic.CompareAndSwapInt32(&f[b], b, a) {
			return
		}
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
