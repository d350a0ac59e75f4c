package measure

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/bore"
	"cardback/internal/measure/slice"
	"cardback/internal/measure/sound"
	"cardback/internal/measure/stack"
	"cardback/internal/measure/thin"
	"cardback/internal/mend"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

var tilted = slice.Pose{Tilt: 90, About: "x"}

// madeUp are layers that no mesh has, so that each number shows where it comes
// from.
func madeUp() *slice.Layers {
	return &slice.Layers{
		Options: slice.Options{Pose: tilted, Layer: 0.05, Limit: 45},
		Height:  0.15, Areas: []float64{1, 7, 6}, Perimeter: []float64{4, 11, 10},
		Peak: 7, PeakLayer: 1, FlatPeak: 9, Jump: 6, JumpRatio: 7, JumpLayer: 1, Overhang: 2.5, Encloses: true,
		Report: stack.Report{
			Islands: []stack.Island{{At: mesh.Vec{X: 1, Y: 2, Z: 0.025}, Area: 1, Layer: 0}},
			Cups:    []stack.Hollow{{At: mesh.Vec{Z: 3}, Rim: 1, Volume: 8}},
			Trapped: []stack.Hollow{{At: mesh.Vec{Z: 5}, Rim: 6, Volume: 4}},
		},
	}
}

