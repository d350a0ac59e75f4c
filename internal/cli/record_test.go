package cli

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/release"
)

// recordDay is today in these tests.
var recordDay = time.Date(2026, 2, 3, 22, 0, 0, 0, time.UTC)

// recordSite is a copy of the small content folder.
func recordSite(t *testing.T) string {
	t.Helper()
	root := filepath.Join(t.TempDir(), "content")
	require.NoError(t, os.CopyFS(root, os.DirFS(filepath.Join("..", "..", "testdata", "content"))))
	return root
}

// recordTalk answers record's questions with lines, and returns all that it said
// and the entry.
func recordTalk(t *testing.T, root string, lines ...string) (said string, log []release.Print, err error) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	o := recordOptions{content: root, changed: func(string) bool { return false }}
	err = o.run(t.Context(), "1", newAsker(strings.NewReader(strings.Join(lines, "\n")+"\n"), &stderr), recordDay, &stdout, &stderr)
	s, lerr := release.Load(root)
	require.NoError(t, lerr)
	return strings.ReplaceAll(stderr.String()+stdout.String(), filepath.ToSlash(root), "content"), s.Releases[0].Log, err
}

func TestRecordAsksUntilTheAnswerIsRight(t *testing.T) {
	root := recordSite(t)
	said, log, err := recordTalk(t, root,
		"2026-02-30", "2026-02-04", "", // a day that is none, tomorrow, today
		"reson", "rigid-resin", // a slip
		"bodi", "body wing", // a slip
		"",      // the plate that is the standard, or none
		"0", "", // no layer; that of the notes
		"steep", "45", "-35 y", // no tilt, no axis
		"inner faces: light",
		"", "grand", "good", // it must be told, in a word that is known
		"-",                           // nothing happened
		"none.jpg", "photos/side.png", // no file
	)
	require.NoError(t, err)
	require.Len(t, log, 1)
	p := log[0]
	require.Equal(t, "2026-02-03", p.Date.Format(time.DateOnly))
	require.Equal(t, []string{"body", "wing"}, p.Parts)
	require.Equal(t, "rigid-resin", p.Stock[0].Material.ID)
	require.Equal(t, 0.05, p.Layer)
	require.Equal(t, -35.0, p.Tilt)
	require.Equal(t, "y", p.TiltAbout)
	require.Equal(t, "inner faces: light", p.Supports)
	require.Equal(t, release.Good, p.Outcome)
	require.Empty(t, p.Remark)
	require.Equal(t, "photos/side.png", p.Photo)
	require.Len(t, p.Meshes, 2)
	require.Equal(t, release.CutFor(bench.Resin), p.Meshes[0].Cut)
	require.Equal(t, release.CutAny, p.Meshes[1].Cut)
	require.NotEqual(t, p.Meshes[0].Fingerprint, p.Meshes[1].Fingerprint)
	for _, want := range []string{
		"Enter takes what stands in brackets. A hyphen leaves a question open.\nDate of the print [2026-02-03]: Date \"2026-02-30\" is not a calendar date; expected year-month-day, such as 2026-03-14.\n",
		"Date 2026-02-04 is still to come; expected today, 2026-02-03, or a day before.\n",
		"Material, or a blend such as rigid-resin=80,tough-resin=20: Material \"reson\" is not on the bench; ",
		"Parts, or whole for all that a print needs: There is no part \"bodi\"; did you mean \"body\"?\n",
		"Layer height, mm [0.05]: Layer 0 is out of range; expected one such as 0.05.\n",
		"\"steep\" is not a tilt and its axis; expected degrees and x or y, such as 30 x, or 0.\n",
		"\"45\" is not a tilt and its axis;",
		"  (good, usable, failed)\nOutcome: This one needs an answer.\n",
		"Outcome \"grand\" is not known; expected good, usable or failed.\n",
		"Photo \"none.jpg\" is not in the release's folder; copy it to ",
		"content/releases/01-harbour-gull/prints.yaml:2: recorded body and wing in ",
	} {
		require.Contains(t, said, want)
	}
}

func TestRecordAsksWhichOfAChoice(t *testing.T) {
	root := recordSite(t)
	said, log, err := recordTalk(t, root, "", "rigid-resin", "whole", "beak", "beak-shut", "-", "-", "-", "", "failed", "It fell off.", "")
	require.NoError(t, err)
	require.Contains(t, said, "  (beak-open, beak-shut)\nA beak: which was printed: \"beak\" is none of them; expected beak-open or beak-shut.\n")
	require.True(t, log[0].Whole)
	require.Empty(t, log[0].Plate)
	require.Empty(t, log[0].TiltAbout)
	require.Equal(t, "It fell off.", log[0].Remark)
	var parts []string
	for _, m := range log[0].Meshes {
		parts = append(parts, m.Part)
	}
	require.Equal(t, []string{"body", "wing", "beak-shut", "stand"}, parts)
}

func TestAnswersThatEndRecordNothing(t *testing.T) {
	root := recordSite(t)
	said, log, err := recordTalk(t, root, "", "rigid-resin")
	require.ErrorIs(t, err, errEndOfAnswers)
	require.Empty(t, log)
	require.Contains(t, said, "Parts, or whole")
	require.NoFileExists(t, filepath.Join(root, "releases/01-harbour-gull/prints.yaml"))
}

// A person who gives up is not held at a question.
func TestRecordStopsAtAQuestion(t *testing.T) {
	root := recordSite(t)
	never, write := io.Pipe()
	defer write.Close()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	o := recordOptions{content: root, changed: func(string) bool { return false }}
	require.ErrorIs(t, o.run(ctx, "1", newAsker(never, io.Discard), recordDay, io.Discard, io.Discard), context.Canceled)
}
