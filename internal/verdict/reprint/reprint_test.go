package reprint_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/bench"
	"cardback/internal/measure/change"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/survey/history"
	"cardback/internal/verdict/reprint"
)

// bothWays is every way of printing.
var bothWays = history.Uses(bench.Shipped().Processes())

// step1 is a part of that quantity with one cut of which kind became.
func step1(kind change.Kind, was, is release.SealedPart) history.PartStep {
	c := history.CutStep{Kind: kind, Uses: bothWays}
	a := release.SealedCut{Kind: release.CutAny, Fingerprint: strings.Repeat("a", 64)}
	b := a
	if kind != change.Unchanged {
		b.Fingerprint = strings.Repeat("b", 64)
	}
	p := history.PartStep{}
	if kind != history.Added {
		was.Cuts = []release.SealedCut{a}
		p.Was, c.Was = &was, &a
	}
	if kind != history.Removed {
		is.Cuts = []release.SealedCut{b}
		p.Is, c.Is = &is, &b
	}
	switch kind {
	case change.Rescaled:
		c.Change = &change.Change{Kind: kind, Motion: change.Motion{Matrix: change.Still.Matrix, Scale: 1.1}}
	case change.Changed:
		c.Change = &change.Change{Kind: kind, Motion: change.Still,
			OldToNew: change.Distance{Largest: 0.418, AtMost: 0.42, Mean: 0.01, At: mesh.Vec{X: 1, Y: 2, Z: 3}}, NewToOld: change.Distance{Largest: 0.2}}
	case change.Nearly:
		c.Change = &change.Change{Kind: kind, Motion: change.Still, Tolerance: 0.01, OldToNew: change.Distance{Largest: 0.0066, AtMost: 0.00661}, NewToOld: change.Distance{Largest: 0.006, AtMost: 0.006}}
	case change.SameShape, change.Moved, change.Mirrored:
		c.Change = &change.Change{Kind: kind, Motion: change.Still}
	}
	p.Cuts = []history.CutStep{c}
	return p
}

func sealed(name string, quantity int, twin bool) release.SealedPart {
	return release.SealedPart{Slug: strings.ToLower(name), Name: name, Quantity: quantity, MirroredTwin: twin}
}

