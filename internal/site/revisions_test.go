package site

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"image"
	"image/png"
	"io"
	"os"
	"path"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/draw"
	"cardback/internal/measure/change"
	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey/history"
	"cardback/internal/verdict/standing"
)

// revised is the fixture with a history: of its first release two revisions and
// prints, of its second one revision that is what stands there.
//
// From A to B the filament cut of the body changed. From B to the working files, where
// unsealed, the pole did.
func revised(t *testing.T, unsealed bool) *fixture {
	f := newFixture(t)
	r := &f.in.Site.Releases[0]
	day := func(m time.Month, d int) time.Time { return time.Date(2026, m, d, 0, 0, 0, 0, time.UTC) }
	b := history.Working(*r, f.in.Survey)
	b.Name, b.Date, b.Note, b.Faults = "B", day(7, 2), "The body is wider", "A crack prints closed."
	a := history.Working(*r, f.in.Survey)
	a.Name, a.Date, a.Note = "A", day(5, 3), "First revision."
	sealed := func(v *release.Revision, slug string, k release.CutKind) *release.SealedCut {
		for i := range v.Parts {
			for j := range v.Parts[i].Cuts {
				if v.Parts[i].Slug == slug && v.Parts[i].Cuts[j].Kind == k {
					return &v.Parts[i].Cuts[j]
				}
			}
		}
		require.FailNow(t, "no such cut")
		return nil
	}
	sealed(&a, "body", release.CutFor(bench.Filament)).Fingerprint = fingerprint("old body")
	a.Parts = append(a.Parts, release.SealedPart{Slug: "hook", Name: "Hook", Quantity: 1, Cuts: []release.SealedCut{{Kind: release.CutAny, Fingerprint: fingerprint("hook")}}})
	a.Hardware[0].Count = 2
	if unsealed {
		for _, v := range []*release.Revision{&a, &b} {
			sealed(v, "pole", release.CutAny).Fingerprint = fingerprint("old pole")
		}
	}
	r.Revisions = []release.Revision{a, b}
	crate := &f.in.Site.Releases[1]
	c := history.Working(*crate, f.in.Survey)
	c.Name, c.Date = "A", day(6, 1)
	c.Parts = c.Parts[:1] // the other cannot be read
	crate.Parts = crate.Parts[:1]
	crate.Revisions = []release.Revision{c}

	var err error
	f.in.History, err = history.Of(t.Context(), f.in.Site, f.in.Survey, store.Open(t.TempDir(), "test"), nil)
	require.NoError(t, err)
	// No geometry was kept, so that the comparisons are invented: all meshes that
	// changed did so by 1.25 mm.
	for _, steps := range [][]history.Step{f.in.History[1].ToWorking, f.in.History[1].ToNext} {
		for _, s := range steps {
			for _, p := range s.Parts {
				for i := range p.Cuts {
					if c := &p.Cuts[i]; c.Kind == change.Changed {
						c.Why, c.Change, c.Overlay = "", invented(), overlaid(f, c.Is.Fingerprint)
					}
				}
			}
		}
	}

	var photo bytes.Buffer
	require.NoError(t, png.Encode(&photo, image.NewGray(image.Rect(0, 0, 900, 300))))
	require.NoError(t, os.WriteFile(filepath.Join(r.Dir, "print.png"), photo.Bytes(), 0o644))
	tough, plain := f.in.Site.Bench.Materials[0], f.in.Site.Bench.Materials[1]
	r.Log = []release.Print{
		{Date: day(5, 9), Parts: []string{"body", "gone"}, Meshes: []release.MeshUsed{{Part: "body", Cut: release.CutFor(bench.Filament), Fingerprint: fingerprint("old body")}}, Stock: []release.Share{{Material: plain, Share: 1}}, Outcome: release.Good, Line: 2},
		{Date: day(7, 5), Whole: true, Meshes: []release.MeshUsed{
			{Part: "body", Cut: release.CutFor(bench.Resin), Fingerprint: f.in.Survey["releases/01-lantern/parts/body/resin.stl"].Report.Fingerprint}, {Part: "arm", Cut: release.CutAny, Fingerprint: fingerprint("old arm")},
		}, Stock: []release.Share{{Material: tough, Share: 0.8}, {Material: plain, Share: 0.2}}, Plate: "palm", Layer: 0.05, Tilt: 30, TiltAbout: "x", Supports: "light.", Outcome: release.Failed, Remark: "The arm broke.", Photo: "print.png", Line: 9},
	}
	grounds := []standing.Ground{
		{Standing: standing.NotSuited, Code: "print", Parts: []string{"arm"}, Kind: standing.OfPrint, Target: "9", Text: "Arm failed."},
		{Standing: standing.NotSuited, Code: "cut", Parts: []string{"cap"}, Kind: standing.OfCut, Target: "resin", Text: "No cut."},
		{Standing: standing.WithCare, Code: "thin", Parts: []string{"arm"}, Kind: standing.OfFinding, Target: "thin", Text: "Thin."},
		{Standing: standing.WithCare, Code: "plate", Parts: []string{"pole"}, Kind: standing.OfPlate, Target: "palm", Text: "Large."},
		{Standing: standing.WithCare, Code: "snaps", Parts: []string{"pole"}, Kind: standing.OfSettings, Text: "In the blend."},
		{Standing: standing.NeedsReprint, Code: "changed", Parts: []string{"body"}, Kind: standing.OfRevision, Target: "A", Text: "Body has changed."},
		{Standing: standing.Expected, Code: "aside", Parts: []string{"cap"}, Kind: standing.OfMaterial, Target: "plain", Text: "Elsewhere."},
		{Standing: standing.Expected, Code: "unprinted", Parts: []string{"cap", "pole"}, Kind: standing.OfLog, Text: "Not printed."},
	}
	for i := range f.in.Cells {
		if c := &f.in.Cells[i]; c.Release == 1 {
			c.Standing, c.Grounds = standing.NotSuited, grounds
			c.Parts = []standing.PartCell{
				{Part: "body", Standing: standing.NeedsReprint, Reason: "Body has changed.", Grounds: grounds[5:6]},
				{Part: "arm", Standing: standing.NotSuited, Reason: "Arm failed.", Grounds: grounds[:1]},
				{Part: "pole", Standing: standing.Expected, Reason: "Passes.", Grounds: grounds[7:]},
			}
		}
	}
	return f
}

