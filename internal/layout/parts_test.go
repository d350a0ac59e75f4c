package layout

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit"
	"cardback/internal/longrun"
	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/reference"
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
			o, err := shadow.Of(t.Context(), m, shadow.Top)
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
			kept = parts(t, filepath.Join(reference.Folder, "arm"), filepath.Join(reference.Folder, "walker-base"),
				filepath.Join(reference.Folder, "walker-armed"), filepath.Join(reference.Folder, "general"), content)
		}
		return kept
	}
})

// A mix of fifty real parts takes at most 15 % more plates than the lower bound,
// on the small plate; where there are fewer than seven plates, that would leave
// no room for a single one, and one more than the bound is allowed.
func TestFiftyRealParts(t *testing.T) {
	for _, o := range []Options{
		{Plate: fit.Plate{Width: 120, Depth: 68, Height: 155, Margin: 2}, Spacing: 1},
		{Plate: fit.Plate{Width: 120, Depth: 68, Height: 155, Margin: 2}, Spacing: 2},
		{Plate: fit.Plate{Width: 220, Depth: 220, Height: 250, Margin: 5}, Spacing: 2},
		{Plate: fit.Plate{Width: 180, Depth: 180, Height: 200, Margin: 3, Round: true}, Spacing: 2},
		{Plate: fit.Plate{Width: 300, Depth: 300, Height: 200, Margin: 5}, Spacing: 3},
	}[longrun.Of(2, 0):] {
		t.Run(fmt.Sprint(o.Plate, ", spacing ", o.Spacing), func(t *testing.T) {
			some := fifty(t, o)
			l := mustLay(t, some, o)
			require.Empty(t, l.Unplaced)
			t.Logf("%s. %s", l.Sentence(), l.Why)
			require.LessOrEqual(t, len(l.Plates), max(l.Bound+1, l.Bound*115/100))
			if len(l.Plates) >= 7 {
				require.LessOrEqual(t, len(l.Plates)*100, l.Bound*115)
			}
		})
	}
}

// fifty is a mix of fifty real parts that go on the plate: every so many of them.
func fifty(t testing.TB, o Options) []Piece {
	var mix []Piece
	for _, p := range realParts()(t) {
		if s, _ := newShape(t.Context(), p, o, newTable(o)); s != nil {
			mix = append(mix, p)
		}
	}
	require.GreaterOrEqual(t, len(mix), 50)
	var some []Piece
	for i := range 50 {
		some = append(some, mix[i*len(mix)/50])
	}
	return some
}

// A release of the demo, with a plate's spacing of 2 mm.
func BenchmarkRelease(b *testing.B) {
	o := Options{Plate: fit.Plate{Width: 120, Depth: 68, Height: 155, Margin: 2}, Spacing: 2}
	entries, err := os.ReadDir(content)
	require.NoError(b, err)
	for _, e := range entries {
		pieces := parts(b, filepath.Join(content, e.Name()))
		b.Run(e.Name(), func(b *testing.B) {
			for b.Loop() {
				l, err := Lay(b.Context(), pieces, o)
				require.NoError(b, err)
				b.ReportMetric(float64(len(pieces)), "pieces")
				b.ReportMetric(float64(len(l.Plates)), "plates")
				b.ReportMetric(float64(l.Bound), "bound")
			}
		})
	}
}

func BenchmarkFifty(b *testing.B) {
	for _, o := range []Options{
		{Plate: fit.Plate{Width: 120, Depth: 68, Height: 155, Margin: 2}, Spacing: 1},
		{Plate: fit.Plate{Width: 220, Depth: 220, Height: 250, Margin: 5}, Spacing: 2},
		{Plate: fit.Plate{Width: 100, Depth: 100, Height: 250, Margin: 3}, Spacing: 2},
		{Plate: fit.Plate{Width: 180, Depth: 180, Height: 200, Margin: 3, Round: true}, Spacing: 2},
	} {
		pieces := fifty(b, o)
		b.Run(o.Plate.String(), func(b *testing.B) {
			for b.Loop() {
				l, err := Lay(b.Context(), pieces, o)
				require.NoError(b, err)
				b.ReportMetric(float64(len(l.Plates)), "plates")
				b.ReportMetric(float64(l.Bound), "bound")
			}
		})
	}
}
