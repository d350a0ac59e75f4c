package site

import (
	"encoding/xml"
	"html/template"
	"io"
	"path"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/verdict/backlog"
)

// withHistory gives the fixture's first release two revisions and a print between
// them.
func (f *fixture) withHistory() {
	r := &f.in.Site.Releases[0]
	at := func(d int) time.Time { return time.Date(2026, 5, d, 0, 0, 0, 0, time.UTC) }
	mesh := f.in.Survey.Of(r.Parts[1].Cuts[0]).Report.Fingerprint
	arm := release.SealedPart{Slug: "arm", Name: "Arm", Quantity: 1, Cuts: []release.SealedCut{{Kind: release.CutAny, Fingerprint: mesh}}}
	body := release.SealedPart{Slug: "body", Name: "Body", Quantity: 1, Cuts: []release.SealedCut{{Kind: release.CutFor(bench.Filament), Fingerprint: "b"}}}
	r.Revisions = []release.Revision{
		{Name: "A", Date: at(3), Note: "First.", Parts: []release.SealedPart{arm}},
		{Name: "B", Date: at(13), Note: "A body.", Parts: []release.SealedPart{arm, body}},
	}
	resin := f.in.Site.Bench.Materials[0]
	r.Log = []release.Print{{Date: at(8), Outcome: release.Good, Stock: []release.Share{{Material: resin, Share: 1}}, Parts: []string{"arm"}, Meshes: []release.MeshUsed{{Part: "arm", Cut: release.CutAny, Fingerprint: mesh}}}}
}

func withBacklog(t *testing.T) map[string][]byte {
	f := newFixture(t)
	f.withHistory()
	f.in.Backlog = true
	f.in.Cells, f.in.Plates, f.in.Findings = nil, nil, nil
	return files(t, f.build())
}

// The page is there only when it is asked for; then every page keeps the rules, and
// leads to it, and neither the sitemap nor the data knows of it.
func TestBacklogIsTheDesignersOwn(t *testing.T) {
	for name, content := range built(t) {
		if ext := path.Ext(name); ext == ".html" || ext == ".xml" || ext == ".json" || ext == ".txt" {
			require.NotContains(t, string(content), "backlog", name)
		}
	}
	require.NotContains(t, built(t), backlogPath)

	site := withBacklog(t)
	require.Contains(t, site, backlogPath)
	for name, content := range site {
		switch path.Ext(name) {
		case ".html":
			checkPage(t, site, name, content)
			if path.Base(name) == "index.html" {
				require.Contains(t, string(content), backlogPath, name)
			}
		case ".xml", ".json", ".txt":
			require.NotContains(t, string(content), "backlog", name)
		}
	}
	page := string(site[backlogPath])
	require.Contains(t, page, `<meta name="robots" content="noindex">`)
	require.Contains(t, page, "The designer’s own page")
	require.Equal(t, page, string(withBacklog(t)[backlogPath]), "the same inputs, the same bytes")
}

// Every task is on the page, under its effort, with its release.
func TestBacklogPageHasEveryTask(t *testing.T) {
	f := newFixture(t)
	f.withHistory()
	f.in.Cells, f.in.Plates, f.in.Findings = nil, nil, nil
	f.in.Backlog = true
	tasks := backlog.Of(f.input().Judged)
	page := string(files(t, f.build())[backlogPath])
	require.Equal(t, len(tasks)+2*3, strings.Count(page, `<tr><th scope="row">`), "and three rows of progress in each process")
	for _, task := range tasks {
		for _, text := range append([]string{task.What, task.Settles}, task.Missing...) {
			require.True(t, strings.Contains(page, template.HTMLEscapeString(text)), "%s", text)
		}
	}
	for _, text := range []string{
		"Mend the any cut of Broken.", "Pole is too large for the design standard of resin, where its pieces are printed.",
		`<time class="nb" datetime="2026-05-13">13 May 2026</time>`, "1B, 1 part changed", "Bears on Tough resin: not offered",
	} {
		require.True(t, strings.Contains(page, text), "%s", text)
	}
	require.Equal(t, 2, strings.Count(page, `<svg class="curve"`), "one for each process")

	f.in.Site.Pages = append(f.in.Site.Pages, release.Page{Slug: "backlog", Title: "Mine"})
	require.ErrorContains(t, Build(t.Context(), f.input(), t.TempDir()), "pages/backlog.md")
}

func TestBacklogOfAnEmptySite(t *testing.T) {
	f := newFixture(t)
	f.in.Backlog = true
	f.in.Site.Releases, f.in.Cells, f.in.Findings = nil, nil, nil
	site := files(t, f.build())
	checkPage(t, site, backlogPath, site[backlogPath])
	require.Contains(t, string(site[backlogPath]), "Nothing is left to do.")
	require.Contains(t, string(site[backlogPath]), "Nothing has been sealed yet")
	require.NotContains(t, string(site[backlogPath]), "<svg")
}

// The lines of the drawing go through the counts, by a reckoning of the test's own.
func TestProgressIsDrawnInSteps(t *testing.T) {
	at := func(d, needed, cut, printed int, sealed bool) backlog.ProgressPoint {
		p := backlog.ProgressPoint{Date: time.Date(2026, 5, d, 0, 0, 0, 0, time.UTC), By: []backlog.ProcessCount{{Process: bench.Resin, Parts: needed, Cut: cut, Printed: printed}}}
		if sealed {
			p.Sealed = []backlog.SealedThen{{Release: 1, Revision: "A"}}
		}
		return p
	}
	svg := string(progressChart([]backlog.ProgressPoint{at(1, 40, 10, 0, true), at(6, 40, 10, 5, false), at(11, 40, 40, 5, true)}, 0))
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		if _, err := d.Token(); err == io.EOF {
			break
		} else {
			require.NoError(t, err)
		}
	}
	paths := regexp.MustCompile(`<path class="series"[^>]* d="(M[^"]*H[^"]*)"`).FindAllStringSubmatch(svg, -1)
	require.Len(t, paths, 3)
	// From 9 to 98.5 mm in ten days; 40 parts are 40 mm of a field whose floor is at 59.
	for k, want := range [][]float64{{9, 19, 53.75, 19, 98.5, 19}, {9, 49, 53.75, 49, 98.5, 19}, {9, 59, 53.75, 54, 98.5, 54}} {
		var got []float64
		for _, n := range regexp.MustCompile(`[\d.]+`).FindAllString(paths[k][1], -1) {
			v, err := strconv.ParseFloat(n, 64)
			require.NoError(t, err)
			got = append(got, v)
		}
		require.InDeltaSlice(t, want, got, 0.001)
	}
	require.Equal(t, 2, strings.Count(svg, "v1.2"), "a tick for each day of sealing")
	require.Contains(t, svg, "11 May 2026")
	require.Contains(t, svg, ">40</text>")
	huge := string(progressChart([]backlog.ProgressPoint{at(1, 123456, 1, 1, true), at(2, 123456, 1, 1, true)}, 0))
	require.LessOrEqual(t, strings.Count(huge, `class="ruler"`), 8)
}
