package cli

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/measure/slice"
	"cardback/internal/measure/sound"
	"cardback/internal/measure/stack"
	"cardback/internal/measure/thin"
	"cardback/internal/mesh"
)

// madeUp is a report and layers that no mesh has, with something in every row.
func madeUp() (*measure.Report, *slice.Layers) {
	zero, wall := 0, 0.42
	r := &measure.Report{
		Fingerprint: strings.Repeat("5e", 32), Triangles: 12, Vertices: 8, Bounds: mesh.Box{Max: mesh.Vec{X: 30, Y: 20, Z: 10}},
		Volume: 6000, Area: 2200, Centroid: mesh.Vec{X: 15, Y: 10, Z: 5}, Closed: true, ConsistentlyOriented: true, Shells: 2, Genus: &zero,
		HullVolume: 6000, HullArea: 2200, Diameter: 37.4165738677, Silhouette: [3]float64{300, 200, 600},
		Crossings: sound.Crossings{Count: 3, Touching: 1},
		Nesting:   sound.Shells{Cavities: make([]sound.Shell, 1)},
		Thin: thin.Report{Limit: 4, Least: 0.45, Wall: &wall, Ray: []float64{0.42, 0.875, 2, 3.1, 4, 9}, Places: []thin.Place{
			{Kind: thin.Wall, Thickness: 0.42, At: mesh.Vec{X: 12, Y: 3, Z: 44.25}, Extent: 6.1},
			{Kind: thin.Pin, Thickness: 1.5, At: mesh.Vec{X: -2}, Extent: 12},
		}},
		Findings: []measure.Finding{
			{Level: measure.Note, Code: "several-shells", Text: "The surface is in 2 separate shells."},
			{Level: measure.Fault, Code: "crossing", Text: "Surfaces cross.", At: &[3]float64{1, 2, 3}},
		},
	}
	for i := range 8 {
		r.Bores.Holes = append(r.Bores.Holes, bore.Hole{Axis: mesh.Vec{Z: 1}, Centre: mesh.Vec{X: float64(i)}, Depth: 4, Diameter: 3.2, Free: 3.184, Through: true, Group: i})
	}
	r.Bores.Holes = append(r.Bores.Holes, bore.Hole{Axis: mesh.Vec{X: 1}, Centre: mesh.Vec{X: 1, Y: 2, Z: 3}, Depth: 11.5, Diameter: 1.5, Free: 1.4489, Group: 8})
	r.Bores.Pins = []bore.Pin{{Centre: mesh.Vec{Z: 9}, Length: 8, Diameter: 3}}
	l := &slice.Layers{
		Options: slice.Options{Pose: slice.Pose{Tilt: 90, About: "x"}, Layer: 0.05, Limit: 45},
		Height:  0.15, Areas: []float64{1, 7, 6}, Peak: 186.5, PeakLayer: 1, FlatPeak: 2400, Jump: 60, JumpLayer: 1, Overhang: 310.25, Encloses: true,
		Report: stack.Report{
			Islands: []stack.Island{{At: mesh.Vec{X: 1}}, {At: mesh.Vec{Y: 1}}, {At: mesh.Vec{X: 2}}, {At: mesh.Vec{Y: 2}}},
			Cups:    []stack.Hollow{{At: mesh.Vec{Z: 3}, Rim: 1, Volume: 8}},
			Trapped: []stack.Hollow{{At: mesh.Vec{Z: 5}, Rim: 6, Volume: 4}, {At: mesh.Vec{Z: 9}, Rim: 10, Volume: 2}},
		},
	}
	return r, l
}

func tableOf(r *measure.Report, l *slice.Layers, lim limits) string {
	var b strings.Builder
	v := measured{Contract: measure.NewContract("torso.stl", mesh.Info{Format: mesh.STLBinary}, r, l.Options, l), Judged: lim.judge(r)}
	v.Amounts = measure.NewAmounts(r, lim.stock())
	measureTable(&b, v, r, l.Options.Pose, lim)
	return b.String()
}

