package thin_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/longrun"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// Where two thousand bodies lie in one place a line passes ten thousand triangles: that
// is given up, and told. Some dozens are measured like one.
func TestSurfacesWithoutNumberAreGivenUpAndTold(t *testing.T) {
	longrun.Only(t, "spends a budget")
	for _, row := range []struct {
		copies  int
		partial bool
	}{{30, false}, {2_000, true}} {
		m := &mesh.Mesh{}
		for range row.copies {
			add(m, meshtest.Box(10, 10, 1))
		}
		r := measure(t, m)
		require.Equal(t, row.partial, r.Partial, row.copies)
		if !row.partial {
			require.NotNil(t, r.Wall)
			require.InDelta(t, 1, *r.Wall, 0.0085)
		}
	}
}

// add puts b's triangles into m as a body of its own.
func add(m, b *mesh.Mesh) {
	first := uint32(len(m.Vertices))
	m.Vertices = append(m.Vertices, b.Vertices...)
	for _, t := range b.Triangles {
		m.Triangles = append(m.Triangles, [3]uint32{first + t[0], first + t[1], first + t[2]})
	}
}
