package loose

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func piecesOf(t testing.TB, m *mesh.Mesh) Pieces {
	tr, err := tree.New(t.Context(), m)
	require.NoError(t, err)
	p, err := Of(t.Context(), tr)
	require.NoError(t, err)
	return p
}

func box(w, d, h, x, y, z float64) *mesh.Mesh {
	return meshtest.Moved(meshtest.Box(w, d, h), meshtest.Shift(x, y, z))
}

func TestPiecesAreWhatComesApart(t *testing.T) {
	bead := box(6, 6, 6, 200, 0, 0)
	for _, c := range []struct {
		name   string
		mesh   *mesh.Mesh
		pieces int
		least  float64 // the side of the smallest, where there are several
	}{
		{"a block", box(60, 60, 60, 0, 0, 0), 1, 60},
		{"a block and a bead", meshtest.Together(box(60, 60, 60, 0, 0, 0), bead), 2, 6},
		{"overlapping blocks and a bead", meshtest.Together(box(60, 60, 60, 0, 0, 0), box(60, 60, 60, 30, 30, 30), bead), 2, 6},
		{"coincident blocks and a bead", meshtest.Together(box(60, 60, 60, 0, 0, 0), box(60, 60, 60, 0, 0, 0), bead), 2, 6},
		{"blocks that cross as a plus, no corner of one in the other", meshtest.Together(box(60, 10, 10, -30, -5, -5), box(10, 60, 10, -5, -30, -5), bead), 2, 6},
		{"blocks with a face in common", meshtest.Together(box(60, 60, 60, 0, 0, 0), box(20, 20, 20, 60, 10, 10)), 1, 60},
		{"blocks that touch along an edge", meshtest.Together(box(60, 60, 60, 0, 0, 0), box(20, 20, 20, 60, 60, 10)), 1, 60},
		{"blocks that touch in a corner", meshtest.Together(box(60, 60, 60, 0, 0, 0), box(20, 20, 20, 60, 60, 60)), 1, 60},
		{"blocks 0.2 µm apart, as rounding leaves them", meshtest.Together(box(60, 60, 60, 0, 0, 0), box(20, 20, 20, 60.0002, 10, 10)), 1, 60},
		{"blocks 0.02 mm apart", meshtest.Together(box(60, 60, 60, 0, 0, 0), box(20, 20, 20, 60.02, 10, 10)), 2, 20},
		{"a hollow", meshtest.Together(box(60, 60, 60, 0, 0, 0), meshtest.InsideOut(box(6, 6, 6, 20, 20, 20))), 1, 60},
		{"a bead buried in a block", meshtest.Together(box(60, 60, 60, 0, 0, 0), box(6, 6, 6, 20, 20, 20)), 1, 60},
		{"a bead in a hollow rattles", meshtest.Together(box(60, 60, 60, 0, 0, 0), meshtest.InsideOut(box(20, 20, 20, 20, 20, 20)), box(6, 6, 6, 25, 25, 25)), 2, 6},
		{"a bead that is inside out", meshtest.Together(box(60, 60, 60, 0, 0, 0), meshtest.InsideOut(bead)), 2, 6},
		{"a bead without a triangle", meshtest.Together(box(60, 60, 60, 0, 0, 0), meshtest.Without(bead, 0)), 2, 6},
		{"a bead beside a block without a triangle", meshtest.Together(meshtest.Without(box(60, 60, 60, 0, 0, 0), 0), bead), 2, 6},
		{"a stray triangle does not print", meshtest.Together(box(60, 60, 60, 0, 0, 0), &mesh.Mesh{Vertices: bead.Vertices, Triangles: bead.Triangles[:1]}), 1, 60},
	} {
		got := piecesOf(t, c.mesh)
		require.Len(t, got.All, c.pieces, c.name)
		if c.pieces > 1 {
			require.InDelta(t, c.least*math.Sqrt(3), got.All[0].Bounds.Size().Norm(), 1e-9, c.name)
		}
		require.False(t, got.Undecided, c.name)
	}
}

// What cannot be decided is said, and nothing is hidden for it.
func TestSpentWorkLeavesPiecesApart(t *testing.T) {
	var all []*mesh.Mesh
	for i := range 40 {
		all = append(all, box(10, 10, 10, 5*float64(i), 0, 0))
	}
	m := meshtest.Together(all...)
	tr, err := tree.New(t.Context(), m)
	require.NoError(t, err)
	got, err := of(t.Context(), tr, 500)
	require.NoError(t, err)
	require.True(t, got.Undecided)
	require.Greater(t, len(got.All), 1)
	require.Len(t, piecesOf(t, m).All, 1)
}

// Distances of triangles, against points laid over both.
func TestNearAgreesWithPointsOverBothTriangles(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	random := func() (s corners) {
		for k := range s {
			s[k] = mesh.Vec{X: rng.Float64(), Y: rng.Float64(), Z: rng.Float64()}
		}
		return s
	}
	const n = 30
	over := func(s corners) (out []mesh.Vec) {
		for i := range n + 1 {
			for j := range n + 1 - i {
				x, y := float64(i)/n, float64(j)/n
				out = append(out, s[0].Add(s[1].Sub(s[0]).Scale(x)).Add(s[2].Sub(s[0]).Scale(y)))
			}
		}
		return out
	}
	for range 60 {
		s, u := random(), random()
		least := math.Inf(1)
		for _, p := range over(s) {
			for _, q := range over(u) {
				least = min(least, p.Sub(q).Norm())
			}
		}
		require.True(t, s.near(&u, least*(1+1e-9)))
		require.True(t, u.near(&s, least*(1+1e-9)))
		// The nearest points lie within a cell of points that were tried, whose sides
		// are at most √3/n: the true distance is less by at most one on each triangle.
		if lower := least - 2*math.Sqrt(3)/n; lower > 0 {
			require.False(t, s.near(&u, lower*(1-1e-9)))
			require.False(t, u.near(&s, lower*(1-1e-9)))
		}
	}
}
