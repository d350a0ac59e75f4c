package verdict_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/measure/change"
	"cardback/internal/measure/thin"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
	"cardback/internal/verdict"
	"cardback/internal/verdict/backlog"
	"cardback/internal/verdict/needs"
	"cardback/internal/verdict/standing"
)

// input is what the fixture's site is judged to be.
func (f *fixture) input() verdict.BacklogInput {
	in := verdict.BacklogInput{
		Site: &f.site, Survey: f.s, Cells: verdict.Table(&f.site, f.s, f.same),
		Findings: verdict.Findings(&f.site, f.s), Plates: map[int][]verdict.PlateAnswer{},
	}
	for _, r := range f.site.Releases {
		in.Plates[r.Number] = verdict.Plates(&f.site, r, f.s)
	}
	return in
}

// written is a backlog as one line a task.
func written(tasks []backlog.Task) []string {
	var out []string
	for _, t := range tasks {
		out = append(out, strings.TrimSpace(fmt.Sprintf("%s: %s %v %s", t.Effort, t.Kind, t.Parts, strings.Join(t.Materials, ","))))
	}
	return out
}

// taskOf is the only task of that kind about that part; of an empty part, the only
// one of that kind.
func taskOf(t *testing.T, tasks []backlog.Task, kind backlog.TaskKind, part string) backlog.Task {
	t.Helper()
	var found []backlog.Task
	for _, k := range tasks {
		if k.Kind == kind && (part == "" || slices.Contains(k.Parts, part)) {
			found = append(found, k)
		}
	}
	require.Len(t, found, 1, "%s %s in %v", kind, part, written(tasks))
	return found[0]
}

func TestNothingIsLeftWhereEverythingIsProvenAndSealed(t *testing.T) {
	f := figure()
	f.logged(2, "resin", release.Good, "arm/any", "torso/resin")
	f.logged(2, "soft-resin", release.Good, "arm/any", "torso/resin")
	f.logged(2, "filament", release.Good, "arm/any", "torso/filament")
	f.sealed("A", "arm/any", "torso/filament", "torso/resin")
	require.Empty(t, backlog.Of(f.input().Judged()))
	f.site.Releases[0].Revisions = nil
	tasks := backlog.Of(f.input().Judged())
	require.Equal(t, []string{"one command: seal []"}, written(tasks))
	require.Equal(t, []string{"Never sealed: nobody can be told what changes."}, tasks[0].Missing)
	require.Empty(t, backlog.Of(verdict.BacklogInput{Site: &release.Site{}}.Judged()))
}

// One print of the release in a material settles all of its cells there.
func TestOnePrintSettlesAllPartsInAMaterial(t *testing.T) {
	f := figure()
	f.logged(2, "filament", release.Good, "arm/any")
	tasks := backlog.Of(f.input().Judged())
	require.Equal(t, []string{
		"one command: seal []",
		"a longer print: print [torso] filament", // no time is stated, so it counts as long
		"a longer print: print [arm torso] resin",
		"a longer print: print [arm torso] soft-resin",
	}, written(tasks))
}

func TestAPrintSaysWhatItTakesAndAnEveningIsFourHours(t *testing.T) {
	f := figure()
	f.sealed("A", "arm/any", "torso/filament", "torso/resin")
	f.site.Bench.Plates[1].Flow = 2 // mm³ a second, filament
	for _, c := range f.s {
		c.Report.Volume, c.Report.Area, c.Report.Closed, c.Report.ConsistentlyOriented, c.Report.Shells = 1000, 600, true, true, 1
		c.Layers = map[*bench.Process]*survey.Layers{bench.Filament: {Count: 25, Layer: 0.2}}
	}
	for i := range f.site.Releases[0].Parts {
		f.site.Releases[0].Parts[i].Quantity = 1
	}
	tasks := backlog.Of(f.input().Judged())
	at := slices.IndexFunc(tasks, func(k backlog.Task) bool { return k.Kind == backlog.TaskPrint && k.Materials[0] == "filament" })
	p := tasks[at]
	require.Zero(t, at, "the only one whose time is known")
	require.Equal(t, backlog.ShortPrint, p.Effort)
	require.Equal(t, []string{"No print of Arm and Torso is logged."}, p.Missing)
	require.True(t, p.Needed)
	require.Equal(t, []backlog.CellRef{{Part: "", Material: "filament", Standing: standing.Expected}, {Part: "arm", Material: "filament", Standing: standing.Expected}, {Part: "torso", Material: "filament", Standing: standing.Expected}}, p.Cells)
	require.Equal(t, 2, p.Need.Pieces)
	// Both parts of one release, as the release's own need has them.
	by := needs.Of(&f.site, f.site.Releases[0], f.s, nil)
	all := by[slices.IndexFunc(by, func(n needs.Process) bool { return n.Process == bench.Filament })].Stocks[0]
	require.Equal(t, "filament", all.Stock[0].Material.ID)
	require.Equal(t, all.Seconds, p.Need.Seconds)
	require.Equal(t, all.Used, p.Need.Used)

	const heatAndMoves = 240 + 2*25*3 // of two parts of 25 layers
	f.site.Bench.Plates[1].Flow = all.Used / (4*3600 + 1 - heatAndMoves)
	p = backlog.Of(f.input().Judged())[0]
	require.Equal(t, backlog.LongPrint, p.Effort, "a second over four hours")
}

