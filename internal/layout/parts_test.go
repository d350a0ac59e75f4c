package layout

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// parts are the printable parts of the folders, each once, as pieces.
func parts(t testing.TB, folders ...string) []Piece {
	t.Helper()
	var out []Piece
	for _, f := range folders {
		if _, err := os.Stat(f); os.IsNotExist(err) {
			t.Skip("the shared meshes are not beside the project")
		}
		var files []string
		require.NoError(t, filepath.WalkDir(f, func(file string, _ os.DirEntry, err error) error {
			if strings.EqualFold(filepath.Ext(file), ".stl") {
				files = append(files, file)
			}
			return err
		}))
		slices.Sort(files)
		for _, file := range files {
			m, _, err := mesh.ReadFile(t.Context(), file)
			if err != nil {
				continue // the folder has files that are no meshes
			}
			o, err := measure.Shadow(t.Context(), m, measure.Top)
			require.NoError(t, err)
			out = append(out, Piece{Name: filepath.Base(file), Number: len(out) + 1, Outline: o, Height: m.Bounds().Size().Z, Copies: 1})
		}
	}
	require.NotEmpty(t, out)
	return out
}

var content = filepath.Join("..", "..", "content", "releases")

var realParts = sync.OnceValue(func() func(t testing.TB) []Piece {
	var kept []Piece
	return func(t testing.TB) []Piece {
		if kept == nil {
			kept = parts(t, filepath.Join(meshtest.Shared, "arm"), filepath.Join(meshtest.Shared, "walker-base"),
				filepath.Join(meshtest.Shared, "walker-armed"), filepath.Join(meshtest.Shared, "general"), content)
		}
		return kept
	}
})

// A mix of fifty real parts takes at most 15 % more plates than the lower bound.
func TestFiftyRealParts(t *testing.T) {
	for _, o := range []Options{
		{Plate: fit.Plate{Width: 220, Depth: 220, Height: 250, Margin: 5}, Spacing: 2},
		{Plate: fit.Plate{Width: 120, Depth: 68, Height: 155, Margin: 2}, Spacing: 1},
		{Plate: fit.Plate{Width: 180, Depth: 180, Height: 200, Margin: 3, Round: true}, Spacing: 2},
		{Plate: fit.Plate{Width: 300, Depth: 300, Height: 200, Margin: 5}, Spacing: 3},
	} {
		t.Run(o.Plate.String(), func(t *testing.T) {
			all := realParts()(t)
			var mix []Piece
			for _, p := range all {
				if s, _ := newShape(t.Context(), p, o, newTable(o)); s != nil {
					mix = append(mix, p)
				}
			}
			require.GreaterOrEqual(t, len(mix), 50)
			var some []Piece
			for i := range 50 {
				some = append(some, mix[i*len(mix)/50])
			}
			l := mustLay(t, some, o)
			require.Empty(t, l.Unplaced)
			t.Logf("of %d: %s. %s", len(mix), l.Sentence(), l.Why)
		})
	}
}
