package verdict_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/measure/slice"
	"cardback/internal/measure/stack"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict/standing"
)

func TestAPartThatBendsIsSetAsideFromARigidMaterial(t *testing.T) {
	for _, c := range []struct {
		name string
		tail release.Part
		kind release.CutKind
	}{
		{"declared", release.Part{Slug: "tail", Name: "Tail", Flexible: true}, release.CutAny},
		{"by its only cut", release.Part{Slug: "tail", Name: "Tail"}, release.CutFlexible},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newFixture()
			f.add(release.Part{Slug: "head", Name: "Head"}, everywhere, release.CutAny)
			f.add(c.tail, everywhere, c.kind)
			tail := "tail/" + string(c.kind)
			cell := f.is(t, "resin", standing.Expected, "Passes; nobody has logged a print. Print Tail in a flexible material.")
			require.Equal(t, "Tail has to bend: print it in a flexible material.", cell.Parts[1].Reason)
			f.logged(1, "resin", release.Good, "head/any")
			f.is(t, "resin", standing.Expected, "Passes; no print is logged of Tail. Print Tail in a flexible material.")
			f.logged(1, "soft-resin", release.Good, tail)
			f.is(t, "resin", standing.Proven, "Every part has printed well, the last on 1 March 2026. Print Tail in a flexible material.")
			f.s[tail].Report.Fingerprint = "new"
			f.is(t, "resin", standing.NeedsReprint, "Print Tail in a flexible material, where it needs a reprint.")
			f.s[tail].Err = errTest
			f.is(t, "resin", standing.NotOffered, "The mesh of Tail could not be read.")
		})
	}
	f := newFixture()
	f.add(release.Part{Slug: "tail", Name: "Tail"}, everywhere, release.CutFlexible)
	require.Equal(t, "Every part is made for a flexible material.", f.is(t, "resin", standing.NotOffered, "Every part is made for a flexible material.").Reason)
	require.Equal(t, standing.Expected, f.cell("soft-resin").Standing)
	f.add(release.Part{Slug: "head", Name: "Head"}, everywhere, release.CutAny)
	f.site.Bench.Materials = f.site.Bench.Materials[:1]
	f.is(t, "resin", standing.WithCare, "Print Tail in a flexible material, of which the bench has none.")

	// Of two flexible materials the one it stands better in; for one process only, none of another.
	f = newFixture()
	f.site.Bench.Materials = append(f.site.Bench.Materials, bench.Material{ID: "soft-filament", Process: bench.Filament, Stiffness: bench.Flexible})
	f.add(release.Part{Slug: "head", Name: "Head"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "tail", Name: "Tail"}, everywhere, release.CutFlexible)
	aside := func() string {
		for _, g := range f.cell("resin").Grounds {
			if g.Code == standing.GroundAside {
				return string(g.Kind) + " " + g.Target
			}
		}
		return ""
	}
	require.Equal(t, "material soft-resin", aside(), "the column's own process first")
	f.logged(1, "soft-filament", release.Good, "tail/flexible")
	require.Equal(t, "material soft-filament", aside())
	f.site.Releases[0].Parts[1].Only = bench.Resin
	require.Equal(t, "material soft-resin", aside())
	require.Len(t, f.cell("filament").Parts, 1, "a part that the process does without has no standing in it")

	f = newFixture()
	f.add(release.Part{Slug: "tail", Name: "Tail", Flexible: true}, everywhere, release.CutFor(bench.Resin))
	f.is(t, "soft-resin", standing.NotOffered, "There is no flexible cut of Tail.")
}

func TestABlendThatBendsWillDoForAPartThatBends(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "tail", Name: "Tail", Flexible: true}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "head", Name: "Head"}, everywhere, release.CutAny)
	rigid, soft := &f.site.Bench.Materials[0], &f.site.Bench.Materials[1]
	rigid.Name, soft.Name = "Rigid resin", "Soft resin"
	rigid.Blends = []bench.Blend{{With: "soft-resin", Least: .7, Most: .9, Stiffness: bench.Flexible}}
	f.site.Releases[0].Print = []release.PrintSettings{{Process: bench.Resin, Shares: []release.Share{{Material: *rigid, Share: .2}, {Material: *soft, Share: .8}}}}
	f.is(t, "resin", standing.WithCare, "Tail has to bend: print it in the blend that the release states, 20 % rigid resin, 80 % soft resin.")
	rigid.Blends[0].Stiffness = bench.SemiRigid
	f.is(t, "resin", standing.Expected, "Passes; nobody has logged a print. Print Tail in a flexible material.")
}

