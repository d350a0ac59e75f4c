package needs

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/bench"
	"cardback/internal/layout"
	"cardback/internal/measure"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/plates"
)

var (
	rigidResin = bench.Material{ID: "rr", Name: "Rigid resin", Process: bench.Resin, Stiffness: bench.Rigid, Density: 1.18, Shrinkage: .0728, Price: 30, Waste: .2}
	toughResin = bench.Material{ID: "tr", Name: "Tough resin", Process: bench.Resin, Stiffness: bench.Rigid, Density: 1.15, Price: 45}
	softResin  = bench.Material{ID: "fr", Name: "Flexible resin", Process: bench.Resin, Stiffness: bench.Flexible, Density: 1.1, Shrinkage: .0728}
	pla        = bench.Material{ID: "rf", Name: "Rigid filament", Process: bench.Filament, Stiffness: bench.Rigid, Density: 1.24, Price: 25, Waste: .05}
	vat        = bench.Plate{ID: "small", Process: bench.Resin, VatLeast: 40, LayerSeconds: 10, FirstLayers: 6, FirstLayerSeconds: 37.5}
	bed        = bench.Plate{ID: "bed", Process: bench.Filament, Flow: 4.5, WarmUpSeconds: 240, MoveSeconds: 3, LeastLayerSeconds: 10}
)

func plain(m bench.Material) []release.Share { return []release.Share{{Material: m, Share: 1}} }

func blend(a bench.Material, share float64, b bench.Material) []release.Share {
	return []release.Share{{Material: a, Share: share}, {Material: b, Share: 1 - share}}
}

// workshop is a site of one release, and what was measured of it.
type workshop struct {
	site release.Site
	s    survey.Survey
}

// printed is a release of parts of 1 cm³ with 600 mm² of surface, as high as given.
func printed(parts ...release.Part) *workshop {
	f := &workshop{site: release.Site{Releases: []release.Release{{Number: 1}}}, s: survey.Survey{}}
	f.site.Bench.Currency = "EUR"
	f.site.Bench.Materials = []bench.Material{rigidResin, toughResin, softResin, pla}
	for i, p := range parts {
		p.Name = p.Slug
		kind := release.CutAny
		if p.Flexible {
			kind = release.CutFlexible
		}
		c := release.Cut{Kind: kind, Rel: p.Slug + "/" + string(kind)}
		p.Cuts = append(p.Cuts, c)
		r := &f.site.Releases[0]
		r.Parts = append(r.Parts, p)
		cs := &survey.CutSurvey{Cut: c, Report: &measure.Report{Fingerprint: c.Rel}}
		f.s[c.Rel] = cs
		cs.Report.Volume, cs.Report.Area = 1000, 600
		cs.Report.Closed, cs.Report.ConsistentlyOriented = true, true
		cs.Layers = map[*bench.Process]*survey.Layers{bench.Resin: {Count: 100 * (i + 1), Layer: 0.05}, bench.Filament: {Count: 25 * (i + 1), Layer: 0.2}}
	}
	return f
}

func (f *workshop) need(stock []release.Share, plate bench.Plate) Need {
	return releaseNeed(&f.site, f.site.Releases[0], f.s, stock, plate)
}

// Liquid for a cured millilitre that lost 7.28 % is ×1.0785; cured rigid resin has
// 1.18 g/cm³ (check values 4.1, 4.4).
func TestResinNeeded(t *testing.T) {
	f := printed(release.Part{Slug: "arm", Quantity: 1, MirroredTwin: true}, release.Part{Slug: "head", Quantity: 1}, release.Part{Slug: "tail", Quantity: 1, Flexible: true})
	n := f.need(plain(rigidResin), vat)
	require.Equal(t, 3, n.Pieces, "the tail is made to bend")
	require.InDelta(t, 3000, n.Solid, 1e-9)
	require.InDelta(t, 3000*1.0785, n.Put, 0.2) // four decimals of the factor
	require.InDelta(t, 0.2*n.Put, n.Waste, 1e-9)
	require.InDelta(t, 1.2*n.Put, n.Used, 1e-9)
	require.InDelta(t, 3.54, n.Grams, 1e-9)
	require.Equal(t, 40_000.0, n.Vat)
	require.InDelta(t, n.Used/1e6*30, n.Cost, 1e-12, "30 EUR a litre")
	require.Equal(t, "EUR", n.Currency)
	require.Equal(t, 200, n.Layers, "the head's")
	require.Equal(t, 2165.0, n.Seconds, "six first layers of 30 s of light add 165 s (check values 5)")
	require.InDelta(t, 0.8*2165, n.SecondsLeast, 1e-9)
	require.InDelta(t, 1.25*2165, n.SecondsMost, 1e-9)
	require.Zero(t, n.Length)
	require.Equal(t, []string{
		"Time is of one plate with everything on it; each further plate takes its own tallest part's layers again.",
		"Rigid resin loses 7.3 % of its volume as it cures.",
		"20 % more is used up: supports and what is washed off.",
		"40 ml more must be in the vat for the last layer to print; they are left at the end and not in the cost.",
		"Cost is of what is used, at the bench's prices.",
		"10 s for each layer, light and lift together, and 37.5 s for each of the first 6.",
		"The time may be from 0.8 to 1.25 times as much: published times of light for a layer differ by as much.",
	}, n.Assumed)

	soft := f.need(plain(softResin), vat)
	require.Equal(t, 1, soft.Pieces)
	require.Empty(t, soft.Currency, "it has no price")
	require.Zero(t, soft.Cost)
}

