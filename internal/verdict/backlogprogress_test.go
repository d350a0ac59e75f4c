package verdict_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/verdict/backlog"
)

// sealedOn adds a revision of a day.
func (f *fixture) sealedOn(d int, name string, meshes ...string) {
	f.sealed(name, meshes...)
	r := &f.site.Releases[0]
	r.Revisions[len(r.Revisions)-1].Date = onDay(d)
}

// A retrofit, told from its revisions: first filament alone, then a resin cut of the
// torso, which is redesigned once it has been printed.
func TestProgressOfARetrofit(t *testing.T) {
	f := newFixture()
	f.site.Bench.Materials[2].Process = bench.Filament
	f.add(release.Part{Slug: "arm", Name: "Arm"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "torso", Name: "Torso"}, everywhere, release.CutFor(bench.Filament), release.CutFor(bench.Resin))
	r := &f.site.Releases[0]
	stock := func(p *release.Print, proc *bench.Process) { p.Stock[0].Material.Process = proc }

	stock(f.logged(1, "filament", release.Good, "torso/filament"), bench.Filament) // before anything was sealed
	f.sealedOn(2, "A", "arm/any", "torso/filament")
	f.sealed("B", "arm/any", "torso/filament")
	rev := &r.Revisions[1]
	rev.Date = onDay(5)
	rev.Parts[1].Cuts = append(rev.Parts[1].Cuts, release.SealedCut{Kind: release.CutFor(bench.Resin), Fingerprint: "old"})
	stock(f.logged(7, "resin", release.Good, "arm/any", "torso/resin=old"), bench.Resin)
	stock(f.logged(5, "resin", release.Failed, "arm/any"), bench.Resin) // counts for nothing
	f.sealedOn(9, "C", "arm/any", "torso/filament")
	rev = &r.Revisions[2]
	rev.Parts[1].Cuts = append(rev.Parts[1].Cuts, release.SealedCut{Kind: release.CutFor(bench.Resin), Fingerprint: "torso/resin"})

	p := backlog.ProgressOf(&f.site, f.s)
	filament := func(cut, printed, complete, all int) backlog.ProcessCount {
		return backlog.ProcessCount{Process: bench.Filament, Parts: 2, Cut: cut, Printed: printed, Complete: complete, CompletePrinted: all}
	}
	resin := func(cut, printed, complete, all int) backlog.ProcessCount {
		return backlog.ProcessCount{Process: bench.Resin, Parts: 2, Cut: cut, Printed: printed, Complete: complete, CompletePrinted: all}
	}
	require.Equal(t, []backlog.ProgressPoint{
		{Date: onDay(2), Sealed: []backlog.SealedThen{{Release: 1, Revision: "A", Parts: 2, Changed: 2}}, Releases: 1, By: []backlog.ProcessCount{filament(2, 1, 1, 0), resin(1, 0, 0, 0)}},
		{Date: onDay(5), Sealed: []backlog.SealedThen{{Release: 1, Revision: "B", Parts: 2, Changed: 1}}, Releases: 1, By: []backlog.ProcessCount{filament(2, 1, 1, 0), resin(2, 0, 1, 0)}},
		{Date: onDay(7), Releases: 1, By: []backlog.ProcessCount{filament(2, 1, 1, 0), resin(2, 2, 1, 1)}},
		{Date: onDay(9), Sealed: []backlog.SealedThen{{Release: 1, Revision: "C", Parts: 2, Changed: 1}}, Releases: 1, By: []backlog.ProcessCount{filament(2, 1, 1, 0), resin(2, 1, 1, 0)}},
	}, p.Points, "what printed well was the old torso")
	require.Equal(t, backlog.ProgressPoint{Releases: 1, By: []backlog.ProcessCount{filament(2, 1, 1, 0), resin(2, 1, 1, 0)}}, p.Now)
	require.Zero(t, p.Unsealed)
	require.Len(t, p.NotKnown, 2)

	f.site.Releases = append(f.site.Releases, release.Release{Number: 2, Log: []release.Print{{Outcome: release.Good}}})
	p = backlog.ProgressOf(&f.site, f.s)
	require.Equal(t, 1, p.Unsealed)
	require.Contains(t, p.NotKnown, "1 release was never sealed: it counts only as it is now.")
	require.Contains(t, p.NotKnown, "1 print in the logs does not say of which mesh it was, and counts for nothing.")
}

