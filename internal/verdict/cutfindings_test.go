package verdict_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/measure/slice"
	"cardback/internal/measure/stack"
	"cardback/internal/measure/thin"
	"cardback/internal/mesh"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict"
	"cardback/internal/verdict/standing"
)

var stocks = []bench.Material{
	{ID: "rf", Name: "Rigid filament", Process: bench.Filament, Stiffness: bench.Rigid, WallMin: .8, PinMin: 2, HoleAllowance: .3},
	{ID: "ff", Name: "Flexible filament", Process: bench.Filament, Stiffness: bench.Flexible, WallMin: 1, PinMin: 3, HoleAllowance: .4},
	{ID: "rr", Name: "Rigid resin", Process: bench.Resin, Stiffness: bench.Rigid, WallMin: .6, PinMin: .8, HoleAllowance: .15},
	{ID: "tr", Name: "Tough resin", Process: bench.Resin, Stiffness: bench.Rigid, WallMin: .6, PinMin: .8, HoleAllowance: .15},
}

func rod(d float64) bench.Hardware {
	return bench.Hardware{ID: "rod", Name: "Rod", Kind: bench.Rod, Diameter: d}
}

func upright(free, x, z float64) bore.Hole {
	return bore.Hole{Axis: mesh.Vec{Z: 1}, Centre: mesh.Vec{X: x, Z: z}, Free: free, Diameter: free, Depth: 4, Group: int(x*100 + z)}
}

// findings judges one part of one cut.
func findings(p release.Part, kind release.CutKind, rep measure.Report, l *survey.Layers, print ...release.PrintSettings) []verdict.Finding {
	c := release.Cut{Kind: kind, Rel: "c"}
	p.Slug, p.Cuts = "p", []release.Cut{c}
	site := &release.Site{Bench: bench.Bench{Materials: stocks}, Releases: []release.Release{{Number: 1, Parts: []release.Part{p}, Print: print}}}
	cs := &survey.CutSurvey{Cut: c, Report: &rep}
	if l != nil {
		l.Encloses = true
		cs.Layers = map[*bench.Process]*survey.Layers{bench.Resin: l}
	}
	return verdict.Findings(site, survey.Survey{"c": cs})
}

func TestACutIsMeantForItsMaterials(t *testing.T) {
	ids := func(p release.Part, kind release.CutKind) []string {
		out := []string{}
		for _, m := range printing.Meant(release.Release{}, p, release.Cut{Kind: kind}, stocks) {
			out = append(out, m.ID)
		}
		return out
	}
	both := release.Part{Cuts: []release.Cut{{Kind: release.CutAny}, {Kind: release.CutFor(bench.Resin)}, {Kind: release.CutFlexible}}}
	require.Equal(t, []string{"rf"}, ids(both, release.CutAny), "resin has a cut of its own")
	require.Equal(t, []string{"rr", "tr"}, ids(both, release.CutFor(bench.Resin)))
	require.Equal(t, []string{"ff"}, ids(both, release.CutFlexible))
	both.Only = bench.Resin
	require.Empty(t, ids(both, release.CutAny))
}

