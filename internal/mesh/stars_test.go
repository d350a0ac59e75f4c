package mesh

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestStarsAgreeWithDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := welded(soup(t))
		s, err := m.stars(context.Background(), rapid.IntRange(0, 12).Draw(t, "block bits"))
		require.NoError(t, err)
		want := make([][]Corner, len(m.Vertices))
		for i, tri := range m.Triangles {
			for k, v := range tri {
				if !repeats(tri) {
					want[v] = append(want[v], Corner(4*i+k))
				}
			}
		}
		for v := range m.Vertices {
			require.Equal(t, want[v], append([]Corner(nil), s.Of(v)...), "vertex %d", v)
			for _, c := range s.Of(v) {
				tri := m.Triangles[c.Triangle()]
				require.EqualValues(t, v, tri[c.Place()])
				next, before := s.Others(c)
				require.Equal(t, [2]uint32{tri[(c.Place()+1)%3], tri[(c.Place()+2)%3]}, [2]uint32{next, before})
			}
		}
		closed, err := m.Closed(context.Background())
		require.NoError(t, err)
		require.Equal(t, m.Topology().Closed, closed)
	})
}

// Many shells whose triangles and vertices lie anywhere in the lists, so that
// pieces and blocks join the same shells at the same time. Each torus has 600
// triangles, 300 vertices and 900 edges; one in three lacks a triangle, which
// opens three edges, and one in five has a triangle turned over, which makes
// three edges inconsistent where the triangle is not the missing one.
func TestTopologyOfShuffledShells(t *testing.T) {
	const shells = 100
	r := rand.New(rand.NewPCG(1, 2))
	var all Mesh
	var of []int
	open, inconsistent, missing := 0, 0, 0
	for i := range shells {
		one := torus(20, 15)
		base := uint32(len(all.Vertices))
		all.Vertices = append(all.Vertices, one.Vertices...)
		if i%3 == 0 {
			one.Triangles = one.Triangles[1:]
			open += 3
			missing++
		}
		if i%5 == 0 {
			last := &one.Triangles[300] // no neighbour of the first
			last[0], last[1] = last[1], last[0]
			inconsistent += 3
		}
		for _, tri := range one.Triangles {
			all.Triangles = append(all.Triangles, [3]uint32{base + tri[0], base + tri[1], base + tri[2]})
			of = append(of, i)
		}
	}
	number := r.Perm(len(all.Vertices))
	m := &Mesh{Vertices: make([]Vec, len(all.Vertices)), Triangles: make([][3]uint32, len(all.Triangles))}
	for v, n := range number {
		m.Vertices[n] = all.Vertices[v]
	}
	want, first := make([]int32, len(m.Triangles)), map[int]int32{}
	for to, from := range r.Perm(len(all.Triangles)) {
		for k, v := range all.Triangles[from] {
			m.Triangles[to][k] = uint32(number[v])
		}
		if _, met := first[of[from]]; !met {
			first[of[from]] = int32(len(first))
		}
		want[to] = first[of[from]]
	}
	require.Equal(t, Topology{
		Edges: 900 * shells, OpenEdges: open, InconsistentEdges: inconsistent,
		Shells: shells, ShellOf: want, UsedVertices: 300 * shells, Euler: -missing,
	}, m.Topology())
}

// A wheel: more sides at one vertex than are sorted by insertion.
func TestTopologyOfAWheel(t *testing.T) {
	const spokes = 1000
	m := &Mesh{Vertices: make([]Vec, spokes+1)}
	for i := range uint32(spokes) {
		m.Triangles = append(m.Triangles, [3]uint32{0, 1 + i, 1 + (i+1)%spokes})
	}
	got := m.Topology()
	require.Equal(t, make([]int32, spokes), got.ShellOf)
	got.ShellOf = nil
	require.Equal(t, Topology{Edges: 2 * spokes, OpenEdges: spokes, ConsistentlyOriented: true, Shells: 1, UsedVertices: spokes + 1, Euler: 1}, got)
}

func TestStarsStopWithTheirContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	m := torus(30, 20)
	_, err := m.Closed(ctx)
	require.ErrorIs(t, err, context.Canceled)
	s, err := m.Stars(context.Background())
	require.NoError(t, err)
	_, err = s.Topology(ctx)
	require.ErrorIs(t, err, context.Canceled)
}