func TestWhatAPrintDoesNotSettle(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "hull", Name: "Hull"}, nil, release.CutAny)
	f.add(release.Part{Slug: "torso", Name: "Torso"}, everywhere, release.CutFor(bench.Filament))
	f.add(release.Part{Slug: "tail", Name: "Tail", Flexible: true}, everywhere, release.CutFor(bench.Filament), release.CutFor(bench.Resin))
	f.add(release.Part{Slug: "clip", Name: "Clip", Snaps: []release.CutKind{release.CutAny}}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "gap", Name: "Gap"}, everywhere, release.CutAny)
	f.s["gap/any"].Report.Findings = []measure.Finding{{Level: measure.Fault, Code: "open-edges", Text: "The surface has 3 edges."}}
	f.logged(3, "filament", release.Failed, "torso/filament").Remark = "It tore off."
	tasks := backlog.Of(f.input().Judged())

	hull := taskOf(t, tasks, backlog.TaskRedesign, "hull")
	require.Equal(t, []*bench.Process{bench.Filament, bench.Resin}, hull.Processes, "one mesh, one redesign")
	require.Equal(t, release.CutAny, hull.Cut)
	require.Len(t, hull.Cells, 2*3, "the part and the release in each material")

	var cuts []string
	for _, k := range tasks {
		if k.Kind == backlog.TaskCut {
			cuts = append(cuts, fmt.Sprint(k.Cut, k.Parts, k.Missing))
		}
	}
	require.Equal(t, []string{
		"resin[torso] [There is no resin cut of Torso.]",
		"resin[clip] [The snap joints of Clip break in a rigid resin.]",
		"flexible[tail] [There is no flexible cut of Tail.]",
	}, cuts)

	mend := taskOf(t, tasks, backlog.TaskMend, "gap")
	require.Equal(t, []string{"The surface has 3 edges."}, mend.Missing)
	require.Equal(t, backlog.MendOne, mend.Effort)
	require.Contains(t, taskOf(t, tasks, backlog.TaskSeal, "").Settles, "once its faults are mended")

	failed := taskOf(t, tasks, backlog.TaskFailed, "torso")
	require.Equal(t, []string{"Torso failed on 3 March 2026: It tore off."}, failed.Missing)
	require.Equal(t, []string{"filament"}, failed.Materials)

	stays := taskOf(t, tasks, backlog.TaskStays, "tail")
	require.Equal(t, []string{"Tail is made to bend: it is printed in a flexible material beside the rigid ones."}, stays.Missing)
	require.Equal(t, backlog.Nothing, tasks[len(tasks)-1].Effort)

	for _, k := range tasks {
		if k.Kind == backlog.TaskPrint {
			for _, part := range []string{"hull", "gap", "torso"} {
				require.NotContains(t, k.Parts, part, "its mesh is to change first, or is not there: %v", k)
			}
		}
	}
}