// fingerprint is 64 digits that follow from a name.
func fingerprint(name string) string {
	sum := sha256.Sum256([]byte(name))
	return hex.EncodeToString(sum[:])
}

func invented() *change.Change {
	at := mesh.Vec{X: 1, Y: 2, Z: 3}
	d := change.Distance{Largest: 1.24, AtMost: 1.25, Mean: 0.1, At: at, Nearest: at}
	return &change.Change{Kind: change.Changed, OldToNew: d, NewToOld: d}
}

func overlaid(f *fixture, fingerprint string) *history.Overlay {
	for _, cs := range f.in.Survey {
		if cs.Report != nil && cs.Report.Fingerprint == fingerprint {
			laid := draw.Laid{Drawing: cs.Drawing[shadow.Front]}
			return &history.Overlay{Was: laid, Is: laid, Marks: []draw.Mark{{Label: "1.25 mm"}}}
		}
	}
	require.FailNow(f.t, "no such mesh")
	return nil
}

func TestPagesOfRevisedReleasesKeepTheRules(t *testing.T) {
	for _, unsealed := range []bool{false, true} {
		site := files(t, revised(t, unsealed).build())
		for _, name := range sortedPages(site) {
			t.Run(fmt.Sprintf("%v/%s", unsealed, name), func(t *testing.T) { checkPage(t, site, name, site[name]) })
		}
		page := string(site["releases/01-lantern/index.html"])
		for _, want := range []string{`id="changes"`, `id="revision-a"`, `id="revision-b"`, "A crack prints closed.", "The body is wider", "Hook", "no longer needed", `id="print-9"`, "The arm broke.", "sealed although one stood"} {
			require.Contains(t, page, want)
		}
		require.NotContains(t, string(site["releases/12-long/index.html"]), `id="changes"`, "nothing was sealed")
		require.Contains(t, string(site["releases/12-long/index.html"]), "No print of this release is logged yet.")
	}
}

