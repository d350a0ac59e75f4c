package release

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// copied is a copy of the content folder of the tests, to be changed.
func copied(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "content")
	require.NoError(t, os.CopyFS(dir, os.DirFS("../../testdata/content")))
	return dir
}

// loadSoon fails where Load waits for something.
func loadSoon(t *testing.T, dir string) (*Site, error) {
	t.Helper()
	type answer struct {
		s   *Site
		err error
	}
	done := make(chan answer, 1)
	go func() {
		s, err := Load(dir)
		done <- answer{s, err}
	}()
	select {
	case a := <-done:
		return a.s, a.err
	case <-time.After(20 * time.Second): // for a machine with much else to do
		t.Fatal("Load waits")
		return nil, nil
	}
}

func TestAPipeInPlaceOfAFolderIsToldAtOnce(t *testing.T) {
	for name, want := range map[string]string{
		"":                               "the content folder cannot be opened (it is not a folder)",
		"pages":                          "pages: the folder of pages cannot be read (it is not a folder)",
		"releases":                       "releases: the folder of releases cannot be read (it is not a folder)",
		"releases/01-harbour-gull/parts": "parts: the folder of parts cannot be read (it is not a folder)",
	} {
		t.Run(name, func(t *testing.T) {
			dir := copied(t)
			at := filepath.Join(dir, filepath.FromSlash(name))
			require.NoError(t, os.RemoveAll(at))
			require.NoError(t, syscall.Mkfifo(at, 0o600))
			_, err := loadSoon(t, dir)
			require.ErrorContains(t, err, want)
		})
	}
}

func TestPagesThatCannotBeReadAreTold(t *testing.T) {
	t.Run("a link that leads out", func(t *testing.T) {
		dir := copied(t)
		require.NoError(t, os.RemoveAll(filepath.Join(dir, "pages")))
		require.NoError(t, os.Symlink(t.TempDir(), filepath.Join(dir, "pages")))
		_, err := Load(dir)
		require.ErrorContains(t, err, "pages: the folder of pages cannot be read (it leads out of the content folder)")
	})
	t.Run("a link that leads nowhere", func(t *testing.T) {
		dir := copied(t)
		require.NoError(t, os.RemoveAll(filepath.Join(dir, "pages")))
		require.NoError(t, os.Symlink("nowhere", filepath.Join(dir, "pages")))
		_, err := Load(dir)
		require.ErrorContains(t, err, "pages: the folder of pages cannot be read (no such file)")
	})
	t.Run("no permission", func(t *testing.T) {
		if os.Geteuid() == 0 {
			t.Skip("the superuser may read everything")
		}
		dir := copied(t)
		require.NoError(t, os.Chmod(filepath.Join(dir, "pages"), 0))
		_, err := Load(dir)
		require.ErrorContains(t, err, "pages: the folder of pages cannot be read (permission denied)")
	})
	t.Run("none at all", func(t *testing.T) {
		dir := copied(t)
		require.NoError(t, os.RemoveAll(filepath.Join(dir, "pages")))
		_, err := Load(dir)
		require.NoError(t, err)
	})
}

func TestAPageMayNotTakeTheSitesOwnNames(t *testing.T) {
	for _, name := range OwnNames {
		dir := copied(t)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "pages", name+".md"), []byte("---\ntitle: Mine\n---\n"), 0o600))
		_, err := Load(dir)
		require.ErrorContains(t, err, "pages/"+name+".md: page name \""+name+"\" is that of a page or folder that every site has; rename it, for example more-"+name+".md")
	}
}

func TestWhatEditorsAndFileManagersLeaveStopsNothing(t *testing.T) {
	dir := copied(t)
	plain, err := Load(dir)
	require.NoError(t, err)
	for _, folder := range []string{"", "bench", "pages", "releases", "releases/01-harbour-gull", "releases/01-harbour-gull/parts", "releases/01-harbour-gull/parts/body"} {
		for _, name := range []string{
			"part.yaml~", "part.yaml.bak", "part.yaml.orig", "part.yaml.swp", ".part.yaml.swp", "#part.yaml#", ".#part.yaml", "part.yaml.tmp",
			"plates.yaml~", "prints.yaml~", "revisions.yaml.bak", "release.md~", "about.md.orig", "any.stl~", "resin.stl.bak", "filament.3mf.part", "#any.stl#",
			".DS_Store", "._any.stl", "Thumbs.db", "thumbs.db", "desktop.ini", "Icon\r", "~$notes.md", ".directory",
		} {
			require.NoError(t, os.WriteFile(filepath.Join(dir, filepath.FromSlash(folder), name), []byte("\x00"), 0o600))
		}
		for _, name := range []string{"__MACOSX", "@eaDir", "$RECYCLE.BIN", "System Volume Information", ".git", "body.old", "body~"} {
			require.NoError(t, os.MkdirAll(filepath.Join(dir, filepath.FromSlash(folder), name, "any.stl"), 0o700))
		}
	}
	again, err := Load(dir)
	require.NoError(t, err)
	require.Equal(t, plain, again)
}
