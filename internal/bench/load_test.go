package bench

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
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
			want: []string{`plates.yaml:3:49: field "deep" is not known here; expected id, name, process, width, depth, height, margin, standard, vat_least, layer_seconds, flow, first_layer_seconds, first_layers, warm_up_seconds, move_seconds, least_layer_seconds, note or diameter`}},
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
				`hardware.yaml:5:77: magnet "d" has a stock length, which only rod, wire and cord have; remove it`,
				`hardware.yaml:6:58: wire "e" has a thickness, which only magnets and bearings have; remove it`,
				`hardware.yaml:7:28: kind "rope" is not known; expected rod, wire, cord, magnet, screw, bearing, spring or adhesive`}},
		{name: "times without the rest", plates: entry("plates", "id: p", "name: P", "process: resin", "width: 68", "depth: 120", "height: 100", "first_layers: 6") +
			"  - {id: q, name: Q, process: resin, width: 200, depth: 200, height: 200, layer_seconds: 10, first_layers: 60, first_layer_seconds: 30}\n" +
			"  - {id: f, name: F, process: filament, width: 200, depth: 200, height: 200, first_layers: 6, warm_up_seconds: 9000}\n",
			want: []string{`plates.yaml:8:19: plate "p" states a time for its first layers without the rest; expected layer_seconds, first_layers and first_layer_seconds`,
				`plates.yaml:9:108: first_layers 60 is more than any vat takes; expected up to 50`,
				`plates.yaml:10:92: filament plate "f" has first_layers, which is for resin; remove it`,
				`plates.yaml:10:112: "warm_up_seconds" is 9000; expected a number from 0.1 to 1800`}},
		{name: "what printers state", plates: entry("plates", "id: p", "name: P", "process: resin", "width: 68", "depth: 120", "height: 100", "vat_least: 0", "layer_seconds: 2500", "flow: 4.5") +
			"  - {id: f, name: F, process: filament, width: 200, depth: 200, height: 200, vat_least: 40, layer_seconds: 10, flow: quick}\n",
			want: []string{`plates.yaml:8:16: "vat_least" is 0; expected a number from 1 to 2000`,
				`plates.yaml:9:20: "layer_seconds" is 2500; expected a number from 0.5 to 300`,
				`plates.yaml:10:11: resin plate "p" has a flow, which is for filament; remove it`,
				`plates.yaml:11:89: filament plate "f" has vat_least, which is for resin; remove it`,
				`plates.yaml:11:108: filament plate "f" has layer_seconds, which is for resin; remove it`,
				`plates.yaml:11:118: number "quick" has no number; expected a plain number, such as 1.17`}},
		{name: "prices and shares", materials: "currency: euro\n" + entry("materials", "id: m", "name: M", "process: resin", "stiffness: rigid", "density: 1.1", "wall_min: 1", "pin_min: 1", "hole_allowance: 0", "price: -1", "waste: 400", "softens: 5", "source: x"),
			want: []string{`materials.yaml:1:11: currency "euro" is not a currency's code; expected three capital letters by ISO 4217, such as EUR`,
				`materials.yaml:11:12: "price" is -1; expected a number from 0.01 to 1e+07`,
				`materials.yaml:12:12: "waste" is 400; expected a number from 0 to 300`,
				`materials.yaml:13:14: "softens" is 5; expected a number from 30 to 400`}},
		{name: "a price without a currency", materials: entry("materials", "id: m", "name: M", "process: resin", "stiffness: rigid", "density: 1.1", "wall_min: 1", "pin_min: 1", "hole_allowance: 0", "price: 30", "source: x"),
			want: []string{`materials.yaml:10:12: material "m" has a price, and no currency is stated; add a line at the top of the file such as currency: EUR`}},
		{name: "blends", materials: "materials:\n  - id: m\n    name: M\n    process: resin\n    stiffness: rigid\n    density: 1.1\n    wall_min: 1\n    pin_min: 1\n    hole_allowance: 0\n    source: x\n" +
			"    blends:\n      - {with: n, from: 30, to: 10, becomes: semi-rigid}\n      - {with: m, from: 1, to: 10, becomes: soft}\n      - {with: o, from: 0, to: 101, becomes: rigid}\n      - {with: f, from: 1, to: 10, becomes: rigid, as: x}\n      - {from: 1}\n" +
			"  - {id: n, name: N, process: resin, stiffness: rigid, density: 1.2, wall_min: 1, pin_min: 1, hole_allowance: 0, source: x}\n" +
			"  - {id: f, name: F, process: filament, stiffness: rigid, density: 1.2, wall_min: 1, pin_min: 1, hole_allowance: 0, source: x, blends: []}\n",
			want: []string{`materials.yaml:12:33: the share goes from 30 to 10 per cent; expected it to begin below where it ends`,
				`materials.yaml:13:16: material "m" is blended with itself; expected another`,
				`materials.yaml:13:45: becomes "soft" is not known; expected rigid, semi-rigid or flexible`,
				`materials.yaml:14:16: material "o" is not on the bench; expected m, n or f`,
				`materials.yaml:14:32: "to" is 101; expected a number from 0 to 100`,
				`materials.yaml:15:16: material "f" is filament and cannot be stirred into resin; expected another resin`,
				`materials.yaml:15:52: field "as" is not known here; expected with, from, to or becomes`,
				`materials.yaml:16:9: "becomes" is missing; add a line that begins with becomes:`,
				`materials.yaml:16:9: "to" is missing; add a line that begins with to:`,
				`materials.yaml:16:9: "with" is missing; add a line that begins with with:`,
				`materials.yaml:18:136: filament "f" has blends, which are for liquid resin; remove them`}},
		{name: "screws, bearings and springs", hardware: "hardware:\n  - {id: a, name: A, kind: screw, diameter: 3, stock_length: 8}\n  - {id: b, name: B, kind: bearing, diameter: 6, thickness: 2, bore: 6}\n  - {id: c, name: C, kind: spring, diameter: 4}\n  - {id: d, name: D, kind: rod, diameter: 4, length: 0.3 m, bore: 2}\n  - {id: e, name: E, kind: magnet, diameter: 3, thickness: 1, length: 2}\n",
			want: []string{`hardware.yaml:2:28: screw "a" has no length; add a line that begins with length:`,
				`hardware.yaml:2:62: screw "a" has a stock length, which only rod, wire and cord have; its own is written length:`,
				`hardware.yaml:3:70: bearing "b" has a bore of 6 mm in a diameter of 6 mm; expected the bore to be smaller`,
				`hardware.yaml:4:28: spring "c" has no length; add a line that begins with length:`,
				`hardware.yaml:5:54: rod "d" has a length, which only screws and springs have; what it is sold in is its stock_length`,
				`hardware.yaml:5:67: rod "d" has a bore, which only bearings have; remove it`,
				`hardware.yaml:6:71: magnet "e" has a length, which only screws and springs have; remove it`}},
		{name: "kerf and flux", hardware: "hardware:\n  - {id: a, name: A, kind: rod, diameter: 1, kerf: 12}\n  - {id: b, name: B, kind: screw, diameter: 3, length: 8, kerf: 1}\n  - {id: c, name: C, kind: magnet, diameter: 3, thickness: 1, flux_index: 0}\n  - {id: d, name: D, kind: rod, diameter: 2, flux_index: 50}\n",
			want: []string{`hardware.yaml:2:52: "kerf" is 12 mm, more than any saw for small stock takes; expected at most 5 mm`,
				`hardware.yaml:3:65: screw "b" has a kerf, which only rod, wire and cord have; remove it`,
				`hardware.yaml:4:75: "flux_index" is 0; expected a number from 0.1 to 100000`,
				`hardware.yaml:5:58: rod "d" has a flux index, which only magnets have; remove it`}},
		{name: "what a shipped entry cannot become", plates: "defaults: true\nplates:\n  - {id: small-resin, process: filament}\n  - {id: round-filament, depth: 90}\n",
			hardware:  "defaults: true\nhardware:\n  - {id: magnet-3x1, kind: rod}\n",
			materials: "defaults: true\nmaterials:\n  - {id: rigid-resin, process: filament, density: 1170}\n  - {id: fresh, process: resin, stiffness: rigid, density: 1.2, wall_min: 1, pin_min: 1, hole_allowance: 0, source: x}\n",
			want: []string{`hardware.yaml:3:28: "magnet-3x1" is a shipped magnet and stays so; give the rod an id of its own`,
				`materials.yaml:3:32: "rigid-resin" is a shipped entry for resin and stays so; give one for filament an id of its own`,
				`materials.yaml:3:51: "density" is 1170; expected a number from 0.3 to 8`,
				`materials.yaml:4:5: "name" is missing; add a line that begins with name:`,
				`plates.yaml:3:32: "small-resin" is a shipped entry for resin and stays so; give one for filament an id of its own`,
				`plates.yaml:4:10: plate "round-filament" has no full footprint; expected width and depth, or diameter for a round plate`}},
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

