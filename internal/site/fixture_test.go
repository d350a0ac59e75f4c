package site

import (
	"cardback/internal/survey/history"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/draw"
	"cardback/internal/fit"
	"cardback/internal/fit/frontier"
	"cardback/internal/fit/gauge"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/measure/shadow"
	"cardback/internal/measure/slice"
	thinness "cardback/internal/measure/thin"
	"cardback/internal/mesh"
	"cardback/internal/notes"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/plates"
	"cardback/internal/verdict"
	"cardback/internal/verdict/standing"
)

// boxSTL is a box as binary STL, so that archives have real meshes to pack.
func boxSTL(w, d, h float32) []byte {
	at := func(i int) [3]float32 {
		return [3]float32{float32(i&1) * w, float32(i>>1&1) * d, float32(i>>2&1) * h}
	}
	faces := [][3]int{{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4}, {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}}
	out := make([]byte, 80, 84+50*len(faces))
	out = binary.LittleEndian.AppendUint32(out, uint32(len(faces)))
	for _, f := range faces {
		out = append(out, make([]byte, 12)...)
		for _, v := range f {
			for _, c := range at(v) {
				out = binary.LittleEndian.AppendUint32(out, math.Float32bits(c))
			}
		}
		out = append(out, 0, 0)
	}
	return out
}

// fixture is a small site with every empty state: a release with all there is,
// one without hardware, settings and notes and with a mesh that cannot be read,
// one of sixty parts with a very long title.
type fixture struct {
	in stated
	t  *testing.T
}

func newFixture(t *testing.T) *fixture {
	rod := bench.Hardware{ID: "rod-1.5", Name: "Steel rod 1.5 mm", Kind: bench.Rod, Diameter: 1.5, StockLength: 300, Caution: "Ends are sharp: round them."}
	glue := bench.Hardware{ID: "glue", Name: "Fast glue", Kind: bench.Adhesive}
	magnet := bench.Hardware{ID: "magnet", Name: "Disc magnet", Kind: bench.Magnet, Diameter: 6, Thickness: 2}
	site := &release.Site{
		Title: "The Test Company", Tagline: "Figures for tests", Designer: "A Workshop",
		Address: "https://example.org/range/", Language: "en", Licence: "CC-BY-4.0", UnitsShown: "mm+in",
		Links: []release.Link{{Label: "Elsewhere", URL: "https://example.org/"}},
		Bench: bench.Bench{
			Plates: []bench.Plate{
				{ID: "palm", Name: "Palm-sized resin", Process: bench.Resin, Width: 68, Depth: 120, Height: 155, Margin: 1, Standard: true},
				{ID: "round", Name: "Round bed", Process: bench.Filament, Width: 180, Depth: 180, Height: 200, Margin: 2, Round: true},
				{ID: "big", Name: "Big bed", Process: bench.Filament, Width: 300, Depth: 300, Height: 300, Margin: 5, Standard: true, Note: "The usual large machine."},
			},
			Materials: []bench.Material{
				{ID: "tough", Name: "Tough resin", Process: bench.Resin, Stiffness: bench.Rigid, Density: 1.15, WallMin: 0.8, PinMin: 1, HoleAllowance: 0.2, Shrinkage: 0.073, Source: "common practice, no source"},
				{ID: "plain", Name: "Plain filament", Process: bench.Filament, Stiffness: bench.Rigid, Density: 1.24, WallMin: 1.2, PinMin: 2, HoleAllowance: 0.3, Source: "common practice, no source"},
			},
			Hardware: []bench.Hardware{rod, glue, magnet},
		},
		Pages: []release.Page{{Slug: "about", Title: "About", Text: text(t, "# Who\n\nText with [a link](/materials/), [another](https://example.org/x) and <!-- raw -->.\n\n| a | b |\n|---|---|\n| 1 | 2 |\n")}},
		Root:  t.TempDir(),
	}
	f := &fixture{t: t, in: stated{Site: site, Survey: survey.Survey{}, Version: "test"}}
	f.add(release.Release{
		Number: 1, Slug: "lantern", Title: "Lantern Keeper", Height: 96, Scale: "1:18",
		Released: time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC), Summary: "A keeper with a lantern & a long pole.", Licence: "CC-BY-SA-4.0",
		Credits:  []release.Credit{{Work: "An older lantern", By: "Somebody Invented", Licence: "CC-BY-4.0", URL: "https://example.org/lantern", Note: "The handle is from it."}},
		Hardware: []release.HardwareUse{{Item: rod, Count: 4, Cut: 12, Where: "shoulders and hips"}, {Item: glue, Where: "pole"}, {Item: magnet, Count: 2, Where: "feet"}},
		Print:    []release.PrintSettings{{Process: bench.Filament, Layer: 0.12, Tilt: 30, Supports: "generated", Infill: "15 %"}, {Process: bench.Resin, Layer: 0.05, Blend: "80 % tough, 20 % flexible", Remark: "Wash twice."}},
		Cautions: []string{"The pole is thin: do not pull on it."},
		Notes:    text(t, "It stands by itself.\n\n## Assembly\n\n1. Cut the rod.\n2. Push it in.\n\n### Glue\n\nOne drop.\n\n# Loud\n\nA heading too high.\n\n![far](https://example.org/far.png)\n\n## Assembly\n\nAgain.\n"),
		Parts: []release.Part{
			{Slug: "body", Name: "Body", Quantity: 1, Cuts: cuts("body", release.CutFor(bench.Filament), release.CutFor(bench.Resin)), Takes: []release.HardwareUse{{Item: rod, Count: 2, Cut: 12}}},
			{Slug: "arm", Name: "Arm", Quantity: 1, MirroredTwin: true, Cuts: cuts("arm", release.CutAny), Tilt: 45, TiltAbout: "x"},
			{Slug: "pole", Name: "Pole", Quantity: 1, Cuts: cuts("pole", release.CutAny), Notes: "Handle with care."},
			{Slug: "pole-upper", Name: "Pole, upper piece", Quantity: 1, Replaces: "pole", Cuts: cuts("pole-upper", release.CutAny)},
			{Slug: "cap", Name: "Cap", Quantity: 1, Choice: "headgear", Cuts: cuts("cap", release.CutAny)},
		},
	})
	f.add(release.Release{
		Number: 2, Slug: "crate", Title: "Crate", Scale: "1:18", Summary: "One part, and one that cannot be read.", Licence: "CC0-1.0",
		Parts: []release.Part{
			{Slug: "crate", Name: "Crate", Quantity: 1, Cuts: cuts("crate", release.CutAny)},
			{Slug: "broken", Name: "Broken", Quantity: 1, Cuts: cuts("broken", release.CutAny)},
		},
	})
	many := release.Release{
		Number: 12, Slug: "long", Title: "The Excessively Circumstantial Account of the Harbourmaster’s Uncollected Umbrellas, with Stand",
		Height: 1234.5, Released: time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC), Summary: "Sixty parts.", Licence: "CC-BY-4.0",
	}
	for i := range 60 {
		slug := fmt.Sprintf("umbrella-%02d", i+1)
		many.Parts = append(many.Parts, release.Part{Slug: slug, Name: fmt.Sprintf("Umbrella %d", i+1), Quantity: 1, Cuts: cuts(slug, release.CutAny)})
	}
	f.add(many)
	f.judge()
	return f
}

