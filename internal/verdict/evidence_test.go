package verdict_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/change"
	"cardback/internal/release"
	"cardback/internal/survey/history"
	"cardback/internal/verdict"
	"cardback/internal/verdict/standing"
)

func onDay(d int) time.Time { return time.Date(2026, time.March, d, 0, 0, 0, 0, time.UTC) }

// logged adds a print in one material of the meshes "part/cut" or, where the mesh
// of then was another one, "part/cut=fingerprint".
func (f *fixture) logged(d int, material string, outcome release.Outcome, meshes ...string) *release.Print {
	r := &f.site.Releases[0]
	p := release.Print{Date: onDay(d), Outcome: outcome, Line: len(r.Log) + 1, Stock: []release.Share{{Material: bench.Material{ID: material}, Share: 1}}}
	for _, m := range meshes {
		name, fingerprint, earlier := strings.Cut(m, "=")
		part, kind, _ := strings.Cut(name, "/")
		if !earlier {
			fingerprint = name
		}
		p.Parts = append(p.Parts, part)
		p.Meshes = append(p.Meshes, release.MeshUsed{Part: part, Cut: release.CutKind(kind), Fingerprint: fingerprint})
	}
	r.Log = append(r.Log, p)
	return &r.Log[len(r.Log)-1]
}

// sealed adds a revision of the meshes, written as for logged.
func (f *fixture) sealed(name string, meshes ...string) {
	rev := release.Revision{Name: name}
	for _, m := range meshes {
		at, fingerprint, earlier := strings.Cut(m, "=")
		part, kind, _ := strings.Cut(at, "/")
		if !earlier {
			fingerprint = at
		}
		rev.Parts = append(rev.Parts, release.SealedPart{Slug: part, Cuts: []release.SealedCut{{Kind: release.CutKind(kind), Fingerprint: fingerprint}}})
	}
	r := &f.site.Releases[0]
	r.Revisions = append(r.Revisions, rev)
}

// figure has two parts for both processes.
func figure() *fixture {
	f := newFixture()
	f.add(release.Part{Slug: "arm", Name: "Arm"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "torso", Name: "Torso"}, everywhere, release.CutFor(bench.Filament), release.CutFor(bench.Resin))
	return f
}

func (f *fixture) is(t *testing.T, material string, want standing.Standing, reason string) standing.Cell {
	t.Helper()
	c := f.cell(material)
	require.Equal(t, want, c.Standing, c.Reason)
	require.Equal(t, reason, c.Reason)
	for _, g := range c.Grounds {
		require.NotEmpty(t, g.Text)
	}
	return c
}

func TestAPrintOfExactlyTheseMeshesProves(t *testing.T) {
	f := figure()
	f.logged(2, "resin", release.Good, "arm/any", "torso/resin")
	c := f.is(t, "resin", standing.Proven, "All parts printed well on 2 March 2026.")
	require.Equal(t, standing.Ground{Standing: standing.Proven, Code: standing.GroundPrint, Parts: []string{"arm", "torso"}, Kind: standing.OfPrint, Target: "1", Text: "Arm and Torso printed well on 2 March 2026."}, c.Grounds[0])
	require.Equal(t, "Arm printed well on 2 March 2026.", c.Parts[0].Reason)
	f.is(t, "filament", standing.Expected, "Passes; nobody has logged a print.") // nor in another material
	f.is(t, "soft-resin", standing.Expected, "Passes; nobody has logged a print.")

	f.logged(3, "filament", release.Good, "arm/any")
	c = f.is(t, "filament", standing.Expected, "Passes; no print is logged of Torso.")
	require.Equal(t, []standing.Standing{standing.Proven, standing.Expected}, []standing.Standing{c.Parts[0].Standing, c.Parts[1].Standing})
	f.logged(5, "filament", release.Good, "torso/filament")
	f.is(t, "filament", standing.Proven, "Every part has printed well, the last on 5 March 2026.")

	f = figure()
	f.logged(2, "resin", release.Good, "arm/any=", "torso/resin=")
	require.Equal(t, standing.Expected, f.cell("resin").Standing, "a print of meshes that were not recorded proves nothing")
}

