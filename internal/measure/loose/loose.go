package loose

import (
	"context"
	"math"
	"slices"

	"cardback/internal/measure/inside"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/sets"
)

// Piece is what comes off the plate in one.
type Piece struct {
	Triangles []int32  // of the mesh
	Bounds    mesh.Box // of those
}

// Pieces are those of a mesh, the smallest first by the diagonal of their bounds.
type Pieces struct {
	All       []Piece
	Undecided bool // some of them may be one, or within others
}

// mostLooks and looksEach bound the search for shells that are near each other, in
// triangles visited: so many, and so many more for each triangle. Figures of shells
// that lie beside each other take some ten for each; those that overlap are joined at
// the first pair that is near.
const (
	mostLooks = 1 << 26
	looksEach = 64
)

// Of finds the pieces of the mesh that t is the tree of. Triangles with a repeated
// corner take no part.
func Of(ctx context.Context, t *tree.Tree) (Pieces, error) {
	return of(ctx, t, mostLooks+looksEach*len(t.Mesh.Triangles))
}

func of(ctx context.Context, t *tree.Tree, looks int) (out Pieces, err error) {
	m := t.Mesh
	g := sets.New(len(m.Vertices)) // of corners
	for _, c := range m.Triangles {
		if !repeats(c) {
			g.Join(int32(c[0]), int32(c[1]))
			g.Join(int32(c[1]), int32(c[2]))
		}
	}
	apart := 0 // sets that are left
	counted := make([]bool, len(m.Vertices))
	for _, c := range m.Triangles {
		if r := g.Of(int32(c[0])); !repeats(c) && !counted[r] {
			counted[r] = true
			apart++
		}
	}
	for i, c := range m.Triangles {
		if apart < 2 {
			break
		}
		if i%1024 == 0 && ctx.Err() != nil {
			return out, ctx.Err()
		}
		if repeats(c) {
			continue
		}
		s := cornersOf(m, int32(i))
		t.InBox(grown(s.box(), inside.Flush), func(j int32) bool {
			looks--
			// Each pair is met from both sides; one is enough.
			if d := m.Triangles[j]; int(j) > i && !repeats(d) && g.Of(int32(c[0])) != g.Of(int32(d[0])) {
				looks -= 8 // about as much time
				if q := cornersOf(m, j); s.near(&q, inside.Flush) {
					if g.Join(int32(c[0]), int32(d[0])) {
						apart--
					}
				}
			}
			return looks > 0 && apart > 1
		})
		if looks <= 0 {
			out.Undecided = true
			break
		}
	}
	number := map[int32]int{}
	for i, c := range m.Triangles {
		if repeats(c) {
			continue
		}
		s := cornersOf(m, int32(i))
		r := g.Of(int32(c[0]))
		k, seen := number[r]
		if !seen {
			k = len(out.All)
			number[r] = k
			out.All = append(out.All, Piece{Bounds: s.box()})
		}
		p := &out.All[k]
		p.Triangles = append(p.Triangles, int32(i))
		p.Bounds = union(p.Bounds, s.box())
	}
	if len(out.All) > 1 {
		if err := out.leaveOut(ctx, t); err != nil {
			return Pieces{}, err
		}
	}
	slices.SortStableFunc(out.All, func(p, q Piece) int {
		switch a, b := p.Bounds.Size().Norm(), q.Bounds.Size().Norm(); {
		case a < b:
			return -1
		case a > b:
			return 1
		}
		return 0
	})
	return out, nil
}

// mostRulerWork bounds the look for what lies within what, in triangles, and is
// shared by all groups.
const mostRulerWork = 1 << 28

// leaveOut drops the groups that lie within the solid of others, and those without
// thickness.
//
// The farthest corner of a group in some direction, moved outwards by half of what
// keeps groups apart, lies outside the group and on no other. The winding number there is
// that of the others, and as no surface of theirs meets the group, it is so all over
// the group's outside.
func (p *Pieces) leaveOut(ctx context.Context, t *tree.Tree) error {
	m := t.Mesh
	ruler := inside.Of(t).Ruler()
	// A direction that no modelled face or edge is likely to be square to.
	out := mesh.Vec{X: 0.4157, Y: 0.1733, Z: 0.8929}
	var kept []Piece
	for _, piece := range p.All {
		if err := ctx.Err(); err != nil {
			return err
		}
		if flat(m, piece) {
			continue
		}
		if ruler.Work > mostRulerWork {
			p.Undecided = true
			kept = append(kept, piece)
			continue
		}
		var far mesh.Vec
		most := math.Inf(-1)
		for _, i := range piece.Triangles {
			for _, v := range m.Triangles[i] {
				if d := m.Vertices[v].Dot(out); d > most {
					far, most = m.Vertices[v], d
				}
			}
		}
		switch n, whole := ruler.Winding(far.Add(out.Scale(inside.Flush / 2))); {
		case whole && n > 0:
			continue
		case !whole && n > 0: // within others, if those were closed
			p.Undecided = true
		}
		kept = append(kept, piece)
	}
	p.All = kept
	return nil
}

// flat reports whether all of a group lies within Flush of the plane of its largest
// triangle: it has no thickness that prints.
func flat(m *mesh.Mesh, p Piece) bool {
	var normal, at mesh.Vec
	for _, i := range p.Triangles {
		s := cornersOf(m, i)
		if n := s[1].Sub(s[0]).Cross(s[2].Sub(s[0])); n.Norm() > normal.Norm() {
			normal, at = n, s[0]
		}
	}
	length := normal.Norm()
	if length == 0 {
		return true
	}
	for _, i := range p.Triangles {
		for _, v := range m.Triangles[i] {
			if math.Abs(m.Vertices[v].Sub(at).Dot(normal)) > inside.Flush*length {
				return false
			}
		}
	}
	return true
}

func repeats(t [3]uint32) bool { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0] }

func union(a, b mesh.Box) mesh.Box {
	return mesh.Box{
		Min: mesh.Vec{X: min(a.Min.X, b.Min.X), Y: min(a.Min.Y, b.Min.Y), Z: min(a.Min.Z, b.Min.Z)},
		Max: mesh.Vec{X: max(a.Max.X, b.Max.X), Y: max(a.Max.Y, b.Max.Y), Z: max(a.Max.Z, b.Max.Z)},
	}
}

func grown(b mesh.Box, by float64) mesh.Box {
	v := mesh.Vec{X: by, Y: by, Z: by}
	return mesh.Box{Min: b.Min.Sub(v), Max: b.Max.Add(v)}
}
