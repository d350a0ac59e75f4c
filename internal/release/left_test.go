//go:build unix

package release

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
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

// withNotes is a copy of the content folder of the tests whose release has other
// notes, and whose page another text.
func withNotes(t *testing.T, body string) string {
	t.Helper()
	dir := copied(t)
	file := filepath.Join(dir, "releases/01-harbour-gull/release.md")
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	head := data[:bytes.LastIndex(data, []byte("\n---\n"))+5]
	require.NoError(t, os.WriteFile(file, append(head, body...), 0o600))
	return dir
}

func TestLinksThatLeadNowhereAreTold(t *testing.T) {
	for body, want := range map[string]string{
		"[a](/plates/none/)":                     `the address "/plates/none/" leads to no page of the site; expected `,
		"[a](/abuot/)":                           `the address "/abuot/" leads to no page of the site; did you mean "/about/"?`,
		"[a](/about)":                            `the address "/about" does not end in a slash, as a page's does; write "/about/"`,
		"[a](about.md)":                          `the address "about.md" is relative, and notes are shown on more than one page; write it from the site's root, did you mean "/about/"?`,
		"[a](../02-moth/)":                       `the address "../02-moth/" is relative`,
		"[a]()":                                  `the link has no address`,
		"[a](#prats)":                            `there is no place "#prats" on the page of "Harbour gull"; did you mean "parts"?`,
		"[a](#notes-asembly)\n\n## Assembly":     `there is no place "#notes-asembly" on the page of "Harbour gull"; did you mean "notes-assembly"?`,
		"[a](#part-99)":                          `there is no place "#part-99"`,
		"[a](/releases/01-harbour-gull/#x9)":     `there is no place "#x9" on the page of`,
		"Term\n: [a](/none/)":                    `the address "/none/" leads to no page`,
		"| `a` |\n|---|\n| [a](/none/) |":        `the address "/none/" leads to no page`,
		"[a](\\\\evil.example)":                  `the address "\\\\evil.example" is relative`,
		"## C\n\n[a][b]\n\n## D\n\n[b]: /abuot/": `release.md:34:1: the address "/abuot/" leads to no page of the site; did you mean "/about/"?`,
		"[b]: /about/\n\n## C\n\n[B]: /plates/":  `release.md:36:1: the address of [B] is defined a second time`,
		"[a](ftp://figures.example/a)":           `the address "ftp://figures.example/a" cannot stand on a page`,
	} {
		_, err := Load(withNotes(t, body))
		require.ErrorContains(t, err, want, body)
	}
	s, err := Load(withNotes(t, "[a](/) [b](/about/) [c](/releases/01-harbour-gull/#parts) [d](#part-1) [e](#notes-how-to) [f](https://figures.example/) [g](//figures.example) [h](mailto:a@figures.example) [i](/how-measured/#holes) [j](/plates/index.html) [k](/feed.xml) [l]\n\n## How to\n\n[l]: /about/\n"))
	require.NoError(t, err)
	for _, p := range s.Bench.Plates {
		_, err := Load(withNotes(t, "[a](/plates/"+p.ID+"/)"))
		require.NoError(t, err)
	}
}

// The tree that is rendered is what is looked at: definitions and cells of tables
// hide no image.
func TestNoImageHidesFromTheCheck(t *testing.T) {
	for _, body := range []string{
		"Term\n: ![a](c.png)", "| `|` ![a](c.png) |\n|---|\n", "| a | b |\n|---|---|\n| `|` ![a](c.png) | x |\n", "~~![a](c.png)~~", "> - ![a][b]\n\n[b]: c.png",
	} {
		_, err := Load(withNotes(t, body))
		require.ErrorContains(t, err, `image "c.png" is not published`, body)
	}
}

func TestNotesThatWouldExplodeAreToldBeforeTheyAreParsed(t *testing.T) {
	for name, c := range map[string]struct{ body, want string }{
		"quote marks":       {strings.Repeat(">", 10_000), "quotations and lists nest deeper than 32 levels here"},
		"list markers":      {strings.Repeat("- ", 9_000) + "a", "quotations and lists nest deeper than 32 levels here"},
		"a line":            {strings.Repeat("a", 100_000), "this line is longer than 20000 bytes"},
		"links":             {strings.Repeat("[a](\n", 50_000), "more square brackets"},
		"definitions":       {strings.Repeat("[a]: b\n", 100_000), "square brackets"},
		"definitions apart": {strings.Repeat("[a]: b\n\n", 2_000), "more than 1000 definitions"},
		"a wide table":      {strings.Repeat("|a", 50_000) + "|\n" + strings.Repeat("|-", 50_000) + "|\n", "longer than 20000 bytes"},
		"wide, shorter":     {strings.Repeat("|a", 5_000) + "|\n" + strings.Repeat("|-", 5_000) + "|\n", "more than 100 vertical bars"},
		"a long reference":  {"[a]: /" + strings.Repeat("x", 15_000) + "\n\n" + strings.Repeat("[a] [a] [a] [a] [a]\n\n", 400), "the addresses of all links would take more than 1024 KiB"},
		"sections":          {strings.Repeat("## a\n\n", 301), "more than 300 sections"},
		"emphasis":          {strings.Repeat("*a **b\n", 2_000) + strings.Repeat("x** x*\n", 2_000), "nests deeper than 100 levels"},
	} {
		_, err := loadSoon(t, withNotes(t, c.body))
		require.ErrorContains(t, err, c.want, name)
		require.Regexp(t, `release\.md:[0-9]+:[0-9]+: `, err.Error(), name)
	}
}