// The names are kept from release to release.
func TestContract(t *testing.T) {
	r := measured(t, meshtest.Box(30, 20, 10), t)
	wall := 0.4
	r.Crossings = sound.Crossings{Count: 3, Touching: 1, Places: []sound.Crossing{{Triangles: [2]int32{4, 9}, At: mesh.Vec{X: 1}, Touch: true}}}
	r.Nesting = sound.Shells{Cavities: make([]sound.Shell, 2), Inverted: make([]sound.Shell, 1), Buried: make([]sound.Shell, 4), OverlappingCount: 5, CoincidentCount: 6}
	r.Cracks = sound.Cracks{TJunctions: 7, NearDuplicates: 8, Weld: 0.01}
	r.Closing = &mend.Closing{OpenEdges: 3, Within: 1e-3, Farthest: 2e-5, Joined: 4, Cut: 5, Flattened: 6}
	r.Thin = thin.Report{Wall: &wall, Limit: 4, Ray: []float64{1, 2, 3, 4, 5, 6}, Ball: []float64{1, 1, 2, 2, 3, 3}, Places: []thin.Place{{Kind: thin.Wall, Thickness: 0.4, At: mesh.Vec{Y: 2}, Extent: 6, Area: 50, Run: 5, Joins: true}}, Edges: []thin.Place{{Kind: thin.Edge, Thickness: 0.1, Extent: 7}}, Least: 0.5}
	r.Bores = bore.Report{
		Holes:   []bore.Hole{{Axis: mesh.Vec{Z: 1}, Centre: mesh.Vec{X: 5}, Depth: 10, Diameter: 1.6, Free: 1.56, Residual: 0.001, Through: true, Group: 3}},
		Pins:    []bore.Pin{{Axis: mesh.Vec{X: 1}, Centre: mesh.Vec{Z: 7}, Length: 4, Diameter: 3, Residual: 0.002}},
		Partial: true,
	}
	r.Findings = []Finding{}
	c := NewContract("a/any.stl", mesh.Info{Format: mesh.STLBinary}, r, slice.Options{Pose: tilted}, madeUp())
	// Reckoned by hand from 6000 mm³ and 2200 mm² by the formulas of amount.go.
	for want, got := range map[float64]*float64{6.47109577: &c.Amounts.LiquidResin, 1.07388661: &c.Amounts.Filament, 2.49451013: &c.Amounts.FilamentFull, 0.8425713: &c.Amounts.FilamentLow, 3.20292: &c.Amounts.FilamentGrams} {
		require.InDelta(t, want, *got, 1e-8)
		*got = want
	}
	text, err := json.MarshalIndent(c, "", " ")
	require.NoError(t, err)
	require.JSONEq(t, `{"path": "a/any.stl", "format": "stl-binary", "fingerprint": "`+r.Fingerprint+`",
		"triangles": 12, "vertices": 8, "bounds_mm": {"min": [0, 0, 0], "max": [30, 20, 10]},
		"volume_mm3": 6000, "area_mm2": 2200, "centroid_mm": [15, 10, 5],
		"closed": true, "open_edges": 0, "non_manifold_edges": 0, "consistently_oriented": true,
		"shells": 1, "euler": 2, "genus": 0, "degenerate_triangles": 0, "duplicate_triangles": 0,
		"self_intersections": 3, "touching": 1, "crossings": [{"triangles": [4, 9], "at_mm": [1, 0, 0], "touch": true}],
		"self_intersections_partial": false, "cavities": 2, "inverted_shells": 1, "buried_shells": 4, "overlapping_shells": 5,
		"coincident_shells": 6, "t_junctions": 7, "near_duplicates": 8, "weld_mm": 0.01,
		"cracks_closed": {"open_edges": 3, "within_mm": 0.001, "farthest_mm": 0.00002, "corners_joined": 4, "sides_cut": 5, "triangles_flattened": 6},
		"hull_volume_mm3": 6000, "hull_area_mm2": 2200, "diameter_mm": 37.416573867739416,
		"silhouette_mm2": {"front": 300, "side": 200, "top": 600},
		"thinnest_wall_mm": 0.4, "thinnest_pin_mm": null, "thin_limit_mm": 4,
		"thin": [{"kind": "wall", "thickness_mm": 0.4, "at_mm": [0, 2, 0], "extent_mm": 6, "run_mm": 5, "joins": true}],
		"thin_edges": [{"kind": "edge", "thickness_mm": 0.1, "at_mm": [0, 0, 0], "extent_mm": 7, "run_mm": 0, "joins": false}],
		"thin_least_mm2": 0.5, "thin_partial": false,
		"thickness": {"shares": [0.01, 0.05, 0.25, 0.5, 0.75, 0.95], "ray_mm": [1, 2, 3, 4, 5, 6], "ball_mm": [1, 1, 2, 2, 3, 3]},
		"holes": [{"diameter_mm": 1.6, "free_diameter_mm": 1.56, "depth_mm": 10, "through": true, "stepped": false,
			"group": 3, "axis": [0, 0, 1], "centre_mm": [5, 0, 0], "residual_mm": 0.001}],
		"pins": [{"diameter_mm": 3, "length_mm": 4, "axis": [1, 0, 0], "centre_mm": [0, 0, 7], "residual_mm": 0.002}], "holes_partial": true,
		"amounts": {"solid_ml": 6, "liquid_resin_ml": 6.47109577, "shrinkage": 0.0728, "resin_g": 7.08, "resin_density_g_cm3": 1.18,
			"filament_g": 3.20292, "filament_density_g_cm3": 1.24,
			"filament_m": 1.07388661, "filament_solid_m": 2.49451013, "filament_least_m": 0.84257130,
			"filament_diameter_mm": 1.75, "lines": 2, "line_width_mm": 0.45, "infill": 0.15},
		"tilt_deg": 90, "about": "x", "layer_mm": 0.05, "overhang_limit_deg": 45, "height_mm": 0.15, "layers": 3,
		"overhang_mm2": 2.5, "peak_layer_mm2": 7, "peak_layer": 1, "flat_peak_layer_mm2": 9,
		"worst_jump_mm2": 6, "worst_jump_ratio": 7, "worst_jump_layer": 1, "islands": 1, "cups": 1, "wells": 0, "trapped": 1,
		"island_places": [{"at_mm": [1, 0.025, -2], "area_mm2": 1, "layer": 0}],
		"hollows": [{"kind": "cup", "at_mm": [0, 3, 0], "rim_mm": 1, "volume_mm3": 8},
			{"kind": "trapped", "at_mm": [0, 5, 0], "rim_mm": 6, "volume_mm3": 4}],
		"findings": []}`, string(text))
}

