package site

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"flag"
	"io/fs"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"cardback/internal/bench"
)

var update = flag.Bool("update", false, "write the golden files anew")

// element is what these tests ask of an HTML element.
type element struct {
	name string
	attr map[string]string
}

// elements parses a page and lists its elements in document order.
func elements(t *testing.T, page []byte) []element {
	t.Helper()
	doc, err := html.Parse(bytes.NewReader(page))
	require.NoError(t, err)
	var out []element
	for n := range doc.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		e := element{n.Data, map[string]string{}}
		if n.Namespace != "" {
			e.name = n.Namespace + ":" + n.Data // a drawing's title is not the page's
		}
		for _, a := range n.Attr {
			e.attr[a.Key] = a.Val
		}
		out = append(out, e)
	}
	return out
}

func sortedPages(site map[string][]byte) []string {
	var out []string
	for name := range site {
		if path.Ext(name) == ".html" {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

// files reads a whole site.
func files(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	require.NoError(t, filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, p)
		if err != nil {
			return err
		}
		out[filepath.ToSlash(rel)], err = os.ReadFile(p)
		return err
	}))
	return out
}

var once struct {
	sync.Once
	site map[string][]byte
}

// built is the fixture's site, built once for all tests that only read it.
func built(t *testing.T) map[string][]byte {
	t.Helper()
	once.Do(func() { once.site = files(t, newFixture(t).build()) })
	require.NotNil(t, once.site)
	return once.site
}

func TestEveryPageKeepsTheRules(t *testing.T) {
	site := built(t)
	pages := 0
	for name, content := range site {
		if path.Ext(name) != ".html" {
			continue
		}
		pages++
		t.Run(name, func(t *testing.T) { checkPage(t, site, name, content) })
	}
	require.Greater(t, pages, 12)
}

// checkPage holds one page against the promises of the package.
func checkPage(t *testing.T, site map[string][]byte, name string, content []byte) {
	els := elements(t, content)
	counts, ids, level := map[string]int{}, map[string]bool{}, 0
	for _, e := range els {
		counts[e.name]++
		if id, ok := e.attr["id"]; ok {
			require.False(t, ids[id], "id %q twice", id)
			ids[id] = true
		}
		require.NotContains(t, e.attr, "style")
		for a := range e.attr {
			require.False(t, strings.HasPrefix(a, "on"), "event attribute %s", a)
		}
		if len(e.name) == 2 && e.name[0] == 'h' && e.name[1] >= '1' && e.name[1] <= '6' {
			l := int(e.name[1] - '0')
			require.LessOrEqual(t, l, level+1, "a heading level is skipped")
			level = l
		}
		if e.name == "img" {
			require.Contains(t, e.attr, "alt")
		}
		if e.name == "html" {
			require.NotEmpty(t, e.attr["lang"])
		}
	}
	require.Equal(t, 1, counts["h1"])
	require.Equal(t, 1, counts["main"])
	require.Equal(t, 1, counts["title"])
	require.Zero(t, counts["style"]+counts["iframe"]+counts["base"])
	for _, e := range els {
		if e.name != "script" {
			continue
		}
		if e.attr["type"] == "application/json" { // not run, only read
			require.NotContains(t, e.attr, "src")
			continue
		}
		require.NotContains(t, e.attr, "type")
		require.Contains(t, e.attr["src"], "assets/my-plate-", "scripts are the theme's own files")
		require.Contains(t, e.attr, "defer")
	}
	for _, e := range els {
		for _, a := range []string{"href", "src", "xlink:href", "srcset", "action", "poster", "data"} {
			if v, ok := e.attr[a]; ok {
				checkAddress(t, site, name, e, v)
			}
		}
	}
}