func TestWhatToDoAboutAPart(t *testing.T) {
	hat := sealed("Hat", 1, false)
	choice, piece, resin := hat, hat, hat
	choice.Choice, piece.Replaces, resin.Only = "hat", "hull", bench.Resin
	for name, c := range map[string]struct {
		kind     change.Kind
		was, is  release.SealedPart
		action   reprint.Action
		pieces   int
		sentence string
	}{
		"unchanged":               {change.Unchanged, hat, hat, reprint.Keep, 0, "What you have is good: it is the same."},
		"other triangles":         {change.SameShape, hat, hat, reprint.Keep, 0, "What you have is good: the same surface, in other triangles."},
		"moved":                   {change.Moved, hat, hat, reprint.Keep, 0, "What you have is good: it only lies otherwise in its file."},
		"nearly":                  {change.Nearly, hat, hat, reprint.Keep, 0, "What you have is good: it differs by at most 0.0067 mm, which is under the printing tolerance of 0.01 mm."},
		"more of it, nearly":      {change.Nearly, hat, sealed("Hat", 2, false), reprint.PrintMore, 1, "Print one more: 2 are needed now, and those you have are good."},
		"mirrored":                {change.Mirrored, hat, hat, reprint.PrintAgain, 1, "Print it again: it is now the mirror image."},
		"rescaled":                {change.Rescaled, hat, hat, reprint.PrintAgain, 1, "Print it again: it is now 110 % of its size."},
		"changed":                 {change.Changed, hat, hat, reprint.PrintAgain, 1, "Print it again: it has changed by up to 0.42 mm, near (1.0, 2.0, 3.0)."},
		"changed, four of it":     {change.Changed, sealed("Hat", 2, true), sealed("Hat", 2, true), reprint.PrintAgain, 4, "Print all 4 again: it has changed by up to 0.42 mm, near (1.0, 2.0, 3.0)."},
		"added":                   {history.Added, hat, hat, reprint.PrintNew, 1, "New: print one."},
		"added, of a choice":      {history.Added, hat, choice, reprint.IfWanted, 1, "New, and one of a choice: print it if you want it."},
		"added, a piece":          {history.Added, hat, piece, reprint.IfWanted, 1, "New: a piece of a whole part. You need it only if you print that part in pieces."},
		"removed":                 {history.Removed, hat, hat, reprint.NotNeeded, 0, "No longer needed."},
		"more of it":              {change.Unchanged, hat, sealed("Hat", 3, false), reprint.PrintMore, 2, "Print 2 more: 3 are needed now, and those you have are good."},
		"more of it, moved":       {change.Moved, hat, sealed("Hat", 2, false), reprint.PrintMore, 1, "Print one more: 2 are needed now, and those you have are good."},
		"more of it, and changed": {change.Changed, hat, sealed("Hat", 3, false), reprint.PrintAgain, 3, "Print all 3 again: it has changed by up to 0.42 mm, near (1.0, 2.0, 3.0)."},
		"fewer of it":             {change.Unchanged, sealed("Hat", 3, false), hat, reprint.Keep, 0, "What you have is good (it is the same). You now need 1, not 3."},
		"a twin came":             {change.Unchanged, sealed("Hat", 2, false), sealed("Hat", 2, true), reprint.PrintMore, 2, "Print 2 more: 4 are needed now, and those you have are good."},
		"mirrored, with twins":    {change.Mirrored, sealed("Hat", 1, true), sealed("Hat", 1, true), reprint.Keep, 0, "What you have is good: the part and its mirrored twin have changed places."},
		"mirrored, and a twin":    {change.Mirrored, hat, sealed("Hat", 1, true), reprint.PrintMore, 1, "Print one more: it is now the mirror image, and those you have serve as the others."},
	} {
		t.Run(name, func(t *testing.T) {
			a := reprint.Advise(history.Step{From: "A", Parts: []history.PartStep{step1(c.kind, c.was, c.is)}})
			require.Len(t, a.Parts, 2, "a line for each process")
			for i, p := range a.Parts {
				require.Equal(t, bench.Shipped().Processes()[i], p.Process)
				require.Equal(t, c.action, p.Action)
				require.Equal(t, c.pieces, p.Pieces)
				require.Equal(t, c.sentence, p.Sentence)
				require.Empty(t, p.Only)
			}
			require.Equal(t, c.kind == change.Changed, a.Parts[0].AtMost == 0.42, "the greater of both ways")
		})
	}

	wound := step1(change.Changed, hat, hat)
	for cause, want := range map[change.Cause]string{
		change.OfVolume: "its surface is where it was, but what that encloses is another solid: it is wound the other way, or there more than once",
		change.OfFacing: "its surface is where it was, but some of it faces the other way, so that another solid is inside",
		change.OfBudget: "no difference of more than 0.0010 mm was found, but the search ended before more than 0.0580 mm could be excluded",
	} {
		wound.Cuts[0].Change = &change.Change{Kind: change.Changed, Cause: cause, OldToNew: change.Distance{Largest: 0.001, AtMost: 0.058}}
		require.Equal(t, "Print it again: "+want+".", reprint.Advise(history.Step{Parts: []history.PartStep{wound}}).Parts[0].Sentence)
	}

	// The tolerance is told wherever meshes were compared, and nowhere else.
	small := reprint.Advise(history.Step{From: "A", Tolerance: 0.01, Parts: []history.PartStep{step1(change.Nearly, hat, hat)}})
	require.Equal(t, "If you printed revision A, there is nothing to print again. Differences of less than 0.01 mm do not show in a print and are not counted.", small.Summary)
	require.True(t, small.Nothing())
	require.Equal(t, 0.01, small.Tolerance)
	require.Zero(t, reprint.Advise(history.Step{From: "A", Tolerance: 0.01, Parts: []history.PartStep{step1(change.Unchanged, hat, hat)}}).Tolerance)

	unread := step1(change.Changed, hat, hat)
	unread.Cuts[0].Change, unread.Cuts[0].Is.Fingerprint = nil, ""
	a := reprint.Advise(history.Step{From: "A", Parts: []history.PartStep{unread}})
	require.Equal(t, reprint.NotKnown, a.Parts[0].Action)
	require.Equal(t, "If you printed revision A, nothing that can be read needs to be printed again. Not known, because the mesh cannot be read: Hat.", a.Summary)

	lost := step1(change.Changed, hat, hat)
	lost.Cuts[0].Change, lost.Cuts[0].Why = nil, "the sealed geometry is missing"
	a = reprint.Advise(history.Step{From: "A", Parts: []history.PartStep{lost}})
	require.Equal(t, reprint.PrintAgain, a.Parts[0].Action)
	require.Equal(t, "Print it again: it has changed, and by how much cannot be said, because the sealed geometry is missing.", a.Parts[0].Sentence)
}