// Lists are never null, and what needs an inside is, where there is none.
func TestContractOfAnOpenMesh(t *testing.T) {
	r := measured(t, meshtest.Without(meshtest.Box(3, 2, 1), 0), t)
	l := madeUp()
	l.Encloses = false
	open := NewContract("b", mesh.Info{Format: mesh.STLASCII, Notes: []string{"Two solids."}}, r, slice.Options{}, l)
	require.Nil(t, open.Genus)
	require.Equal(t, Finding{Note, "reading", "Two solids.", nil}, open.Findings[0])
	require.Equal(t, "open-edges", open.Findings[1].Code)
	inside := []string{
		"genus", "amounts", "peak_layer_mm2", "peak_layer", "flat_peak_layer_mm2", "worst_jump_mm2", "worst_jump_ratio", "worst_jump_layer",
		"islands", "cups", "wells", "trapped",
	}
	require.Subset(t, nulls(t, open), inside)
	require.NotContains(t, nulls(t, open), "layers")
	require.NotContains(t, nulls(t, open), "overhang_mm2")

	tall := NewContract("c", mesh.Info{}, r, slice.Options{}, nil)
	require.Subset(t, nulls(t, tall), append(inside, "layers", "height_mm", "overhang_mm2", "about"))
	require.Nil(t, NewContract("d", mesh.Info{}, measured(t, meshtest.InsideOut(meshtest.Box(3, 2, 1)), t), slice.Options{}, madeUp()).Amounts)
	requireRoundTrip(t, r)
}

// nulls names the fields that are null; none of them is a list.
func nulls(t *testing.T, c Contract) []string {
	t.Helper()
	text, err := json.Marshal(c)
	require.NoError(t, err)
	var back map[string]any
	require.NoError(t, json.Unmarshal(text, &back))
	for _, name := range []string{"crossings", "thin", "holes", "pins", "island_places", "hollows", "findings"} {
		require.NotNil(t, back[name], name)
	}
	var out []string
	for name, value := range back {
		if value == nil {
			out = append(out, name)
		}
	}
	return out
}

// Of more places than are shown, the largest are.
func TestContractShowsTheLargestPlaces(t *testing.T) {
	l := madeUp()
	for i := range 50 {
		l.Islands = append(l.Islands, stack.Island{Area: float64(i)})
	}
	c := NewContract("", mesh.Info{}, &Report{}, slice.Options{}, l)
	require.Equal(t, 51, *c.Islands)
	require.Len(t, c.IslandPlaces, mostPlaces)
	require.Equal(t, []float64{49, 48}, []float64{c.IslandPlaces[0].Area, c.IslandPlaces[1].Area})
}

// The encoder refuses what is not a number or not finite: nothing that a mesh
// may hold brings either about.
func TestContractOfExtremes(t *testing.T) {
	const most, least = math.MaxFloat32, math.SmallestNonzeroFloat32
	reach := func(s mesh.Vec) *mesh.Mesh {
		return meshtest.Moved(meshtest.Box(2, 2, 2), func(p mesh.Vec) mesh.Vec {
			return mesh.Vec{X: (p.X - 1) * s.X, Y: (p.Y - 1) * s.Y, Z: (p.Z - 1) * s.Z}
		})
	}
	for _, m := range []*mesh.Mesh{
		{}, reach(mesh.Vec{X: most, Y: most, Z: most}), reach(mesh.Vec{X: least, Y: least, Z: least}),
		reach(mesh.Vec{X: most, Y: least, Z: 1}), reach(mesh.Vec{X: most}), reach(mesh.Vec{}),
		meshtest.Moved(reach(mesh.Vec{X: 1, Y: 1, Z: 1}), meshtest.Shift(most/2, -most/2, most/4)),
	} {
		for _, m := range []*mesh.Mesh{m, meshtest.InsideOut(m), {Vertices: m.Vertices, Triangles: m.Triangles[:len(m.Triangles)/2]}} {
			text, err := json.Marshal(NewContract("a", mesh.Info{}, measured(t, m, t), slice.Options{}, cut(t, m)))
			require.NoError(t, err)
			require.Contains(t, string(text), `"findings":[`)
		}
	}
}

func cut(t *testing.T, m *mesh.Mesh) *slice.Layers {
	l, err := slice.Cut(t.Context(), m, slice.Options{})
	if errors.Is(err, slice.ErrTooManyLayers) {
		return nil
	}
	require.NoError(t, err)
	return l
}
