package pack

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/measure/change"
	"cardback/internal/release"
	"cardback/internal/survey/history"
	"cardback/internal/verdict/reprint"
)

// twoRevisions is advice of every kind, as verdict gives it: of a body whose resin
// cut changed, a hat that did not, a hook that is gone.
func twoRevisions(unsealed bool) reprint.Changes {
	cut := func(k release.CutKind, print string) *release.SealedCut {
		return &release.SealedCut{Kind: k, Fingerprint: print}
	}
	part := func(name string) *release.SealedPart {
		return &release.SealedPart{Slug: strings.ToLower(name), Name: name, Quantity: 1}
	}
	uses := func(p *bench.Process) []history.Use {
		return []history.Use{{Process: p}, {Process: p, Flexible: true}}
	}
	both := append(uses(bench.Filament), uses(bench.Resin)...)
	step := history.Step{From: "A", To: "B", Parts: []history.PartStep{
		{Was: part("Body"), Is: part("Body"), Cuts: []history.CutStep{
			{Was: cut("filament", "1"), Is: cut("filament", "1"), Uses: uses(bench.Filament), Kind: change.Unchanged},
			{Was: cut("resin", "2"), Is: cut("resin", "3"), Uses: uses(bench.Resin), Kind: change.Changed, Why: "the sealed geometry is missing"},
		}},
		{Was: part("Hat"), Is: part("Hat"), Cuts: []history.CutStep{{Was: cut("any", "4"), Is: cut("any", "4"), Uses: both, Kind: change.Unchanged}}},
		{Was: part("Hook"), Cuts: []history.CutStep{{Was: cut("any", "5"), Uses: both, Kind: history.Removed}}},
	}, HardwareIs: []release.SealedHardware{{Item: "cord", Name: "Cord", Count: 2, Cut: 40}}}
	advice := reprint.Advise(step)
	last := reprint.Advice{From: "B"}
	c := reprint.Changes{
		Notes: []reprint.ChangeNote{
			{Name: "B", Date: time.Date(2026, 4, 18, 0, 0, 0, 0, time.UTC), Note: "A wider body.", Faults: "A crack prints closed.", Advice: &advice},
			{Name: "A", Date: time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC), Note: "First revision."},
		},
		Now: []reprint.Advice{advice, last},
	}
	if unsealed {
		c.Notes = append([]reprint.ChangeNote{{Advice: &last}}, c.Notes...)
	}
	return c
}

func TestChangeNoteIsAsReviewed(t *testing.T) {
	_, r := splitRelease(t)
	for _, proc := range bench.Shipped().Processes() {
		golden(t, "changes-"+proc.String()+".txt", changesText(twoRevisions(false), r, proc))
	}
}

func TestChangeNoteIsOfOneProcess(t *testing.T) {
	_, r := splitRelease(t)
	filament, resin := string(changesText(twoRevisions(false), r, bench.Filament)), string(changesText(twoRevisions(false), r, bench.Resin))
	require.Contains(t, resin, "Print again:\n- Body.")
	require.NotContains(t, filament, "Print again:")
	require.Contains(t, filament, "There is nothing to print again.")
	require.Contains(t, filament, "- Body; Hat\n")
	for _, note := range []string{filament, resin} {
		require.Contains(t, note, "No longer needed:\n- Hook\n")
		require.Contains(t, note, "New: 2 × Cord, cut to 40 mm.")
		require.NotContains(t, note, "If you printed revision B", "that is what the files are")
		require.Contains(t, note, "Sealed although a fault stood: A crack prints closed.")
		require.Less(t, strings.Index(note, "B, 2026-04-18"), strings.Index(note, "A, 2026-01-02"))
		for line := range strings.Lines(note) {
			require.LessOrEqual(t, len([]rune(line)), measure+3)
		}
	}
}

func TestFilesThatAreNotSealedSaySo(t *testing.T) {
	_, r := splitRelease(t)
	note := string(changesText(twoRevisions(true), r, bench.Resin))
	require.Contains(t, strings.Join(strings.Fields(note), " "), "later than revision B (2026-04-18) and are not sealed yet")
	require.Contains(t, note, "If you printed revision B")
	require.Less(t, strings.Index(note, "If you printed revision B"), strings.Index(note, "If you printed revision A"))
}

func TestArchivesHaveAChangeNoteOnlyWithARevision(t *testing.T) {
	site, r := splitRelease(t)
	top := "08-dredger-resin/"
	for _, c := range []reprint.Changes{{}, twoRevisions(false)} {
		d, err := Archive(context.Background(), site, r, bench.Resin, judged(t, r, c), sheet, Source{})
		require.NoError(t, err)
		again, err := Archive(context.Background(), site, r, bench.Resin, judged(t, r, c), sheet, Source{})
		require.NoError(t, err)
		require.Equal(t, d.SHA256, again.SHA256)
		_, files, _ := entries(t, d.Data)
		note, ok := files[top+ChangesFile]
		require.Equal(t, c.Any(), ok)
		require.Equal(t, c.Any(), strings.Contains(string(files[top+"README.txt"]), ChangesFile))
		require.Equal(t, c.Any(), strings.Contains(string(files[top+"README.txt"]), "These files are revision B"))
		if ok {
			require.Contains(t, string(files[top+"SHA256SUMS"]), sumOf(note)+" *"+ChangesFile+"\n")
		}
	}
}