func TestTheBestPrintCountsWheneverItWas(t *testing.T) {
	f := figure()
	f.logged(2, "resin", release.Good, "torso/resin")
	f.logged(4, "resin", release.Failed, "arm/any").Remark = "It tore off the supports. Nothing else."
	c := f.is(t, "resin", standing.NotSuited, "Arm failed on 4 March 2026: It tore off the supports.")
	require.Equal(t, "2", c.Grounds[0].Target)
	f.logged(3, "resin", release.Usable, "arm/any").Remark = "Pits under the arm"
	f.is(t, "resin", standing.WithCare, "Arm came out usable on 3 March 2026: Pits under the arm.")
	f.logged(1, "resin", release.Good, "arm/any")
	c = f.is(t, "resin", standing.Proven, "Every part has printed well, the last on 2 March 2026.")
	require.Equal(t, "Arm printed well on 1 March 2026, and in 1 of 3 prints in all.", c.Parts[0].Reason)
	f.logged(9, "resin", release.Failed, "arm/any")
	require.Equal(t, standing.Proven, f.cell("resin").Standing, "it can be printed: that one print failed does not unsay it")
}

func TestAChangedMeshNeedsAReprint(t *testing.T) {
	f := figure()
	f.logged(2, "resin", release.Good, "arm/any", "torso/resin=old")
	f.is(t, "resin", standing.NeedsReprint, "Torso has changed since it was proven on 2 March 2026.")
	f.sealed("A", "arm/any", "torso/resin=old")
	f.sealed("B", "arm/any", "torso/resin")
	c := f.is(t, "resin", standing.NeedsReprint, "Torso has changed since it was proven in revision A.")
	require.Equal(t, standing.Ground{Standing: standing.NeedsReprint, Code: standing.GroundChanged, Parts: []string{"torso"}, Kind: standing.OfRevision, Target: "A", Text: c.Reason}, c.Grounds[0])
	require.Equal(t, standing.Proven, c.Parts[0].Standing)
	f.is(t, "filament", standing.Expected, "Passes; nobody has logged a print.") // it was never proven in filament

	cut := func(fingerprint string) *release.SealedCut { return &release.SealedCut{Fingerprint: fingerprint} }
	history := func(kind change.Kind) standing.SameShape {
		return standing.SameShapes(history.History{1: {ToWorking: []history.Step{{Parts: []history.PartStep{{Cuts: []history.CutStep{
			{Was: cut("old"), Is: cut("torso/resin"), Kind: kind}, {Was: cut("other"), Kind: history.Removed}, {Is: cut("more"), Kind: history.Added},
		}}}}}}})
	}
	for _, kind := range []change.Kind{change.Mirrored, change.Rescaled, change.Changed} {
		f.same = history(kind)
		require.Equal(t, standing.NeedsReprint, f.cell("resin").Standing, kind)
	}
	f.same = history(change.SameShape)
	require.Equal(t, standing.Expected, f.cell("resin").Standing)
	f.same = history(change.Moved)
	f.is(t, "resin", standing.Expected, "Passes. Torso has kept its shape since it was proven in revision A, but this mesh has no logged print.")
	f.same = history(change.Nearly)
	c = f.is(t, "resin", standing.Expected, "Passes. Torso differs from what was proven in revision A by less than the printing tolerance, but this mesh has no logged print.")
	require.Equal(t, standing.GroundNearly, c.Grounds[0].Code, "it is never proven: no print is of this mesh")
	f.same = history(change.Moved)
	// Of two earlier meshes the one of the same shape counts, whichever is newer.
	f.logged(1, "resin", release.Good, "torso/resin=oldest")
	f.logged(9, "resin", release.Good, "torso/resin=older")
	require.Equal(t, standing.Expected, f.cell("resin").Standing)
	f.same = nil
	f.is(t, "resin", standing.NeedsReprint, "Torso has changed since it was proven on 9 March 2026.")
	f.s["torso/resin"].Report.Findings = []measure.Finding{{Level: measure.Fault, Code: "open-edges"}}
	f.is(t, "resin", standing.NeedsReprint, "Torso has changed since it was proven on 9 March 2026. The mesh of Torso has a fault: what prints depends on the program that reads it.")
	f.s["torso/resin"].Report.Findings = nil

	f.s["torso/resin"].Report.Fingerprint = "old" // the old mesh is put back
	f.is(t, "resin", standing.Proven, "All parts printed well on 2 March 2026.")
	f.s["torso/resin"].Report.Fingerprint = "torso/resin"

	f.logged(8, "resin", release.Usable, "torso/resin")
	require.Equal(t, standing.WithCare, f.cell("resin").Standing, "it has been printed again, so it needs no reprint")

	f = figure()
	f.logged(2, "resin", release.Usable, "torso/resin=old")
	require.Equal(t, standing.Expected, f.cell("resin").Standing, "what was usable was not proven")
}

