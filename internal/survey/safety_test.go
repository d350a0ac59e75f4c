package survey_test

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit/gauge"
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
	s := site(dir, release.CutAny, release.CutFor(bench.Filament), release.CutFor(bench.Resin), release.CutFlexible)
	st := store.Open(filepath.Join(dir, "cache"), "salt")
	for range 2 { // the second time from the store
		got, err := survey.Run(t.Context(), s, st, nil)
		require.NoError(t, err)
		want := []struct {
			verdict gauge.Verdict
			loose   bool
		}{{gauge.Inside, false}, {gauge.Outside, false}, {gauge.Inside, true}, {gauge.Outside, false}}
		for i, c := range s.Releases[0].Parts[0].Cuts {
			cs := got.Of(c)
			require.NoError(t, cs.Err)
			require.Equal(t, want[i].verdict, cs.Gauge.Verdict, c.Kind)
			require.Equal(t, want[i].loose, cs.Loose, c.Kind)
		}
	}
}

// A bead of 6 mm beside a block, beside two blocks that overlap, and in files with
// other faults: it is a small part whatever the rest of the file is.
func TestALooseBeadIsASmallPartWhateverTheRest(t *testing.T) {
	at := func(m *mesh.Mesh, x, y, z float64) *mesh.Mesh { return meshtest.Moved(m, meshtest.Shift(x, y, z)) }
	block, bead := meshtest.Box(60, 60, 60), at(meshtest.Box(6, 6, 6), 200, 0, 0)
	for name, c := range map[string]struct {
		mesh    *mesh.Mesh
		verdict gauge.Verdict
		loose   bool
	}{
		"a block":                              {block, gauge.Outside, false},
		"a block and a bead":                   {meshtest.Together(block, bead), gauge.Inside, true},
		"two overlapping blocks and a bead":    {meshtest.Together(block, at(block, 30, 30, 30), bead), gauge.Inside, true},
		"two coincident blocks and a bead":     {meshtest.Together(block, block, bead), gauge.Inside, true},
		"a bead that lies in the block":        {meshtest.Together(block, at(bead, -180, 20, 20)), gauge.Outside, false},
		"a bead that the block overlaps":       {meshtest.Together(block, at(bead, -143, 20, 20)), gauge.Outside, false},
		"an open block and a bead":             {meshtest.Together(meshtest.Without(block, 0), bead), gauge.Inside, true},
		"a block inside out and a bead":        {meshtest.Together(meshtest.InsideOut(block), bead), gauge.Inside, true},
		"a block and a bead that lacks a face": {meshtest.Together(block, meshtest.Without(bead, 3)), gauge.Inside, true},
	} {
		dir := t.TempDir()
		write(t, filepath.Join(dir, "any.stl"), c.mesh)
		s := site(dir, release.CutAny)
		got, err := survey.Run(t.Context(), s, store.Open(filepath.Join(dir, "cache"), "salt"), nil)
		require.NoError(t, err)
		cs := got.Of(s.Releases[0].Parts[0].Cuts[0])
		require.NoError(t, cs.Err, name)
		require.Equal(t, c.verdict, cs.Gauge.Verdict, name)
		require.Equal(t, c.loose, cs.Loose, name)
	}
}

// 250 loose rods, none of which fits; more than are tried. Those that were not tried keep
// the caution.
func TestPiecesThatWereNotTriedKeepTheCaution(t *testing.T) {
	var rods []*mesh.Mesh
	for i := range 250 {
		rods = append(rods, meshtest.Moved(meshtest.Box(5, 100, 5), meshtest.Shift(10*float64(i), 0, 0)))
	}
	for n, want := range map[int]gauge.Verdict{200: gauge.Outside, 250: gauge.Undecided} {
		m := meshtest.Together(rods[:n]...)
		got, err := survey.TryGauge(t.Context(), m.Vertices, func() (*mesh.Mesh, error) { return m, nil })
		require.NoError(t, err)
		require.Equal(t, n, got.Pieces)
		require.Equal(t, want, got.Verdict)
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
