package verdict_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit/gauge"
	"cardback/internal/measure"
	"cardback/internal/measure/stand"
	"cardback/internal/measure/thin"
	"cardback/internal/mesh"
	"cardback/internal/notes"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict"
)

var (
	discMagnet = bench.Hardware{ID: "magnet", Name: "Disc magnet", Kind: bench.Magnet, Diameter: 3, Thickness: 1}
	brassRod   = bench.Hardware{ID: "rod", Name: "Brass rod", Kind: bench.Rod, Diameter: 1.5, StockLength: 300, Caution: "File both ends."}
	fastGlue   = bench.Hardware{ID: "glue", Name: "Fast glue", Kind: bench.Adhesive}
	softCord   = bench.Hardware{ID: "cord", Name: "Cord", Kind: bench.Cord, Diameter: 1}
)

func codes(cs []verdict.Caution) []verdict.CautionCode {
	var out []verdict.CautionCode
	for _, c := range cs {
		out = append(out, c.Code)
	}
	return out
}

func (f *fixture) cautions() []verdict.Caution {
	return verdict.Cautions(&f.site, f.site.Releases[0], f.s)
}

func one(t *testing.T, cs []verdict.Caution, code verdict.CautionCode) verdict.Caution {
	t.Helper()
	i := slices.IndexFunc(cs, func(c verdict.Caution) bool { return c.Code == code })
	require.GreaterOrEqual(t, i, 0, "no caution %q in %v", code, codes(cs))
	return cs[i]
}

// gauged says how every cut of the fixture lies in the gauge.
func (f *fixture) gauged(part string, v gauge.Verdict) {
	for rel, cs := range f.s {
		if strings.HasPrefix(rel, part+"/") {
			cs.Gauge.Verdict = v
		}
	}
}

// The caution for small parts comes by itself, for parts, for doubt and for
// hardware, and not without a ground.
func TestSmallPartsBringTheirCaution(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "hull", Name: "Hull", Quantity: 1}, nil, release.CutAny)
	f.add(release.Part{Slug: "cap", Name: "Cap", Quantity: 1}, nil, release.CutFor(bench.Filament), release.CutFor(bench.Resin))
	f.gauged("hull", gauge.Outside)
	f.gauged("cap", gauge.Outside)
	require.NotContains(t, codes(f.cautions()), verdict.SmallPartCaution)
	require.NotContains(t, one(t, f.cautions(), verdict.DisplayCaution).Text, "small parts")

	f.s["cap/resin"].Gauge.Verdict = gauge.Inside
	require.Equal(t, "1 part fits the small-parts gauge whole: Cap.", one(t, f.cautions(), verdict.SmallPartCaution).Why)
	f.gauged("hull", gauge.Undecided)
	require.Equal(t, "1 part fits the small-parts gauge whole: Cap. Of Hull it could not be ruled out.", one(t, f.cautions(), verdict.SmallPartCaution).Why)
	f.gauged("cap", gauge.Outside)
	require.Equal(t, "Of Hull it could not be ruled out.", one(t, f.cautions(), verdict.SmallPartCaution).Why)
	f.gauged("hull", gauge.Outside)

	r := &f.site.Releases[0]
	r.Hardware = []release.HardwareUse{{Item: discMagnet, Count: 2}, {Item: brassRod, Count: 3, Cut: 27}, {Item: brassRod, Count: 1, Cut: 70}, {Item: softCord, Count: 1, Cut: 20}, {Item: fastGlue, Count: 1}}
	require.Equal(t, "Pieces of hardware fit the small-parts gauge: Disc magnet (2); Brass rod (3).", one(t, f.cautions(), verdict.SmallPartCaution).Why)

	for range 8 {
		f.add(release.Part{Slug: "peg" + strings.Repeat("x", len(r.Parts)), Name: "Peg", Quantity: 1}, nil, release.CutAny)
	}
	f.gauged("peg", gauge.Inside)
	for rel, cs := range f.s {
		if strings.HasPrefix(rel, "peg") {
			cs.Gauge.Verdict = gauge.Inside
		}
	}
	r.Hardware = nil
	require.Equal(t, "8 parts fit the small-parts gauge whole: Peg, Peg, Peg, Peg, Peg, Peg and 2 more.", one(t, f.cautions(), verdict.SmallPartCaution).Why)
}