// text is notes that have no problems.
func text(t testing.TB, body string) *notes.Document {
	t.Helper()
	d, problems := notes.Parse(body)
	require.Empty(t, problems)
	return d
}

func cuts(slug string, kinds ...release.CutKind) []release.Cut {
	var out []release.Cut
	for _, k := range kinds {
		out = append(out, release.Cut{Kind: k, Rel: slug + "/" + string(k) + ".stl"})
	}
	return out
}

// add writes a release's meshes and invents a survey of them: boxes whose sizes
// follow from the part's place.
func (f *fixture) add(r release.Release) {
	dir := fmt.Sprintf("releases/%02d-%s", r.Number, r.Slug)
	r.Dir, r.SourceFile = filepath.Join(f.in.Site.Root, dir), dir+"/release.md"
	for i := range r.Parts {
		for j := range r.Parts[i].Cuts {
			c := &r.Parts[i].Cuts[j]
			c.Rel = dir + "/parts/" + c.Rel
			c.File = filepath.Join(f.in.Site.Root, filepath.FromSlash(c.Rel))
			require.NoError(f.t, os.MkdirAll(filepath.Dir(c.File), 0o755))
			if r.Parts[i].Slug == "broken" {
				require.NoError(f.t, os.WriteFile(c.File, []byte("neither"), 0o644))
				sum := sha256.Sum256([]byte("neither"))
				f.in.Survey[c.Rel] = &survey.CutSurvey{Cut: *c, SHA256: hex.EncodeToString(sum[:]), Err: errors.New("neither STL nor 3MF")}
				continue
			}
			w, d, h := float64(8+i%7), float64(6+j), float64(20+3*(i%5))
			if r.Parts[i].Slug == "pole" {
				w, h = 150, 4
			}
			require.NoError(f.t, os.WriteFile(c.File, boxSTL(float32(w), float32(d), float32(h)), 0o644))
			f.in.Survey[c.Rel] = f.surveyed(*c, w, d, h)
		}
	}
	f.in.Site.Releases = append(f.in.Site.Releases, r)
}