func TestEvidenceSurvivesARename(t *testing.T) {
	f := figure()
	f.logged(2, "resin", release.Good, "arm/any", "chest/resin=torso/resin")
	require.Equal(t, standing.Proven, f.cell("resin").Standing, "the mesh is the one that was printed, whatever it was called")

	// The chest was proven, then redesigned, sealed, and renamed.
	f = figure()
	f.logged(2, "resin", release.Good, "arm/any", "chest/resin=old")
	require.Equal(t, standing.Expected, f.cell("resin").Standing, "nothing says that the chest is the torso")
	f.sealed("A", "chest/resin=old")
	f.sealed("B", "chest/resin=torso/resin")
	f.is(t, "resin", standing.NeedsReprint, "Torso has changed since it was proven in revision A.")
	f.add(release.Part{Slug: "chest", Name: "Chest"}, everywhere, release.CutAny)
	c := f.cell("resin")
	require.Equal(t, standing.Expected, c.Parts[1].Standing, "the name is another part's now")
	require.Equal(t, standing.NeedsReprint, c.Parts[2].Standing)
}

func TestABlendCountsOnlyAtItsShare(t *testing.T) {
	f := figure()
	rigid, soft := &f.site.Bench.Materials[0], &f.site.Bench.Materials[1]
	rigid.Name, soft.Name = "Rigid resin", "Soft resin"
	in := func(softShare float64) []release.Share {
		return []release.Share{{Material: *rigid, Share: 1 - softShare}, {Material: *soft, Share: softShare}}
	}
	p := f.logged(2, "", release.Good, "arm/any", "torso/resin")
	p.Stock = in(.2)
	require.Equal(t, standing.Expected, f.cell("resin").Standing, "nobody says what a fifth of soft resin makes of it")
	rigid.Blends = []bench.Blend{{With: "soft-resin", Least: .1, Most: .2, Stiffness: bench.Rigid}, {With: "soft-resin", Least: .3, Most: .5, Stiffness: bench.SemiRigid}}
	p.Stock = in(.2)
	f.is(t, "resin", standing.Proven, "All parts printed well on 2 March 2026 in 80 % rigid resin, 20 % soft resin.")
	require.Equal(t, standing.Expected, f.cell("soft-resin").Standing)
	for _, share := range []float64{.05, .25, .4, .6} {
		p.Stock = in(share)
		require.Equal(t, standing.Expected, f.cell("resin").Standing, "%v", share)
	}
	// What the release states is what its resin prints are made of.
	f.site.Releases[0].Print = []release.PrintSettings{{Process: bench.Resin, Shares: in(.4)}}
	p.Stock = []release.Share{in(.4)[1], in(.4)[0]}
	require.Equal(t, standing.Proven, f.cell("resin").Standing)
	p.Stock = in(.41)
	require.Equal(t, standing.Expected, f.cell("resin").Standing)
	require.Equal(t, standing.Expected, f.cell("soft-resin").Standing)
	p.Stock = append(in(1)[1:], release.Share{Material: *rigid})
	require.Equal(t, standing.Proven, f.cell("soft-resin").Standing, "a share of nothing is not there")
}