// A metre of 1.75 mm filament weighs 2.9825 g in PLA, 3.0547 in PETG, 2.5015 in ABS,
// 2.9104 in TPU, and a kilogram is 335.28 m of PLA (check values 4.2, which agree with
// published calculators); 11.4 cm³ of 2.85 mm filament are 178.7 cm.
func TestFilamentNeeded(t *testing.T) {
	f := printed(release.Part{Slug: "arm", Quantity: 4})
	for _, c := range []struct{ density, gramsAMetre float64 }{{1.24, 2.9825}, {1.27, 3.0547}, {1.04, 2.5015}, {1.21, 2.9104}} {
		m := pla
		m.Density = c.density
		n := f.need(plain(m), bed)
		require.InDelta(t, c.gramsAMetre, n.UsedGrams/(n.Length/1000), 5e-5)
		require.InDelta(t, n.UsedGrams, n.Used/1000*c.density, 1e-9)
	}
	n := f.need(plain(pla), bed)
	// 0.9 mm of shell over 600 mm² and 15 % of the rest: 609 mm³ each.
	require.InDelta(t, 4*609, n.Put, 1e-9)
	require.InDelta(t, 4*609*1.05, n.Used, 1e-9)
	require.InDelta(t, n.UsedGrams*335.28/1000, n.Length/1000, 1e-4)
	require.InDelta(t, n.UsedGrams/1000*25, n.Cost, 1e-12)
	// 222.22 s for a cubic centimetre at 4.5 mm³/s (check values 5), 3 s of moves in each of
	// 25 layers of four pieces, and 4 minutes of heating.
	require.InDelta(t, 4*.609*1.05*222.22+4*25*3+240, n.Seconds, 0.02)
	require.InDelta(t, 178.7, measure.FilamentLength(11_400, 2.85)/10, 0.01)
	require.Zero(t, n.Vat)
}

func TestBlendsAreSharedOut(t *testing.T) {
	f := printed(release.Part{Slug: "arm", Quantity: 7}, release.Part{Slug: "tail", Quantity: 1, Flexible: true})
	f.site.Bench.Currency = ""
	n := f.need(blend(rigidResin, .8, toughResin), vat)
	require.Len(t, n.Shares, 2)
	require.InDelta(t, .8*n.Used, n.Shares[0].Volume, 1e-9)
	require.InDelta(t, n.Used, n.Shares[0].Volume+n.Shares[1].Volume, 1e-9)
	require.Equal(t, n.Tenths(), n.Shares[0].Tenths+n.Shares[1].Tenths)
	require.Empty(t, n.Currency, "the bench states none")
	// What is poured in comes out: each share less what it loses.
	require.InDelta(t, n.Solid, n.Put*(.8*(1-.0728)+.2*(1-measure.VatShrinkage)), 1e-9)
	require.InDelta(t, n.Grams, n.Put/1000*(.8*(1-.0728)*1.18+.2*(1-measure.VatShrinkage)*1.15), 1e-9)
	require.Contains(t, n.Assumed, "Tough resin is taken to lose 7.3 % of its volume as it cures, since its own is not stated.")
	require.Contains(t, n.Assumed, "16 % more is used up: supports and what is washed off.")
	require.Equal(t, 7, n.Pieces)

	// A blend that becomes flexible by a rule of the bench counts what bends.
	soft := rigidResin
	soft.Blends = []bench.Blend{{With: "fr", Least: .5, Most: .7, Stiffness: bench.Flexible}}
	require.Equal(t, 1, f.need(blend(soft, .4, softResin), vat).Pieces)
	require.Equal(t, 7, f.need(blend(soft, .8, softResin), vat).Pieces)
}

