package bench

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"cardback/internal/fields"
)

const (
	goodPlates    = "plates:\n  - {id: p, name: P, process: resin, width: 68, depth: 120, height: 155, margin: 2, standard: true}\n"
	goodMaterials = "materials:\n  - {id: m, name: M, process: resin, stiffness: rigid, density: 1.17, wall_min: 0.8, pin_min: 1, hole_allowance: 0, source: measured}\n"
	goodHardware  = "hardware:\n  - {id: rod-1.5, name: Rod, kind: rod, diameter: 1.5, stock_length: 250}\n"
)

func tables(plates, materials, hardware string) fstest.MapFS {
	return fstest.MapFS{
		"bench/plates.yaml":    {Data: []byte(plates)},
		"bench/materials.yaml": {Data: []byte(materials)},
		"bench/hardware.yaml":  {Data: []byte(hardware)},
	}
}

func TestTablesAreReadInFileOrder(t *testing.T) {
	b, err := Load(os.DirFS("../../testdata/content"), "content")
	require.NoError(t, err)
	require.Equal(t, Bench{
		Plates: []Plate{
			{ID: "palm-resin", Name: "Palm-sized resin plate", Process: Resin, Width: 68, Depth: 120, Height: 155, Margin: 2, Standard: true},
			{ID: "round-filament", Name: "Round filament bed", Process: Filament, Width: 177.8, Depth: 177.8, Height: 200, Round: true, Note: "For tall printers with three arms."},
		},
		Materials: []Material{
			{ID: "rigid-resin", Name: "Rigid resin", Process: Resin, Stiffness: Rigid, Density: 1.17, WallMin: .8, PinMin: 1, HoleAllowance: .1, Shrinkage: .08, Source: "common practice, no source"},
			{ID: "flexible-filament", Name: "Flexible filament", Process: Filament, Stiffness: Flexible, Density: 1.21, WallMin: 1.2, PinMin: 2, Source: "common practice, no source"},
		},
		Hardware: []Hardware{
			{ID: "rod-1.5", Name: "Rod, 1.5 mm", Kind: Rod, Diameter: 1.5, StockLength: 250, Caution: "Wear eye protection when you cut rod."},
			{ID: "magnet-3x1", Name: "Disc magnet, 3 mm by 1 mm", Kind: Magnet, Diameter: 3, Thickness: 1},
			{ID: "fast-glue", Name: "Fast glue", Kind: Adhesive},
		},
	}, b)
}

