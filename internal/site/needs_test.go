package site

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/layout"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey/plates"
)

// priced gives the fixture's bench all that a need can state.
func priced(f *fixture) {
	bn := &f.in.Site.Bench
	bn.Currency = "EUR"
	bn.Plates[0].VatLeast, bn.Plates[0].LayerSeconds = 20, 9
	bn.Plates[2].Flow = 4
	bn.Materials[0].Price, bn.Materials[0].Waste = 40, 0.1
	bn.Materials[1].Price, bn.Materials[1].Waste = 25, 0.05
}

func TestAFullPrintIsReckonedForEveryStock(t *testing.T) {
	f := newFixture(t)
	priced(f)
	f.in.Site.Releases = append(f.in.Site.Releases, release.Release{Number: 99})
	r := &f.in.Site.Releases[0]
	soft := bench.Material{ID: "soft", Name: "Soft resin", Process: bench.Resin, Stiffness: bench.Flexible, Density: 1.1, Shrinkage: 0.05, Waste: 0.1, Price: 60}
	tough := f.in.Site.Bench.Materials[0]
	r.Print = append([]release.PrintSettings{}, r.Print...)
	r.Print[1].Shares = []release.Share{{Material: tough, Share: 0.8}, {Material: soft, Share: 0.2}}
	b := &builder{ctx: t.Context(), in: f.input()}
	tables := b.needTables(*r)
	require.Len(t, tables, 2)
	filament, resin := tables[0], tables[1]
	require.True(t, filament.Spooled)
	require.Equal(t, "Big bed", filament.Plate, "the design standard")
	require.Equal(t, "Palm-sized resin", resin.Plate)
	require.Len(t, resin.Rows, 2, "the blend of the settings, and the bench's one resin")
	blend, plain := resin.Rows[0], resin.Rows[1]
	require.Equal(t, "80\u202f% Tough resin and 20\u202f% Soft resin", blend.Stock)
	// The parts of the release are boxes: body 8 × 7 × 20 (its resin cut), arm 9 × 6 × 23
	// twice, pole 150 × 6 × 4, cap 12 × 6 × 32. Solid 1120 + 2484 + 3600 + 2304 = 9508 mm³.
	// In tough resin 9.508 / (1 − 0.073) = 10.257 ml of print, a tenth more of waste:
	// 11.282, rounded up to 11.3 ml.
	require.Equal(t, "11.3", plain.Used)
	require.Equal(t, "1.0", plain.Waste)
	require.Equal(t, "20", plain.Vat)
	require.Equal(t, "0.45\u202fEUR", plain.Cost, "11.282 ml at 40 a litre")
	require.Equal(t, "5 pieces", plain.Pieces)
	// The blend yields 0.8·0.927 + 0.2·0.95 = 0.9316: 10.206 ml and a tenth is 11.227, so
	// 11.3 ml to pour: 9.04 and 2.26, in tenths by largest remainders 9.0 and 2.3.
	require.Equal(t, []string{"9.0\u202fml Tough resin", "2.3\u202fml Soft resin"}, blend.Shares)
	// 640 layers of the cap at 9 s: 1 h 36 min, to tens of minutes.
	require.Equal(t, "640", plain.Layers)
	require.Equal(t, "about 1\u202fh 40\u202fmin, from 1\u202fh 20\u202fmin to 2\u202fh", plain.Time)
	require.Contains(t, resin.Assumed, "9 s for each layer; the first few take longer and are not told apart.")
	require.Contains(t, strings.Join(resin.Assumed, " "), "20 ml more must be in the vat")
	require.NotContains(t, resin.Assumed, "The first part of each choice is counted.", "a choice of one is none")
	require.Len(t, resin.Parts.Rows, 5, "the pole's piece too, by itself")
	require.Equal(t, []string{"80\u202f% Tough resin and 20\u202f% Soft resin; Tough resin"}, resin.Parts.Stocks, "to a tenth they take the same, so they share a column")
	require.Equal(t, []NeedCell{{"1.4", "1\u202fh"}}, resin.Parts.Rows[0].Cells, "1.12 / 0.927 · 1.1 = 1.329, rounded up")
	require.Equal(t, "2", resin.Parts.Rows[1].Count)
	require.Empty(t, resin.Plates.Rows, "nothing is laid")

	require.Equal(t, "Broken", b.needTables(f.in.Site.Releases[1])[0].Left)
	require.Empty(t, b.needTables(f.in.Site.Releases[3]))
}