func (f *fixture) surveyed(c release.Cut, w, d, h float64) *survey.CutSurvey {
	rect := func(v shadow.View, w, h float64) *draw.Drawing {
		return &draw.Drawing{View: v, Width: w, Height: h, Tolerance: 0.01, Outline: shadow.Outline{{{X: 0, Y: 0}, {X: w, Y: 0}, {X: w, Y: h}, {X: 0, Y: h}}}, Creases: [][]shadow.Point{{{X: 0, Y: h / 2}, {X: w, Y: h / 2}}}}
	}
	// What is packed is held against what was measured, so these two are the file's own.
	data, err := os.ReadFile(c.File)
	require.NoError(f.t, err)
	sum := sha256.Sum256(data)
	m, _, err := mesh.ReadFile(f.t.Context(), c.File)
	require.NoError(f.t, err)
	cs := &survey.CutSurvey{
		Cut: c, Bytes: 684, SHA256: hex.EncodeToString(sum[:]), Info: mesh.Info{Format: mesh.STLBinary},
		Report: &measure.Report{
			Fingerprint: m.Fingerprint(), Triangles: 12, Vertices: 8, Bounds: mesh.Box{Max: mesh.Vec{X: w, Y: d, Z: h}},
			Volume: w * d * h, Area: 2 * (w*d + d*h + h*w), Closed: true, ConsistentlyOriented: true, Shells: 1, Euler: 2,
			Diameter: math.Sqrt(w*w + d*d + h*h), Silhouette: [3]float64{w * h, d * h, w * d},
		},
		Fits:    map[string]fit.Result{},
		Drawing: [3]*draw.Drawing{rect(shadow.Front, w, h), rect(shadow.Side, d, h), rect(shadow.Top, w, d)},
	}
	if cs.Gauge.Verdict = gauge.Inside; w == 150 {
		cs.Gauge.Verdict = gauge.Outside
	}
	// A wall under the filament's limit, a hole that resin passes freely and
	// filament tightly, and layers of a solid box; the pole does not close.
	wall := 1.1
	cs.Report.Thin = thinness.Report{Limit: 3.5, Wall: &wall, Places: []thinness.Place{{Kind: thinness.Wall, Thickness: wall, At: mesh.Vec{X: w / 2, Y: d / 2, Z: h / 2}, Extent: 12.3, Area: 40}}}
	cs.Report.Bores = bore.Report{Holes: []bore.Hole{{Axis: mesh.Vec{Z: 1}, Centre: mesh.Vec{X: 2, Y: 2, Z: h - 2}, Depth: 4, Diameter: 1.78, Free: 1.75, Residual: 0.004}}}
	l := survey.Layers{Layer: 0.05, Limit: 45, Count: int(h * 20), Height: h, Peak: w * d, FlatPeak: w * d, Encloses: w != 150, WellCount: 1}
	tilted := l
	tilted.Pose, tilted.Peak, tilted.Jump, tilted.Overhang, tilted.IslandCount = slice.Pose{Tilt: 30, About: "x"}, w*d*0.7, 12.4, 55, 2
	cs.Layers = map[*bench.Process]*survey.Layers{bench.Resin: &l, bench.Filament: &tilted}
	up := func(v float64) int { return int(math.Ceil(v / 0.1)) }
	cs.Frontiers = map[*bench.Process]*frontier.Frontier{}
	for _, proc := range bench.Shipped().Processes() {
		sides := [3]int{up(w), up(d), up(h)}
		least := sides
		slices.Sort(least[:])
		cs.Frontiers[proc] = &frontier.Frontier{Within: 1, Step: 0.1, Supplied: sides, Circle: up(math.Hypot(w, d)), Turned: [][2]int{{min(sides[0], sides[1]), max(sides[0], sides[1])}}, Boxes: [][3]int{least}, Cylinders: [][2]int{{up(math.Hypot(w, d)), sides[2]}}}
	}
	for _, p := range f.in.Site.Bench.Plates {
		res := fit.Result{Verdict: fit.AsSupplied, LargestScale: 1.5, Tolerance: 1e-6}
		if w > p.Width {
			res = fit.Result{Verdict: fit.CannotFit, LargestScale: 0.837, Tolerance: 1e-6}
		} else if w > 12 {
			res = fit.Result{Verdict: fit.Turned, TurnDeg: 34.5, LargestScale: 1.1, Tolerance: 1e-6}
		}
		cs.Fits[p.ID] = res
	}
	return cs
}

