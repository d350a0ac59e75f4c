package verdict_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict"
	"cardback/internal/verdict/standing"
)

// fixture is a site with one release, made of parts that do or do not fit the
// two plates of the bench.
type fixture struct {
	site release.Site
	s    survey.Survey
	same standing.SameShape
}

var errTest = errors.New("cut off")

func newFixture() *fixture {
	return &fixture{
		site: release.Site{
			Bench: bench.Bench{
				Plates: []bench.Plate{
					{ID: "small", Name: "Small resin", Process: bench.Resin, Standard: true},
					{ID: "bed", Name: "Bed", Process: bench.Filament, Standard: true},
				},
				Materials: []bench.Material{
					{ID: "resin", Process: bench.Resin, Stiffness: bench.Rigid},
					{ID: "soft-resin", Process: bench.Resin, Stiffness: bench.Flexible},
					{ID: "filament", Process: bench.Filament, Stiffness: bench.Rigid},
				},
			},
			Releases: []release.Release{{Number: 1}},
		},
		s: survey.Survey{},
	}
}

// add gives the release a part with the given cuts; fits names the plates that
// take them.
func (f *fixture) add(p release.Part, fits []string, kinds ...release.CutKind) {
	for _, k := range kinds {
		c := release.Cut{Kind: k, Rel: p.Slug + "/" + string(k)}
		p.Cuts = append(p.Cuts, c)
		cs := &survey.CutSurvey{Cut: c, Report: &measure.Report{Fingerprint: c.Rel}, Fits: map[string]fit.Result{}}
		for _, plate := range f.site.Bench.Plates {
			cs.Fits[plate.ID] = fit.Result{Verdict: fit.CannotFit}
		}
		for _, id := range fits {
			cs.Fits[id] = fit.Result{Verdict: fit.Turned, TurnDeg: 38.4, LargestScale: 1.2}
		}
		f.s[c.Rel] = cs
	}
	r := &f.site.Releases[0]
	r.Parts = append(r.Parts, p)
}

func (f *fixture) plate(id string) verdict.PlateAnswer {
	for _, a := range verdict.Plates(&f.site, f.site.Releases[0], f.s) {
		if a.Plate.ID == id {
			return a
		}
	}
	panic("no such plate: " + id)
}

func (f *fixture) cell(material string) standing.Cell {
	for _, c := range verdict.Table(&f.site, f.s, f.same) {
		if c.Material == material {
			return c
		}
	}
	panic("no such material: " + material)
}

var everywhere = []string{"small", "bed"}

func TestAReleaseFitsWhenEveryPartDoes(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "arm", Name: "Arm"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "leg", Name: "Leg"}, everywhere, release.CutAny)
	a := f.plate("small")
	require.True(t, a.Fits)
	require.Equal(t, "Each part fits.", a.Sentence)
	require.Equal(t, "fits turned 38.4°", a.Parts[0].Text)
	require.Equal(t, standing.Expected, f.cell("resin").Standing)
}

func TestOnePartThatDoesNotFitBlocks(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "arm", Name: "Arm"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "hull", Name: "Hull"}, []string{"bed"}, release.CutAny)
	a := f.plate("small")
	require.False(t, a.Fits)
	require.Equal(t, []string{"hull"}, a.Blocking)
	require.Equal(t, "Hull does not fit at full size.", a.Sentence)
	c := f.cell("resin")
	require.Equal(t, standing.NotSuited, c.Standing)
	require.Equal(t, "At full size Hull fits no plate of the bench for this process.", c.Reason)
	require.Equal(t, standing.Expected, f.cell("filament").Standing)
}

