package main

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cardback/internal/cli"
	"cardback/internal/longrun"
	"cardback/internal/measure"
	"cardback/internal/measure/change"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
	"cardback/internal/verdict"
	"cardback/internal/verdict/reprint"
	"cardback/internal/verdict/standing"
)

// The revisions of the demo are what seal writes of the states that this program
// makes, and the demo as it is has every standing, every kind of change and every
// caution in it. One cache serves both: the meshes are measured once.
func TestDemoTellsItsStory(t *testing.T) {
	longrun.Only(t, "measures the whole demo")
	cache := t.TempDir()
	site, err := release.Load(contentDir)
	require.NoError(t, err)
	for _, r := range site.Releases {
		if len(r.Revisions) > 0 {
			t.Run(r.Slug+" is sealed as it was", func(t *testing.T) { sealAgain(t, r, cache) })
		}
	}
	salt, err := store.ProgramSalt()
	require.NoError(t, err)
	st := store.Open(cache, salt)
	// The plates that a standing asks for, and one that takes the whole hull.
	for i := len(site.Bench.Plates) - 1; i >= 0; i-- {
		if p := site.Bench.Plates[i]; !p.Standard && p.ID != "mid-resin" {
			site.Bench.Plates = slices.Delete(site.Bench.Plates, i, i+1)
		}
	}
	found, err := survey.Run(t.Context(), site, st, nil)
	require.NoError(t, err)
	past, err := history.Of(t.Context(), site, found, st, nil)
	require.NoError(t, err)

	checked, err := verdict.Check(t.Context(), site, found, nil)
	require.NoError(t, err)
	judged := checked.Judge(past, nil)

	t.Run("every standing", func(t *testing.T) {
		cells := map[standing.Standing]bool{}
		for _, c := range judged.Cells {
			cells[c.Standing] = true
			for key, want := range map[string]struct {
				standing standing.Standing
				reason   string
			}{
				"1 rigid-filament": {standing.NeedsReprint, "Torso has changed since it was proven in revision A."},
				"1 rigid-resin":    {standing.Proven, "All parts printed well on 11 April 2026."},
				"3 tough-resin":    {standing.Proven, "All parts printed well on 1 November 2025."},
				"8 rigid-resin":    {standing.NeedsReprint, "Bollard has changed since it was proven in revision A."},
			} {
				if key == string(rune('0'+c.Release))+" "+c.Material {
					assert.Equal(t, want.standing, c.Standing, key)
					assert.Contains(t, c.Reason, want.reason, key)
				}
			}
		}
		for _, s := range standing.Standings {
			assert.True(t, cells[s], "no cell of the material table is %q", s)
		}
	})
	t.Run("every kind of change", func(t *testing.T) {
		kinds := map[change.Kind]bool{}
		unsealed := 0
		for _, h := range past {
			if h.Unsealed() != nil {
				unsealed++
			}
			for _, s := range h.ToWorking {
				for _, p := range s.Parts {
					for _, c := range p.Cuts {
						assert.Empty(t, c.Why)
						kinds[c.Kind] = true
					}
				}
			}
		}
		for _, k := range []change.Kind{change.Unchanged, change.SameShape, change.Moved, change.Mirrored, change.Rescaled, change.Changed, history.Added, history.Removed} {
			assert.True(t, kinds[k], "nothing in the demo is %s", k)
		}
		assert.Equal(t, 1, unsealed, "releases that have changed since they were sealed")
		lamp := reprint.Advise(past[1].ToWorking[0])
		assert.True(t, slices.ContainsFunc(past[1].ToWorking[0].Parts, func(p history.PartStep) bool {
			return p.Was != nil && p.Is != nil && p.Was.Slug == "sou-wester" && p.Is.Slug == "cap"
		}), "a part that was renamed is known by its mesh")
		var hardware []reprint.HardwareAction
		for _, h := range lamp.Hardware {
			hardware = append(hardware, h.Action)
		}
		assert.ElementsMatch(t, []reprint.HardwareAction{reprint.CutAnew, reprint.BuyNew, reprint.LeaveAside}, hardware)
	})
	t.Run("every caution", func(t *testing.T) {
		codes := map[verdict.CautionCode]bool{}
		atStep := map[verdict.CautionCode]bool{}
		for _, r := range site.Releases {
			for _, c := range judged.Of(r.Number).Cautions {
				codes[c.Code] = true
				atStep[c.Code] = atStep[c.Code] || len(c.At) > 0
			}
		}
		for _, c := range []verdict.CautionCode{
			verdict.OwnCaution, verdict.ItemCaution, verdict.SmallPartCaution, verdict.MagnetCaution, verdict.SharpCaution, "resin",
			"solvent", "filament", verdict.CuttingCaution, verdict.AdhesiveCaution, verdict.SandingCaution,
			verdict.PaintCaution, verdict.HeatCaution, verdict.DisplayCaution,
		} {
			assert.True(t, codes[c], "no release has the caution %q", c)
		}
		for _, c := range []verdict.CautionCode{verdict.MagnetCaution, verdict.SharpCaution, "solvent", verdict.CuttingCaution, verdict.AdhesiveCaution, verdict.SandingCaution} {
			assert.True(t, atStep[c], "the caution %q stands at no step", c)
		}
	})
	t.Run("what stands and what does not", func(t *testing.T) {
		stands := map[bool]int{}
		for _, r := range site.Releases {
			if st := judged.Of(r.Number).Stance; st != nil {
				require.True(t, st.Known, r.Slug)
				stands[st.Stands]++
			}
		}
		assert.Positive(t, stands[true], "a figure that stands")
		assert.Positive(t, stands[false], "one that does not")
	})
	t.Run("no fault", func(t *testing.T) {
		for _, f := range judged.Findings {
			assert.NotEqual(t, measure.Fault, f.Level, "%s: %s", f.File, f.Text)
		}
	})
}