func TestMeasureTable(t *testing.T) {
	r, l := madeUp()
	require.Equal(t, `torso.stl  (stl-binary)
  size         30.00 × 20.00 × 10.00 mm
  surface      closed, consistently oriented, genus 0; 2 pairs of triangles
               cross; 1 pair touches; 1 cavity
  fault        Surfaces cross. Look at (1.0, 2.0, 3.0).
  note         The surface is in 2 separate shells.
  thinnest     wall  0.42 mm   over 6.1 mm  at (12.0, 3.0, 44.2)
               pin   1.50 mm  over 12.0 mm  at (-2.0, 0.0, 0.0)
  thickness    5 % of the surface under 0.88 mm, half under 3.10 mm
  holes        8  Ø3.20  free 3.18  through   4.0 deep
               1  Ø1.50  free 1.45  blind    11.5 deep  at (1.0, 2.0, 3.0)
  pins         1  Ø3.00  8.0 long  at (0.0, 0.0, 9.0)
  layers       3 of 0.05 mm, 90° about x, 0.15 mm high
  peak layer   186.50 mm², 0.075 mm up; 7.77 % of the 2400.00 mm² as supplied
  worst jump   60.00 mm² more than the layer before, 0.075 mm up
  overhang     310.25 mm² leans out more than 45° from the vertical
  islands      4 begin in mid-air, at (1.0, 0.0, 0.0), (0.0, 0.0, -1.0),
               (2.0, 0.0, 0.0), …
  hollows      1 cup that opens downwards, of 8.00 mm³, at (0.0, 3.0, 0.0)
               2 hollows closed all round, of up to 4.00 mm³, at
               (0.0, 5.0, 0.0), (0.0, 9.0, 0.0)
  resin        6.47 ml of liquid for 7.08 g cured; at 7.3 % shrinkage and
               1.18 g/cm³
  filament     about 1.07 m, 3.20 g (from 0.843 to 2.49 m); with 2 lines of
               0.45 mm, 15 % infill, 1.75 mm filament of 1.24 g/cm³
  volume       6000.00 mm³
  area         2200.00 mm²
  centroid     (15.00, 10.00, 5.00)
  from, to     (0.00, 0.00, 0.00), (30.00, 20.00, 10.00)
  diameter     37.42 mm
  convex hull  6000.00 mm³, 2200.00 mm²
  silhouette   front 300.00, side 200.00, top 600.00 mm²
  mesh         12 triangles, 8 vertices, 2 shells
  fingerprint  5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e5e
`, tableOf(r, l, limits{}))
}

// What was asked takes the place of what was not: limits, and a rod.
func TestMeasureTableWithLimits(t *testing.T) {
	r, l := madeUp()
	l.Options.Pose, l.Islands, l.Report.Cups, l.Trapped = slice.Pose{}, nil, nil, nil
	rod := 1.5
	m := &bench.Material{ID: "tough", Process: bench.Resin, Density: 1.15, Shrinkage: 0.1}
	wall, pin := 0.6, 5.0
	table := tableOf(r, l, limits{material: m, wall: &wall, pin: &pin, rod: &rod, allowance: 0.15})
	require.Contains(t, table, `
  too thin     wall  0.42 mm  under 0.6   over 6.1 mm  at (12.0, 3.0, 44.2)
               pin   1.50 mm  under 5    over 12.0 mm  at (-2.0, 0.0, 0.0)
               Of pins, only those under 4 mm were looked for.
`)
	require.Contains(t, table, `
  rod 1.5      1  Ø1.50  Passes 1.45 mm and no 1.5 mm rod: drill to 1.6 mm.
               8  Ø3.20  Passes a 1.5 mm rod with 1.53 mm to spare.
`)
	require.Contains(t, table, "\n  peak layer   186.50 mm², 0.075 mm up\n")
	require.Contains(t, table, "\n  islands      none\n  hollows      none\n")
	require.Contains(t, table, "\n  resin        6.67 ml of liquid for 6.90 g cured; at 10 % shrinkage and\n               1.15 g/cm³\n  volume ")

	wall, pin = 0.3, 0.5
	table = tableOf(r, l, limits{material: m, wall: &wall, pin: &pin})
	require.Contains(t, table, "\n  too thin     nothing of more than 0.5 mm²: walls may be 0.3 mm, pins 0.5 mm\n")
	require.NotContains(t, table, "rod")
	require.NotContains(t, table, "filament ")
}