// What is printed in one process, or in flexible materials, is judged by its own
// cut.
func TestAdviceIsForWhatWasPrinted(t *testing.T) {
	a, b := release.SealedCut{Kind: release.CutAny, Fingerprint: "a"}, release.SealedCut{Kind: release.CutFor(bench.Resin), Fingerprint: "b"}
	was, is := sealed("Torso", 1, false), sealed("Torso", 1, false)
	p := history.PartStep{Was: &was, Is: &is, Cuts: []history.CutStep{
		{Was: &a, Is: &a, Kind: change.Unchanged, Uses: []history.Use{{Process: bench.Filament}, {Process: bench.Filament, Flexible: true}, {Process: bench.Resin, Flexible: true}}},
		{Was: &a, Is: &b, Kind: change.Changed, Change: &change.Change{Kind: change.Changed, NewToOld: change.Distance{Largest: 0.002, AtMost: 0.003}}, Uses: []history.Use{{Process: bench.Resin}}},
	}}
	got := reprint.Advise(history.Step{From: "A", Parts: []history.PartStep{p}})
	var lines []string
	for _, l := range got.Parts {
		lines = append(lines, fmt.Sprintf("%s %s: %s", l.Process, l.Only, l.Action))
	}
	require.Equal(t, []string{"filament : the same", "resin rigid: print again", "resin flexible: the same"}, lines)
	require.Len(t, got.For(bench.Resin), 2)
	require.Equal(t, bench.Shipped().Processes(), got.Processes())
	require.Equal(t, "If you printed revision A, print again: Torso (rigid resin).", got.Summary)
	require.Contains(t, got.Parts[1].Sentence, "up to less than 0.01 mm")

	only := is
	only.Only = bench.Resin
	gone := history.PartStep{Was: &was, Is: &only, Cuts: []history.CutStep{{Was: &a, Kind: history.Removed, Uses: []history.Use{{Process: bench.Filament}}}}}
	got = reprint.Advise(history.Step{From: "A", Parts: []history.PartStep{gone}})
	require.Equal(t, reprint.NotNeeded, got.Parts[0].Action)
	gone.Is = &is
	got = reprint.Advise(history.Step{From: "A", Parts: []history.PartStep{gone}})
	require.Equal(t, reprint.NoLongerMade, got.Parts[0].Action)
	came := history.PartStep{Was: &was, Is: &is, Cuts: []history.CutStep{{Is: &a, Kind: history.Added, Uses: []history.Use{{Process: bench.Filament}}}}}
	got = reprint.Advise(history.Step{From: "A", Parts: []history.PartStep{came}})
	require.Equal(t, "New for filament: print one.", got.Parts[0].Sentence)
}

func TestTheSummaryNamesWhatMatters(t *testing.T) {
	same := func(name string) history.PartStep {
		return step1(change.Unchanged, sealed(name, 1, false), sealed(name, 1, false))
	}
	s := history.Step{From: "A", To: "B", Parts: []history.PartStep{
		step1(change.Changed, sealed("Hip", 1, false), sealed("Hip", 1, false)),
		same("Arm"),
		step1(history.Added, sealed("Lamp", 1, false), sealed("Lamp", 1, false)),
		step1(change.Moved, sealed("Leg", 1, false), sealed("Leg", 2, false)),
		step1(history.Removed, sealed("Cap", 1, false), sealed("Cap", 1, false)),
		same("Boot"),
	}, HardwareWas: []release.SealedHardware{{Item: "rod", Name: "Pivot rod", Count: 2, Cut: 18}},
		HardwareIs: []release.SealedHardware{{Item: "rod", Name: "Pivot rod", Count: 2, Cut: 16}}}
	require.Equal(t, "If you printed revision A, print again: Hip; print more of: Leg; print what is new: Lamp. "+
		"2 other parts are as good as before. No longer needed: Cap. "+
		"Hardware: Now 2 × Pivot rod, cut to 16 mm, where it was 2 × Pivot rod, cut to 18 mm. Those you have can be cut down.", reprint.Advise(s).Summary)
	require.False(t, reprint.Advise(s).Nothing())

	still := history.Step{From: "B", Parts: []history.PartStep{same("Arm")}}
	require.Equal(t, "If you printed revision B, there is nothing to print again.", reprint.Advise(still).Summary)
	require.True(t, reprint.Advise(still).Nothing())

	var many history.Step
	for i := range 12 {
		n := fmt.Sprintf("P%d", i)
		many.Parts = append(many.Parts, step1(change.Changed, sealed(n, 1, false), sealed(n, 1, false)))
	}
	require.Contains(t, reprint.Advise(many).Summary, "P6, P7 and 4 more.")
}