func TestWhatDoesNotFitTheDesignStandardIsNamedWithThePlateThatTakesIt(t *testing.T) {
	f := newFixture()
	f.site.Bench.Plates = append(f.site.Bench.Plates, bench.Plate{ID: "large", Name: "Large resin", Process: bench.Resin})
	f.add(release.Part{Slug: "hull", Name: "Hull"}, []string{"bed", "large"}, release.CutAny)
	c := f.is(t, "resin", standing.WithCare, "Hull is too large for the design standard, Small resin, and fits Large resin.")
	require.Equal(t, standing.OfPlate, c.Grounds[0].Kind)
	require.Equal(t, "large", c.Grounds[0].Target)
	f.logged(1, "resin", release.Good, "hull/any")
	f.is(t, "resin", standing.WithCare, c.Reason+" Hull printed well on 1 March 2026.") // a print on the large plate does not make it fit the small one
	f.s["hull/any"].Fits["large"] = fit.Result{Verdict: fit.CannotFit}
	f.is(t, "resin", standing.WithCare, "At full size Hull fits no plate of the bench for this process. Hull printed well on 1 March 2026.") // so there is one
	f.site.Releases[0].Log = nil
	f.is(t, "resin", standing.NotSuited, "At full size Hull fits no plate of the bench for this process.")
	f.s["hull/any"].Fits["small"] = fit.Result{Verdict: fit.Undecided}
	f.is(t, "resin", standing.WithCare, "Whether Hull can fit the design standard, Small resin, is undecided.")
	f.is(t, "filament", standing.Expected, "Passes; no print is logged of Hull.")

	f.add(release.Part{Slug: "fore", Name: "Fore", Replaces: "hull"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "aft", Name: "Aft", Replaces: "hull"}, everywhere, release.CutAny)
	f.is(t, "resin", standing.Expected, "Passes; nobody has logged a print. Hull is printed in its pieces; whole: with care.")
	f.is(t, "filament", standing.Expected, "Passes; no print is logged of Hull.")
	f.logged(1, "filament", release.Good, "fore/any", "aft/any")
	f.is(t, "filament", standing.Proven, "All parts printed well on 1 March 2026. Hull is printed in its pieces; whole: expected.")

	f.s["fore/any"].Fits["small"] = fit.Result{Verdict: fit.Tipped, Declared: true}
	f.is(t, "resin", standing.Expected, "Passes; nobody has logged a print. Hull is printed in its pieces; whole: with care. Fore fits the design standard only in another orientation than the one recommended.")
}

func TestAChoiceIsAsGoodAsItsBestPart(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "tall", Name: "Tall hat", Choice: "hat"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "flat", Name: "Flat hat", Choice: "hat"}, everywhere, release.CutAny)
	f.is(t, "resin", standing.Expected, "Passes; no print is logged of Tall hat.")
	f.logged(1, "resin", release.Good, "flat/any")
	f.is(t, "resin", standing.Proven, "Flat hat printed well on 1 March 2026. If you choose Tall hat: expected.")
	f.s["tall/any"].Err, f.s["flat/any"].Err = errTest, errTest
	f.is(t, "resin", standing.NotOffered, "The mesh of a hat could not be read.")

	// A hat that has pieces is as good as they are.
	f = newFixture()
	f.add(release.Part{Slug: "tall", Name: "Tall hat", Choice: "hat"}, nil, release.CutAny)
	f.add(release.Part{Slug: "brim", Name: "Brim", Replaces: "tall"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "flat", Name: "Flat hat", Choice: "hat"}, nil, release.CutAny)
	f.is(t, "resin", standing.Expected, "Passes; no print is logged of Brim. Tall hat is printed in its pieces; whole: not suited. If you choose Flat hat: not suited.")
}