// Whatever the tables say, they are read or refused: no panic, and what is kept can
// be used.
func FuzzLoad(f *testing.F) {
	f.Add(goodPlates, goodMaterials, goodHardware)
	f.Add("defaults: true\nplates:\n  - {id: small-resin, diameter: 90, standard: true}\n", "defaults: true\ncurrency: EUR\nmaterials:\n  - {id: rigid-resin, price: 1, blends: [{with: tough-resin, from: 1, to: 2, becomes: rigid}]}\n", "defaults: true\nhardware:\n  - {id: rod-1-16in, kerf: 0}\n")
	f.Add("plates:\n  - {id: p, standard: true}\n  - {id: p, standard: true}\n", "materials:\n  - {blends: [{}, 3]}\n", "hardware: 7\n")
	f.Fuzz(func(t *testing.T, plates, materials, hardware string) {
		b, err := Load(tables(plates, materials, hardware), "c")
		for _, p := range b.Plates {
			require.Greater(t, min(p.Width, p.Depth), 2*p.Margin)
			require.Positive(t, p.Height)
		}
		for _, m := range b.Materials {
			require.Positive(t, m.Density)
			require.False(t, err == nil && m.Price > 0 && b.Currency == "")
			for _, x := range m.Blends {
				require.Less(t, x.Least, x.Most)
				require.True(t, err != nil || slices.ContainsFunc(b.Materials, func(o Material) bool { return o.ID == x.With }))
			}
		}
		for _, h := range b.Hardware {
			require.Contains(t, Kinds, h.Kind)
		}
	})
}

// What a designer buys beside rods has its own sizes.
func TestScrewsBearingsAndSpringsHaveTheirSizes(t *testing.T) {
	b, err := Load(tables(goodPlates, goodMaterials, "hardware:\n  - {id: s, name: S, kind: screw, diameter: 3, length: 10}\n  - {id: b, name: B, kind: bearing, diameter: 6, thickness: 2.5, bore: 3}\n  - {id: c, name: C, kind: spring, diameter: 4, length: 1/2 in}\n  - {id: d, name: D, kind: cord, diameter: 500 µm, stock_length: 5 m}\n"), "content")
	require.NoError(t, err)
	require.Equal(t, []Hardware{
		{ID: "s", Name: "S", Kind: Screw, Diameter: 3, Length: 10}, {ID: "b", Name: "B", Kind: Bearing, Diameter: 6, Thickness: 2.5, Bore: 3},
		{ID: "c", Name: "C", Kind: Spring, Diameter: 4, Length: 12.7}, {ID: "d", Name: "D", Kind: Cord, Diameter: .5, StockLength: 5000},
	}, b.Hardware)
}