// Hardware at the gauge's own limits: 65.377251 from corner to corner, 31.75 wide
// (check-values 3.1).
func TestHardwareIsHeldAgainstTheGauge(t *testing.T) {
	rod := func(d, l float64) bool {
		r := release.Release{Hardware: []release.HardwareUse{{Item: bench.Hardware{Kind: bench.Rod, Diameter: d}, Count: 1, Cut: l}}}
		return len(verdict.SmallPartsOf(r, nil).Hardware) > 0
	}
	long := func(d float64) float64 { return math.Sqrt(65.377251*65.377251 - d*d) }
	require.True(t, rod(1.5, 62.958), "check-values 3.1: it fits")
	require.True(t, rod(1.5, long(1.5)-0.05))
	require.False(t, rod(1.5, long(1.5)+0.05))
	require.True(t, rod(31.70, 10))
	require.False(t, rod(31.80, 10))
	require.True(t, rod(1.5, 0), "cut lengths that are not stated are short as a rule")
	// What is ruled out so is ruled out by the search too.
	var prism []mesh.Vec
	for k := range 12 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 6)
		prism = append(prism, mesh.Vec{X: 0.75 * cos, Y: 0.75 * sin}, mesh.Vec{X: 0.75 * cos, Y: 0.75 * sin, Z: long(1.5) + 0.05})
	}
	require.Equal(t, gauge.Outside, gauge.Decide(t.Context(), prism).Verdict)
}

// Check-values 3.3: screening estimates of disc magnets at three remanences.
func TestFluxIndexAgreesWithTheTable(t *testing.T) {
	for _, row := range []struct{ d, h, a, b, c float64 }{
		{1, 1, 3.0, 3.7, 4.6}, {2, 1, 22.2, 27.4, 34.1}, {2, 2, 34.5, 42.6, 53.0}, {3, 1, 45.0, 55.6, 69.2}, {3, 2, 87.2, 107.7, 133.9},
		{4, 1, 62.5, 77.2, 96.0}, {5, 1, 74.5, 92.0, 114.4}, {5, 2, 195.4, 241.2, 300.1}, {6, 3, 374.6, 462.5, 575.4},
	} {
		for i, br := range []float64{1.17, 1.30, 1.45} {
			require.InDelta(t, []float64{row.a, row.b, row.c}[i], verdict.FluxIndex(row.d, row.h, br), 0.051, "%v x %v at %v T", row.d, row.h, br)
		}
	}
}

// Magnets bring their caution whatever their size, and say how strong they may be.
func TestMagnetsAlwaysBringTheirCaution(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "hull", Name: "Hull", Quantity: 1, Takes: []release.HardwareUse{{Item: discMagnet, Count: 2}}}, nil, release.CutAny)
	why := one(t, f.cautions(), verdict.MagnetCaution).Why
	require.Contains(t, why, "2 of Disc magnet")
	require.Contains(t, why, "about 56 kG²mm²")
	require.Contains(t, why, "fits the small-parts gauge")
	small := discMagnet
	small.Diameter = 1
	f.site.Releases[0].Parts[0].Takes = []release.HardwareUse{{Item: small, Count: 1}}
	require.Contains(t, one(t, f.cautions(), verdict.MagnetCaution).Why, "about 4 kG²mm²; what is loose")
	small.FluxIndex = 12.5
	f.site.Releases[0].Parts[0].Takes = []release.HardwareUse{{Item: small, Count: 1}}
	require.Contains(t, one(t, f.cautions(), verdict.MagnetCaution).Why, "Its maker states a flux index of 12.5 kG²mm²")
}

