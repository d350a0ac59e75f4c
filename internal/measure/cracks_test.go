package measure

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// A plate with a round hole whose every triangle has corners of its own, up to 3e-5 mm
// off, is measured as the plate is: closed, with its volume to what a surface of that
// area can enclose in a layer as thick, its hole and its thin places in the same
// sizes. The only finding is a note, and the fingerprint is the file's.
func TestCracksOfNanometresAreNoFault(t *testing.T) {
	whole := meshtest.DrilledPlate(24, 3, 20, 0.8, 0, 0)
	const off = 3e-5
	loose := &mesh.Mesh{}
	for i, tri := range whole.Triangles {
		for k, v := range tri {
			d := off * float64((i+k)%3-1) / 2
			loose.Vertices = append(loose.Vertices, whole.Vertices[v].Add(mesh.Vec{X: d, Y: -d, Z: d}))
		}
		n := uint32(3 * i)
		loose.Triangles = append(loose.Triangles, [3]uint32{n, n + 1, n + 2})
	}
	want, got := measured(t, whole, t), measured(t, loose, t)
	require.Equal(t, loose.Fingerprint(), got.Fingerprint)
	require.Equal(t, len(loose.Vertices), got.Vertices)
	require.True(t, got.Solid())
	require.Equal(t, 1, got.Shells)
	require.Equal(t, want.Genus, got.Genus)
	require.InDelta(t, want.Volume, got.Volume, 2*off*want.Area)
	require.Len(t, got.Bores.Holes, 1)
	require.InDelta(t, want.Bores.Holes[0].Free, got.Bores.Holes[0].Free, 4*off)
	require.InDelta(t, *want.Thin.Wall, *got.Thin.Wall, 4*off)
	require.NotNil(t, NewAmounts(got, UsualStock))
	require.Len(t, got.Findings, len(want.Findings)+1)
	require.Equal(t, "cracks-closed", got.Findings[0].Code)
	require.Equal(t, Note, got.Findings[0].Level)
	require.NotNil(t, got.Findings[0].At)
	require.Equal(t, len(loose.Triangles)*3, got.Closing.OpenEdges)
}
