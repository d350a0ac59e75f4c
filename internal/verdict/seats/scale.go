package seats

import (
	"cmp"
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// Scales are the sizes, as shares of full size, that a table of rods shows.
var Scales = []float64{0.5, 0.6, 0.75, 0.8, 0.9, 1, 1.1, 1.2, 1.25, 1.5, 1.75, 2}

// RodAtScale is which rod of the bench suits a hole that is printed larger or
// smaller: holes grow with the print, and rods do not.
type RodAtScale struct {
	Scale float64
	Hole  float64 // mm, the free diameter at that scale
	// Free is the thickest rod that passes with the material's allowance and does not
	// wobble; nil where there is none on the bench.
	Free *bench.Hardware
	// Tight is the thickest that passes the hole as drawn, where that is another: it
	// wants the hole cleared with a drill.
	Tight    *bench.Hardware
	Drill    float64 // mm, for Tight
	Sentence string
}

// rodAtScale is the answer for holes from narrowest to widest.
func rodAtScale(narrowest, widest float64, rods []bench.Hardware, allowance, scale float64) RodAtScale {
	a := RodAtScale{Scale: scale, Hole: float64(narrowest * scale)}
	top := float64(widest * scale)
	for i, r := range rods {
		if r.Kind != bench.Rod || top > r.Diameter+allowance+play(r.Diameter)+rodSlack {
			continue
		}
		if r.Diameter+allowance <= a.Hole+rodSlack && (a.Free == nil || r.Diameter > a.Free.Diameter) {
			a.Free = &rods[i]
		}
		if r.Diameter <= a.Hole+rodSlack && (a.Tight == nil || r.Diameter > a.Tight.Diameter) {
			a.Tight = &rods[i]
		}
	}
	if a.Tight != nil && a.Free != nil && a.Tight.Diameter == a.Free.Diameter {
		a.Tight = nil
	}
	if a.Tight != nil {
		a.Drill = drillFor(a.Tight.Diameter)
	}
	percent := words.Plain(scale * 100)
	switch {
	case a.Free == nil && a.Tight == nil:
		a.Sentence = fmt.Sprintf("At %s %% the hole passes %s mm, and no rod on the bench suits it.", percent, words.Fixed(a.Hole, 2))
	case a.Tight == nil:
		a.Sentence = fmt.Sprintf("At %s %% the hole passes %s mm: %s mm rod.", percent, words.Fixed(a.Hole, 2), words.Plain(a.Free.Diameter))
	case a.Free == nil:
		a.Sentence = fmt.Sprintf("At %s %% the hole passes %s mm: %s mm rod, tightly; clear it with a %s mm drill.", percent, words.Fixed(a.Hole, 2), words.Plain(a.Tight.Diameter), words.Plain(a.Drill))
	default:
		a.Sentence = fmt.Sprintf("At %s %% the hole passes %s mm: %s mm rod, or %s mm tightly, with a %s mm drill.", percent, words.Fixed(a.Hole, 2), words.Plain(a.Free.Diameter), words.Plain(a.Tight.Diameter), words.Plain(a.Drill))
	}
	return a
}

// scaledItem is a rod of a release and what takes its place at each of the scales.
type scaledItem struct {
	Item      bench.Hardware
	Narrowest float64 // mm at full size, of the holes that it passes in all parts
	Widest    float64
	At        []RodAtScale // for the narrowest, in the order of the scales
}

// scaleTable says for each rod that the parts of r take which rod of the bench suits
// all of its holes when the release is printed larger or smaller in m, by the parts
// whose cuts are meant for m. A hole is
// its own line's narrowest; where a part has more lines than it takes rods, the
// tightest count, as those that the rod is for.
func scaleTable(site *release.Site, r release.Release, s survey.Survey, m bench.Material, scales []float64) []scaledItem {
	var out []scaledItem
	for _, p := range r.Parts {
		cut, ok := printing.PartOf(r, p, m.Process).CutIn(m.Stiffness)
		if !ok || len(printing.Meant(r, p, cut, []bench.Material{m})) == 0 {
			continue
		}
		cs, ok := s.Measured(cut)
		if !ok {
			continue
		}
		for _, f := range Of(p, cs.Report.Bores, []bench.Material{m}) {
			if f.Item.Kind != bench.Rod || len(f.Holes) == 0 {
				continue
			}
			i := slices.IndexFunc(out, func(o scaledItem) bool { return o.Item.ID == f.Item.ID })
			if i < 0 {
				out = append(out, scaledItem{Item: f.Item, Narrowest: f.Holes[0].Free})
				i = len(out) - 1
			}
			out[i].Narrowest = min(out[i].Narrowest, f.Holes[0].Free)
			out[i].Widest = max(out[i].Widest, f.Holes[min(f.Count, len(f.Holes))-1].Free)
		}
	}
	for i := range out {
		it := &out[i]
		for _, scale := range scales {
			it.At = append(it.At, rodAtScale(it.Narrowest, it.Widest, site.Bench.Hardware, m.HoleAllowance, scale))
		}
	}
	slices.SortStableFunc(out, func(a, b scaledItem) int { return cmp.Compare(a.Item.Diameter, b.Item.Diameter) })
	return out
}

// ScaledRod is what takes the place of a rod of a release at each of the Scales, in the
// materials of one process that want the same allowance and are printed in the same cuts.
type ScaledRod struct {
	Item      bench.Hardware
	Materials []bench.Material
	At        []RodAtScale // by Scales
}

// Scaled asks scaleTable once for the materials of each kind.
func Scaled(site *release.Site, r release.Release, s survey.Survey) []ScaledRod {
	var groups [][]bench.Material
	for _, proc := range site.Bench.Processes() {
		for _, m := range site.Bench.Materials {
			if m.Process != proc {
				continue
			}
			i := slices.IndexFunc(groups, func(g []bench.Material) bool {
				return g[0].Process == proc && g[0].HoleAllowance == m.HoleAllowance && (g[0].Stiffness == bench.Flexible) == (m.Stiffness == bench.Flexible)
			})
			if i < 0 {
				groups = append(groups, nil)
				i = len(groups) - 1
			}
			groups[i] = append(groups[i], m)
		}
	}
	var out []ScaledRod
	for _, g := range groups {
		for _, it := range scaleTable(site, r, s, g[0], Scales) {
			out = append(out, ScaledRod{it.Item, g, it.At})
		}
	}
	return out
}