func TestWhereNeitherAWholeNorItsPiecesFitBothAreNamed(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "hull", Name: "Hull"}, nil, release.CutAny)
	f.add(release.Part{Slug: "fore", Name: "Fore", Replaces: "hull"}, []string{"bed"}, release.CutAny)
	f.add(release.Part{Slug: "aft", Name: "Aft", Replaces: "hull"}, everywhere, release.CutAny)
	a := f.plate("small")
	require.False(t, a.Fits)
	require.Equal(t, []string{"hull", "fore"}, a.Blocking)
	require.Equal(t, "Hull fits at full size neither whole nor in its pieces, of which Fore does not fit.", a.Sentence)
	require.True(t, f.plate("bed").Fits)

	delete(f.s["aft/any"].Fits, "small")
	f.s["aft/any"].Fits["small"] = fit.Result{Verdict: fit.CannotFit}
	require.Equal(t, "Hull fits at full size neither whole nor in its pieces, of which Fore and Aft do not fit.", f.plate("small").Sentence)

	f.s["fore/any"].Fits["small"] = fit.Result{Verdict: fit.Undecided}
	require.Equal(t, "Whether Fore can fit is undecided. Hull fits at full size neither whole nor in its pieces, of which Aft does not fit.", f.plate("small").Sentence)
}

func TestPiecesReplaceAWholeOnlyWhenAllOfThemFit(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "hull", Name: "Hull"}, []string{"bed"}, release.CutAny)
	f.add(release.Part{Slug: "fore", Name: "Fore", Replaces: "hull"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "aft", Name: "Aft", Replaces: "hull"}, everywhere, release.CutAny)
	a := f.plate("small")
	require.True(t, a.Fits)
	require.Equal(t, []string{"hull"}, a.UseSplit)
	require.Equal(t, "Each part fits when Hull is printed in its pieces.", a.Sentence)
	require.Empty(t, f.plate("bed").UseSplit, "where the whole fits, it is printed whole")
	require.Equal(t, standing.Expected, f.cell("resin").Standing)

	f.s["aft/any"].Fits["small"] = fit.Result{Verdict: fit.Undecided}
	a = f.plate("small")
	require.False(t, a.Fits, "undecided is not a fit")
	f.s["hull/any"].Fits["small"] = fit.Result{Verdict: fit.Undecided}
	require.Equal(t, "Whether Hull and Aft can fit is undecided.", f.plate("small").Sentence, "nor is it a proof against one")
	require.Equal(t, []string{"hull", "aft"}, a.Blocking)
}

func TestAnyMemberOfAChoiceWillDo(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "tall-hat", Name: "Tall hat", Choice: "hat"}, nil, release.CutAny)
	f.add(release.Part{Slug: "flat-hat", Name: "Flat hat", Choice: "hat"}, everywhere, release.CutAny)
	require.True(t, f.plate("small").Fits)
	f.s["flat-hat/any"].Fits["small"] = fit.Result{Verdict: fit.CannotFit}
	require.False(t, f.plate("small").Fits)
}

func TestACutForAnotherProcessIsNotOffered(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "arm", Name: "Arm"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "torso", Name: "Torso"}, everywhere, release.CutFor(bench.Filament))
	require.Equal(t, standing.NotOffered, f.cell("resin").Standing)
	require.Equal(t, "There is no resin cut of Torso.", f.cell("resin").Reason)
	require.Equal(t, standing.Expected, f.cell("filament").Standing)
	require.Equal(t, "There is no resin cut of Torso.", f.plate("small").Sentence)
}

func TestAPartForOneProcessOnlyIsNotMissedInTheOther(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "torso", Name: "Torso"}, everywhere, release.CutFor(bench.Filament), release.CutFor(bench.Resin))
	f.add(release.Part{Slug: "back", Name: "Back", Only: bench.Resin}, everywhere, release.CutFor(bench.Resin))
	require.Equal(t, standing.Expected, f.cell("filament").Standing)
	require.True(t, f.plate("bed").Fits)
	require.Equal(t, "not needed in filament", f.plate("bed").Parts[1].Text)
	f.s["back/resin"].Fits["small"] = fit.Result{Verdict: fit.CannotFit}
	require.Equal(t, standing.NotSuited, f.cell("resin").Standing)
}