// Every caution has a heading, words and a ground, and comes only with what
// brings it.
func TestCautionsHaveGrounds(t *testing.T) {
	f := newFixture()
	require.Equal(t, []verdict.CautionCode{verdict.DisplayCaution}, codes(f.cautions()), "nothing is there yet")
	f.add(release.Part{Slug: "hull", Name: "Hull", Quantity: 1}, nil, release.CutFor(bench.Filament))
	f.gauged("hull", gauge.Outside)
	require.Equal(t, []verdict.CautionCode{"filament", verdict.SandingCaution, verdict.HeatCaution, verdict.DisplayCaution}, codes(f.cautions()))

	f.add(release.Part{Slug: "needle", Name: "Needle", Quantity: 1}, nil, release.CutFor(bench.Resin))
	f.gauged("needle", gauge.Inside)
	f.s["needle/resin"].Report.Thin = thin.Report{Limit: thin.Limit, Places: []thin.Place{{Kind: thin.Pin, Thickness: 0.8, Extent: 6}}}
	r := &f.site.Releases[0]
	r.Cautions = []string{"Mind the needle."}
	r.Hardware = []release.HardwareUse{{Item: discMagnet, Count: 1}, {Item: brassRod, Count: 1, Cut: 20}, {Item: fastGlue, Count: 1}}
	r.Notes = text(t, "## Assembly\n\n1. Clean the parts. Resin: gloves.\n2. Cut the rod.\n3. Glue the magnet into the hull.\n4. Push the *needle* in.\n5. Wait.\n\n## Painting\n\nSpray varnish outside.\n")
	all := f.cautions()
	require.Equal(t, []verdict.CautionCode{
		verdict.OwnCaution, verdict.SmallPartCaution, verdict.MagnetCaution, verdict.SharpCaution, "resin", "solvent",
		"filament", verdict.CuttingCaution, verdict.AdhesiveCaution, verdict.SandingCaution, verdict.PaintCaution, verdict.HeatCaution,
		verdict.ItemCaution, verdict.DisplayCaution,
	}, codes(all))
	steps := map[verdict.CautionCode][]int{
		"resin": {1}, "solvent": {1}, verdict.CuttingCaution: {2}, verdict.AdhesiveCaution: {3}, verdict.MagnetCaution: {3}, verdict.SharpCaution: {4},
	}
	for _, c := range all {
		require.NotEmpty(t, c.About)
		require.True(t, strings.HasSuffix(c.Text, "."), c.Text)
		require.Equal(t, steps[c.Code], c.Steps(), c.Code)
		if len(c.At) > 0 {
			require.NotEmpty(t, c.Brief, c.Code)
		}
		byHand := c.Code == verdict.OwnCaution || c.Code == verdict.ItemCaution || c.Code == verdict.DisplayCaution
		require.Equal(t, byHand, c.Why == "", "%s: %s", c.Code, c.Why)
		require.NotContains(t, c.Text+c.Why, "  ")
	}
	require.Equal(t, "At step 3 of the assembly.", one(t, all, verdict.MagnetCaution).Where())
	require.Equal(t, "1 of its 2 parts can be printed in resin.", one(t, all, "resin").Why)
	require.Equal(t, "Needle has a pin or tip under 1.02 mm thick.", one(t, all, verdict.SharpCaution).Why)
}

// A thick or short pin is no point.
func TestOnlySlenderPinsArePoints(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "needle", Name: "Needle", Quantity: 1}, nil, release.CutAny)
	for _, row := range []struct {
		place thin.Place
		want  bool
	}{
		{thin.Place{Kind: thin.Pin, Thickness: 0.96, Extent: 2}, true}, // the slot is 1.016 mm
		{thin.Place{Kind: thin.Pin, Thickness: 1.07, Extent: 9}, false},
		{thin.Place{Kind: thin.Pin, Thickness: 0.8, Extent: 1.5}, false},
		{thin.Place{Kind: thin.Wall, Thickness: 0.5, Extent: 9}, false},
	} {
		tapers := row.place
		tapers.Kind = map[thin.Kind]thin.Kind{thin.Pin: thin.Point, thin.Wall: thin.Edge}[tapers.Kind]
		f.s["needle/any"].Report.Thin = thin.Report{Limit: thin.Limit, Edges: []thin.Place{tapers}}
		require.Equal(t, row.want, slices.Contains(codes(f.cautions()), verdict.SharpCaution), "tapering: %+v", row.place)
		f.s["needle/any"].Report.Thin = thin.Report{Limit: thin.Limit, Places: []thin.Place{row.place}}
		require.Equal(t, row.want, slices.Contains(codes(f.cautions()), verdict.SharpCaution), "%+v", row.place)
	}
}

