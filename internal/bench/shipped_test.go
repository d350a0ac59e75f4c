package bench

import (
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
)

func TestShippedTablesAreWhole(t *testing.T) {
	b := Shipped()
	for _, p := range shippedProcesses {
		require.True(t, slices.ContainsFunc(b.Plates, func(q Plate) bool { return q.Process == p && q.Standard }), "a design standard for %s", p)
	}
	for _, p := range b.Plates {
		require.Contains(t, p.Note, "no source", p.ID)
		require.Equal(t, p.Process == Resin, p.VatLeast > 0 && p.LayerSeconds > 0, p.ID)
		require.Equal(t, p.Process == Filament, p.Flow > 0, p.ID)
	}
	kinds := map[HardwareKind]bool{}
	for _, h := range b.Hardware {
		kinds[h.Kind] = true
		require.NotEmpty(t, h.Caution, "each item comes with its caution: %s", h.ID)
		require.Equal(t, h.Kind.Cuttable(), h.StockLength > 0, h.ID)
		require.Equal(t, h.Kind == Screw || h.Kind == Spring, h.Length > 0, h.ID)
	}
	require.Len(t, kinds, len(Kinds), "every kind of hardware")
	for _, m := range b.Materials {
		require.Zero(t, m.Price, "prices differ too much to ship any")
		require.Empty(t, m.Blends, "no published values")
		require.Contains(t, m.Source, "no source")
		for _, named := range []struct {
			name  string
			value float64
		}{{"softens", m.Softens}, {"shrinkage", m.Shrinkage}} {
			require.Equal(t, named.value > 0, strings.Contains(m.Source, named.name+":"), "%s: where %s comes from", m.ID, named.name)
		}
	}
	require.Empty(t, b.Currency)
	b.Plates[0].Name = "changed"
	require.NotEqual(t, "changed", Shipped().Plates[0].Name, "each caller has tables of his own")
}

// Densities, inch rods and the rate of flow are those of the reference values
// (check values 4.1, 7.1, 5: 0.45 × 0.2 × 50 = 4.5 mm³/s).
func TestShippedValuesAreThoseOfTheSources(t *testing.T) {
	b := Shipped()
	density := map[string]float64{"rigid-filament": 1.24, "tough-filament": 1.27, "flexible-filament": 1.21, "rigid-resin": 1.18, "flexible-resin": 1.10}
	for _, m := range b.Materials {
		if want, ok := density[m.ID]; ok {
			require.Equal(t, want, m.Density, m.ID)
			delete(density, m.ID)
		}
	}
	require.Empty(t, density)
	diameter := map[string]float64{"rod-1-32in": .79375, "rod-3-64in": 1.190625, "rod-1-16in": 1.5875, "rod-5-64in": 1.984375, "rod-3-32in": 2.38125, "rod-1-8in": 3.175}
	for _, h := range b.Hardware {
		if want, ok := diameter[h.ID]; ok {
			require.InDelta(t, want, h.Diameter, 1e-12, h.ID)
			require.InDelta(t, 304.8, h.StockLength, 1e-12, h.ID)
			delete(diameter, h.ID)
		}
	}
	require.Empty(t, diameter)
	for _, p := range b.Plates {
		if p.Process == Filament {
			require.Equal(t, 4.5, p.Flow)
		}
	}
}

func TestMissingTablesAreTheShippedOnes(t *testing.T) {
	b, err := Load(fstest.MapFS{"bench/plates.yaml": {Data: []byte(goodPlates)}}, "content")
	require.NoError(t, err)
	require.Equal(t, Shipped().Materials, b.Materials)
	require.Equal(t, Shipped().Hardware, b.Hardware)
	require.Len(t, b.Plates, 1, "a table that is there stands alone")
	b, err = Load(fstest.MapFS{}, "content")
	require.NoError(t, err)
	require.Equal(t, Shipped(), b)
	_, err = Load(fstest.MapFS{"bench/materials.yml": {Data: []byte(goodMaterials)}}, "content")
	require.EqualError(t, err, `content/bench/materials.yaml: cannot be read (no such file, but there is "materials.yml"); expected a file with a list of materials`)
	_, err = Load(fstest.MapFS{"bench/materials.yaml/x": {}}, "content")
	require.EqualError(t, err, `content/bench/materials.yaml: cannot be read (not a regular file); expected a file with a list of materials`)
}

func TestATableMayStandOnTheShippedOne(t *testing.T) {
	b, err := Load(tables(
		"defaults: true\nplates:\n  - {id: mid-resin, standard: true, margin: 4}\n  - {id: own, name: Own, process: filament, diameter: 90, height: 100}\n",
		"defaults: true\ncurrency: EUR\nmaterials:\n  - {id: rigid-resin, price: 30.5, waste: 12.5, blends: [{with: own, from: 10, to: 30, becomes: semi-rigid}]}\n  - {id: own, name: Own, process: resin, stiffness: flexible, density: 1.1, wall_min: 1, pin_min: 1, hole_allowance: 0, source: measured}\n",
		"defaults: true\n"), "content")
	require.NoError(t, err)
	was := Shipped()
	require.Equal(t, was.Hardware, b.Hardware)

	i := slices.IndexFunc(was.Plates, func(p Plate) bool { return p.ID == "mid-resin" })
	want := was.Plates[i]
	want.Standard, want.Margin = true, 4
	require.Equal(t, want, b.Plates[i], "only what is named changes")
	require.False(t, b.Plates[slices.IndexFunc(b.Plates, func(p Plate) bool { return p.ID == "small-resin" })].Standard, "the designer's standard takes the shipped one's place")
	require.True(t, b.Plates[slices.IndexFunc(b.Plates, func(p Plate) bool { return p.ID == "standard-filament" })].Standard, "the other process keeps its own")
	require.Len(t, b.Plates, len(was.Plates)+1)
	require.Equal(t, "own", b.Plates[len(was.Plates)].ID, "what is new comes last")

	require.Equal(t, "EUR", b.Currency)
	j := slices.IndexFunc(was.Materials, func(m Material) bool { return m.ID == "rigid-resin" })
	stock := was.Materials[j]
	stock.Price, stock.Waste, stock.Blends = 30.5, .125, []Blend{{With: "own", Least: .1, Most: .3, Stiffness: SemiRigid}}
	require.Equal(t, stock, b.Materials[j])
}

// The demo stands on the shipped tables: what they say of its plates and stocks is
// what it was drawn for.
func TestTheDemoStandsOnTheShippedTables(t *testing.T) {
	b, err := Load(os.DirFS("../../content"), "content")
	require.NoError(t, err)
	was := Shipped()
	require.Len(t, b.Plates, len(was.Plates))
	for i := range b.Plates {
		b.Plates[i].Note, was.Plates[i].Note = "", ""
	}
	require.Equal(t, was.Plates, b.Plates)
	for _, h := range b.Hardware {
		require.Equal(t, h.Kind == Rod, h.Kerf == 1, h.ID)
	}
	require.Equal(t, "EUR", b.Currency)
	for _, m := range b.Materials {
		require.Positive(t, m.Price, m.ID)
	}
}