// A plate that failed is one thing to look into, whatever was on it.
func TestPartsOfOneFailedPrintAreOneTask(t *testing.T) {
	f := figure()
	f.logged(3, "resin", release.Failed, "arm/any", "torso/resin").Remark = "It tore off."
	f.logged(4, "filament", release.Failed, "torso/filament")
	var got []string
	for _, k := range backlog.Of(f.input().Judged()) {
		if k.Kind == backlog.TaskFailed {
			got = append(got, fmt.Sprint(k.What, k.Materials, k.Missing, len(k.Cells)))
		}
	}
	require.Equal(t, []string{
		"Find why the print of Torso failed[filament] [Torso failed on 4 March 2026.] 2",
		"Find why the print of Arm and Torso failed[resin] [Arm and Torso failed on 3 March 2026: It tore off.] 3",
	}, got)
}

func TestTooLargeAndHowItIsHelped(t *testing.T) {
	f := newFixture()
	f.site.Bench.Plates = append(f.site.Bench.Plates, bench.Plate{ID: "wide", Name: "Wide resin", Process: bench.Resin}, bench.Plate{ID: "tiny", Name: "Tiny resin", Process: bench.Resin})
	f.add(release.Part{Slug: "hull", Name: "Hull"}, []string{"wide", "bed"}, release.CutAny)
	tasks := backlog.Of(f.input().Judged())
	split := taskOf(t, tasks, backlog.TaskRedesign, "hull")
	require.Equal(t, []string{"Hull is too large for the design standard, Small resin, and fits Wide resin."}, split.Missing)
	require.Equal(t, "Split it into pieces that fit, or make it smaller.", split.Settles)
	other := taskOf(t, tasks, backlog.TaskPlates, "")
	require.Equal(t, []string{"On Tiny resin these do not fit, or not surely: Hull."}, other.Missing)
	require.Equal(t, []string{"hull"}, other.Parts)
	require.Equal(t, backlog.OnlyIfWanted, other.Effort)
	require.Empty(t, other.Cells)

	f.s["hull/any"].Fits["wide"] = fit.Result{Verdict: fit.CannotFit}
	f.s["hull/any"].Fits["small"] = fit.Result{Verdict: fit.Undecided}
	require.Contains(t, taskOf(t, backlog.Of(f.input().Judged()), backlog.TaskRedesign, "hull").Settles, "neither found a fit nor proved")

	// A good print shows that there is a plate for it, and proves nothing of the standard.
	f.s["hull/any"].Fits["small"] = fit.Result{Verdict: fit.CannotFit}
	f.logged(2, "resin", release.Good, "hull/any")
	again := taskOf(t, backlog.Of(f.input().Judged()), backlog.TaskRedesign, "hull")
	require.Equal(t, "Split it into pieces that fit, or make it smaller.", again.Settles)
	require.Contains(t, again.Cells, backlog.CellRef{Part: "hull", Material: "resin", Standing: standing.WithCare})
	f.site.Releases[0].Log = nil

	// Pieces that fit are the remedy already.
	f.s["hull/any"].Fits["wide"] = fit.Result{Verdict: fit.AsSupplied}
	f.s["hull/any"].Fits["small"] = fit.Result{Verdict: fit.CannotFit}
	f.add(release.Part{Slug: "fore", Name: "Fore", Replaces: "hull"}, []string{"small", "wide", "tiny", "bed"}, release.CutAny)
	tasks = backlog.Of(f.input().Judged())
	require.NotContains(t, strings.Join(written(tasks), "\n"), "redesign")
	require.Equal(t, []string{"Hull is too large for the design standard of resin, where its pieces are printed."}, taskOf(t, tasks, backlog.TaskStays, "").Missing)
	var wants []string
	for _, k := range tasks {
		if k.Kind == backlog.TaskPrint && k.Materials[0] == "resin" {
			wants = append(wants, fmt.Sprint(k.Parts, k.Needed))
		}
	}
	require.ElementsMatch(t, []string{"[fore] true", "[hull] false"}, wants, "the release does without the whole")

	// With no material to say so, a plate still does.
	f.site.Bench.Materials = nil
	f.site.Releases[0].Parts = f.site.Releases[0].Parts[:1]
	require.Equal(t, []string{"Hull does not fit the design standard, Small resin: cannot fit."}, taskOf(t, backlog.Of(f.input().Judged()), backlog.TaskRedesign, "hull").Missing)
}

