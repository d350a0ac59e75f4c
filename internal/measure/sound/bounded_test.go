package sound_test

import (
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/longrun"
	"cardback/internal/measure/sound"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// An edge with 8,000 triangles has 32 million pairs to look at. Counting ends at its
// bound, says after how many and where, and says the same on one processor.
func TestCountingCrossingsSaysWhereItEnded(t *testing.T) {
	m := meshtest.Fan(8000)
	tr, err := tree.New(t.Context(), m)
	require.NoError(t, err)
	c, err := sound.Cross(t.Context(), tr, nil)
	require.NoError(t, err)
	require.True(t, c.Partial)
	require.Zero(t, c.Count)
	const bound = 1<<24 + 48*8000
	require.GreaterOrEqual(t, c.Looked, bound/2)
	require.LessOrEqual(t, c.Looked, bound+bound/16, "one task more than the bound at most")
	require.NotNil(t, c.Past)
	b := m.Bounds()
	require.True(t, math.Abs(c.Past.X) <= b.Max.X && math.Abs(c.Past.Y) <= b.Max.Y && c.Past.Z >= 0 && c.Past.Z <= 20)

	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	again, err := sound.Cross(t.Context(), tr, nil)
	require.NoError(t, err)
	require.Equal(t, c, again)

	few := meshtest.Fan(100)
	tr, err = tree.New(t.Context(), few)
	require.NoError(t, err)
	c, err = sound.Cross(t.Context(), tr, nil)
	require.NoError(t, err)
	require.False(t, c.Partial)
	require.Nil(t, c.Past)
}

// Of 6,000 cubes, each inside the next, a line from the inmost one leaves 6,000: more
// than one shell may pass. That is told, and what is said of the outer ones is so.
func TestNestingSaysWhereItEnded(t *testing.T) {
	longrun.Only(t, "spends a budget")
	const n = 6000
	m := &mesh.Mesh{}
	for i := range n {
		side := 20 + 0.002*float64(i)
		cube := meshtest.Box(side, side, side)
		at := uint32(len(m.Vertices))
		for _, p := range cube.Vertices {
			m.Vertices = append(m.Vertices, p.Sub(mesh.Vec{X: side / 2, Y: side / 2, Z: side / 2}))
		}
		for _, tri := range cube.Triangles {
			m.Triangles = append(m.Triangles, [3]uint32{tri[0] + at, tri[1] + at, tri[2] + at})
		}
	}
	tr, err := tree.New(t.Context(), m)
	require.NoError(t, err)
	top := m.Topology()
	require.Equal(t, n, top.Shells)
	s, err := sound.Nest(t.Context(), tr, top, sound.Crossings{})
	require.NoError(t, err)
	require.True(t, s.Partial)
	require.NotEmpty(t, s.Buried)
	require.Less(t, len(s.Buried), n)
}