func TestThinPlacesAreOneFindingForEachKind(t *testing.T) {
	r := thin.Report{Limit: 3, Places: []thin.Place{
		{Kind: thin.Pin, Thickness: .3, Extent: 12, At: mesh.Vec{X: 1, Y: 2, Z: 3}},
		{Kind: thin.Wall, Thickness: .7, Extent: 5},
		{Kind: thin.Pin, Thickness: 1.9, Extent: 2},
		{Kind: thin.Pin, Thickness: 2.5, Extent: 2},
	}}
	got := findings(release.Part{}, release.CutAny, measure.Report{Thin: r}, nil)
	require.Len(t, got, 2)
	require.Equal(t, "thin-pin", got[0].Code, "cautions come first")
	got[0], got[1] = got[1], got[0]
	require.Equal(t, "thin-wall", got[0].Code)
	require.Equal(t, measure.Note, got[0].Level, "0.7 is not far under 0.8")
	require.Equal(t, "The wall at (0.0, 0.0, 0.0) is 0.70 mm thick over 5.0 mm, under the 0.8 mm that a wall needs in rigid filament: that is as near as published guides differ, so look at it when it is printed.", got[0].Text)
	require.Equal(t, "thin-pin", got[1].Code)
	require.Equal(t, measure.Caution, got[1].Level)
	require.Equal(t, "The pin at (1.0, 2.0, 3.0) is 0.30 mm thick over 12.0 mm, under the 2 mm that a pin needs in rigid filament and the 0.8 mm of rigid and tough resin: it may not form, or break off. One other place is under a limit too.", got[1].Text)
	require.Equal(t, &[3]float64{1, 2, 3}, got[1].At)

	require.Len(t, findings(release.Part{}, release.CutFor(bench.Resin), measure.Report{Thin: r}, nil), 1, "the wall is thick enough for resin")
	r.Places[0].Extent = .5
	got = findings(release.Part{}, release.CutFor(bench.Resin), measure.Report{Thin: r}, nil)
	require.Equal(t, measure.Note, got[0].Level, "a bump has nothing to break off by")
	got = findings(release.Part{}, release.CutAny, measure.Report{Thin: thin.Report{Places: append(r.Places[:1:1], thin.Place{Kind: thin.Pin, Thickness: .4, Extent: 5})}}, nil)
	require.Equal(t, measure.Caution, got[0].Level)
	require.Contains(t, got[0].Text, "is 0.40 mm thick", "what may break off is told, not the thinner bump")
}

func TestHolesAgainstWhatThePartTakes(t *testing.T) {
	takes := func(items ...bench.Hardware) release.Part {
		p := release.Part{}
		for _, it := range items {
			p.Takes = append(p.Takes, release.HardwareUse{Item: it, Count: 1})
		}
		return p
	}
	one := func(p release.Part, kind release.CutKind, holes ...bore.Hole) verdict.Finding {
		got := findings(p, kind, measure.Report{Bores: bore.Report{Holes: holes}}, nil)
		require.Len(t, got, 1)
		return got[0]
	}
	f := one(takes(rod(1.5)), release.CutFor(bench.Resin), upright(1.44889, 4, 5))
	require.Equal(t, "hole-too-small", f.Code)
	require.Equal(t, measure.Caution, f.Level)
	require.Equal(t, "The hole for the 1.5 mm rod at (4.0, 0.0, 5.0) passes only 1.45 mm: drill it to 1.6 mm.", f.Text)

	f = one(takes(rod(1.5), rod(1.5)), release.CutAny, upright(1.7, 0, 0), upright(1.9, 9, 0))
	require.Equal(t, "hole-tight", f.Code)
	require.Equal(t, measure.Note, f.Level)
	require.Equal(t, "The narrowest of 2 holes for the 1.5 mm rod, at (0.0, 0.0, 0.0), passes 1.70 mm as drawn; for a free pivot it should pass 1.8 mm in rigid filament, because printed holes come out small. Clear it with a 1.6 mm drill.", f.Text)

	require.Equal(t, "no-hole", one(takes(rod(1.5)), release.CutFor(bench.Resin), upright(3, 0, 0)).Code)
	require.Empty(t, findings(takes(rod(1.5)), release.CutFor(bench.Resin), measure.Report{Bores: bore.Report{Holes: []bore.Hole{upright(1.65, 0, 0)}}}, nil))

	magnet := bench.Hardware{ID: "m", Kind: bench.Magnet, Diameter: 3, Thickness: 4.5}
	f = one(takes(magnet), release.CutFor(bench.Resin), upright(3.2, 0, 0))
	require.Equal(t, "The pocket for the magnet at (0.0, 0.0, 0.0) is 4.00 mm deep and the magnet 4.5 mm thick: it stands proud.", f.Text)

	cord := bench.Hardware{ID: "c", Kind: bench.Cord, Diameter: 1}
	require.Empty(t, findings(takes(cord), release.CutAny, measure.Report{Bores: bore.Report{Holes: []bore.Hole{upright(1.05, 0, 0)}}}, nil), "cord only has to pass")
	screw := bench.Hardware{ID: "s", Kind: bench.Screw, Diameter: 2}
	// Check values 7.3: M2 in soft material is drilled 1.60.
	require.Empty(t, findings(takes(screw), release.CutAny, measure.Report{Bores: bore.Report{Holes: []bore.Hole{upright(1.6, 0, 0)}}}, nil))
}