func TestWhatHasChangedIsReprintedAndSealed(t *testing.T) {
	f := figure()
	f.sealed("A", "arm/any", "torso/filament", "torso/resin=old")
	f.logged(2, "resin", release.Good, "arm/any", "torso/resin=old")
	in := f.input()
	was, is := &release.SealedPart{Slug: "torso", Name: "Torso"}, &release.SealedPart{Slug: "torso", Name: "Torso", Quantity: 2}
	in.History = history.History{1: {ToWorking: []history.Step{{From: "A", Parts: []history.PartStep{{Was: was, Is: is, Cuts: []history.CutStep{{Kind: change.Changed}}}}}}}}
	tasks := backlog.Of(in.Judged())
	require.Equal(t, []string{"Changed since revision A: Torso."}, taskOf(t, tasks, backlog.TaskSeal, "").Missing)
	for _, k := range tasks {
		if k.Kind == backlog.TaskPrint && k.Materials[0] == "resin" {
			require.Equal(t, []string{"torso"}, k.Parts)
			require.Equal(t, []string{"Torso has changed since it was proven in revision A."}, k.Missing)
		}
	}
	in.History[1].ToWorking = []history.Step{{From: "A"}}
	require.NotContains(t, strings.Join(written(backlog.Of(in.Judged())), "\n"), "seal")
	in.History[1].ToWorking = []history.Step{{From: "A", HardwareIs: []release.SealedHardware{{Item: "rod"}}}}
	require.Equal(t, []string{"The hardware has changed since revision A."}, taskOf(t, backlog.Of(in.Judged()), backlog.TaskSeal, "").Missing)
}

func TestAThinPlaceIsPrintedFirstUnlessItIsHopeless(t *testing.T) {
	f := figure()
	for i := range f.site.Bench.Materials {
		f.site.Bench.Materials[i].WallMin = 0.9
	}
	place := thin.Place{Kind: thin.Wall, Thickness: 0.5, Extent: 8, Area: 40, Run: 8}
	f.s["arm/any"].Report.Thin = thin.Report{Limit: 2, Places: []thin.Place{place}}
	tasks := backlog.Of(f.input().Judged())
	require.NotContains(t, strings.Join(written(tasks), "\n"), "redesign")
	place.Thickness = 0.1
	f.s["arm/any"].Report.Thin.Places[0] = place
	tasks = backlog.Of(f.input().Judged())
	require.Contains(t, taskOf(t, tasks, backlog.TaskRedesign, "arm").Settles, "Thicken it")
}

// A site whose verdicts were given without grounds, or that has none to give.
func TestACellWithoutGroundsIsStillListed(t *testing.T) {
	f := figure()
	in := verdict.BacklogInput{Site: &f.site, Cells: []standing.Cell{{Release: 1, Material: "resin", Standing: standing.WithCare, Reason: "Because."}, {Release: 1, Material: "no-such", Standing: standing.Proven}}}
	task := taskOf(t, backlog.Of(in.Judged()), backlog.TaskRedesign, "")
	require.Equal(t, []string{"Because."}, task.Missing)
	require.Equal(t, []backlog.CellRef{{Part: "", Material: "resin", Standing: standing.WithCare}}, task.Cells)

	f = newFixture()
	task = taskOf(t, backlog.Of(f.input().Judged()), backlog.TaskRedesign, "")
	require.Equal(t, "Draw the first part.", task.Settles)
	require.Len(t, task.Cells, 3)

	f.add(release.Part{Slug: "fin", Name: "Fin"}, everywhere, release.CutFlexible)
	f.logged(2, "soft-resin", release.Good, "fin/flexible")
	stays := taskOf(t, backlog.Of(f.input().Judged()), backlog.TaskStays, "")
	require.Equal(t, []string{"resin", "filament"}, stays.Materials, "made for a flexible material throughout")
}

