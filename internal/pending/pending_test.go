package pending

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

// killed makes a pending folder as a run leaves it that is killed in that state.
func killed(t *testing.T, target, state string) *Dir {
	t.Helper()
	d, err := MakeDir(target)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(d.New(), "page"), []byte("new"), 0o644))
	switch state {
	case whole:
		require.NoError(t, d.Ready())
	case aside:
		require.NoError(t, d.Ready())
		require.NoError(t, os.Rename(target, filepath.Join(d.path, aside)))
	}
	require.NoError(t, d.locked.Close())
	return d
}

func emptied(dir string) { os.Remove(filepath.Join(dir, "page")) }

// The next of the same place clears what a killed run left; a live run's, another
// place's and somebody else's stay.
func TestWhatAKilledRunLeftIsClearedAndNothingElse(t *testing.T) {
	if !locks {
		t.Skip("this system has no locks")
	}
	dir := t.TempDir()
	target := filepath.Join(dir, "site")
	killed(t, target, filling)
	killed(t, target, whole)
	killed(t, filepath.Join(dir, "site-two"), filling) // its name begins as that of "site" does
	live, err := MakeDir(target)
	require.NoError(t, err)
	require.NoError(t, os.Mkdir(filepath.Join(dir, ".pending-site-1"), 0o755)) // killed at its first step
	theirs := filepath.Join(dir, ".pending-site-2")
	require.NoError(t, os.Mkdir(theirs, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(theirs, "letter"), []byte("Dear Ada"), 0o644))
	odd := filepath.Join(dir, ".pending-site-notes")
	require.NoError(t, os.Mkdir(odd, 0o755))

	require.Empty(t, ClearDirs(target, emptied))
	left := names(t, dir)
	require.Len(t, left, 4, "%v", left)
	require.Contains(t, left, filepath.Base(live.path))
	require.FileExists(t, filepath.Join(theirs, "letter"))
	require.DirExists(t, odd)

	require.Empty(t, live.Close())
	require.Empty(t, ClearDirs(filepath.Join(dir, "site-two"), emptied))
	require.Len(t, names(t, dir), 2)
}

// A run that is killed while nothing stands at the place has the old folder put back.
func TestAFolderThatWasTakenAwayIsPutBack(t *testing.T) {
	if !locks {
		t.Skip("this system has no locks")
	}
	target := filepath.Join(t.TempDir(), "site")
	require.NoError(t, os.Mkdir(target, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(target, "page"), []byte("old"), 0o644))
	killed(t, target, aside)
	require.NoDirExists(t, target)
	require.Empty(t, ClearDirs(target, emptied))
	data, err := os.ReadFile(filepath.Join(target, "page"))
	require.NoError(t, err)
	require.Equal(t, "old", string(data))
	require.Len(t, names(t, filepath.Dir(target)), 1)
}

// What the caller does not empty is left, with its place.
func TestWhatIsNotEmptiedStays(t *testing.T) {
	if !locks {
		t.Skip("this system has no locks")
	}
	target := filepath.Join(t.TempDir(), "site")
	d := killed(t, target, whole)
	require.NoError(t, os.WriteFile(filepath.Join(d.Whole(), "letter"), []byte("Dear Ada"), 0o644))
	require.Equal(t, []string{d.Whole()}, ClearDirs(target, emptied))
	require.FileExists(t, filepath.Join(d.Whole(), "letter"))
}

func TestAFileOfAKilledRunIsClearedByTheNextOfThatName(t *testing.T) {
	if !locks {
		t.Skip("this system has no locks")
	}
	dir := t.TempDir()
	live, err := create(dir, "prints.yaml")
	require.NoError(t, err)
	dead, err := create(dir, "prints.yaml")
	require.NoError(t, err)
	other, err := create(dir, "revisions.yaml")
	require.NoError(t, err)
	require.NoError(t, dead.Close())
	require.NoError(t, other.Close())

	require.NoError(t, WriteFile(filepath.Join(dir, "prints.yaml"), []byte("- print")))
	require.ElementsMatch(t, []string{filepath.Base(live.Name()), filepath.Base(other.Name()), "prints.yaml"}, names(t, dir))
	require.NoError(t, live.Close())
	require.NoError(t, WriteFile(filepath.Join(dir, "prints.yaml"), []byte("- print\n- print")))
	require.ElementsMatch(t, []string{filepath.Base(other.Name()), "prints.yaml"}, names(t, dir))
}