func TestWhatToDoAboutHardware(t *testing.T) {
	rod := func(n int, cut float64) release.SealedHardware {
		return release.SealedHardware{Item: "rod", Name: "Rod", Count: n, Cut: cut}
	}
	glue := release.SealedHardware{Item: "glue", Name: "Glue", Count: 1}
	type list = []release.SealedHardware
	for name, c := range map[string]struct {
		was, is list
		want    []string
	}{
		"the same":           {list{rod(2, 18), glue}, list{glue, rod(2, 18)}, nil},
		"new":                {list{glue}, list{glue, rod(2, 18)}, []string{"new: New: 2 × Rod, cut to 18 mm."}},
		"gone":               {list{glue, rod(2, 18)}, list{rod(2, 18)}, []string{"no longer needed: No longer needed: 1 × Glue."}},
		"more":               {list{rod(2, 18)}, list{rod(5, 18)}, []string{"more: Now 5 × Rod, cut to 18 mm, where it was 2: 3 more."}},
		"fewer":              {list{rod(2, 18)}, list{rod(1, 18)}, []string{"fewer: Now 1 × Rod, cut to 18 mm, where it was 2."}},
		"longer":             {list{rod(2, 18)}, list{rod(2, 20)}, []string{"other cut length: Now 2 × Rod, cut to 20 mm, where it was 2 × Rod, cut to 18 mm."}},
		"shorter and more":   {list{rod(2, 18)}, list{rod(3, 16)}, []string{"other cut length: Now 3 × Rod, cut to 16 mm, where it was 2 × Rod, cut to 18 mm. Those you have can be cut down; cut 1 more."}},
		"one of two lengths": {list{rod(2, 18), rod(2, 12)}, list{rod(2, 12), rod(2, 19)}, []string{"other cut length: Now 2 × Rod, cut to 19 mm, where it was 2 × Rod, cut to 18 mm."}},
	} {
		t.Run(name, func(t *testing.T) {
			var got []string
			a := reprint.Advise(history.Step{HardwareWas: c.was, HardwareIs: c.is})
			for _, h := range a.Hardware {
				got = append(got, string(h.Action)+": "+h.Sentence)
			}
			require.Equal(t, c.want, got)
		})
	}
}

// Whatever became of the parts: what was printed and is good, and what the advice
// has printed, is together what is needed, counted here piece by piece; a shape
// that has changed is never kept, and one that has not is never printed for
// nothing.
func TestAdviceMakesACompletePrint(t *testing.T) {
	all := []change.Kind{change.Unchanged, change.SameShape, change.Moved, change.Nearly, change.Mirrored, change.Rescaled, change.Changed, history.Added, history.Removed}
	rapid.Check(t, func(rt *rapid.T) {
		var s history.Step
		n := rapid.IntRange(0, 5).Draw(rt, "parts")
		for i := range n {
			draw := func(what string) release.SealedPart {
				return sealed(fmt.Sprintf("P%d", i), rapid.IntRange(1, 3).Draw(rt, what), rapid.Bool().Draw(rt, what+" twin"))
			}
			s.Parts = append(s.Parts, step1(rapid.SampledFrom(all).Draw(rt, "kind"), draw("was"), draw("is")))
		}
		a := reprint.Advise(s)
		require.Len(rt, a.Parts, 2*n)
		anything := false
		for i, line := range a.Parts {
			p := s.Parts[i/2]
			require.Equal(rt, p.Slug(), line.Part)
			require.Equal(rt, line.Action.Prints(), line.Pieces > 0)
			anything = anything || line.Pieces > 0
			if line.Pieces > 0 {
				require.Contains(rt, a.Summary, line.Name)
			}
			if p.Is == nil {
				require.Equal(rt, reprint.NotNeeded, line.Action)
				continue
			}
			// The shapes at hand, as "it" and "its mirror image" of today's mesh.
			hand := map[string]int{}
			if p.Was != nil {
				it, image := "it", "image"
				switch p.Cuts[0].Kind {
				case change.Mirrored:
					it, image = image, it
				case change.Rescaled, change.Changed:
					it, image = "old", "old image"
				}
				for range p.Was.Quantity {
					hand[it]++
					if p.Was.MirroredTwin {
						hand[image]++
					}
				}
			}
			lacking := 0
			for range p.Is.Quantity {
				if hand["it"]--; hand["it"] < 0 {
					lacking++
				}
				if p.Is.MirroredTwin {
					if hand["image"]--; hand["image"] < 0 {
						lacking++
					}
				}
			}
			require.Equal(rt, lacking, line.Pieces)
			if c := p.Cuts[0].Change; c != nil && !c.MustReprint() || p.Cuts[0].Kind == change.Unchanged {
				require.NotEqual(rt, reprint.PrintAgain, line.Action)
			} else if p.Cuts[0].Kind != change.Mirrored {
				require.Contains(rt, []reprint.Action{reprint.PrintAgain, reprint.PrintNew}, line.Action)
			}
		}
		require.Equal(rt, !anything, a.Nothing())
		require.Equal(rt, !anything, strings.Contains(a.Summary, "nothing to print again"))
	})
}