// judge states verdicts by hand, so that these tests are about pages alone.
func (f *fixture) judge() {
	in := &f.in
	in.Plates = map[int][]verdict.PlateAnswer{}
	for _, r := range in.Site.Releases {
		for _, p := range in.Site.Bench.Plates {
			a := verdict.PlateAnswer{Plate: p, Fits: true, Sentence: "Each part fits."}
			for _, part := range printing.Of(r, p.Process).Parts {
				cut, ok := part.Cut()
				pf := verdict.PartFit{Part: part.Slug, Cut: cut, Offered: ok}
				if cs := in.Survey.Of(cut); ok && cs != nil && cs.Err == nil {
					pf.Result = cs.Fits[p.ID]
					pf.Text = string(pf.Result.Verdict)
				} else if ok {
					pf.Text = "the mesh could not be read"
				}
				if ok && !pf.Result.Verdict.Fits() {
					a.Fits, a.Blocking, a.Sentence = false, append(a.Blocking, part.Slug), part.Name+" does not fit, or cannot be read."
				}
				a.Parts = append(a.Parts, pf)
			}
			in.Plates[r.Number] = append(in.Plates[r.Number], a)
		}
		for i, m := range in.Site.Bench.Materials {
			stands := standing.Standings[(i+r.Number)%len(standing.Standings)]
			in.Cells = append(in.Cells, standing.Cell{Release: r.Number, Material: m.ID, Standing: stands, Reason: "Because the test says so."})
		}
	}
	in.Findings = []verdict.Finding{
		{Release: 2, Part: "broken", Cut: release.CutAny, File: "releases/02-crate/parts/broken/any.stl", Finding: measure.Finding{Level: measure.Fault, Code: "unreadable", Text: "neither STL nor 3MF"}},
		{Release: 1, Part: "arm", Cut: release.CutAny, Finding: measure.Finding{Level: measure.Note, Code: "shells", Text: "Two shells."}},
		{Release: 1, Part: "arm", Cut: release.CutAny, Finding: measure.Finding{Level: measure.Caution, Code: "thin-wall", Text: "The wall is thin.", At: &[3]float64{4, 3, 11}}},
		{Release: 1, Part: "arm", Cut: release.CutAny, Finding: measure.Finding{Level: measure.Note, Code: "hole-tight", Text: "The hole is tight.", At: &[3]float64{2, 2, 20}}},
	}
}

// judged is a site with nothing stated by hand.
func judged(t *testing.T, s *release.Site, found survey.Survey, past history.History) Input {
	t.Helper()
	checked, err := verdict.Check(t.Context(), s, found, nil)
	require.NoError(t, err)
	return Input{Judged: checked.Judge(past, nil)}
}

// stated is what a fixture's build shows. What is stated of Plates, Cells and Findings
// stands in place of what verdict makes of the site; Plates that are nil state nothing.
type stated struct {
	Site     *release.Site
	Survey   survey.Survey
	Cells    []standing.Cell
	Plates   map[int][]verdict.PlateAnswer // by release number
	Findings []verdict.Finding
	Laid     map[int][]*plates.Set
	History  history.History
	Address  string
	Backlog  bool
	Version  string
}

// input is what the fixture's site is judged and stated to be.
func (f *fixture) input() Input {
	f.t.Helper()
	in := f.in
	checked, err := verdict.Check(f.t.Context(), in.Site, in.Survey, nil)
	require.NoError(f.t, err)
	j := checked.Judge(in.History, in.Laid)
	if in.Plates != nil {
		j.Cells, j.Findings = in.Cells, in.Findings
		for _, r := range in.Site.Releases {
			of := j.Of(r.Number)
			of.Plates, of.Cells, of.Findings = in.Plates[r.Number], nil, nil
			for _, c := range in.Cells {
				if c.Release == r.Number {
					of.Cells = append(of.Cells, c)
				}
			}
			for _, found := range in.Findings {
				if found.Release == r.Number {
					of.Findings = append(of.Findings, found)
				}
			}
		}
	}
	return Input{Judged: j, Address: in.Address, ShowBacklog: in.Backlog, Version: in.Version}
}

// build writes the fixture's site into a new folder.
func (f *fixture) build() string {
	f.t.Helper()
	dir := f.t.TempDir()
	require.NoError(f.t, Build(f.t.Context(), f.input(), dir))
	return dir
}
