package outdir_test

import (
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	"cardback/internal/outdir"
)

func write(t *testing.T, path, text string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
}

func read(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(data)
}

// site fills a folder with a page in it and one below.
func site(text string) func(dir string) error {
	return func(dir string) error {
		return errors.Join(
			os.WriteFile(filepath.Join(dir, "index.html"), []byte(text), 0o644),
			os.MkdirAll(filepath.Join(dir, "releases", text), 0o755),
			os.WriteFile(filepath.Join(dir, "releases", text, "index.html"), []byte(text), 0o644))
	}
}

func replace(t *testing.T, target, text string, keep ...string) outdir.Written {
	t.Helper()
	w, err := outdir.Replace(target, keep, site(text))
	require.NoError(t, err)
	return w
}

// alone makes sure that nothing is left beside the target.
func alone(t *testing.T, target string) {
	t.Helper()
	left, err := os.ReadDir(filepath.Dir(target))
	require.NoError(t, err)
	require.Len(t, left, 1, "nothing is left beside the target: %v", left)
}

func TestAFolderIsReplacedWhole(t *testing.T) {
	target := filepath.Join(t.TempDir(), "site")
	w := replace(t, target, "one")
	require.Equal(t, 3, w.Files)
	replace(t, target, "two")
	require.Equal(t, "two", read(t, filepath.Join(target, "index.html")))
	require.NoDirExists(t, filepath.Join(target, "releases", "one"))
	require.NoError(t, outdir.Check(target, nil))
	alone(t, target)
}

// The list is one that sha256sum reads, outside the program, and names every file.
func TestTheListPassesSha256sum(t *testing.T) {
	tool, err := exec.LookPath("sha256sum")
	if err != nil {
		t.Skip("there is no sha256sum")
	}
	target := filepath.Join(t.TempDir(), "site")
	replace(t, target, "one")
	cmd := exec.Command(tool, "--strict", "-c", outdir.List)
	cmd.Dir = target
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	require.Equal(t, 2, strings.Count(string(out), ": OK"))
}

// Whatever somebody put into the folder stops the work before it begins, by name, and
// stays. Each case is tried on a folder that was written, with its list.
func TestWhatIsNotOursIsRefusedByNameAndStays(t *testing.T) {
	for name, c := range map[string]struct {
		put  func(t *testing.T, target string)
		says string
	}{
		"a file":           {func(t *testing.T, d string) { write(t, filepath.Join(d, "CNAME"), "figures.example") }, `build did not write: "CNAME"`},
		"a hidden file":    {func(t *testing.T, d string) { write(t, filepath.Join(d, ".well-known"), "") }, `".well-known"`},
		"a hidden folder":  {func(t *testing.T, d string) { write(t, filepath.Join(d, ".git", "HEAD"), "ref") }, `".git/"`},
		"a note below":     {func(t *testing.T, d string) { write(t, filepath.Join(d, "releases", "one", "note.txt"), "x") }, `"releases/one/note.txt"`},
		"an empty folder":  {func(t *testing.T, d string) { require.NoError(t, os.Mkdir(filepath.Join(d, "drafts"), 0o755)) }, `"drafts/"`},
		"an edited page":   {func(t *testing.T, d string) { write(t, filepath.Join(d, "index.html"), "<h1>mine</h1>") }, `changed since build wrote them: "index.html"`},
		"a link to a page": {func(t *testing.T, d string) { require.NoError(t, os.Symlink("index.html", filepath.Join(d, "home"))) }, `"home"`},
		"a page that is now a link": {func(t *testing.T, d string) {
			at := filepath.Join(d, "index.html")
			require.NoError(t, os.Rename(at, filepath.Join(filepath.Dir(d), "moved")))
			require.NoError(t, os.Symlink(filepath.Join("..", "moved"), at))
		}, `"index.html"`},
		"a folder that is now a link out": {func(t *testing.T, d string) {
			at := filepath.Join(d, "releases")
			require.NoError(t, os.Rename(at, filepath.Join(filepath.Dir(d), "outside")))
			require.NoError(t, os.Symlink(filepath.Join("..", "outside"), at))
		}, `"releases"`},
	} {
		t.Run(name, func(t *testing.T) {
			target := filepath.Join(t.TempDir(), "site")
			replace(t, target, "one")
			c.put(t, target)
			before := tree(t, filepath.Dir(target))
			called := false
			_, err := outdir.Replace(target, nil, func(string) error { called = true; return nil })
			require.ErrorIs(t, err, outdir.ErrForeign)
			require.ErrorContains(t, err, c.says)
			require.False(t, called, "the work did not begin")
			require.Equal(t, before, tree(t, filepath.Dir(target)))
		})
	}
}

// A folder without a list is nobody's to replace, whatever its files are called.
func TestAFolderWithoutOurListIsNotReplaced(t *testing.T) {
	for name, files := range map[string][]string{
		"with a catalogue.json":     {"catalogue.json", "notes.txt"},
		"with another's SHA256SUMS": {"SHA256SUMS"},
		"with one file":             {"index.html"},
	} {
		t.Run(name, func(t *testing.T) {
			target := filepath.Join(t.TempDir(), "site")
			for _, f := range files {
				write(t, filepath.Join(target, f), "{}")
			}
			_, err := outdir.Replace(target, nil, site("new"))
			require.ErrorIs(t, err, outdir.ErrForeign)
			for _, f := range files {
				require.Equal(t, "{}", read(t, filepath.Join(target, f)))
			}
		})
	}
}