func TestThePageTellsWhatToPrintAgain(t *testing.T) {
	f := revised(t, false)
	b := &builder{ctx: t.Context(), in: f.input()}
	s := b.since(f.in.Site.Releases[0])
	require.Equal(t, "B", s.Name)
	require.False(t, s.Unsealed)
	require.Equal(t, []string{"B", "A"}, []string{s.Entries[0].Name, s.Entries[1].Name}, "newest first")
	require.True(t, s.Entries[0].Current)
	require.Nil(t, s.Entries[0].Printed)
	p := s.Entries[1].Printed
	require.Equal(t, "print 1 part again, hardware changed", p.Summary)
	require.Len(t, p.Blocks, 2)
	words := func(b AdviceBlock) (out []string) {
		for _, r := range b.Rows {
			out = append(out, r.Part+": "+r.Word)
		}
		return out
	}
	require.Equal(t, []string{"Body: print again", "Hook: no longer needed"}, words(p.Blocks[0]))
	require.Contains(t, p.Blocks[0].Rows[0].Sentence, "1.25 mm")
	require.Equal(t, "Arm; Pole; Pole, upper piece; Cap", p.Blocks[0].Same)
	require.Equal(t, []string{"Hook: no longer needed"}, words(p.Blocks[1]), "the resin cut is as it was")
	require.True(t, p.Blocks[1].Nothing)
	require.Len(t, p.Figures, 1)
	require.Equal(t, "Body, filament cut", p.Figures[0].Title)
	require.Contains(t, p.Figures[0].Caption, "1.25 mm")
	require.Contains(t, string(p.Figures[0].Figure), "1.25 mm")

	crate := b.since(f.in.Site.Releases[1])
	require.Len(t, crate.Entries, 1)
	require.True(t, crate.Entries[0].Current)
	fact, ok := b.revisionFact(f.in.Site.Releases[1])
	require.True(t, ok)
	require.Equal(t, Fact{"Revision", "A, 1 June 2026", "2026-06-01"}, fact)
	require.Nil(t, b.since(f.in.Site.Releases[2]))
}

func TestWhatIsNotSealedIsSaid(t *testing.T) {
	f := revised(t, true)
	b := &builder{ctx: t.Context(), in: f.input()}
	r := f.in.Site.Releases[0]
	s := b.since(r)
	require.True(t, s.Unsealed)
	fromB, fromA := s.Entries[0].Printed, s.Entries[1].Printed
	require.Len(t, fromB.Blocks, 1, "the same for both processes is told once")
	require.Equal(t, "Filament and resin", fromB.Blocks[0].Process)
	require.Equal(t, "Body; Arm; Pole, upper piece; Cap", fromB.Blocks[0].Same)
	require.NotEmpty(t, fromB.Figures[0].Figure)
	require.Len(t, fromA.Figures, 2)
	require.Equal(t, "Body, filament cut", fromA.Figures[0].Title)
	require.Empty(t, fromA.Figures[1].Figure, "drawn once on a page")
	require.Equal(t, "#"+fromB.Figures[0].ID, fromA.Figures[1].Href)
	require.Equal(t, "later than revision B", b.revisionAside(r))
	fact, _ := b.revisionFact(r)
	require.Equal(t, "later than B, not sealed", fact.Value)
}

// A mesh that was mirrored is another shape; but where the part is printed with
// its mirrored twin the two change places, and nothing is to be drawn.
func TestWhatNeedNotBePrintedIsNotDrawn(t *testing.T) {
	f := revised(t, true)
	b := &builder{ctx: t.Context(), in: f.input()}
	r := f.in.Site.Releases[0]
	step := &f.in.History[1].ToWorking[1]
	for i := range step.Parts {
		if p := &step.Parts[i]; p.Slug() == "pole" {
			p.Cuts[0].Kind = change.Mirrored
			require.Len(t, b.since(r).Entries[0].Printed.Figures, 1)
			was, is := *p.Was, *p.Is
			was.MirroredTwin, is.MirroredTwin = true, true
			p.Was, p.Is = &was, &is
		}
	}
	b = &builder{ctx: t.Context(), in: f.input()}
	printed := b.since(r).Entries[0].Printed
	require.Empty(t, printed.Figures)
	require.Equal(t, "nothing to print again", printed.Summary)
}

