package mend

import (
	"cmp"
	"context"
	"math"
	"slices"

	"cardback/internal/measure/sound"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// looksEach bounds how many of the border's points and edges are looked at for each
// of its points, on average: on a heap of loose triangles everything is near
// everything.
const looksEach = 64

// mostTogether is how many corners may become one: a border met dozens of times
// over is none that was meant to close.
const mostTogether = 64

// weld makes corners of open edges one that lie within a distance of each other.
// The nearest go first; corners of one triangle stay two, so that no triangle is
// lost; and of all that become one, each is within the distance of each other one.
// The corner with the least number keeps its place.
func weld(ctx context.Context, m *mesh.Mesh, open []sound.OpenEdge, within float64, how *Closing) (*mesh.Mesh, error) {
	points := pointsOf(open)
	pairs, err := nearPairs(ctx, m, points, within, how)
	if err != nil || len(pairs) == 0 {
		return m, err
	}
	// A pair may become one if no triangle has both.
	mayJoin := make([]uint64, len(pairs))
	for i, p := range pairs {
		mayJoin[i] = p.key()
	}
	slices.Sort(mayJoin)
	onBorder := make([]bool, len(m.Vertices))
	for _, v := range points {
		onBorder[v] = true
	}
	barred := make([]bool, len(mayJoin))
	for _, t := range m.Triangles {
		for k := range 3 {
			if a, b := t[k], t[(k+1)%3]; onBorder[a] && onBorder[b] {
				if i, found := slices.BinarySearch(mayJoin, keyOf(a, b)); found {
					barred[i] = true
				}
			}
		}
	}
	group := make(map[uint32][]uint32, len(pairs)) // by least member
	of := make(map[uint32]uint32, len(pairs))      // the least member of each one's group
	membersOf := func(v uint32) (uint32, []uint32) {
		if g, ok := of[v]; ok {
			return g, group[g]
		}
		return v, []uint32{v}
	}
	slices.SortFunc(pairs, func(p, q nearPair) int {
		return cmp.Or(cmp.Compare(p.apart, q.apart), cmp.Compare(p.key(), q.key()))
	})
	for _, p := range pairs {
		g, these := membersOf(p.a)
		h, those := membersOf(p.b)
		if g == h || len(these)+len(those) > mostTogether {
			continue
		}
		if !allMayJoin(these, those, mayJoin, barred) {
			continue
		}
		all := append(slices.Clone(these), those...)
		delete(group, g)
		delete(group, h)
		least := min(g, h)
		group[least] = all
		for _, v := range all {
			of[v] = least
		}
	}
	if len(of) == 0 {
		return m, nil
	}
	out := &mesh.Mesh{Vertices: m.Vertices, Triangles: slices.Clone(m.Triangles)}
	for i, t := range out.Triangles {
		for k, v := range t {
			if onBorder[v] {
				if g, ok := of[v]; ok {
					out.Triangles[i][k] = g
				}
			}
		}
	}
	for _, v := range points {
		if g, ok := of[v]; ok && g != v {
			how.Joined++
			how.moved(m.Vertices[v].Sub(m.Vertices[g]).Norm(), m.Vertices[g])
		}
	}
	return out, nil
}

// moved keeps how far and where.
func (c *Closing) moved(by float64, at mesh.Vec) {
	c.Farthest = max(c.Farthest, by)
	if len(c.Places) < sound.MostPlaces {
		c.Places = append(c.Places, at)
	}
}

func allMayJoin(these, those []uint32, mayJoin []uint64, barred []bool) bool {
	for _, v := range these {
		for _, w := range those {
			if i, found := slices.BinarySearch(mayJoin, keyOf(v, w)); !found || barred[i] {
				return false
			}
		}
	}
	return true
}

// nearPair is two points of the border, the lesser number first, and how far apart.
type nearPair struct {
	a, b  uint32
	apart float64
}

func (p nearPair) key() uint64 { return keyOf(p.a, p.b) }

func keyOf(a, b uint32) uint64 { return uint64(min(a, b))<<32 | uint64(max(a, b)) }

// pointsOf are the vertices of open edges, ascending.
func pointsOf(open []sound.OpenEdge) []uint32 {
	points := make([]uint32, 0, 2*len(open))
	for _, e := range open {
		points = append(points, e.From, e.To)
	}
	slices.Sort(points)
	return slices.Compact(points)
}

func nearPairs(ctx context.Context, m *mesh.Mesh, points []uint32, within float64, how *Closing) ([]nearPair, error) {
	dots := &mesh.Mesh{Vertices: m.Vertices, Triangles: make([][3]uint32, len(points))}
	for i, v := range points {
		dots.Triangles[i] = [3]uint32{v, v, v}
	}
	t, err := tree.New(ctx, dots)
	if err != nil {
		return nil, err
	}
	var pairs []nearPair
	looks := len(points) * looksEach
	for i, v := range points {
		if i%4096 == 4095 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		p := m.Vertices[v]
		t.InBox(around(p, within), func(n int32) bool {
			looks--
			if w := points[n]; w > v {
				if d := m.Vertices[w].Sub(p).Norm(); d <= within {
					pairs = append(pairs, nearPair{v, w, d})
				}
			}
			return looks > 0
		})
		if looks <= 0 {
			how.Spent = true
			return nil, nil
		}
	}
	return pairs, nil
}

func around(p mesh.Vec, reach float64) mesh.Box {
	r := mesh.Vec{X: reach, Y: reach, Z: reach}
	return mesh.Box{Min: p.Sub(r), Max: p.Add(r)}
}

// lines are open edges as triangles whose third corner is the second once more.
func lines(ctx context.Context, m *mesh.Mesh, open []sound.OpenEdge) (*tree.Tree, error) {
	l := &mesh.Mesh{Vertices: m.Vertices, Triangles: make([][3]uint32, len(open))}
	for i, e := range open {
		l.Triangles[i] = [3]uint32{e.From, e.To, e.To}
	}
	return tree.New(ctx, l)
}

// mayClose reports whether the middle of every open edge lies by another one, as it
// does wherever a crack closes: what it meets bends by within at most, and its ends
// move as far. Most meshes with holes are told by this without being tried.
func mayClose(ctx context.Context, m *mesh.Mesh, open []sound.OpenEdge, within float64) (bool, error) {
	t, err := lines(ctx, m, open)
	if err != nil {
		return false, err
	}
	looks := len(open) * looksEach
	for i, e := range open {
		if i%4096 == 4095 && ctx.Err() != nil {
			return false, ctx.Err()
		}
		middle := m.Vertices[e.From].Add(m.Vertices[e.To]).Scale(0.5)
		met := false
		t.InBox(around(middle, 2*within), func(n int32) bool {
			looks--
			if int(n) != i {
				_, d := foot(m, middle, open[n])
				met = d <= 2*within
			}
			return !met && looks > 0
		})
		if !met {
			return false, nil
		}
	}
	return true, nil
}

// foot is the share of the way along an edge at which it is nearest to p, between
// its ends, and how near.
func foot(m *mesh.Mesh, p mesh.Vec, e sound.OpenEdge) (share, distance float64) {
	q, r := m.Vertices[e.From], m.Vertices[e.To]
	d := r.Sub(q)
	if dd := d.Dot(d); dd > 0 {
		share = math.Max(0, math.Min(1, p.Sub(q).Dot(d)/dd))
	}
	return share, p.Sub(q.Add(d.Scale(share))).Norm()
}