// A list that names files outside the folder, or all of a stranger's, removes none of them.
func TestAForgedListRemovesNothing(t *testing.T) {
	dir := t.TempDir()
	target := filepath.Join(dir, "site")
	replace(t, target, "one")
	write(t, filepath.Join(dir, "letter"), "Dear Ada")
	list := filepath.Join(target, outdir.List)
	text := read(t, list)
	sum, _, _ := strings.Cut(strings.SplitN(text, "\n", 3)[1], " ")
	for _, path := range []string{"../letter", filepath.Join(dir, "letter"), "releases/../../letter", ""} {
		write(t, list, text+sum+" *"+path+"\n")
		replace(t, target, "one")
	}
	require.Equal(t, "Dear Ada", read(t, filepath.Join(dir, "letter")))
}

// What the caller names is kept: files and folders, with their modes and times.
func TestDeployFilesAreKept(t *testing.T) {
	target := filepath.Join(t.TempDir(), "site")
	keep := []string{"CNAME", ".git", ".well-known", "old"}
	replace(t, target, "one", keep...) // none of them is there yet
	write(t, filepath.Join(target, "CNAME"), "figures.example")
	write(t, filepath.Join(target, ".git", "objects", "ab", "cd"), "blob")
	require.NoError(t, os.Chmod(filepath.Join(target, ".git", "objects", "ab", "cd"), 0o440))
	require.NoError(t, os.Symlink("CNAME", filepath.Join(target, "old")))
	require.NoError(t, os.Mkdir(filepath.Join(target, ".git", "refs"), 0o700))
	for _, text := range []string{"two", "three"} {
		w := replace(t, target, text, keep...)
		require.Equal(t, 3, w.Files, "what is kept is not counted")
		require.Empty(t, w.Left)
		require.Equal(t, "figures.example", read(t, filepath.Join(target, "CNAME")))
		require.Equal(t, "blob", read(t, filepath.Join(target, ".git", "objects", "ab", "cd")))
		info, err := os.Stat(filepath.Join(target, ".git", "objects", "ab", "cd"))
		require.NoError(t, err)
		require.Equal(t, fs.FileMode(0o440), info.Mode().Perm())
		info, err = os.Stat(filepath.Join(target, ".git", "refs"))
		require.NoError(t, err)
		require.Equal(t, fs.FileMode(0o700), info.Mode().Perm())
		to, err := os.Readlink(filepath.Join(target, "old"))
		require.NoError(t, err)
		require.Equal(t, "CNAME", to)
		alone(t, target)
	}
	require.NotContains(t, read(t, filepath.Join(target, outdir.List)), "CNAME")
	require.ErrorIs(t, outdir.Check(target, nil), outdir.ErrForeign, "without a word nothing is kept, and nothing removed")

	_, err := outdir.Replace(target, []string{"index.html"}, site("four"))
	require.Error(t, err, "a name that is written cannot be kept")
}

// A file that comes while the work is done is found before the old folder goes.
func TestWhatComesMeanwhileStays(t *testing.T) {
	target := filepath.Join(t.TempDir(), "site")
	replace(t, target, "one")
	_, err := outdir.Replace(target, nil, func(dir string) error {
		write(t, filepath.Join(target, "CNAME"), "figures.example")
		return site("two")(dir)
	})
	require.ErrorIs(t, err, outdir.ErrForeign)
	require.Equal(t, "one", read(t, filepath.Join(target, "index.html")))
	require.Equal(t, "figures.example", read(t, filepath.Join(target, "CNAME")))
	alone(t, target)
}

func TestReplaceIsAllOrNothing(t *testing.T) {
	target := filepath.Join(t.TempDir(), "site")
	replace(t, target, "one")
	boom := errors.New("boom")
	_, err := outdir.Replace(target, nil, func(dir string) error { return errors.Join(site("two")(dir), boom) })
	require.ErrorIs(t, err, boom)
	require.Equal(t, "one", read(t, filepath.Join(target, "index.html")))
	alone(t, target)
}

func TestRunsThatEndTogetherBothSucceed(t *testing.T) {
	target := filepath.Join(t.TempDir(), "site")
	for range 20 {
		var g errgroup.Group
		start := make(chan struct{})
		for i := range 4 {
			g.Go(func() error {
				_, err := outdir.Replace(target, nil, func(dir string) error {
					err := os.WriteFile(filepath.Join(dir, "run"), []byte{byte(i)}, 0o644)
					if i == 3 {
						close(start)
					}
					<-start
					return err
				})
				return err
			})
		}
		require.NoError(t, g.Wait())
		require.FileExists(t, filepath.Join(target, "run"), "one of them whole")
		alone(t, target)
	}
}

// A server reads the site as another user: the umask does not decide whether it can.
func TestModesDoNotDependOnTheUmask(t *testing.T) {
	old := syscall.Umask(0o077)
	defer syscall.Umask(old)
	target := filepath.Join(t.TempDir(), "made", "too", "site")
	replace(t, target, "one")
	require.NoError(t, filepath.WalkDir(filepath.Dir(filepath.Dir(target)), func(path string, d fs.DirEntry, err error) error {
		require.NoError(t, err)
		info, err := d.Info()
		require.NoError(t, err)
		want := fs.FileMode(0o644)
		if d.IsDir() {
			want = 0o755
		}
		require.Equal(t, want, info.Mode().Perm(), path)
		return nil
	}))
}

// tree is every path below dir with its kind and content.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		require.NoError(t, err)
		out[path] = d.Type().String()
		if d.Type().IsRegular() {
			out[path] += read(t, path)
		}
		return nil
	}))
	return out
}