func TestLayersInResin(t *testing.T) {
	codes := func(l survey.Layers, print ...release.PrintSettings) []string {
		out := []string{}
		for _, f := range findings(release.Part{}, release.CutAny, measure.Report{}, &l, print...) {
			out = append(out, f.Code)
		}
		return out
	}
	flat := survey.Layers{Peak: 2400, Steep: &survey.Trial{Pose: slice.Pose{Tilt: 40, About: "x"}, Peak: 176}}
	require.Equal(t, []string{"lies-flat"}, codes(flat))
	got := findings(release.Part{}, release.CutAny, measure.Report{}, &flat)
	require.Equal(t, "In resin it lies flat: its largest layer is 2400 mm²; tilted 40° about x it is 176 mm². A large layer comes off the film with a jerk that can distort the part or tear it loose.", got[0].Text)
	flat.Steep.Peak = 1300
	require.Empty(t, codes(flat), "a tilt that gains little is not worth a word")

	islands := survey.Layers{Report: stack.Report{Islands: []stack.Island{{Area: .4}}}, IslandCount: 1}
	require.Equal(t, []string{"islands"}, codes(islands))
	require.Empty(t, codes(islands, release.PrintSettings{Process: bench.Resin, Supports: "light"}), "they stand on supports")
	require.Equal(t, []string{"islands"}, codes(islands, release.PrintSettings{Process: bench.Resin, Supports: "None at all"}))

	hollow := func(v float64) []stack.Hollow { return []stack.Hollow{{Volume: v}, {Volume: 1}} }
	require.Equal(t, []string{"trapped", "well", "cup"}, codes(survey.Layers{Report: stack.Report{Cups: hollow(150), Wells: hollow(150), Trapped: hollow(2)}}))
	require.Equal(t, []string{"trapped"}, codes(survey.Layers{Report: stack.Report{Cups: hollow(54), Wells: hollow(54), Trapped: hollow(54)}}), "a rod's blind hole is no cup")
	well := survey.Layers{Pose: slice.Pose{Tilt: 40, About: "x"}, Report: stack.Report{Wells: []stack.Hollow{{Volume: 1250, At: mesh.Vec{X: 1}}, {Volume: 1}}}}
	require.Equal(t, "As it is laid for resin (tilted 40° about x), 1 hollow opens away from the plate (the largest, at (1.0, 0.0, 0.0), holds 1.2 ml): on a printer that hangs the part over a film it sucks like a cup. Vent it at its closed end, or lay the part another way.",
		findings(release.Part{}, release.CutAny, measure.Report{}, &well)[0].Text)
}