func TestSnapJointsBreakInRigidResin(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "torso", Name: "Torso", Snaps: []release.CutKind{release.CutAny}}, everywhere, release.CutAny)
	rigid, soft := &f.site.Bench.Materials[0], &f.site.Bench.Materials[1]
	rigid.Name, soft.Name = "Rigid resin", "Soft resin"
	f.is(t, "resin", standing.NotSuited, "The snap joints of Torso break in a rigid resin.")
	require.Equal(t, standing.Expected, f.cell("soft-resin").Standing)
	require.Equal(t, standing.Expected, f.cell("filament").Standing)
	f.logged(2, "resin", release.Good, "torso/any")
	require.Equal(t, standing.NotSuited, f.cell("resin").Standing, "that it printed does not say that it holds")

	rigid.Blends = []bench.Blend{{With: "soft-resin", Least: .3, Most: .5, Stiffness: bench.SemiRigid}}
	state := func(share float64) {
		f.site.Releases[0].Print = []release.PrintSettings{{Process: bench.Resin, Shares: []release.Share{{Material: *rigid, Share: 1 - share}, {Material: *soft, Share: share}}}}
	}
	state(.4)
	c := f.is(t, "resin", standing.WithCare, "The snap joints of Torso hold only in the blend that the release states, 60 % rigid resin, 40 % soft resin. Torso printed well on 2 March 2026.")
	require.Equal(t, standing.OfSettings, c.Grounds[0].Kind)
	for _, share := range []float64{.29, .51} {
		state(share)
		require.Equal(t, standing.NotSuited, f.cell("resin").Standing, "a rule of the bench holds at its shares only: %v", share)
	}

	f = newFixture()
	f.add(release.Part{Slug: "torso", Name: "Torso", Snaps: []release.CutKind{release.CutFor(bench.Filament)}}, everywhere, release.CutFor(bench.Filament), release.CutFor(bench.Resin))
	require.Equal(t, standing.Expected, f.cell("resin").Standing, "the resin cut has none")
}

// The standing depends on the log as on a set: neither the order of its entries
// nor their lines matter. A good print of all there is never lowers any cell, and
// makes each one proven where no rule stands; a change of one mesh takes "proven"
// away from every cell that its part is in.
func TestTheLogAsASet(t *testing.T) {
	materials := []string{"resin", "soft-resin", "filament"}
	meshes := []string{"arm/any", "arm/any=x", "arm/any=y", "torso/resin", "torso/filament", "torso/resin=x", "chest/resin=torso/resin", "chest/resin=z"}
	rapid.Check(t, func(rt *rapid.T) {
		f := figure()
		f.sealed("A", "arm/any=x", "torso/resin=x")
		f.same = func(was, now string) standing.Before {
			if was == "y" && now == "arm/any" {
				return standing.OnlyMoved
			}
			return standing.ChangedSince
		}
		for range rapid.IntRange(0, 8).Draw(rt, "prints") {
			p := f.logged(rapid.IntRange(1, 2).Draw(rt, "day"), rapid.SampledFrom(materials).Draw(rt, "material"),
				rapid.SampledFrom(release.Outcomes).Draw(rt, "outcome"), rapid.SliceOfN(rapid.SampledFrom(meshes), 1, 3).Draw(rt, "meshes")...)
			p.Remark = rapid.SampledFrom([]string{"", "Fair", "Poor"}).Draw(rt, "remark")
		}
		said := func() string {
			out := ""
			for _, c := range verdict.Table(&f.site, f.s, f.same) {
				out += fmt.Sprintln(c.Material, c.Standing, c.Reason)
				for _, p := range c.Parts {
					out += fmt.Sprintln(" ", p.Part, p.Standing, p.Reason)
				}
			}
			return out
		}
		before := said()
		log := f.site.Releases[0].Log
		f.site.Releases[0].Log = rapid.Permutation(log).Draw(rt, "order")
		require.Equal(rt, before, said())

		cells := verdict.Table(&f.site, f.s, f.same)
		f.logged(rapid.IntRange(1, 3).Draw(rt, "day of all"), "resin", release.Good, "arm/any", "torso/resin")
		for i, c := range verdict.Table(&f.site, f.s, f.same) {
			if c.Material == "resin" {
				require.Equal(rt, standing.Proven, c.Standing)
				require.LessOrEqual(rt, slices.Index(standing.Standings, c.Standing), slices.Index(standing.Standings, cells[i].Standing))
			} else {
				require.Equal(rt, cells[i], c, "a print in one material says nothing of another")
			}
		}
		f.s["arm/any"].Report.Fingerprint = "redesigned"
		for _, c := range verdict.Table(&f.site, f.s, f.same) {
			require.NotEqual(rt, standing.Proven, c.Standing, c.Material)
		}
		require.Equal(rt, standing.NeedsReprint, f.cell("resin").Standing)
	})
}