// Two plates print one after the other: their layers and seconds add up, and what one
// plate has in the vat serves the next.
func TestLaidPlatesTakeTheirTimeOneAfterAnother(t *testing.T) {
	f := newFixture(t)
	priced(f)
	r := f.in.Site.Releases[0]
	set := &plates.Set{Release: 1, Process: bench.Resin, Plate: f.in.Site.Bench.Plates[0], Layout: &layout.Layout{Plates: [][]layout.Placed{{{Piece: 0}}, {{Piece: 1}, {Piece: 2}}}}}
	for _, i := range []int{0, 1, 4} { // body, arm, cap, as high as they are
		p := printing.Of(r, bench.Resin).Parts[i]
		cut, _ := p.Cut()
		cs, _ := f.in.Survey.Measured(cut)
		set.Pieces = append(set.Pieces, plates.Piece{Part: p, Cut: cut, Height: cs.Report.Bounds.Size().Z})
	}
	f.in.Laid = map[int][]*plates.Set{1: {set}}
	b := &builder{ctx: t.Context(), in: f.input()}
	resin := b.needTables(r)[1]
	require.Len(t, resin.Plates.Rows, 2)
	require.False(t, resin.PlatesNotListed)
	// 20 mm and 32 mm in layers of 0.05: 400 and 640, at 9 s an hour and 1 h 36 min.
	require.Equal(t, "1\u202fh", resin.Plates.Rows[0].Cells[0].Time)
	require.Equal(t, "1\u202fh 40\u202fmin", resin.Plates.Rows[1].Cells[0].Time)
	require.Equal(t, "2\u202fh 40\u202fmin", resin.Plates.Total[0].Time)
	require.Equal(t, "1040", resin.Rows[0].Layers)
	require.Equal(t, "about 2\u202fh 40\u202fmin, from 2\u202fh 10\u202fmin to 3\u202fh 20\u202fmin", resin.Rows[0].Time)
	require.Contains(t, resin.Assumed, "Layers and time are of 2 laid plates, one after another.")
	require.NotContains(t, strings.Join(resin.Assumed, " "), "Time is of one plate")
}

func TestTimesAreSaidAsAPersonPlans(t *testing.T) {
	for seconds, want := range map[float64]string{0: "", -3: "", 4: "1\u202fmin", 1500: "25\u202fmin", 3570: "1\u202fh", 3600: "1\u202fh", 5400: "1\u202fh 30\u202fmin", 86400: "24\u202fh"} {
		require.Equal(t, want, duration(seconds), seconds)
	}
}

func TestDataCarriesWhatItTakes(t *testing.T) {
	var d struct {
		Needs []struct {
			Process, Plate string
			Stock          []struct {
				Material string
				Used     float64 `json:"used_ml"`
			}
			Used    float64 `json:"used_ml"`
			Length  float64 `json:"filament_m"`
			Assumed []string
			Parts   []struct{ Slug string }
		}
		CutLists []struct {
			ID      string
			Bars    int
			AtLeast int `json:"at_least"`
			Cuts    []struct {
				Times  int
				Pieces []struct {
					Length float64 `json:"length_mm"`
					Count  int
				}
				Offcut float64 `json:"offcut_mm"`
			}
		} `json:"cut_lists"`
		SmallParts struct {
			Parts []struct {
				Slug     string
				Rotation *[3][3]float64
			}
		} `json:"small_parts"`
		Scaled []struct {
			ID string
			At []struct {
				Scale float64
				Hole  float64 `json:"hole_mm"`
				Rod   string
			}
		} `json:"rods_at_scale"`
		Cautions []struct{ Code, Why string }
		Credits  []struct{ Adapting, Why string }
	}
	require.NoError(t, json.Unmarshal(built(t)["releases/01-lantern/release.json"], &d))
	require.Len(t, d.Needs, 2)
	require.Positive(t, d.Needs[0].Length)
	require.NotEmpty(t, d.Needs[0].Assumed)
	require.Equal(t, "tough", d.Needs[1].Stock[0].Material)
	require.InDelta(t, d.Needs[1].Used, d.Needs[1].Stock[0].Used, 1e-12)
	require.Len(t, d.Needs[1].Parts, 5)
	require.Len(t, d.CutLists, 1)
	require.Equal(t, 1, d.CutLists[0].Bars)
	require.Equal(t, 4, d.CutLists[0].Cuts[0].Pieces[0].Count)
	require.InDelta(t, 300-4*12, d.CutLists[0].Cuts[0].Offcut, 1e-9, "no kerf is stated")
	require.Len(t, d.SmallParts.Parts, 4, "all but the pole")
	require.NotNil(t, d.SmallParts.Parts[0].Rotation)
	require.NotEmpty(t, d.Scaled)
	require.Equal(t, 1.1, d.Scaled[0].At[6].Scale)
	require.InDelta(t, 1.75*1.1, d.Scaled[0].At[6].Hole, 1e-12)
	require.NotEmpty(t, d.Cautions)
	require.Equal(t, "allowed", d.Credits[0].Adapting)
}