func TestTheTableNamesWhatIsTooThin(t *testing.T) {
	f := newFixture()
	for i := range f.site.Bench.Materials {
		f.site.Bench.Materials[i].WallMin, f.site.Bench.Materials[i].PinMin = .6, 2
	}
	for _, name := range []string{"Horn", "Leg", "Tail"} {
		f.add(release.Part{Slug: name, Name: name}, everywhere, release.CutAny)
	}
	thinAt := func(v float64, names ...string) {
		for _, n := range names {
			f.s[n+"/any"].Report.Thin = thin.Report{Places: []thin.Place{{Kind: thin.Pin, Thickness: v, Extent: 10, Run: 10}}}
		}
	}
	is := func(want standing.Standing, reason string) {
		t.Helper()
		require.Equal(t, want, f.cell("filament").Standing)
		require.Equal(t, reason, f.cell("filament").Reason)
	}
	thinAt(1.5, "Horn")
	is(standing.Expected, "Passes, with 1 note; nobody has logged a print.") // 1.5 is not far under 2
	thinAt(1, "Horn")
	is(standing.WithCare, "Too thin in places: Horn, with a pin of 1.00 mm where the material needs 2 mm.")
	thinAt(1, "Leg")
	is(standing.WithCare, "Too thin in places for this material: Horn and Leg.")
	require.Equal(t, standing.WithCare, f.cell("soft-resin").Standing, "the cut was not drawn to its limits, but is held against them here")
	f.add(release.Part{Slug: "Fin", Name: "Fin"}, everywhere, release.CutAny)
	thinAt(1, "Tail", "Fin")
	is(standing.WithCare, "Too thin in places for this material: 4 parts.")
	thinAt(.6, "Fin")
	is(standing.NotSuited, "Far too thin in places: Fin, with a pin of 0.60 mm where the material needs 2 mm.")
}

// A part is not suited for being thin only where something hangs on what is thin.
func TestNotSuitedForThinnessNeedsSomethingThatHangsOnIt(t *testing.T) {
	f := newFixture()
	for i := range f.site.Bench.Materials {
		f.site.Bench.Materials[i].WallMin, f.site.Bench.Materials[i].PinMin = .9, 1.5
	}
	f.add(release.Part{Slug: "wing", Name: "Wing"}, everywhere, release.CutAny)
	for _, row := range []struct {
		place thin.Place
		want  standing.Standing
	}{
		{thin.Place{Kind: thin.Wall, Thickness: .1, Extent: 30, Run: 6}, standing.NotSuited},
		{thin.Place{Kind: thin.Wall, Thickness: .1, Extent: 30, Run: 4.9}, standing.WithCare},               // a long low rib
		{thin.Place{Kind: thin.Wall, Thickness: .1, Extent: 30, Run: 2.5, Joins: true}, standing.NotSuited}, // a web
		{thin.Place{Kind: thin.Wall, Thickness: .1, Extent: 30, Run: 1.9, Joins: true}, standing.WithCare},  // bridged
		{thin.Place{Kind: thin.Wall, Thickness: .31, Extent: 30, Run: 9, Joins: true}, standing.WithCare},   // over a third
		{thin.Place{Kind: thin.Pin, Thickness: .4, Extent: 6, Run: 5.5}, standing.NotSuited},
		{thin.Place{Kind: thin.Pin, Thickness: .4, Extent: 6, Run: 3}, standing.WithCare},
		{thin.Place{Kind: thin.Pin, Thickness: .4, Extent: 6, Run: 3, Joins: true}, standing.NotSuited}, // an axle
	} {
		f.s["wing/any"].Report.Thin = thin.Report{Places: []thin.Place{row.place}}
		require.Equal(t, row.want, f.cell("filament").Standing, "%+v", row.place)
	}
	// A detail that is thinner does not hide the wall that fails.
	f.s["wing/any"].Report.Thin = thin.Report{Places: []thin.Place{{Kind: thin.Wall, Thickness: .1, Extent: 2, Run: 1}, {Kind: thin.Wall, Thickness: .2, Extent: 20, Run: 10}}}
	require.Equal(t, standing.NotSuited, f.cell("filament").Standing)
	require.Contains(t, f.cell("filament").Reason, "a wall of 0.20 mm")
	// An edge or a point is no finding.
	f.s["wing/any"].Report.Thin = thin.Report{Edges: []thin.Place{{Kind: thin.Edge, Thickness: .1, Extent: 20}}}
	require.Equal(t, standing.Expected, f.cell("filament").Standing)
}
