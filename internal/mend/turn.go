package mend

import (
	"context"
	"slices"

	"cardback/internal/measure/exact"
	"cardback/internal/measure/sound"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// agree turns triangles over until neighbours face the same way, in each stretch of
// surface joined by edges with two triangles: those go that have less area. A
// stretch with one side alone, where no turning helps, stays as it is and is counted.
func agree(ctx context.Context, m *mesh.Mesh) (out *mesh.Mesh, oneSided int, err error) {
	f := newFacing(len(m.Triangles))
	if err := sound.EachJoint(ctx, m, f.join); err != nil {
		return m, 0, err
	}
	type sides struct{ as, other exact.Sum } // area that faces as the root does, and the other way
	area := map[int32]*sides{}
	for i := range m.Triangles {
		root, other := f.root(int32(i))
		s := area[root]
		if s == nil {
			s = &sides{}
			area[root] = s
		}
		a, b, c := m.Corners(i)
		w := b.Sub(a).Cross(c.Sub(a)).Norm()
		if other {
			s.other.Add(w)
		} else {
			s.as.Add(w)
		}
	}
	for root := range area {
		if f.twisted[root] {
			oneSided++
		}
	}
	out = turnedOver(m, func(i int) bool {
		root, other := f.root(int32(i))
		s := area[root]
		return !f.twisted[root] && other == (s.as.Value() >= s.other.Value())
	})
	return out, oneSided, nil
}

func turnedOver(m *mesh.Mesh, turn func(triangle int) bool) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: m.Vertices, Triangles: slices.Clone(m.Triangles)}
	for i, t := range out.Triangles {
		if turn(i) {
			out.Triangles[i] = [3]uint32{t[0], t[2], t[1]}
		}
	}
	return out
}

// facing is a union of disjoint sets of triangles in which each knows whether it
// faces as its set's root does. The root is the least member.
type facing struct {
	parent  []int32
	other   []bool // than the parent
	twisted map[int32]bool
}

func newFacing(n int) *facing {
	f := &facing{make([]int32, n), make([]bool, n), map[int32]bool{}}
	for i := range f.parent {
		f.parent[i] = int32(i)
	}
	return f
}

// root halves the way on the go: each on it then points to its grandparent.
func (f *facing) root(i int32) (root int32, other bool) {
	for f.parent[i] != i {
		p := f.parent[i]
		f.other[i] = f.other[i] != f.other[p]
		f.parent[i] = f.parent[p]
		other = other != f.other[i]
		i = f.parent[i]
	}
	return i, other
}

func (f *facing) join(a, b int32, agree bool) {
	ra, oa := f.root(a)
	rb, ob := f.root(b)
	if ra == rb {
		if (oa == ob) != agree {
			f.twisted[ra] = true
		}
		return
	}
	if ra > rb {
		ra, rb = rb, ra
	}
	f.parent[rb] = ra
	f.other[rb] = (oa == ob) != agree
	if f.twisted[rb] {
		delete(f.twisted, rb)
		f.twisted[ra] = true
	}
}

// outward turns over closed shells that are inside out, and the hollows of those
// that go with them: see sound.Shells.
func outward(ctx context.Context, m *mesh.Mesh) (out *mesh.Mesh, shells int, err error) {
	if len(m.Triangles) == 0 {
		return m, 0, nil
	}
	stars, err := m.Stars(ctx)
	if err != nil {
		return m, 0, err
	}
	top, err := stars.Topology(ctx)
	if err != nil {
		return m, 0, err
	}
	b, err := sound.BalanceOf(ctx, m)
	if err != nil {
		return m, 0, err
	}
	open := map[int32]bool{}
	for _, e := range b.Open {
		open[top.ShellOf[e.Triangle]] = true
	}
	if len(open) == top.Shells {
		return m, 0, nil // nothing has an inside
	}
	t, err := tree.New(ctx, m)
	if err != nil {
		return m, 0, err
	}
	crossings, err := sound.Cross(ctx, t, top.ShellOf)
	if err != nil {
		return m, 0, err
	}
	nest, err := sound.Nest(ctx, t, top, crossings)
	if err != nil {
		return m, 0, err
	}
	wrong := map[int32]bool{}
	for _, s := range append(slices.Clone(nest.Inverted), nest.Reversed...) {
		wrong[int32(s.Number)] = true
	}
	out = turnedOver(m, func(i int) bool { return wrong[top.ShellOf[i]] })
	return out, len(wrong), nil
}