func checkAddress(t *testing.T, site map[string][]byte, page string, e element, v string) {
	u, err := url.Parse(v)
	require.NoError(t, err)
	if u.Scheme != "" || u.Host != "" {
		require.Equal(t, "a", e.name, "%s refers to another origin: %s", e.name, v)
		require.Contains(t, e.attr["rel"], "noopener", v)
		return
	}
	target := path.Join(path.Dir(page), u.Path)
	if page == "404.html" && u.Path != "" {
		require.True(t, strings.HasPrefix(u.Path, "/range/"), "%s must begin at the base address's path", v)
		target = strings.TrimPrefix(u.Path, "/range/")
	} else {
		require.False(t, strings.HasPrefix(v, "/"), "absolute address %s", v)
	}
	if u.Path == "" {
		target = page
	}
	content, ok := site[target]
	require.True(t, ok, "%s links to %s, which is not there", page, v)
	if u.Fragment != "" {
		found := false
		for _, other := range elements(t, content) {
			found = found || other.attr["id"] == u.Fragment
		}
		require.True(t, found, "%s links to %s: no such fragment", page, v)
	}
}

func TestTwoBuildsAreByteIdentical(t *testing.T) {
	a, b := built(t), files(t, newFixture(t).build())
	require.Equal(t, len(a), len(b))
	for name := range a {
		require.True(t, bytes.Equal(a[name], b[name]), "%s differs", name)
	}
}

// RFC 4287, 4.1.1 and 4.1.2: what a feed and an entry must have.
func TestFeedHasWhatAtomRequires(t *testing.T) {
	content := built(t)["feed.xml"]
	var f struct {
		XMLName xml.Name `xml:"http://www.w3.org/2005/Atom feed"`
		ID      string   `xml:"http://www.w3.org/2005/Atom id"`
		Title   string   `xml:"http://www.w3.org/2005/Atom title"`
		Updated string   `xml:"http://www.w3.org/2005/Atom updated"`
		Author  struct {
			Name string `xml:"name"`
		} `xml:"http://www.w3.org/2005/Atom author"`
		Links []struct {
			Rel  string `xml:"rel,attr"`
			Href string `xml:"href,attr"`
		} `xml:"http://www.w3.org/2005/Atom link"`
		Entries []struct {
			ID      string `xml:"id"`
			Title   string `xml:"title"`
			Updated string `xml:"updated"`
			Summary string `xml:"summary"`
		} `xml:"http://www.w3.org/2005/Atom entry"`
	}
	require.NoError(t, xml.Unmarshal(content, &f))
	require.Equal(t, "https://example.org/range/", f.ID)
	require.NotEmpty(t, f.Title)
	require.NotEmpty(t, f.Author.Name)
	require.Len(t, f.Entries, 3)
	ids := map[string]bool{}
	last := time.Now().AddDate(1000, 0, 0)
	for _, e := range f.Entries {
		require.NotEmpty(t, e.Title)
		require.NotEmpty(t, e.Summary)
		require.False(t, ids[e.ID])
		ids[e.ID] = true
		u, err := url.Parse(e.ID)
		require.NoError(t, err)
		require.True(t, u.IsAbs())
		at, err := time.Parse(time.RFC3339, e.Updated)
		require.NoError(t, err)
		require.False(t, at.After(last), "newest first")
		last = at
	}
	_, err := time.Parse(time.RFC3339, f.Updated)
	require.NoError(t, err)
}

func TestSitemapListsEveryPageButTheMissing(t *testing.T) {
	site := built(t)
	var m struct {
		URLs []struct {
			Loc string `xml:"loc"`
		} `xml:"url"`
	}
	require.NoError(t, xml.Unmarshal(site["sitemap.xml"], &m))
	listed := map[string]bool{}
	for _, u := range m.URLs {
		name, ok := strings.CutPrefix(u.Loc, "https://example.org/range/")
		require.True(t, ok)
		require.Contains(t, site, name)
		listed[name] = true
	}
	for name := range site {
		if path.Ext(name) == ".html" && name != "404.html" {
			require.True(t, listed[name], "%s is not in the sitemap", name)
		}
	}
	require.Contains(t, string(site["robots.txt"]), "https://example.org/range/sitemap.xml")
}