// Hot cars: what is stated counts; what is stated to stand a dashboard does not; flexible
// stocks are left out.
func TestHeatFollowsTheMaterials(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "hull", Name: "Hull", Quantity: 1}, nil, release.CutAny)
	why := one(t, f.cautions(), verdict.HeatCaution).Why
	require.Contains(t, why, "46 to 62 °C")
	require.Contains(t, why, "about 60 °C")
	for i := range f.site.Bench.Materials {
		f.site.Bench.Materials[i].Name = []string{"Rigid resin", "Soft resin", "Rigid filament"}[i]
		f.site.Bench.Materials[i].Softens = []float64{48, 30, 90}[i]
	}
	require.Equal(t, "It can be printed in what softens so low: rigid resin from 48 °C.", one(t, f.cautions(), verdict.HeatCaution).Why)
	f.site.Bench.Materials[0].Softens = 85
	require.NotContains(t, codes(f.cautions()), verdict.HeatCaution)
}

// A step is told by whole words.
func TestStepsAreToldByWholeWords(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "hull", Name: "Hull", Quantity: 1}, nil, release.CutAny)
	r := &f.site.Releases[0]
	r.Hardware = []release.HardwareUse{{Item: brassRod, Count: 1, Cut: 20}, {Item: fastGlue, Count: 1}}
	r.Notes = text(t, "## Assembly\n\n1. Sandwich the thousand gluey rods.\n2. CUT\n   the rod, then glue it.\n3. Sand it and wash your hands.\n7. Saw the wire.\n")
	all := f.cautions()
	require.Equal(t, []int{2, 4}, one(t, all, verdict.CuttingCaution).Steps(), "a page numbers the items of a list on from its first")
	require.Equal(t, []int{2}, one(t, all, verdict.AdhesiveCaution).Steps())
	require.Equal(t, []int{3}, one(t, all, verdict.SandingCaution).Steps())
	require.Empty(t, one(t, all, "solvent").Steps())
	require.Equal(t, "At steps 2 and 4 of the assembly.", one(t, all, verdict.CuttingCaution).Where())
}

// Two lists may both have a step 1: what belongs to one is not told at the other.
func TestStepsOfOneNumberAreToldApart(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "hull", Name: "Hull", Quantity: 1}, nil, release.CutAny)
	r := &f.site.Releases[0]
	r.Hardware = []release.HardwareUse{{Item: brassRod, Count: 1, Cut: 20}}
	r.Notes = text(t, "## Assembly\n\n1. Look at it.\n2. Cut the rod, then sand it.\n\nThen\n\n- turn over\n\n1. Cut the rod.\n")
	steps, all := r.Notes.Steps(), f.cautions()
	require.Equal(t, []*notes.Step{steps[1], steps[2]}, one(t, all, verdict.CuttingCaution).At)
	require.Equal(t, []int{2, 1}, one(t, all, verdict.CuttingCaution).Steps())
	require.Equal(t, []*notes.Step{steps[1]}, one(t, all, verdict.SandingCaution).At)
}

// text is notes that have no problems.
func text(t testing.TB, body string) *notes.Document {
	t.Helper()
	d, problems := notes.Parse(body)
	require.Empty(t, problems)
	return d
}

func TestHardwareCautionsAreTheItemsOwn(t *testing.T) {
	require.Equal(t, []verdict.CautionCode{verdict.ItemCaution, verdict.CuttingCaution}, codes(verdict.HardwareCautions(brassRod)))
	require.Equal(t, []verdict.CautionCode{verdict.MagnetCaution}, codes(verdict.HardwareCautions(discMagnet)))
	require.Equal(t, []verdict.CautionCode{verdict.AdhesiveCaution}, codes(verdict.HardwareCautions(fastGlue)))
	require.Empty(t, verdict.HardwareCautions(softCord))
}