func TestAFlexiblePartDoesNotBarARigidMaterialAndIsNamed(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "head", Name: "Head"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "tail", Name: "Tail"}, everywhere, release.CutFlexible)
	c := f.cell("resin")
	require.Equal(t, standing.Expected, c.Standing)
	require.Contains(t, c.Reason, "Print Tail in a flexible material.")
	require.NotContains(t, f.cell("soft-resin").Reason, "flexible material")
}

func TestAnUnreadableMeshIsNotOffered(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "arm", Name: "Arm"}, everywhere, release.CutAny)
	f.s["arm/any"] = &survey.CutSurvey{Cut: f.s["arm/any"].Cut, Err: errors.New("cut off")}
	require.Equal(t, standing.NotOffered, f.cell("resin").Standing)
	require.Equal(t, "The mesh of Arm could not be read.", f.cell("resin").Reason)
	require.Equal(t, "the mesh could not be read", f.plate("small").Parts[0].Text)
	require.Equal(t, "The mesh of Arm could not be read.", f.plate("small").Sentence)
	require.False(t, f.plate("small").Fits)
	found := verdict.Findings(&f.site, f.s)
	require.Len(t, found, 1)
	require.Equal(t, measure.Fault, found[0].Level)
	require.Equal(t, "cut off", found[0].Text)
}

func TestFindingsCarryTheirPlaceAndFaultsComeFirst(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "arm", Name: "Arm"}, everywhere, release.CutAny)
	f.s["arm/any"].Report.Findings = []measure.Finding{
		{Level: measure.Note, Code: "n"}, {Level: measure.Fault, Code: "f"}, {Level: measure.Caution, Code: "c"},
	}
	found := verdict.Findings(&f.site, f.s)
	require.Len(t, found, 3)
	require.Equal(t, []string{"f", "c", "n"}, []string{found[0].Code, found[1].Code, found[2].Code})
	require.Equal(t, "arm/any", found[0].File)
	require.Equal(t, 1, found[0].Release)
}

func TestAReleaseWithoutPartsOffersNothing(t *testing.T) {
	f := newFixture()
	require.Equal(t, standing.NotOffered, f.cell("resin").Standing)
	require.Equal(t, "This release has no parts yet.", f.plate("small").Sentence)
}

// A fit that ruins the print is no fit: a whole that fits only in another
// orientation than the recommended one gives way to pieces that keep theirs, and
// where nothing else fits the sentence says so.
func TestAFitInAnotherOrientationIsSaidAndComesLast(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "hull", Name: "Hull"}, everywhere, release.CutAny)
	f.s["hull/any"].Fits["small"] = fit.Result{Verdict: fit.Tipped, Declared: true}
	a := f.plate("small")
	require.True(t, a.Fits)
	require.Equal(t, []string{"hull"}, a.Tilted)
	require.Equal(t, "fits, but not at the recommended tilt", a.Parts[0].Text)
	require.Equal(t, "Each part fits. Hull fits only in another orientation than the one recommended.", a.Sentence)
	require.Contains(t, f.cell("resin").Reason, "only in another orientation")

	f.add(release.Part{Slug: "fore", Name: "Fore", Replaces: "hull"}, everywhere, release.CutAny)
	a = f.plate("small")
	require.Equal(t, []string{"hull"}, a.UseSplit)
	require.Empty(t, a.Tilted)
	require.Equal(t, "Each part fits; Hull need not be split.", f.plate("bed").Sentence)

	f.s["fore/any"].Fits["small"] = fit.Result{Verdict: fit.RecommendedTurned, TurnDeg: 12.5, Declared: true, Keeps: true}
	a = f.plate("small")
	require.Equal(t, "fits at its recommended tilt, turned 12.5°", a.Parts[1].Text)
	require.Equal(t, "Each part fits when Hull is printed in its pieces.", a.Sentence)

	f.s["fore/any"].Fits["small"] = fit.Result{Verdict: fit.Tipped} // nobody recommends one
	a = f.plate("small")
	require.Equal(t, "fits tipped", a.Parts[1].Text)
	require.Empty(t, a.Tilted)
}