func TestDataNamesFilesThatAreThere(t *testing.T) {
	site := built(t)
	var c struct {
		Releases []struct {
			Page, Data string
		}
	}
	require.NoError(t, json.Unmarshal(site["catalogue.json"], &c))
	require.Len(t, c.Releases, 3)
	for _, line := range c.Releases {
		require.Contains(t, site, line.Page)
		require.Contains(t, site, line.Data)
		var r struct {
			Parts []struct {
				Cuts []struct {
					Error string
					Size  []float64 `json:"size_mm"`
					Files []struct {
						Path   string
						Bytes  int64 `json:"size_bytes"`
						SHA256 string
					}
				}
			}
			Archives []struct{ Path string }
		}
		require.NoError(t, json.Unmarshal(site[line.Data], &r))
		require.NotEmpty(t, r.Archives)
		for _, a := range r.Archives {
			require.Contains(t, site, a.Path)
		}
		for _, p := range r.Parts {
			for _, cut := range p.Cuts {
				if cut.Error != "" {
					require.Empty(t, cut.Files)
					continue
				}
				require.Len(t, cut.Size, 3)
				require.NotEmpty(t, cut.Files)
				for _, f := range cut.Files {
					require.Len(t, site[f.Path], int(f.Bytes))
				}
			}
		}
	}
}

func TestNotesKeepToTheOutlineAndBringNothingFromElsewhere(t *testing.T) {
	site := built(t)
	page := string(site["releases/01-lantern/index.html"])
	require.Contains(t, page, "<h3>Glue</h3>")
	require.Contains(t, page, "<h3>Loud</h3>")
	require.Contains(t, page, `id="notes-assembly-2"`)
	require.NotContains(t, page, "<img")
	require.Contains(t, page, `<a href="https://example.org/far.png" rel="noopener">far</a>`)
	about := string(site["about/index.html"])
	require.Contains(t, about, "<h2>Who</h2>")
	require.Contains(t, about, `href="../materials/index.html"`)
	require.NotContains(t, about, "<b>")
}

func TestAssemblySheetNeedsNothingBesideIt(t *testing.T) {
	f := newFixture(t)
	b := &builder{ctx: t.Context(), in: f.input()}
	r := f.in.Site.Releases[0]
	p := ReleasePage{Frame: b.frame(releasePath(r), r.Title, r.Summary), Parts: b.partRows(r), Takes: Takes{Hardware: b.hardwareRows(r)}, Print: b.printRows(r), Safety: Safety{Cautions: cautionRows(b.in.Of(r.Number).Cautions)}}
	sheet, err := b.assemblySheet(r, bench.Resin, &p)
	require.NoError(t, err)
	for _, e := range elements(t, sheet) {
		require.NotContains(t, []string{"script", "link", "img", "iframe"}, e.name)
		require.NotContains(t, e.attr, "src")
	}
	require.Contains(t, string(sheet), "Cut the rod")
	require.Contains(t, string(sheet), "80 % tough")
	require.NotContains(t, string(sheet), "15 %", "settings of the other process")
}

func TestCancelledBuildStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, Build(ctx, newFixture(t).input(), t.TempDir()), context.Canceled)
}

// The page of the release that cannot be read in part, whole, as reviewed.
func TestReleasePageIsAsReviewed(t *testing.T) {
	site := built(t)
	got := site["releases/02-crate/index.html"]
	golden := filepath.Join("testdata", "release.golden.html")
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(golden, got, 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	require.Equal(t, string(want), string(got), "run go test ./internal/site -update and review the difference")
}

func TestEmptySiteIsStillASite(t *testing.T) {
	f := newFixture(t)
	f.in.Site.Releases, f.in.Cells, f.in.Findings = nil, nil, nil
	f.in.Site.Bench.Plates, f.in.Site.Bench.Materials, f.in.Site.Bench.Hardware = nil, nil, nil
	site := files(t, f.build())
	for name, content := range site {
		if path.Ext(name) == ".html" {
			checkPage(t, site, name, content)
		}
	}
	require.Contains(t, string(site["index.html"]), "Nothing has been released yet.")
}