// sealAgain makes each state of a release in a copy of it and seals it with the date
// and note that are recorded. What comes of it must be what is committed.
func sealAgain(t *testing.T, r release.Release, cache string) {
	folder := filepath.Base(r.Dir)
	content := filepath.Join(t.TempDir(), "content")
	copied := filepath.Join(content, "releases", folder)
	copyInto(t, filepath.Join(contentDir, "bench"), filepath.Join(content, "bench"))
	require.NoError(t, os.MkdirAll(copied, 0o755))
	copyFile(t, filepath.Join(contentDir, "site.yaml"), filepath.Join(content, "site.yaml"))
	today := func() {
		require.NoError(t, os.RemoveAll(filepath.Join(copied, "parts")))
		copyInto(t, filepath.Join(r.Dir, "parts"), filepath.Join(copied, "parts"))
		copyFile(t, filepath.Join(r.Dir, "release.md"), filepath.Join(copied, "release.md"))
	}
	states := earlier(made())
	used := 0
	for _, rev := range r.Revisions {
		today()
		for _, st := range states {
			if st.release == folder && st.revision == rev.Name {
				require.NoError(t, st.write(content))
				used++
			}
		}
		args := []string{"seal", folder, "--content", content, "--cache", cache, "--date", rev.Date.Format(time.DateOnly), "--note", rev.Note}
		if rev.Faults != "" {
			args = append(args, "--with-faults", rev.Faults)
		}
		var out, errs bytes.Buffer
		require.Zero(t, cli.Run(context.Background(), args, &out, &errs), "%s%s", &out, &errs)
	}
	for _, st := range states {
		if st.release == folder {
			used--
		}
	}
	assert.Zero(t, used, "an earlier state belongs to no revision")
	want, got := sealedFiles(t, r.Dir), sealedFiles(t, copied)
	assert.ElementsMatch(t, slices.Collect(maps.Keys(want)), slices.Collect(maps.Keys(got)))
	for name, data := range want {
		assert.True(t, bytes.Equal(data, got[name]), "%s/%s is not what seal writes", folder, name)
	}
}

// sealedFiles are a release's history and what it keeps, by name.
func sealedFiles(t *testing.T, dir string) map[string][]byte {
	out := map[string][]byte{}
	names, err := filepath.Glob(filepath.Join(dir, release.SealedFolder, "*"))
	require.NoError(t, err)
	for _, name := range append(names, filepath.Join(dir, release.RevisionsFile)) {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		out[filepath.Base(name)] = data
	}
	return out
}

func copyInto(t *testing.T, from, to string) {
	require.NoError(t, os.CopyFS(to, os.DirFS(from)))
}

func copyFile(t *testing.T, from, to string) {
	data, err := os.ReadFile(from)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(to, data, 0o644))
}

// Every mesh that the print logs speak of is one that the release has or had when
// it was sealed, under the name that it then had.
func TestLogsSpeakOfKnownMeshes(t *testing.T) {
	site, err := release.Load(contentDir)
	require.NoError(t, err)
	now := map[string]string{} // of the files: path below content to fingerprint
	for _, f := range made() {
		now[f.path()] = f.mesh.Fingerprint()
	}
	entries := 0
	for _, r := range site.Releases {
		type used struct {
			part        string
			cut         release.CutKind
			fingerprint string
		}
		known := map[used]bool{}
		for _, p := range r.Parts {
			for _, c := range p.Cuts {
				known[used{p.Slug, c.Kind, now[c.Rel]}] = true
			}
		}
		for _, rev := range r.Revisions {
			for _, p := range rev.Parts {
				for _, c := range p.Cuts {
					known[used{p.Slug, c.Kind, c.Fingerprint}] = true
				}
			}
		}
		for _, print := range r.Log {
			entries++
			for _, u := range print.Meshes {
				assert.True(t, known[used{u.Part, u.Cut, u.Fingerprint}], "%s, prints.yaml:%d: %s/%s is no mesh of the release", r.Slug, print.Line, u.Part, u.Cut)
			}
		}
	}
	assert.GreaterOrEqual(t, entries, 20)
}

// A copy is turned into an earlier state, and the project's own content is not.
func TestEarlierStatesAreForCopies(t *testing.T) {
	t.Chdir(t.TempDir())
	require.ErrorContains(t, runAt(defaultOut, "01-lamplighter@A", nil), "copy the content folder")
	require.EqualError(t, runAt("copy", "01-lamplighter@C", nil), `"01-lamplighter@C" is no earlier state; the first is 01-lamplighter@A`)
	require.True(t, errors.Is(runAt("copy", "01-lamplighter@A", nil), fs.ErrNotExist))
}