func TestFeedHasARevisionsEntry(t *testing.T) {
	site := files(t, revised(t, false).build())
	var f struct {
		Updated string `xml:"updated"`
		Entries []struct {
			ID      string `xml:"id"`
			Title   string `xml:"title"`
			Updated string `xml:"updated"`
			Summary string `xml:"summary"`
		} `xml:"entry"`
	}
	require.NoError(t, xml.Unmarshal(site["feed.xml"], &f))
	var titles []string
	ids := map[string]bool{}
	last := f.Updated
	for _, e := range f.Entries {
		titles = append(titles, e.Title)
		require.False(t, ids[e.ID], "%s twice", e.ID)
		ids[e.ID] = true
		require.LessOrEqual(t, e.Updated, last, "newest first, and the feed as new as its newest")
		last = e.Updated
		require.NotEmpty(t, e.Summary)
		if _, place, ok := strings.Cut(e.ID, "#"); ok {
			page := strings.TrimPrefix(strings.TrimSuffix(e.ID, "#"+place), "https://example.org/range/")
			require.Contains(t, string(site[page]), `id="`+place+`"`)
		}
	}
	require.Equal(t, "2026-07-02T00:00:00Z", f.Updated)
	require.Equal(t, "1. Lantern Keeper: revision B", titles[0])
	require.Equal(t, "https://example.org/range/releases/01-lantern/index.html#revision-b", f.Entries[0].ID)
	require.Equal(t, "Revision B. The body is wider. Sealed although a fault stood: A crack prints closed. If you printed revision A, print again: Body (filament). 4 other parts are as good as before. No longer needed: Hook. Hardware: Now 4 × Steel rod 1.5 mm, cut to 12 mm, where it was 2: 2 more.", f.Entries[0].Summary)
	require.Len(t, f.Entries, 6)
	require.Equal(t, []string{"1. Lantern Keeper: revision A", "1. Lantern Keeper"}, titles[3:5], "of one day and one release, what came last comes first")
}

func TestDataTellsOfRevisionsAndPrints(t *testing.T) {
	f := revised(t, true)
	site := files(t, f.build())
	var d struct {
		Revisions []struct {
			Name, Date, Page string
			Faults           string `json:"sealed_with_faults"`
			Parts            []struct {
				Slug string
				Cuts []struct{ Fingerprint string }
			}
		}
		Unsealed bool
		Reprint  []struct {
			From    string
			Nothing bool
			Parts   []struct {
				Slug, Process, Action string
				AtMost                float64 `json:"at_most_mm"`
			}
		}
		TestPrints []struct {
			Outcome, Photo string
			Stock          []struct{ Share float64 }
		} `json:"test_prints"`
		Materials []struct {
			Grounds []struct{ Kind, Target string }
			Parts   []struct{ Slug, Standing string }
		}
	}
	require.NoError(t, json.Unmarshal(site["releases/01-lantern/release.json"], &d))
	require.Len(t, d.Revisions, 2)
	require.Equal(t, "A crack prints closed.", d.Revisions[1].Faults)
	require.Equal(t, fingerprint("old body"), d.Revisions[0].Parts[0].Cuts[0].Fingerprint)
	require.True(t, d.Unsealed)
	require.Len(t, d.Reprint, 2)
	require.Equal(t, "A", d.Reprint[0].From)
	require.False(t, d.Reprint[0].Nothing)
	require.Equal(t, "body", d.Reprint[0].Parts[0].Slug)
	require.Equal(t, "print again", d.Reprint[0].Parts[0].Action)
	require.InDelta(t, 1.25, d.Reprint[0].Parts[0].AtMost, 0)
	require.Len(t, d.TestPrints, 2)
	require.Contains(t, site, d.TestPrints[1].Photo)
	require.InDelta(t, 0.8, d.TestPrints[1].Stock[0].Share, 0)
	require.Len(t, d.Materials[0].Grounds, 8)
	require.Equal(t, "print", d.Materials[0].Grounds[0].Kind)
	require.Equal(t, "needs reprint", d.Materials[0].Parts[0].Standing)
}

func TestArchivesCarryTheChangeNote(t *testing.T) {
	site := files(t, revised(t, true).build())
	found := 0
	for name, data := range site {
		if path.Ext(name) != ".zip" {
			continue
		}
		z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
		require.NoError(t, err)
		inside := map[string]string{}
		for _, f := range z.File {
			r, err := f.Open()
			require.NoError(t, err)
			text, err := io.ReadAll(r)
			require.NoError(t, err)
			inside[path.Base(f.Name)] = string(text)
		}
		note, ok := inside["what-changed.txt"]
		require.Equal(t, !strings.Contains(name, "12-long"), ok, name)
		if !strings.Contains(name, "01-lantern-filament") {
			continue
		}
		found++
		require.Contains(t, note, "These files are later than revision B (2026-07-02)")
		require.Contains(t, note, "If you printed revision A")
		require.Contains(t, inside["SHA256SUMS"], "what-changed.txt")
	}
	require.Equal(t, 1, found)
}

