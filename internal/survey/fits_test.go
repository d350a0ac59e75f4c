package survey_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/meshtest"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
)

func TestThePoseThatIsRecommendedIsTriedFirst(t *testing.T) {
	dir := t.TempDir()
	meshtest.WriteBox(t, filepath.Join(dir, "any.stl"), 10, 60, 4)
	s := site(dir, release.CutAny)
	s.Bench.Plates = []bench.Plate{
		{ID: "r", Process: bench.Resin, Width: 20, Depth: 20, Height: 70},
		{ID: "f", Process: bench.Filament, Width: 70, Depth: 20, Height: 5},
	}
	s.Releases[0].Print = []release.PrintSettings{{Process: bench.Resin, Tilt: 90}}
	st := store.Open(filepath.Join(t.TempDir(), "cache"), "salt")
	for range 2 { // measured, then from the store
		got, err := survey.Run(t.Context(), s, st, nil)
		require.NoError(t, err)
		cs := got["any.stl"]
		// On its edge 60 mm stand upright, which only the tilt brings about.
		require.Equal(t, fit.Recommended, cs.Fits["r"].Verdict)
		require.True(t, cs.Fits["r"].Keeps)
		require.Equal(t, fit.Turned, cs.Fits["f"].Verdict, "the filament's settings recommend nothing")
		require.False(t, cs.Fits["f"].Declared)

		// What a frontier calls as supplied is as recommended.
		require.Equal(t, fit.AsSupplied, cs.Frontiers[bench.Resin].Fits(fit.Plate{Width: 11, Depth: 5, Height: 61}))
		require.Equal(t, fit.Tipped, cs.Frontiers[bench.Resin].Fits(fit.Plate{Width: 11, Depth: 61, Height: 5}))
		require.Equal(t, fit.AsSupplied, cs.Frontiers[bench.Filament].Fits(fit.Plate{Width: 11, Depth: 61, Height: 5}))
	}
	s.Releases[0].Print[0].Tilt = 45 // another pose is another question
	got, err := survey.Run(t.Context(), s, st, nil)
	require.NoError(t, err)
	require.Equal(t, fit.Tipped, got["any.stl"].Fits["r"].Verdict)
	require.False(t, got["any.stl"].Fits["r"].Keeps)
}
