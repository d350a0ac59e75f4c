package survey_test

import (
	"context"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure/shadow"
	"cardback/internal/meshtest"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
)

// site has one part for each file in dir.
func site(dir string, kinds ...release.CutKind) *release.Site {
	s := &release.Site{Root: dir, Bench: bench.Bench{Plates: []bench.Plate{
		{ID: "r", Process: bench.Resin, Width: 120, Depth: 68, Height: 155},
		{ID: "f", Process: bench.Filament, Width: 220, Depth: 220, Height: 250},
	}}}
	p := release.Part{Slug: "part"}
	for _, k := range kinds {
		p.Cuts = append(p.Cuts, release.Cut{Kind: k, File: filepath.Join(dir, string(k)+".stl"), Rel: string(k) + ".stl"})
	}
	s.Releases = []release.Release{{Number: 1, Parts: []release.Part{p}}}
	return s
}

func TestACutIsMeasuredFittedAndDrawn(t *testing.T) {
	dir := t.TempDir()
	meshtest.WriteBox(t, filepath.Join(dir, "any.stl"), 30, 20, 10)
	meshtest.WriteBox(t, filepath.Join(dir, "resin.stl"), 100, 10, 10)
	s := site(dir, release.CutAny, release.CutFor(bench.Resin))
	got, err := survey.Run(t.Context(), s, nil, nil)
	require.NoError(t, err)

	block := got.Of(s.Releases[0].Parts[0].Cuts[0])
	require.NoError(t, block.Err)
	require.InDelta(t, 6000, block.Report.Volume, 1e-9) // check-values 1.1: box 30 × 20 × 10
	require.InDelta(t, 2200, block.Report.Area, 1e-9)
	require.Equal(t, fit.AsSupplied, block.Fits["r"].Verdict)
	require.Len(t, block.Fits, 2, "a cut for any process is tried on every plate")
	require.InDelta(t, 20, block.Drawing[shadow.Side].Width, 1e-6)
	require.EqualValues(t, 684, block.Bytes)

	rod := got.Of(s.Releases[0].Parts[0].Cuts[1])
	require.Contains(t, rod.Fits, "r")
	require.NotContains(t, rod.Fits, "f", "a resin cut is not tried on a filament plate")
}

func TestTheStoreGivesBackWhatWasMeasured(t *testing.T) {
	dir := t.TempDir()
	meshtest.WriteBox(t, filepath.Join(dir, "any.stl"), 30, 20, 10)
	s := site(dir, release.CutAny)
	st := store.Open(filepath.Join(t.TempDir(), "cache"), "salt")
	cold, err := survey.Run(t.Context(), s, st, nil)
	require.NoError(t, err)
	warm, err := survey.Run(t.Context(), s, st, nil)
	require.NoError(t, err)
	require.Equal(t, cold, warm)

	// The key is the file's bytes: another mesh under the same name is another mesh.
	meshtest.WriteBox(t, filepath.Join(dir, "any.stl"), 31, 20, 10)
	changed, err := survey.Run(t.Context(), s, st, nil)
	require.NoError(t, err)
	require.InDelta(t, 6200, changed["any.stl"].Report.Volume, 1e-9)
}

func TestAMeshThatCannotBeReadDoesNotStopTheRest(t *testing.T) {
	dir := t.TempDir()
	meshtest.WriteBox(t, filepath.Join(dir, "any.stl"), 30, 20, 10)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "resin.stl"), []byte("not a mesh"), 0o644))
	s := site(dir, release.CutAny, release.CutFor(bench.Filament), release.CutFor(bench.Resin))
	var steps atomic.Int32
	got, err := survey.Run(t.Context(), s, nil, func(string) { steps.Add(1) })
	require.NoError(t, err)
	require.EqualValues(t, 3, steps.Load())
	require.NoError(t, got["any.stl"].Err)
	require.ErrorIs(t, got["filament.stl"].Err, os.ErrNotExist)
	require.ErrorContains(t, got["resin.stl"].Err, "STL")
}

func TestASurveyCanBeCancelled(t *testing.T) {
	dir := t.TempDir()
	meshtest.WriteBox(t, filepath.Join(dir, "any.stl"), 30, 20, 10)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := survey.Run(ctx, site(dir, release.CutAny), nil, nil)
	require.ErrorIs(t, err, context.Canceled)
}

func TestAnUnreadableFileIsToldWithoutItsFolder(t *testing.T) {
	dir := t.TempDir()
	s := site(dir, release.CutAny) // no such file
	got, err := survey.Run(t.Context(), s, nil, nil)
	require.NoError(t, err)
	require.EqualError(t, got.Of(s.Releases[0].Parts[0].Cuts[0]).Err, "no such file or directory")

	require.NoError(t, os.Mkdir(filepath.Join(dir, "any.stl"), 0o755)) // opened, but not read
	got, err = survey.Run(t.Context(), s, nil, nil)
	require.NoError(t, err)
	bad := got.Of(s.Releases[0].Parts[0].Cuts[0]).Err
	require.Error(t, bad)
	require.NotContains(t, bad.Error(), dir)
}