func TestStandingsLeadToWhatWouldChangeThem(t *testing.T) {
	f := revised(t, false)
	b := &builder{ctx: t.Context(), in: f.input()}
	r := f.in.Site.Releases[0]
	row := b.materialRows(r)[0]
	require.Equal(t, WouldChange{"What would change it", []NavItem{
		{Label: "a better print than that of 5 July 2026", Href: "#print-9"}, {Label: "the part", Href: "#part-5"},
	}}, row.Change)
	var hrefs []string
	for _, g := range row.Grounds {
		hrefs = append(hrefs, g.Link.Href)
	}
	require.Equal(t, []string{"#print-9", "#part-5", "#findings", "plates/palm/index.html", "#settings", "#revision-a", "#in-plain", "#test-prints"}, hrefs)
	require.Equal(t, "../../plates/palm/index.html", ReleasePage{Frame: Frame{Root: "../../"}}.Address(hrefs[3]))

	tables := b.partStandings(r)
	require.Len(t, tables, 2)
	for _, table := range tables {
		require.Len(t, table.Rows, 3, "parts that no material needs are left out")
		require.Len(t, table.Notes, 2)
		require.Equal(t, PartStandingCell{"needs reprint", "split", "1", "#" + table.Notes[0].ID}, table.Rows[0].Cells[0])
		require.Equal(t, "A good print of the new mesh would prove it again", table.Notes[0].Change.Lead)
		require.Equal(t, PartStandingCell{"expected", "open", "", "#test-prints"}, table.Rows[2].Cells[0])
	}
	require.Equal(t, []string{"Filament", "Resin"}, []string{tables[0].Process, tables[1].Process})
	seen := map[string]bool{}
	for _, s := range standing.Standings {
		require.False(t, seen[standingClass(s)], "each standing has a sign of its own")
		seen[standingClass(s)] = true
	}
}

func TestPrintsSayWhichMeshesTheyWereOf(t *testing.T) {
	f := revised(t, false)
	b := &builder{ctx: t.Context(), in: f.input(), out: t.TempDir()}
	r := f.in.Site.Releases[0]
	got, err := b.testPrints(r)
	require.NoError(t, err)
	require.Len(t, got.Rows, 2)
	require.Equal(t, "A full print", got.Rows[0].What)
	require.Equal(t, "80 % tough resin, 20 % plain filament", got.Rows[0].In)
	require.Equal(t, "On the Palm-sized resin; layer 0.05"+thin+"mm; tilted 30° about x; supports: light.", got.Rows[0].How)
	require.Equal(t, "Of an earlier mesh of Arm; the rest are those that stand here.", got.Rows[0].Of)
	require.Equal(t, 640, got.Rows[0].Photo.Width)
	require.Equal(t, "Body and gone", got.Rows[1].What)
	require.Equal(t, "Of earlier meshes.", got.Rows[1].Of)
	require.Equal(t, "Which meshes it was of is not recorded.", ofWhich(r, release.Print{Parts: []string{"body"}}, f.in.Survey))
	require.Equal(t, "Hook", whatPrinted(r, release.Print{Parts: []string{"hook"}}), "as it was last sealed")
	require.Equal(t, "Of the meshes that stand here.", ofWhich(r, release.Print{Meshes: r.Log[1].Meshes[:1]}, f.in.Survey))

	for range mostPrints {
		r.Log = append(r.Log, release.Print{Date: time.Date(2026, 8, 1, 0, 0, 0, 0, time.UTC), Line: 20 + len(r.Log), Outcome: release.Good, Stock: []release.Share{{Material: bench.Material{Name: "Any"}, Share: 1}}})
	}
	got, err = b.testPrints(r)
	require.NoError(t, err)
	require.Len(t, got.Rows, mostPrints)
	require.Len(t, got.Older, 2)
	require.Equal(t, "print-29", got.Rows[0].ID, "of one day, what was logged last comes first")
}