// A mesh with a hundred of everything fills no screen, and no line is longer
// than a terminal is wide.
func TestMeasureTableIsNoFlood(t *testing.T) {
	r, l := madeUp()
	for i := range 100 {
		d := 1 + float64(i)/7
		r.Bores.Holes = append(r.Bores.Holes, bore.Hole{Diameter: d, Free: d - 0.1, Depth: 100 + d, Stepped: true, Through: true, Centre: mesh.Vec{X: -100 - d, Y: -100, Z: -100}})
		r.Bores.Pins = append(r.Bores.Pins, bore.Pin{Diameter: d, Length: d})
		r.Thin.Places = append(r.Thin.Places, thin.Place{Kind: thin.Pin, Thickness: d, Extent: 100, At: mesh.Vec{X: -100, Y: -100, Z: -100}})
		r.Findings = append(r.Findings, measure.Finding{Level: measure.Caution, Code: "many", Text: strings.Repeat("word ", 30) + "end.", At: &[3]float64{}})
		l.Cups = append(l.Cups, stack.Hollow{At: mesh.Vec{X: -100, Y: -100, Z: -100}, Volume: 123456})
	}
	rod, limit := 1.5, 4.0
	for _, lim := range []limits{{}, {wall: &limit, pin: &limit, rod: &rod, allowance: 0.15}} {
		table := tableOf(r, l, lim)
		lines := strings.Split(table, "\n")
		require.Less(t, len(lines), 110)
		for _, line := range lines {
			require.LessOrEqual(t, utf8.RuneCountInString(line), 80, line)
		}
		require.Contains(t, table, "And 96 more like it; --json lists them.")
		require.Contains(t, table, "and 90 more; --json lists them") // holes: two groups and ten of the hundred are shown
	}
}

// Without an inside there are no layers to speak of, and nothing to fill.
func TestMeasureTableOfAnOpenMesh(t *testing.T) {
	r, l := madeUp()
	r.Closed, l.Encloses, r.OpenEdges, r.Thin, r.Bores = false, false, 3, thin.Report{Limit: 4}, bore.Report{}
	table := tableOf(r, l, limits{})
	require.Contains(t, table, "\n  surface      not closed: 3 open edges, 0 non-manifold edges;")
	require.Contains(t, table, "\n  peak layer   unknown: the surface does not close, or has a wall too many\n  overhang     310.25 mm² leans")
	require.Contains(t, table, "\n  thinnest     nothing that could be measured under 4 mm\n  holes        none\n")
	for _, absent := range []string{"resin", "filament", "islands", "hollows", "worst jump"} {
		require.NotContains(t, table, absent)
	}
}

// A last cell that has no room beside the others stands alone, as far in as it
// goes; the label is said once.
func TestColumns(t *testing.T) {
	var b strings.Builder
	sheet{&b}.columns("label", "rl", [][]string{
		{strings.Repeat("x", 40), "at" + hard + "(19818.3," + hard + "-29964.6," + hard + "15020.4)"},
		{"y", "one two three four five six seven"},
	})
	require.Equal(t, `  label        xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx
                                                 at (19818.3, -29964.6, 15020.4)
                                                      y  one two three four five
                                                         six seven
`, b.String())
}

func TestWrap(t *testing.T) {
	require.Equal(t, []string{"one two", "three", "incomprehensible", "·"}, wrap("one two three incomprehensible ·", 7))
	require.Equal(t, []string{""}, wrap("", 7))
}