// Taking away what the advice says was, and adding what it says is, turns the old
// list into the new one; no advice means that nothing differs.
func TestHardwareAdviceTurnsTheOldListIntoTheNew(t *testing.T) {
	list := rapid.Custom(func(rt *rapid.T) []release.SealedHardware {
		var out []release.SealedHardware
		for range rapid.IntRange(0, 5).Draw(rt, "lines") {
			h := release.SealedHardware{Item: rapid.SampledFrom([]string{"rod", "wire"}).Draw(rt, "item"), Cut: float64(rapid.IntRange(0, 3).Draw(rt, "cut")), Count: rapid.IntRange(1, 3).Draw(rt, "count")}
			if !slices.ContainsFunc(out, func(k release.SealedHardware) bool { return k.Item == h.Item && k.Cut == h.Cut }) {
				out = append(out, h)
			}
		}
		return out
	})
	tally := func(h []release.SealedHardware) map[string]int {
		out := map[string]int{}
		for _, l := range h {
			out[fmt.Sprint(l.Item, l.Cut)] += l.Count
		}
		return out
	}
	rapid.Check(t, func(rt *rapid.T) {
		was, is := list.Draw(rt, "was"), list.Draw(rt, "is")
		got := tally(was)
		add := func(l release.SealedHardware, sign int) {
			key := fmt.Sprint(l.Item, l.Cut)
			if got[key] += sign * l.Count; got[key] == 0 {
				delete(got, key)
			}
		}
		for _, h := range reprint.Advise(history.Step{HardwareWas: was, HardwareIs: is}).Hardware {
			require.NotEqual(rt, h.Was, h.Is)
			if h.Was.Item != "" {
				add(h.Was, -1)
			}
			if h.Is.Item != "" {
				add(h.Is, 1)
			}
		}
		require.Equal(rt, tally(is), got)
	})
}

func TestChangeNotesAreNewestFirst(t *testing.T) {
	day := func(n int) time.Time { return time.Date(2026, 3, n, 0, 0, 0, 0, time.UTC) }
	r := release.Release{Revisions: []release.Revision{{Name: "A", Date: day(1), Note: "First."}, {Name: "B", Date: day(2), Note: "Hip.", Faults: "Known."}}}
	arm := step1(change.Unchanged, sealed("Arm", 1, false), sealed("Arm", 1, false))
	hip := step1(change.Changed, sealed("Hip", 1, false), sealed("Hip", 1, false))
	h := &history.Release{
		ToNext:    []history.Step{{From: "A", To: "B", Parts: []history.PartStep{hip}}},
		ToWorking: []history.Step{{From: "A", Parts: []history.PartStep{hip}}, {From: "B", Parts: []history.PartStep{arm}}},
	}
	notes := reprint.Of(r, h).Notes
	require.Len(t, notes, 2)
	require.Equal(t, "B", notes[0].Name)
	require.Equal(t, "Known.", notes[0].Faults)
	require.Equal(t, "If you printed revision A, print again: Hip.", notes[0].Advice.Summary)
	require.Nil(t, notes[1].Advice)
	require.Len(t, reprint.Of(r, h).Now, 2)

	h.ToWorking[1].Parts = []history.PartStep{hip}
	notes = reprint.Of(r, h).Notes
	require.Len(t, notes, 3)
	require.Empty(t, notes[0].Name)
	require.Equal(t, "If you printed revision B, print again: Hip.", notes[0].Advice.Summary)
	require.Empty(t, reprint.Of(release.Release{}, nil).Notes)
}