func TestStocksOfARelease(t *testing.T) {
	f := printed(release.Part{Slug: "arm", Quantity: 1}, release.Part{Slug: "hat", Quantity: 1, Choice: "hat"}, release.Part{Slug: "cap", Quantity: 1, Choice: "hat"})
	r := &f.site.Releases[0]
	r.Print = []release.PrintSettings{{Process: bench.Resin, Shares: blend(rigidResin, .9, toughResin)}, {Process: bench.Filament}}
	needs := releaseNeeds(&f.site, *r, f.s, vat)
	require.Len(t, needs, 3, "the blend, and two rigid resins; nothing bends")
	require.Equal(t, r.Print[0].Shares, needs[0].Stock)
	require.Equal(t, 2, needs[0].Pieces)
	require.Contains(t, needs[0].Assumed, "The first part of each choice is counted.")
	require.Len(t, releaseNeeds(&f.site, *r, f.s, bed), 1)

	require.NotContains(t, needs[0].Assumed, "Wholes are counted, not the pieces that may replace them.")
	g := printed(release.Part{Slug: "hull", Quantity: 1}, release.Part{Slug: "fore", Quantity: 1, Replaces: "hull"})
	require.Contains(t, g.need(plain(pla), bed).Assumed, "Wholes are counted, not the pieces that may replace them.")
	require.Equal(t, 1, g.need(plain(pla), bed).Pieces)

	f.s["arm/any"].Report.Closed = false
	require.Equal(t, []string{"arm"}, f.need(plain(pla), bed).Left)
	_, ok := partNeed(&f.site, *r, r.Parts[0], 1, f.s, plain(pla), bed)
	require.False(t, ok)
	n, ok := partNeed(&f.site, *r, r.Parts[1], 2, f.s, plain(pla), bed)
	require.True(t, ok)
	require.Equal(t, 2, n.Pieces)
	require.Equal(t, 50, n.Layers)
	require.Empty(t, n.Left)
	by := partNeeds(&f.site, *r, f.s, plain(pla), bed)
	require.Len(t, by, 3)
	require.Nil(t, by[0], "it does not close")
	require.InDelta(t, n.Used/2, by[1].Used, 1e-9)
	r.Parts[1].Flexible = true
	require.Nil(t, partNeeds(&f.site, *r, f.s, plain(pla), bed)[1], "a full print has it in what bends")
	require.Nil(t, partNeeds(&f.site, *r, f.s, nil, bed)[1])
	_, ok = partNeed(&f.site, *r, r.Parts[1], 1, f.s, nil, bed)
	require.False(t, ok)
	require.Zero(t, f.need(nil, bed).Pieces)
}

// 75 mm in layers of 0.05 mm are 1500, and at 10 s each 15,000 s: the vat's formula
// Nb·tb + (N − Nb)·te + N·tl with 2.5 s of light, 7.5 s of lifting and no bottom layers
// (check values 5; six of 30 s would add 165). Plain ceil counts 10 and 8 for the
// others.
func TestLayersAreCountedPastRounding(t *testing.T) {
	for _, c := range []struct {
		h, l float64
		n    int
	}{{75, .05, 1500}, {150, .05, 3000}, {.27, .03, 9}, {1.05, .15, 7}, {.31, .1, 4}, {float64(float32(.3)), .1, 3}, {0, .1, 0}, {1, 0, 0}, {math.NaN(), 1, 0}} {
		require.Equal(t, c.n, layersOf(c.h, c.l), fmt.Sprint(c))
	}
}

func TestPlatesAddUp(t *testing.T) {
	f := printed(release.Part{Slug: "arm", Quantity: 2}, release.Part{Slug: "head", Quantity: 1}, release.Part{Slug: "tail", Quantity: 1, Flexible: true})
	set := &plates.Set{Process: bench.Resin, Plate: vat, Layout: &layout.Layout{Plates: [][]layout.Placed{{{Piece: 0}, {Piece: 1}, {Piece: 2}}, {{Piece: 0, Copy: 1}}}}}
	for i, p := range printing.Of(f.site.Releases[0], bench.Resin).Parts {
		set.Pieces = append(set.Pieces, plates.Piece{Part: p, Cut: p.Cuts[0], Height: 10 * float64(i+1)})
	}
	each, all := plateNeeds(&f.site, set, f.s, plain(rigidResin), .05)
	require.Len(t, each, 2)
	require.Equal(t, 2, each[0].Pieces, "the tail is printed in another resin")
	require.Equal(t, 400, each[0].Layers, "20 mm, the head")
	require.Equal(t, 200, each[1].Layers)
	require.Equal(t, 6000.0+2*165, all.Seconds, "one plate after the other, each with its first layers")
	require.InDelta(t, each[0].Used+each[1].Used, all.Used, 1e-9)
	require.InDelta(t, each[0].Cost+each[1].Cost, all.Cost, 1e-12)
	require.Equal(t, 40_000.0, all.Vat)
	require.Contains(t, all.Assumed, "What is left in the vat serves the next plate, so it is counted once.")

	// A full print says the layers and the time of its plates.
	n := f.need(plain(rigidResin), vat)
	laid := n.onPlates(each)
	require.Equal(t, 600, laid.Layers)
	require.Equal(t, 6330.0, laid.Seconds)
	require.Equal(t, n.Used, laid.Used)
	require.Contains(t, laid.Assumed, "Layers and time are of 2 laid plates, one after another.")
	require.Len(t, laid.Assumed, len(n.Assumed))
	require.NotContains(t, n.Assumed, laid.Assumed[0], "what was asked about stays")
	require.Equal(t, n, n.onPlates(nil))

	set.Process, set.Plate = bench.Filament, bed
	each, all = plateNeeds(&f.site, set, f.s, plain(pla), .2)
	require.InDelta(t, each[0].Seconds+each[1].Seconds, all.Seconds, 1e-9)
	none, _ := plateNeeds(&f.site, set, f.s, plain(pla), 0)
	require.Empty(t, none)
	none, _ = plateNeeds(&f.site, &plates.Set{}, f.s, plain(pla), .2)
	require.Empty(t, none)
}

func TestMoreIsNeverLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := printed(release.Part{Slug: "arm", Quantity: rapid.IntRange(1, 9).Draw(t, "arms")}, release.Part{Slug: "head", Quantity: 1})
		for _, cs := range f.s {
			cs.Report.Volume = rapid.Float64Range(1, 1e5).Draw(t, "volume")
			cs.Report.Area = 6 * math.Pow(cs.Report.Volume, 2./3) * rapid.Float64Range(1, 5).Draw(t, "area")
		}
		a, b := rigidResin, toughResin
		plate := vat
		if rapid.Bool().Draw(t, "filament") {
			a, b, plate = pla, pla, bed
			b.ID = "other"
		}
		a.Waste = rapid.Float64Range(0, 1).Draw(t, "waste")
		stock := blend(a, rapid.Float64Range(0.01, 1).Draw(t, "share"), b)
		before := f.need(stock, plate)
		switch rapid.IntRange(0, 3).Draw(t, "change") {
		case 0:
			f.site.Releases[0].Parts[0].Quantity++
		case 1:
			f.s["head/any"].Report.Volume *= 1.5
		case 2:
			stock[0].Material.Waste += .1
		case 3:
			stock[0].Material.Price *= 2
		}
		after := f.need(stock, plate)
		for _, v := range [][2]float64{{before.Solid, after.Solid}, {before.Put, after.Put}, {before.Used, after.Used}, {before.Cost, after.Cost}, {before.Grams, after.Grams}, {before.Length, after.Length}, {before.Seconds, after.Seconds}} {
			require.LessOrEqual(t, v[0], v[1]*(1+1e-12))
		}
		sum, tenths := 0.0, 0
		for _, s := range after.Shares {
			sum += s.Volume
			tenths += s.Tenths
		}
		require.InEpsilon(t, after.Used, sum, 1e-14)
		if plate.Process == bench.Resin {
			require.Equal(t, after.Tenths(), tenths)
			require.InDelta(t, after.Used/100, tenths, 1)
		}
	})
}

// Hamilton's method keeps to the quota: each gets its share rounded down or up.
func TestApportion(t *testing.T) {
	require.Equal(t, []int{34, 33, 33}, apportion(100, []float64{1, 1, 1}))
	require.Equal(t, []int{8, 2}, apportion(10, []float64{.8, .2}))
	// A worked apportionment, by hand: quotas 1.5, 2.5, 6 of ten. The first of equal
	// remainders gets the one that is left.
	require.Equal(t, []int{2, 2, 6}, apportion(10, []float64{15, 25, 60}))
	require.Equal(t, []int{0, 0}, apportion(5, []float64{0, math.NaN()}))
	require.Equal(t, []int{0, 5}, apportion(5, []float64{-1, 2}))
	require.Empty(t, apportion(5, nil))
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.IntRange(0, 1_000_000).Draw(t, "total")
		shares := rapid.SliceOfN(rapid.Float64Range(0.001, 1), 1, 6).Draw(t, "shares")
		sum, given := 0.0, 0
		for _, s := range shares {
			sum += s
		}
		for i, n := range apportion(total, shares) {
			due := float64(total) * shares[i] / sum
			require.GreaterOrEqual(t, float64(n), math.Floor(due-1e-6))
			require.LessOrEqual(t, float64(n), math.Ceil(due+1e-6))
			given += n
		}
		require.Equal(t, total, given)
	})
}