func TestCautionsNameWhatToDo(t *testing.T) {
	one := func(change func(p *release.Part, cs *survey.CutSurvey)) *fixture {
		f := newFixture()
		p := release.Part{Slug: "wing", Name: "Wing"}
		change(&p, &survey.CutSurvey{Report: &measure.Report{}})
		f.add(p, everywhere, release.CutAny)
		change(&p, f.s["wing/any"])
		return f
	}
	layers := func(l survey.Layers) func(*release.Part, *survey.CutSurvey) {
		l.Encloses = true
		return func(_ *release.Part, cs *survey.CutSurvey) {
			cs.Layers = map[*bench.Process]*survey.Layers{bench.Resin: &l}
		}
	}
	fault := func(code string) func(*release.Part, *survey.CutSurvey) {
		return func(_ *release.Part, cs *survey.CutSurvey) {
			cs.Report.Findings = []measure.Finding{{Level: measure.Caution, Code: "cavity"}, {Level: measure.Fault, Code: code}}
		}
	}
	hollow := []stack.Hollow{{Volume: 500}}
	for _, c := range []struct {
		name     string
		change   func(*release.Part, *survey.CutSurvey)
		standing standing.Standing
		reason   string
		target   string
		printed  standing.Standing // once a print came out well
		filament standing.Standing
	}{
		{"a fault", fault("open-edges"), standing.WithCare, "The mesh of Wing has a fault: what prints depends on the program that reads it.", "open-edges", standing.WithCare, standing.WithCare},
		{"flat", fault("flat"), standing.NotSuited, "The mesh of Wing encloses nothing that prints.", "flat", standing.WithCare, standing.NotSuited},
		{"lies flat", layers(survey.Layers{Peak: 900, Steep: &survey.Trial{Pose: slice.Pose{Tilt: 40, About: "x"}, Peak: 100}}),
			standing.WithCare, "Tilt Wing 40° about x: lying flat, large layers come off the film with a jerk.", "lies-flat", standing.Proven, standing.Expected},
		{"trapped", layers(survey.Layers{Report: stack.Report{Trapped: hollow}}),
			standing.WithCare, "Uncured resin stays inside Wing: open a drain hole.", "trapped", standing.WithCare, standing.Expected},
		{"well", layers(survey.Layers{Report: stack.Report{Wells: hollow}}),
			standing.WithCare, "Vent Wing or lay it another way: a hollow opens away from the plate and sucks at the film.", "well", standing.Proven, standing.Expected},
		{"cup, a note", layers(survey.Layers{Report: stack.Report{Cups: hollow}}), standing.Expected, "Passes, with 1 note; no print is logged of Wing.", "", standing.Proven, standing.Expected},
		{"hole", func(p *release.Part, cs *survey.CutSurvey) {
			p.Takes = []release.HardwareUse{{Item: rod(1.5), Count: 1}}
			cs.Report.Bores = bore.Report{Holes: []bore.Hole{upright(1.45, 0, 0)}}
		}, standing.WithCare, "Drill Wing for the 1.5 mm rod, which does not pass as drawn.", "hole-too-small", standing.Proven, standing.WithCare},
		{"tight hole, a note", func(p *release.Part, cs *survey.CutSurvey) {
			p.Takes = []release.HardwareUse{{Item: rod(1.5), Count: 1}}
			cs.Report.Bores = bore.Report{Holes: []bore.Hole{upright(1.5, 0, 0)}}
		}, standing.Expected, "Passes; no print is logged of Wing.", "", standing.Proven, standing.Expected},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := one(c.change)
			cell := f.is(t, "resin", c.standing, c.reason)
			require.Equal(t, c.target, cell.Grounds[0].Target)
			require.Equal(t, c.filament, f.cell("filament").Standing)
			require.Equal(t, cell.Standing, cell.Parts[0].Standing)
			require.Equal(t, cell.Reason, cell.Parts[0].Reason)
			f.logged(1, "resin", release.Good, "wing/any")
			require.Equal(t, c.printed, f.cell("resin").Standing)
		})
	}
}

func TestReasonsStayShort(t *testing.T) {
	f := newFixture()
	for _, name := range []string{"Arm", "Fin", "Leg"} {
		f.add(release.Part{Slug: name, Name: name}, everywhere, release.CutAny)
	}
	f.logged(1, "resin", release.Usable, "Arm/any").Remark = "A remark that goes on and on about what happened to the arm on the plate, the film and the floor"
	f.logged(2, "resin", release.Usable, "Fin/any")
	f.logged(3, "resin", release.Usable, "Leg/any")
	f.is(t, "resin", standing.WithCare, "Arm came out usable on 1 March 2026. Fin came out usable on 2 March 2026. 1 more reason applies.")
}
