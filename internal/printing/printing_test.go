package printing

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure/slice"
	"cardback/internal/release"
)

// powder is a third process: rules hold for any, not for those that are shipped.
var powder = &bench.Process{ID: "powder"}

func cuts(kinds ...release.CutKind) []release.Cut {
	var out []release.Cut
	for _, k := range kinds {
		out = append(out, release.Cut{Kind: k, Rel: string(k) + ".stl"})
	}
	return out
}

func TestWhichCutIsPrinted(t *testing.T) {
	const none = release.CutKind("")
	for name, c := range map[string]struct {
		part            release.Part
		proc            *bench.Process
		rigid, flexible release.CutKind
		laid            release.CutKind
		meshes          []release.CutKind
	}{
		"any for all":               {release.Part{Cuts: cuts("any")}, powder, "any", "any", "any", []release.CutKind{"any"}},
		"own before any":            {release.Part{Cuts: cuts("any", "powder")}, powder, "powder", "powder", "powder", []release.CutKind{"powder"}},
		"another process's":         {release.Part{Cuts: cuts("resin")}, bench.Filament, none, none, none, nil},
		"flexible beside any":       {release.Part{Cuts: cuts("any", "flexible")}, bench.Resin, "any", "flexible", "any", []release.CutKind{"any", "flexible"}},
		"flexible alone":            {release.Part{Cuts: cuts("flexible")}, bench.Resin, none, "flexible", "flexible", []release.CutKind{"flexible"}},
		"flexible beside another's": {release.Part{Cuts: cuts("resin", "flexible")}, powder, none, "flexible", "flexible", []release.CutKind{"flexible"}},
		"only for it":               {release.Part{Only: powder, Cuts: cuts("any")}, powder, "any", "any", "any", []release.CutKind{"any"}},
		"only for another": { // a test print may be of anything
			release.Part{Only: bench.Resin, Cuts: cuts("any")}, powder, "any", "any", none, nil},
		"no mesh": {release.Part{}, powder, none, none, none, nil},
	} {
		t.Run(name, func(t *testing.T) {
			p := Of(release.Release{Parts: []release.Part{c.part}}, c.proc).Parts[0]
			for s, want := range map[bench.Stiffness]release.CutKind{bench.Rigid: c.rigid, bench.SemiRigid: c.rigid, bench.Flexible: c.flexible} {
				cut, ok := p.CutIn(s)
				require.Equal(t, want, cut.Kind, s)
				require.Equal(t, want != none, ok, s)
			}
			laid, ok := p.Cut()
			require.Equal(t, c.laid, laid.Kind)
			require.Equal(t, c.laid != none, ok)
			var kinds []release.CutKind
			for _, m := range p.Meshes() {
				kinds = append(kinds, m.Kind)
			}
			require.Equal(t, c.meshes, kinds)
			for _, cut := range c.part.Cuts {
				prints := false
				for _, k := range c.meshes {
					prints = prints || k == cut.Kind
				}
				require.Equal(t, prints, p.Prints(cut), cut.Kind)
			}
		})
	}
}

func TestWhichCutsAProcessCouldPrint(t *testing.T) {
	for kind, want := range map[release.CutKind][3]bool{
		release.CutAny: {true, true, true}, release.CutFlexible: {true, true, true},
		release.CutFor(bench.Filament): {true, false, false}, release.CutFor(bench.Resin): {false, true, false}, "powder": {false, false, true},
		release.CutPose: {},
	} {
		for i, proc := range []*bench.Process{bench.Filament, bench.Resin, powder} {
			require.Equal(t, want[i], kind.IsFor(proc), "%s in %s", kind, proc)
		}
	}
}

func TestHowAPartIsLaid(t *testing.T) {
	tilted := []release.PrintSettings{{Process: bench.Resin, Tilt: 35}, {Process: powder}}
	own := release.Part{Tilt: -20, TiltAbout: "y"}
	flat := release.Part{TiltAbout: "y"} // recommended as supplied
	inPowder := release.Part{Tilt: 10, TiltAbout: "y", TiltFor: powder}
	for name, c := range map[string]struct {
		part               release.Part
		proc               *bench.Process
		pose               slice.Pose
		oriented, declared bool
	}{
		"the release's tilt":            {release.Part{}, bench.Resin, slice.Pose{Tilt: 35, About: "x"}, false, true},
		"no word":                       {release.Part{}, powder, slice.Pose{}, false, false},
		"no settings":                   {release.Part{}, bench.Filament, slice.Pose{}, false, false},
		"its own":                       {own, bench.Resin, slice.Pose{Tilt: -20, About: "y"}, true, true},
		"its own, flat":                 {flat, bench.Resin, slice.Pose{About: "y"}, true, true},
		"its own for one process":       {inPowder, powder, slice.Pose{Tilt: 10, About: "y"}, true, true},
		"its own for another process":   {inPowder, bench.Resin, slice.Pose{Tilt: 35, About: "x"}, false, true},
		"its own for another, no other": {inPowder, bench.Filament, slice.Pose{}, false, false},
	} {
		p := Of(release.Release{Print: tilted, Parts: []release.Part{c.part}}, c.proc).Parts[0]
		require.Equal(t, c.pose, p.Pose, name)
		require.Equal(t, c.oriented, p.Oriented, name)
		require.Equal(t, c.declared, p.Declared(), name)
	}
}