func TestSlipsInTheTables(t *testing.T) {
	entry := func(list string, fields ...string) string {
		return list + ":\n  - " + strings.Join(fields, "\n    ") + "\n"
	}
	for _, c := range []struct {
		name, plates, materials, hardware string
		want                              []string
	}{
		{name: "round and rectangular", plates: entry("plates", "id: p", "name: P", "process: resin", "width: 68", "diameter: 90", "height: 100"),
			want: []string{`plates.yaml:6:15: plate "p" has a diameter and also a width or depth; expected either a diameter (round) or both a width and a depth`}},
		{name: "no footprint", plates: entry("plates", "id: p", "name: P", "process: resin", "width: 68", "height: 100"),
			want: []string{`plates.yaml:2:9: plate "p" has no full footprint; expected width and depth, or diameter for a round plate`}},
		{name: "zero and negative", plates: entry("plates", "id: p", "name: P", "process: resin", "width: 0", "depth: -1", "height: 100"),
			want: []string{`plates.yaml:5:12: length "width" is zero; expected a length above zero`, `plates.yaml:6:12: length "-1" is negative; expected a length above zero`}},
		{name: "margin", plates: entry("plates", "id: p", "name: P", "process: resin", "width: 68", "depth: 120", "height: 100", "margin: 34"),
			want: []string{`plates.yaml:8:13: margin 34 mm on both sides leaves nothing of the plate's 68 mm; expected less than half`}},
		{name: "ids", plates: goodPlates + "  - {id: p, name: P, process: resin, width: 68, depth: 120, height: 155}\n  - {id: Big One, name: P, process: resin, width: 68, depth: 120, height: 155}\n",
			want: []string{`plates.yaml:3:10: id "p" is used twice; the first is on line 2, give each entry its own`,
				`plates.yaml:4:10: id "Big One" has other characters than a to z, 0 to 9, dot and hyphen; expected an id such as rod-1.5`}},
		{name: "two standards", plates: goodPlates + "  - {id: f, name: F, process: filament, width: 200, depth: 200, height: 200, standard: true}\n  - {id: q, name: Q, process: resin, width: 68, depth: 120, height: 155, standard: true}\n",
			want: []string{`plates.yaml:4:84: plate "q" is a second design standard for resin; "p" already is, expected at most one for a process`}},
		{name: "unknown field", plates: goodPlates + "  - {id: q, name: Q, process: resin, width: 68, deep: 120, depth: 1, height: 155}\n",
			want: []string{`plates.yaml:3:49: field "deep" is not known here; expected id, name, process, width, depth, height, margin, standard, note or diameter`}},
		{name: "no list", plates: "plate: []\n", want: []string{`plates.yaml:1:1: field "plate" is not known here; did you mean "plates"?`}},
		{name: "density in kg/m3", materials: entry("materials", "id: m", "name: M", "process: resin", "stiffness: rigid", "density: 1170", "wall_min: 30", "pin_min: 1", "hole_allowance: 5 mm", "source: x"),
			want: []string{`materials.yaml:6:14: "density" is 1170; expected a number from 0.3 to 8`,
				`materials.yaml:7:15: "wall_min" is 30 mm, more than any print material needs; expected at most 20 mm`,
				`materials.yaml:9:21: "hole_allowance" is 5 mm, more than any print material needs; expected at most 2 mm`}},
		{name: "stiffness and source", materials: entry("materials", "id: m", "name: M", "process: rasin", "stiffness: semirigid", "density: 1.1", "wall_min: 1", "pin_min: 1", "hole_allowance: 0"),
			want: []string{`materials.yaml:2:5: "source" is missing; add a line that begins with source:`,
				`materials.yaml:4:14: process "rasin" is not known; did you mean "resin"?`,
				`materials.yaml:5:16: stiffness "semirigid" is not known; did you mean "semi-rigid"?`}},
		{name: "shrinkage", materials: entry("materials", "id: m", "name: M", "process: resin", "stiffness: rigid", "density: 1.1", "wall_min: 1", "pin_min: 1", "hole_allowance: 0", "shrinkage: 0.0728", "source: x") +
			"  - {id: n, name: N, process: filament, stiffness: rigid, density: 1.2, wall_min: 1, pin_min: 1, hole_allowance: 0, shrinkage: 1, source: x}\n",
			want: []string{`materials.yaml:10:16: "shrinkage" is 0.0728; expected a number from 0.1 to 25`,
				`materials.yaml:12:128: filament "n" has a shrinkage, which is for liquid resin; remove it`}},
		{name: "hardware", hardware: "hardware:\n  - {id: a, name: A, kind: rod}\n  - {id: b, name: B, kind: magnet, diameter: 3}\n  - {id: c, name: C, kind: adhesive, diameter: 3}\n  - {id: d, name: D, kind: magnet, diameter: 2, thickness: 1, stock_length: 6}\n  - {id: e, name: E, kind: wire, diameter: 2, thickness: 1}\n  - {id: f, name: F, kind: rope, diameter: 1}\n",
			want: []string{`hardware.yaml:2:28: rod "a" has no diameter; add a line that begins with diameter:`,
				`hardware.yaml:3:28: magnet "b" has no thickness; add a line that begins with thickness:`,
				`hardware.yaml:4:48: adhesive "c" has a diameter; remove it`,
				`hardware.yaml:5:77: magnet "d" has a stock length, which only rod, wire, cord and screws have; remove it`,
				`hardware.yaml:6:58: wire "e" has a thickness, which only magnets have; remove it`,
				`hardware.yaml:7:28: kind "rope" is not known; expected rod, wire, cord, magnet, screw or adhesive`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			or := func(s, otherwise string) string {
				if s == "" {
					return otherwise
				}
				return s
			}
			_, err := Load(tables(or(c.plates, goodPlates), or(c.materials, goodMaterials), or(c.hardware, goodHardware)), "content")
			require.Error(t, err)
			require.Equal(t, "content/bench/"+strings.Join(c.want, "\ncontent/bench/"), err.Error())
		})
	}
}

func TestMissingTablesAreReportedTogether(t *testing.T) {
	b, err := Load(fstest.MapFS{"bench/plates.yaml": {Data: []byte(goodPlates)}}, "content")
	require.EqualError(t, err, "content/bench/hardware.yaml: cannot be read (no such file); expected a file with a list of hardware\n"+
		"content/bench/materials.yaml: cannot be read (no such file); expected a file with a list of materials")
	require.Len(t, b.Plates, 1, "what was good is kept")
	require.IsType(t, fields.Errors{}, err)
}

func TestBadEntriesDoNotLoseTheGoodOnes(t *testing.T) {
	b, err := Load(tables(goodPlates+"  - {id: q}\n", goodMaterials, goodHardware), "c")
	require.Error(t, err)
	require.Len(t, b.Plates, 1)
	require.Len(t, b.Materials, 1)
	require.Len(t, b.Hardware, 1)
}

func ExampleLoad() {
	b, err := Load(tables(goodPlates, goodMaterials, "hardware:\n  - {id: rod-1.5, name: Rod, kind: rod, diameter: 1/16 mm}\n"), "content")
	fmt.Println(len(b.Plates), len(b.Materials))
	fmt.Println(err)
	// Output:
	// 1 1
	// content/bench/hardware.yaml:2:51: length "1/16 mm" is not one decimal number; expected a number and a unit, such as 1.5 mm
}
