package survey_test

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
)

func write(t *testing.T, path string, m *mesh.Mesh) {
	t.Helper()
	f, err := os.Create(path)
	require.NoError(t, err)
	defer f.Close()
	require.NoError(t, mesh.WriteSTL(f, m, ""))
}

// The gauge is tried with every cut, and with each loose piece of a mesh that is
// too large as a whole; a hollow is no piece.
func TestEveryCutIsTriedInTheGauge(t *testing.T) {
	dir := t.TempDir()
	small, large := meshtest.Box(20, 20, 20), meshtest.Box(80, 40, 40)
	hollow := meshtest.InsideOut(meshtest.Moved(meshtest.Box(10, 10, 10), meshtest.Shift(5, 5, 5)))
	write(t, filepath.Join(dir, "any.stl"), small)
	write(t, filepath.Join(dir, "filament.stl"), large)
	write(t, filepath.Join(dir, "resin.stl"), meshtest.Together(large, meshtest.Moved(small, meshtest.Shift(0, 0, 100))))
	write(t, filepath.Join(dir, "flexible.stl"), meshtest.Together(large, hollow))
	s := site(dir, release.CutAny, release.CutFilament, release.CutResin, release.CutFlexible)
	st := store.Open(filepath.Join(dir, "cache"), "salt")
	for range 2 { // the second time from the store
		got, err := survey.Run(t.Context(), s, st, nil)
		require.NoError(t, err)
		want := []struct {
			verdict fit.GaugeVerdict
			loose   bool
		}{{fit.InGauge, false}, {fit.NotInGauge, false}, {fit.InGauge, true}, {fit.NotInGauge, false}}
		for i, c := range s.Releases[0].Parts[0].Cuts {
			cs := got.Of(c)
			require.NoError(t, cs.Err)
			require.Equal(t, want[i].verdict, cs.Gauge.Verdict, c.Kind)
			require.Equal(t, want[i].loose, cs.Loose, c.Kind)
		}
	}
}

// A release of one piece stands as its mesh lies; a pose is looked at for nothing
// else; a part among several is not asked.
func TestHowAFigureStands(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "any.stl"), meshtest.Box(10, 10, 10))
	write(t, filepath.Join(dir, "pose.stl"), meshtest.Box(10, 10, 40))
	s := site(dir, release.CutAny)
	r := &s.Releases[0]
	r.Parts[0].Quantity = 1
	r.Pose = &release.Cut{Kind: release.CutPose, File: filepath.Join(dir, "pose.stl"), Rel: "pose.stl"}
	st := store.Open(filepath.Join(dir, "cache"), "salt")
	for range 2 {
		steps := 0
		got, err := survey.Run(t.Context(), s, st, func(string) { steps++ })
		require.NoError(t, err)
		require.Equal(t, 1, steps, "the pose is no cut")
		require.InDelta(t, math.Pi/4, got.Of(r.Parts[0].Cuts[0]).Stands.Tip, 1e-6) // check-values 1.9: a cube
		require.InDelta(t, math.Atan(5./20), got.Of(*r.Pose).Stands.Tip, 1e-6)
		require.Nil(t, got.Of(*r.Pose).Report)
	}

	write(t, filepath.Join(dir, "pose.stl"), meshtest.Without(meshtest.Box(10, 10, 40), 0))
	r.Parts[0].Quantity = 2
	got, err := survey.Run(t.Context(), s, st, nil)
	require.NoError(t, err)
	require.Nil(t, got.Of(*r.Pose).Stands)
	require.NoError(t, got.Of(*r.Pose).Err)
	require.Nil(t, got.Of(r.Parts[0].Cuts[0]).Stands)

	require.NoError(t, os.WriteFile(r.Pose.File, []byte("no mesh"), 0o600))
	got, err = survey.Run(t.Context(), s, st, nil)
	require.NoError(t, err)
	require.Error(t, got.Of(*r.Pose).Err)
}