// figure has a choice whose second part may be printed in pieces, a whole of which one
// piece is for resin alone, a whole whose pieces are all for powder, and a part for resin
// alone.
func figure() release.Release {
	return release.Release{Parts: []release.Part{
		{Slug: "plume", Name: "Plume", Choice: "crest", Quantity: 1},
		{Slug: "torso", Name: "Torso", Quantity: 1},
		{Slug: "torso-front", Name: "Torso, front", Replaces: "torso"},
		{Slug: "torso-plug", Name: "Torso, plug", Replaces: "torso", Only: bench.Resin},
		{Slug: "fan", Name: "Fan", Choice: "crest"},
		{Slug: "fan-left", Name: "Fan, left", Replaces: "fan"},
		{Slug: "arm", Name: "Arm", Quantity: 2, MirroredTwin: true},
		{Slug: "arm-half", Name: "Arm, half", Replaces: "arm", Only: powder},
		{Slug: "back", Name: "Back", Only: bench.Resin},
	}}
}

func TestWhatFillsACompletePrint(t *testing.T) {
	type ways [][]string // slugs; those of pieces follow their whole's
	for _, c := range []struct {
		proc *bench.Process
		want map[string]ways
	}{
		{bench.Filament, map[string]ways{
			"a crest": {{"plume"}, {"fan"}, {"fan-left"}}, "Torso": {{"torso"}, {"torso-front"}}, "Arm": {{"arm"}}}},
		{bench.Resin, map[string]ways{
			"a crest": {{"plume"}, {"fan"}, {"fan-left"}}, "Torso": {{"torso"}, {"torso-front", "torso-plug"}}, "Arm": {{"arm"}}, "Back": {{"back"}}}},
		{powder, map[string]ways{
			"a crest": {{"plume"}, {"fan"}, {"fan-left"}}, "Torso": {{"torso"}, {"torso-front"}}, "Arm": {{"arm"}, {"arm-half"}}}},
	} {
		got := map[string]ways{}
		for _, s := range Of(figure(), c.proc).Slots {
			for _, w := range s.Ways {
				var slugs []string
				for _, p := range w.Parts {
					require.Equal(t, w.Split, p.Replaces == w.Whole.Slug)
					require.Equal(t, figure().Parts[p.Number-1].Slug, p.Slug)
					slugs = append(slugs, p.Slug)
				}
				got[s.Name] = append(got[s.Name], slugs)
			}
		}
		require.Equal(t, c.want, got, c.proc)
	}
	crest := Of(figure(), powder).Slots[0]
	require.Equal(t, "crest", crest.Choice)
	require.Equal(t, "plume", crest.Drawn().Slug)
	require.Len(t, crest.Wholes(), 2)
	require.Len(t, crest.Only("fan").Ways, 2)
	require.Equal(t, "fan-left", crest.Pieces("fan")[0].Slug)
	require.Empty(t, crest.Pieces("plume"))
	require.Len(t, Of(figure(), bench.Filament).Pieces("torso"), 1)
	require.Empty(t, Of(figure(), bench.Filament).Pieces("arm"))
	require.Len(t, Pieces(figure(), "torso"), 2)
	require.Empty(t, Pieces(figure(), "arm-half"))
	require.Empty(t, Pieces(figure(), ""), "parts that replace nothing are nobody's pieces")
}

func TestCopiesOfATwin(t *testing.T) {
	require.Equal(t, []Lot{{2, false}, {2, true}}, Lots(release.Part{Quantity: 2, MirroredTwin: true}))
	require.Equal(t, []Lot{{3, false}}, Lots(release.Part{Quantity: 3}))
	_, one := OnePiece(release.Release{Parts: []release.Part{{Quantity: 1, MirroredTwin: true}}})
	require.False(t, one)
	_, one = OnePiece(release.Release{Parts: []release.Part{{Quantity: 1}}})
	require.True(t, one)
}