// What holds in a blend alone, and was printed well in it, is with care and stays so.
func TestALimitThatIsMeantIsNoWork(t *testing.T) {
	f := newFixture()
	f.site.Bench.Materials[0].Blends = []bench.Blend{{With: "soft-resin", Least: 0.1, Most: 0.3, Stiffness: bench.SemiRigid}}
	f.add(release.Part{Slug: "clip", Name: "Clip", Snaps: []release.CutKind{release.CutAny}}, everywhere, release.CutAny)
	blend := []release.Share{{Material: f.site.Bench.Materials[0], Share: 0.8}, {Material: f.site.Bench.Materials[1], Share: 0.2}}
	f.site.Releases[0].Print = []release.PrintSettings{{Process: bench.Resin, Shares: blend}}
	f.logged(2, "resin", release.Good, "clip/any").Stock = blend
	tasks := backlog.Of(f.input().Judged())
	stays := taskOf(t, tasks, backlog.TaskStays, "clip")
	require.Equal(t, []backlog.CellRef{{Part: "", Material: "resin", Standing: standing.WithCare}, {Part: "clip", Material: "resin", Standing: standing.WithCare}}, stays.Cells)
	require.NotContains(t, strings.Join(written(tasks), "; "), "redesign")

	// Cells that contradict themselves: what is proven is not listed, whatever is said of it.
	in := f.input()
	for i := range in.Cells {
		in.Cells[i].Standing, in.Cells[i].Parts[0].Standing = standing.Proven, standing.Proven
	}
	for _, k := range backlog.Of(in.Judged()) {
		require.Empty(t, k.Cells)
	}
}

// drawSite makes a site of any parts, cuts, fits, findings and prints.
func drawSite(t *rapid.T) *fixture {
	f := newFixture()
	f.site.Bench.Plates = append(f.site.Bench.Plates, bench.Plate{ID: "wide", Name: "Wide resin", Process: bench.Resin})
	if rapid.Bool().Draw(t, "no flexible material") {
		f.site.Bench.Materials = slices.Delete(f.site.Bench.Materials, 1, 2)
	}
	kinds := []release.CutKind{release.CutAny, release.CutFor(bench.Filament), release.CutFor(bench.Resin), release.CutFlexible}
	verdicts := []fit.Verdict{fit.AsSupplied, fit.Turned, fit.CannotFit, fit.Undecided}
	var meshes []string
	for i := range rapid.IntRange(0, 5).Draw(t, "parts") {
		p := release.Part{Slug: fmt.Sprintf("p%d", i), Name: fmt.Sprintf("Part %d", i), Quantity: 1, Flexible: rapid.IntRange(0, 4).Draw(t, "bends") == 0}
		switch rapid.IntRange(0, 4).Draw(t, "role") {
		case 0:
			p.Choice = "hat"
		case 1:
			if i > 0 && f.site.Releases[0].Parts[i-1].Replaces == "" {
				p.Replaces = f.site.Releases[0].Parts[i-1].Slug
			}
		case 2:
			p.Only = rapid.SampledFrom(bench.Shipped().Processes()).Draw(t, "only")
		}
		own := rapid.SliceOfNDistinct(rapid.SampledFrom(kinds), 0, 3, rapid.ID[release.CutKind]).Draw(t, "cuts")
		slices.SortFunc(own, func(a, b release.CutKind) int { return slices.Index(kinds, a) - slices.Index(kinds, b) })
		if len(own) > 0 && rapid.IntRange(0, 3).Draw(t, "snaps") == 0 {
			p.Snaps = own[:1]
		}
		f.add(p, nil, own...)
		for _, k := range own {
			cs := f.s[p.Slug+"/"+string(k)]
			meshes = append(meshes, cs.Cut.Rel)
			for _, plate := range f.site.Bench.Plates {
				res := fit.Result{Verdict: rapid.SampledFrom(verdicts).Draw(t, "fits")}
				res.Declared = rapid.Bool().Draw(t, "declared")
				cs.Fits[plate.ID] = res
			}
			switch rapid.IntRange(0, 7).Draw(t, "mesh") {
			case 0:
				cs.Report.Findings = []measure.Finding{{Level: measure.Fault, Code: rapid.SampledFrom([]string{"open-edges", "no-volume"}).Draw(t, "fault"), Text: "A fault."}}
			case 1:
				cs.Err = errTest
			case 2:
				cs.Layers = map[*bench.Process]*survey.Layers{bench.Resin: {Encloses: true, TrappedCount: 1, WellCount: 1}}
			}
		}
	}
	outcomes := []release.Outcome{release.Good, release.Usable, release.Failed}
	for range rapid.IntRange(0, 6).Draw(t, "prints") {
		if len(meshes) == 0 {
			break
		}
		mesh := rapid.SampledFrom(meshes).Draw(t, "mesh printed")
		if rapid.IntRange(0, 2).Draw(t, "earlier") == 0 {
			mesh += "=old"
		}
		f.logged(rapid.IntRange(1, 9).Draw(t, "day"), rapid.SampledFrom(f.site.Bench.Materials).Draw(t, "in").ID, rapid.SampledFrom(outcomes).Draw(t, "outcome"), mesh)
	}
	return f
}