// The fault of a licence comes by the findings, about the whole release.
func TestLicencesAreFindings(t *testing.T) {
	f := newFixture()
	r := &f.site.Releases[0]
	r.SourceFile, r.Licence = "releases/01-x/release.md", "CC-BY-4.0"
	r.Credits = []release.Credit{
		{Work: "Free", Licence: "CC0-1.0"}, {Work: "Named", Licence: "CC-BY-3.0"}, {Work: "Alike", Licence: "CC-BY-SA-4.0"},
		{Work: "Fixed", Licence: "CC-BY-ND-4.0"}, {Work: "Unsold", Licence: "CC-BY-NC-4.0"}, {Work: "Code", Licence: "MIT"},
	}
	var got []string
	for _, x := range verdict.Findings(&f.site, f.s) {
		require.Empty(t, x.Part)
		require.Equal(t, r.SourceFile, x.File)
		require.Equal(t, 1, x.Release)
		got = append(got, string(x.Level)+" "+x.Code)
	}
	require.Equal(t, []string{"fault licence-not-allowed", "fault licence-not-allowed", "caution licence-discouraged", "note licence-not-covered"}, got)
	first := verdict.Findings(&f.site, f.s)[0]
	require.Equal(t, `The release is under CC-BY-4.0 and adapts "Alike", which is under CC-BY-SA-4.0: not allowed. CC-BY-SA-4.0 asks that adaptations carry the same licence: put the release under CC-BY-SA-4.0.`, first.Text)
	require.Len(t, verdict.Credits(*r), 6)
}

func TestWhetherAFigureStandsIsASentence(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "block", Name: "Block", Quantity: 1}, []string{"small", "bed"}, release.CutAny, release.CutFor(bench.Resin))
	r := &f.site.Releases[0]
	square := []mesh.Vec{{}, {X: 10}, {X: 10, Y: 10}, {Y: 10}}
	set := func(rel string, points []mesh.Vec, centre mesh.Vec) {
		got := stand.On(points, centre)
		f.s[rel].Stands = &got
	}
	say := func() verdict.Stance {
		st, ok := verdict.Stands(*r, f.s)
		require.True(t, ok)
		require.NotEmpty(t, st.Ground)
		return st
	}
	set("block/any", square, mesh.Vec{X: 5, Y: 5, Z: 5}) // check-values 1.9: a cube
	set("block/resin", square, mesh.Vec{X: 5, Y: 8, Z: 8})
	require.Equal(t, "Stands: tips at 14° towards the back.", say().Sentence, "the worse of two cuts; atan(2/8)")
	f.s["block/resin"].Stands = f.s["block/any"].Stands
	require.Contains(t, say().Sentence, "Stands: tips at 45° towards ")
	set("block/any", square, mesh.Vec{X: 9.5, Y: 5, Z: 40})
	require.Equal(t, "Stands: tips at 0.7° towards the right.", say().Sentence) // 0.716
	set("block/any", square, mesh.Vec{X: -2.3, Y: 5, Z: 40})
	require.Equal(t, "Does not stand by itself: its weight lies 2.3 mm outside what it rests on, towards the left.", say().Sentence)
	set("block/any", square[:2], mesh.Vec{X: 5, Z: 4})
	require.Equal(t, "Does not stand by itself: it rests on a line.", say().Sentence)
	set("block/any", square[:1], mesh.Vec{Z: 4})
	require.Equal(t, "Does not stand by itself: it rests on one point.", say().Sentence)
	f.s["block/any"].Stands = nil
	require.False(t, say().Known)

	// A pose speaks for the whole figure, and is a finding where it cannot.
	r.Pose = &release.Cut{Kind: release.CutPose, Rel: "releases/01/pose.stl"}
	f.s[r.Pose.Rel] = &survey.CutSurvey{Cut: *r.Pose}
	set(r.Pose.Rel, square, mesh.Vec{X: 5, Y: 5, Z: 20})
	require.Contains(t, say().Sentence, "Stands: tips at 14° towards ")
	require.Contains(t, say().Ground, "pose.stl")
	require.Empty(t, verdict.Findings(&f.site, f.s))
	f.s[r.Pose.Rel].Stands = nil
	require.Equal(t, "pose-open", verdict.Findings(&f.site, f.s)[0].Code)
	f.s[r.Pose.Rel].Err = errTest
	found := verdict.Findings(&f.site, f.s)
	require.Len(t, found, 1)
	require.Equal(t, measure.Caution, found[0].Level)
	require.Equal(t, "pose-unreadable", found[0].Code)

	r.Pose = nil
	f.add(release.Part{Slug: "other", Name: "Other", Quantity: 1}, nil, release.CutAny)
	_, ok := verdict.Stands(*r, f.s)
	require.False(t, ok, "nothing is said of figures in several parts")
}
