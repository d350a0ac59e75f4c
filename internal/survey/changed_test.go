package survey

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/store"
)

func cubeSTL(t *testing.T, side float64) []byte {
	t.Helper()
	m := &mesh.Mesh{}
	for i := range 8 {
		m.Vertices = append(m.Vertices, mesh.Vec{X: side * float64(i&1), Y: side * float64(i>>1&1), Z: side * float64(i>>2)})
	}
	for _, q := range [][4]uint32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Triangles = append(m.Triangles, [3]uint32{q[0], q[1], q[2]}, [3]uint32{q[0], q[2], q[3]})
	}
	var out bytes.Buffer
	require.NoError(t, mesh.WriteSTL(&out, m, ""))
	return out.Bytes()
}

// A cube of 20 mm that is rewritten as one of 10 mm between its hash and its reading
// must not be kept under the hash of the first: that would be published for ever.
func TestTheCacheKeepsNoAnswerForBytesThatWereNotHashed(t *testing.T) {
	dir := t.TempDir()
	c := release.Cut{Kind: release.CutAny, File: filepath.Join(dir, "any.stl"), Rel: "any.stl"}
	require.NoError(t, os.WriteFile(c.File, cubeSTL(t, 20), 0o644))
	st := store.Open(filepath.Join(dir, "cache"), "salt")
	cs, read := opened(c, st)
	require.NoError(t, cs.Err)
	defer read.file.Close()
	require.NoError(t, os.WriteFile(c.File, cubeSTL(t, 10), 0o644))
	_, err := measureFile(t.Context(), read)
	require.ErrorContains(t, err, "the file changed while it was being read")

	// The next run measures what is there.
	got, err := cut(t.Context(), job{cut: c}, nil, st)
	require.NoError(t, err)
	require.NoError(t, got.Err)
	require.InDelta(t, 1000, got.Report.Volume, 1e-9) // 10 mm cubed
	require.NotEqual(t, cs.SHA256, got.SHA256)
}