// Every cell that is not proven is in at least one task, nothing proven is in any,
// the order is that of the efforts, and the same site has the same backlog.
func TestEveryUnprovenCellIsInTheBacklogAndNoProvenOne(t *testing.T) {
	seen := map[backlog.TaskKind]int{}
	rapid.Check(t, func(t *rapid.T) {
		f := drawSite(t)
		in := f.input()
		tasks := backlog.Of(in.Judged())
		listed := map[backlog.CellRef]int{}
		for _, k := range tasks {
			seen[k.Kind]++
			require.NotEmpty(t, k.Missing, "%v", k)
			require.NotEmpty(t, k.Settles, "%v", k)
			require.Contains(t, backlog.Efforts, k.Effort)
			require.Equal(t, k.Kind == backlog.TaskPrint, k.Need != nil)
			for _, c := range k.Cells {
				listed[c]++
				if c.Part != "" {
					require.Contains(t, k.Materials, c.Material, "%v", k)
					require.Contains(t, k.Parts, c.Part, "%v", k)
				}
			}
		}
		want := 0
		for _, c := range in.Cells {
			at := []backlog.CellRef{{Material: c.Material, Standing: c.Standing}}
			for _, p := range c.Parts {
				at = append(at, backlog.CellRef{Part: p.Part, Material: c.Material, Standing: p.Standing})
			}
			for _, ref := range at {
				if ref.Standing == standing.Proven {
					require.Zero(t, listed[ref], "%v is proven", ref)
					continue
				}
				want++
				require.NotZero(t, listed[ref], "%v is in no task of %v", ref, written(tasks))
			}
		}
		require.Len(t, listed, want, "a cell that is not in the table")
		require.True(t, slices.IsSortedFunc(tasks, func(a, b backlog.Task) int {
			if a.Effort != b.Effort || a.Needed == b.Needed {
				return int(a.Effort - b.Effort)
			}
			if a.Needed {
				return -1
			}
			return 1
		}), "%v", written(tasks))
		require.Equal(t, tasks, backlog.Of(f.input().Judged()))

		// The prints of one material share no part: each is printed once.
		printed := map[string]bool{}
		for _, k := range tasks {
			if k.Kind == backlog.TaskPrint {
				for _, p := range k.Parts {
					key := k.Materials[0] + " " + p
					require.False(t, printed[key], key)
					printed[key] = true
				}
			}
		}
		// Doing all prints well leaves no print to do.
		for _, k := range tasks {
			if k.Kind != backlog.TaskPrint {
				continue
			}
			for _, p := range k.Parts {
				part := f.site.Releases[0].Parts[slices.IndexFunc(f.site.Releases[0].Parts, func(q release.Part) bool { return q.Slug == p })]
				m := f.site.Bench.Materials[slices.IndexFunc(f.site.Bench.Materials, func(m bench.Material) bool { return m.ID == k.Materials[0] })]
				cut, ok := printing.PartOf(f.site.Releases[0], part, m.Process).CutIn(m.Stiffness)
				require.True(t, ok, "no mesh to print of %s", p)
				f.logged(20, m.ID, release.Good, cut.Rel)
			}
		}
		for _, k := range backlog.Of(f.input().Judged()) {
			require.NotEqual(t, backlog.TaskPrint, k.Kind, "%v", k)
		}
	})
	for _, k := range []backlog.TaskKind{backlog.TaskSeal, backlog.TaskPrint, backlog.TaskMend, backlog.TaskCut, backlog.TaskRedesign, backlog.TaskFailed, backlog.TaskPlates, backlog.TaskStays} {
		require.NotZero(t, seen[k], "no site had one to %s", k)
	}
}