func TestTheWayTakenKeepsWhatIsRecommended(t *testing.T) {
	keeps := fit.Result{Verdict: fit.Recommended, Declared: true, Keeps: true}
	plain := fit.Result{Verdict: fit.Tipped} // nothing recommended
	otherwise := fit.Result{Verdict: fit.Tipped, Declared: true}
	not := fit.Result{Verdict: fit.CannotFit, Declared: true}
	for _, c := range []struct {
		whole, front, plug fit.Result
		split, ok          bool
	}{
		{keeps, keeps, keeps, false, true},
		{otherwise, keeps, plain, true, true},
		{otherwise, keeps, otherwise, false, true},
		{not, keeps, otherwise, true, true},
		{not, keeps, fit.Result{}, false, false},
		{fit.Result{}, keeps, keeps, true, true},
	} {
		on := map[string]fit.Result{"torso": c.whole, "torso-front": c.front, "torso-plug": c.plug}
		w, ok := Of(figure(), bench.Resin).Slots[1].Take(func(p Part) fit.Result { return on[p.Slug] })
		require.Equal(t, c.ok, ok)
		require.Equal(t, c.split, w.Split)
	}
	_, ok := Slot{}.Take(func(Part) fit.Result { return keeps })
	require.False(t, ok)
}

func TestWhichProcessesPrintACut(t *testing.T) {
	r := release.Release{
		Added: []*bench.Process{powder},
		Print: []release.PrintSettings{{Process: bench.Resin, Tilt: 35}},
		Parts: []release.Part{{Slug: "arm", Cuts: cuts("any", "resin", "flexible")}, {Slug: "back", Only: bench.Resin, Cuts: cuts("any")}},
	}
	plans := All(r)
	by := func(slug string, c release.Cut) (out []*bench.Process) {
		for _, p := range plans.Printing(slug, c) {
			out = append(out, p.Process)
		}
		return out
	}
	require.Equal(t, []*bench.Process{bench.Filament, powder}, by("arm", r.Parts[0].Cuts[0]))
	require.Equal(t, []*bench.Process{bench.Resin}, by("arm", r.Parts[0].Cuts[1]))
	require.Equal(t, []*bench.Process{bench.Filament, bench.Resin, powder}, by("arm", r.Parts[0].Cuts[2]))
	require.Equal(t, []*bench.Process{bench.Resin}, by("back", r.Parts[1].Cuts[0]))
	require.Equal(t, slice.Pose{Tilt: 35, About: "x"}, plans.Printing("arm", r.Parts[0].Cuts[1])[0].Pose)
	require.Equal(t, 35.0, plans.By(bench.Resin).Settings.Tilt)
	require.Empty(t, plans.By(nil).Parts)
	require.True(t, plans.By(powder).Offers())
	require.False(t, Of(release.Release{Parts: r.Parts[1:]}, powder).Offers())
}

func TestAStockTakesWhatIsMadeForIt(t *testing.T) {
	r := release.Release{Parts: []release.Part{
		{Slug: "arm", Cuts: cuts("any", "flexible")}, {Slug: "belt", Flexible: true, Cuts: cuts("any")},
		{Slug: "strap", Cuts: cuts("flexible")}, {Slug: "clip", Only: bench.Resin, Cuts: cuts("any")},
	}}
	for stiffness, want := range map[bench.Stiffness][]string{
		bench.Rigid: {"arm"}, bench.SemiRigid: {"arm"}, bench.Flexible: {"belt", "strap"},
	} {
		var got []string
		for _, p := range Of(r, powder).Parts {
			if p.InStock(stiffness) {
				got = append(got, p.Slug)
			}
		}
		require.Equal(t, want, got, stiffness)
	}
}

func TestARevisionIsPrintedByTheSameRules(t *testing.T) {
	parts := []release.SealedPart{
		{Slug: "torso", Name: "Torso", Cuts: []release.SealedCut{{Kind: "any"}, {Kind: "flexible"}}},
		{Slug: "plug", Name: "Plug", Replaces: "torso", Only: bench.Resin},
	}
	plan := Sealed(parts, powder)
	require.Len(t, plan.Slots, 1)
	require.Len(t, plan.Slots[0].Ways, 1)
	require.Len(t, Sealed(parts, bench.Resin).Slots[0].Ways, 2)
	cut, ok := plan.Parts[0].CutIn(bench.Flexible)
	require.True(t, ok)
	require.Equal(t, release.CutFlexible, cut.Kind)
	require.False(t, plan.Parts[1].Needed)
}