func TestNothingIsKnownOfAPastThatWasNeverSealed(t *testing.T) {
	f := figure()
	f.logged(2, "resin", release.Good, "arm/any")
	p := backlog.ProgressOf(&f.site, f.s)
	require.Empty(t, p.Points)
	require.Equal(t, 1, p.Unsealed)
	require.Equal(t, []string{"Nothing has been sealed yet, so nothing is known of the past."}, p.NotKnown)
	require.Equal(t, 2, p.Now.By[1].Cut)
	p = backlog.ProgressOf(&release.Site{}, nil)
	require.Empty(t, p.Points)
	require.Equal(t, []backlog.ProcessCount{{Process: bench.Filament}, {Process: bench.Resin}}, p.Now.By)
}

func TestARenamedPartHasNotChangedAndALostOneHas(t *testing.T) {
	f := newFixture()
	f.sealedOn(2, "A", "arm/any", "leg/any", "hat/any")
	f.sealedOn(3, "B", "limb/any=arm/any", "leg/any", "copy/any=leg/any")
	p := backlog.ProgressOf(&f.site, f.s)
	require.Equal(t, 2, p.Points[1].Sealed[0].Changed, "the hat is gone and the copy is new")
	r := &f.site.Releases[0]
	r.Revisions[1].Date = r.Revisions[0].Date // two on one day: the later one counts
	p = backlog.ProgressOf(&f.site, f.s)
	require.Len(t, p.Points, 1)
	require.Len(t, p.Points[0].Sealed, 2)
}

// More prints never lower a count, whatever they are of; what is printed was cut,
// and what was cut was needed.
func TestProgressOnlyRisesWithPrints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawSite(t)
		r := &f.site.Releases[0]
		var sealed []string
		for _, p := range r.Parts {
			for _, c := range p.Cuts {
				if rapid.Bool().Draw(t, "sealed") {
					sealed = append(sealed, c.Rel)
				}
			}
		}
		f.sealedOn(4, "A", sealed...)
		for i := range r.Log {
			r.Log[i].Stock[0].Material = f.site.Bench.Materials[slices.IndexFunc(f.site.Bench.Materials, func(m bench.Material) bool { return m.ID == r.Log[i].Stock[0].Material.ID })]
		}
		all := backlog.ProgressOf(&f.site, f.s)
		log := r.Log
		for n := range len(log) {
			r.Log = log[:n]
			fewer := backlog.ProgressOf(&f.site, f.s)
			last, lastFewer := all.Points[len(all.Points)-1], fewer.Points[len(fewer.Points)-1]
			for i := range bench.Shipped().Processes() {
				require.GreaterOrEqual(t, last.By[i].Printed, lastFewer.By[i].Printed)
				require.GreaterOrEqual(t, last.By[i].CompletePrinted, lastFewer.By[i].CompletePrinted)
				require.Equal(t, last.By[i].Cut, lastFewer.By[i].Cut)
			}
		}
		for _, pt := range append(all.Points, all.Now) {
			for _, c := range pt.By {
				require.LessOrEqual(t, c.Printed, c.Cut)
				require.LessOrEqual(t, c.Cut, c.Parts)
				require.LessOrEqual(t, c.CompletePrinted, c.Complete)
				require.LessOrEqual(t, c.Complete, pt.Releases)
			}
		}
		require.True(t, slices.IsSortedFunc(all.Points, func(a, b backlog.ProgressPoint) int { return a.Date.Compare(b.Date) }))
		require.False(t, all.Points[0].Date.Before(onDay(4)), "nothing is told of the time before the first revision")
	})
}
