package meshtest

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

// WriteBox writes a box of the given size, in mm, as a binary STL.
func WriteBox(t testing.TB, path string, x, y, z float64) {
	t.Helper()
	f, err := os.Create(path)
	require.NoError(t, err)
	defer f.Close()
	require.NoError(t, mesh.WriteSTL(f, Box(x, y, z), ""))
}
