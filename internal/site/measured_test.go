package site

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/measure/slice"
)

func TestThinPlacesAreHeldAgainstTheCutsMaterials(t *testing.T) {
	f := newFixture(t)
	b := &builder{ctx: t.Context(), in: f.input()}
	rows := b.thinRows(f.in.Site.Releases[0])
	require.Len(t, rows, 6, "a row for each mesh")
	// The wall is 1.1 mm: under the filament's 1.2, over the resin's 0.8.
	require.Equal(t, ThinRow{Number: 1, Name: "Body", Cut: "filament cut", Wall: "1.10", Pin: "over\u202f3.5", Word: "a little thin", Class: "split", Under: "for plain filament"}, rows[0], "over two thirds of its limit")
	require.Equal(t, "thick enough", rows[1].Word)
	require.Equal(t, "resin cut", rows[1].Cut)
	require.Empty(t, rows[2].Cut, "one cut for every process needs no name")
	require.Empty(t, b.thinTable(f.in.Site.Releases[0]).Least)
	f.in.Survey.Of(f.in.Site.Releases[0].Parts[0].Cuts[0]).Report.Thin.Least = 0.5
	require.Equal(t, "0.5\u00a0mm²", b.thinTable(f.in.Site.Releases[0]).Least)
	require.Equal(t, "Thinnest walls and pins: in 5 of 6 meshes a little thin for a material", b.thinTable(f.in.Site.Releases[0]).Summary)
}

func TestHolesWithOneAnswerShareARow(t *testing.T) {
	f := newFixture(t)
	b := &builder{ctx: t.Context(), in: f.input()}
	r := f.in.Site.Releases[0]
	r.Parts = append(r.Parts[:1:1], r.Parts[0])
	r.Parts[1].Name = "Other body"
	rows := b.holeRows(r)
	require.Len(t, rows, 2)
	// 1.75 mm for a 1.5 mm rod: filament asks for 0.3 more, resin for 0.2.
	require.Equal(t, "1\u00a0Body, 2\u00a0Other body", rows[0].Parts)
	require.Equal(t, "filament cut", rows[0].Cut)
	require.Equal(t, []HoleAnswer{{"plain filament", "tight", "split", "clear with a 1.6\u202fmm drill"}}, rows[0].Answers)
	require.Equal(t, []HoleAnswer{{"tough resin", "passes", "yes", "0.05\u202fmm to spare"}}, rows[1].Answers)
	require.Equal(t, "1.75\u202fmm", rows[1].Free)

	f.in.Survey.Of(r.Parts[0].Cuts[0]).Report.Bores.Holes = nil
	b = &builder{ctx: t.Context(), in: f.input()}
	rows = b.holeRows(r)
	require.Equal(t, "no hole found", rows[0].Answers[0].Word)
}

func TestLayersArePrinted(t *testing.T) {
	f := newFixture(t)
	b := &builder{ctx: t.Context(), in: f.input()}
	r := f.in.Site.Releases[0]
	rows := b.printRows(r)
	require.Len(t, rows, 2)
	filament, resin := rows[0], rows[1]
	require.False(t, filament.Peeled)
	require.True(t, resin.Peeled)
	require.Equal(t, []int{5, 8}, []int{filament.Columns, resin.Columns})
	require.Equal(t, "30° about x", filament.Layers[0].Pose)
	require.NotEmpty(t, filament.Layers[0].Flat)
	require.Equal(t, "as supplied", resin.Layers[0].Pose)
	require.Empty(t, resin.Layers[0].Flat, "it lies flat")
	require.Equal(t, "1 well", resin.Layers[0].Hollows)
	require.Equal(t, "This mesh does not close, so its layers have no area.", resin.Layers[2].Error)
	require.Equal(t, "largest 72\u202fmm², 5\u00a0Cap", resin.Largest)
	require.Empty(t, b.printRows(f.in.Site.Releases[1])[0].Facts)
	require.False(t, settings(r, &bench.Process{ID: "clay"}).stated())
}

func TestTheTiltThatDoesMostIsNamed(t *testing.T) {
	f := newFixture(t)
	r := f.in.Site.Releases[0]
	require.Empty(t, tiltGain(r, f.in.Survey, bench.Resin), "all lie flat")
	for i, peak := range map[int]float64{1: 400, 2: 100, 4: 260} { // the pole, 2, does not close
		l := f.in.Survey.Of(r.Parts[i].Cuts[0]).Layers[bench.Resin]
		l.Pose, l.FlatPeak, l.Peak = slice.Pose{Tilt: -40, About: "x"}, 1000, peak
	}
	require.Equal(t, "The tilt does most for 5\u00a0Cap: its largest layer is 260\u202fmm², and would be 1000\u202fmm² as supplied.", tiltGain(r, f.in.Survey, bench.Resin))
}

func TestFindingsAreMarkedOnTheDrawing(t *testing.T) {
	f := newFixture(t)
	b := &builder{ctx: t.Context(), in: f.input()}
	groups, faults := b.findingGroups(f.in.Site.Releases[0])
	require.Zero(t, faults)
	require.Len(t, groups, 1)
	g := groups[0]
	require.Equal(t, "Arm", g.Part)
	require.Equal(t, []string{"", "1", "2"}, []string{g.Rows[0].Mark, g.Rows[1].Mark, g.Rows[2].Mark}, "two have a place")
	svg := string(g.Figure)
	require.Equal(t, 2, strings.Count(svg, `<circle class="mark"`))
	require.Contains(t, svg, "Arm from the front, with 2 places marked")

	groups, faults = b.findingGroups(f.in.Site.Releases[1])
	require.Equal(t, 1, faults)
	require.Empty(t, groups[0].Figure, "what cannot be read cannot be drawn")
}

func TestDataCarriesWhatWasMeasured(t *testing.T) {
	var d struct {
		Parts []struct {
			Cuts []struct {
				Wall  *float64 `json:"thinnest_wall_mm"`
				Pin   *float64 `json:"thinnest_pin_mm"`
				Holes []struct {
					Free float64 `json:"free_diameter_mm"`
				}
				Prints []map[string]any
			}
		}
		Findings []struct {
			At *[3]float64 `json:"at_mm"`
		}
	}
	require.NoError(t, json.Unmarshal(built(t)["releases/01-lantern/release.json"], &d))
	cut := d.Parts[0].Cuts[0]
	require.InDelta(t, 1.1, *cut.Wall, 1e-12)
	require.Nil(t, cut.Pin)
	require.InDelta(t, 1.75, cut.Holes[0].Free, 1e-12)
	require.Equal(t, "filament", cut.Prints[0]["process"])
	require.EqualValues(t, 2, cut.Prints[0]["islands"])
	pole := d.Parts[2].Cuts[0]
	require.NotContains(t, pole.Prints[0], "peak_layer_mm2", "it does not close")
	require.Contains(t, pole.Prints[0], "overhang_mm2")
	require.Nil(t, d.Findings[0].At)
	require.Equal(t, [3]float64{4, 3, 11}, *d.Findings[1].At)
}
