package verdict_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/release"
	"cardback/internal/verdict"
)

// noPlate are the levels of the findings that say so, by part.
func noPlate(f *fixture) map[string]measure.Level {
	out := map[string]measure.Level{}
	for _, x := range verdict.Findings(&f.site, f.s) {
		if x.Code == "no-plate" {
			out[x.Part] = x.Level
		}
	}
	return out
}

// platesOf lists the bench's plates of a process.
func platesOf(f *fixture, proc *bench.Process) []string {
	var out []string
	for _, p := range f.site.Bench.Plates {
		if p.Process == proc {
			out = append(out, p.ID)
		}
	}
	return out
}

func TestAPartThatFitsNoPlateIsAFinding(t *testing.T) {
	f := newFixture()
	resin, filament := platesOf(f, bench.Resin), platesOf(f, bench.Filament)
	require.NotEmpty(t, resin)
	require.NotEmpty(t, filament)
	f.add(release.Part{Slug: "good", Name: "Good", Quantity: 1}, []string{resin[0], filament[0]}, release.CutAny)
	f.add(release.Part{Slug: "none", Name: "None", Quantity: 1}, nil, release.CutAny)
	f.add(release.Part{Slug: "one", Name: "One", Quantity: 1}, filament[:1], release.CutAny)
	f.add(release.Part{Slug: "cut", Name: "Cut", Quantity: 1}, nil, release.CutFor(bench.Resin))
	f.add(release.Part{Slug: "open", Name: "Open", Quantity: 1}, nil, release.CutFor(bench.Resin))
	f.s["open/resin"].Fits[resin[0]] = fit.Result{Verdict: fit.Undecided}
	f.add(release.Part{Slug: "whole", Name: "Whole", Quantity: 1}, nil, release.CutFor(bench.Resin))
	f.add(release.Part{Slug: "half", Name: "Half", Quantity: 1, Replaces: "whole"}, resin[:1], release.CutFor(bench.Resin))
	require.Equal(t, map[string]measure.Level{
		"none": measure.Fault, "cut": measure.Fault,
		"one": measure.Caution, "open": measure.Caution, // in one process of two; not proved
	}, noPlate(f), "pieces stand for their whole")

	f.s["half/resin"].Fits[resin[0]] = fit.Result{Verdict: fit.CannotFit}
	require.Equal(t, measure.Fault, noPlate(f)["whole"], "neither whole nor in pieces")
	f.site.Bench.Plates = nil
	require.Empty(t, noPlate(f), "without plates nothing is known")
}

func TestPlaceholdersAreFaults(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "block", Name: "Block", Quantity: 1}, nil, release.CutAny)
	f.site.Bench.Plates = nil
	require.Empty(t, verdict.SiteFindings(&f.site))
	require.Empty(t, verdict.Findings(&f.site, f.s))
	f.site.Address, f.site.Designer = release.PlaceholderAddress, release.PlaceholderDesigner
	f.site.Pages = []release.Page{{Slug: "about", Title: "About", Text: text(t, "Hello.\n\n"+release.PlaceholderPage+"\n")}}
	f.site.Releases[0].Summary = release.PlaceholderSummary
	f.s["block/any"].Report.Fingerprint = release.PlaceholderBlock
	for _, x := range append(verdict.SiteFindings(&f.site), verdict.Findings(&f.site, f.s)...) {
		require.Equal(t, measure.Fault, x.Level)
		require.Equal(t, "placeholder", x.Code)
	}
	require.Len(t, verdict.SiteFindings(&f.site), 3)
	require.Len(t, verdict.Findings(&f.site, f.s), 2)
}
