package verdict

import (
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/release"
	"cardback/internal/survey"
)

// Amount is what a complete print of a release takes in one process.
type Amount struct {
	Process   bench.Process
	Materials []MaterialAmount // in bench order
	Choices   bool             // the first of each choice is counted
	Left      []string         // names of parts that are not in it: unreadable, or without an inside
}

// MaterialAmount is what it takes of one material. Flexible materials count the
// parts that come in a flexible cut alone, all others the rest. Supports, skirts,
// and what stays in the vat or is washed off are not in it.
type MaterialAmount struct {
	Material bench.Material
	Solid    float64 // mm³ of all parts, filled throughout
	Liquid   float64 // mm³ of liquid resin; zero where no shrinkage is stated, and for filament
	Grams    float64 // of the print: resin cured, filament with the usual filling
	// Filament in mm at the usual diameter with the usual filling: about, and no
	// less than; filled throughout it is Solid's.
	Filament, FilamentLeast float64
}

// Amounts adds up a print of r as the designer drew it: wholes rather than their
// pieces, of each choice the first, twins included.
func Amounts(r release.Release, s survey.Survey, proc bench.Process, materials []bench.Material) Amount {
	a := Amount{Process: proc}
	type piece struct {
		report *measure.Report
		count  float64
		soft   bool
	}
	var pieces []piece
	for _, sl := range slots(r, proc) {
		a.Choices = a.Choices || len(sl.ways) > 1 && sl.ways[0].parts[0].Choice != ""
		for _, p := range sl.ways[0].parts {
			cut, ok := printCut(p, proc)
			if !ok {
				continue // said by the material table
			}
			cs, ok := s.Measured(cut)
			if !ok || !cs.Report.Solid() || cs.Report.Volume <= 0 {
				a.Left = append(a.Left, p.Name)
				continue
			}
			pieces = append(pieces, piece{cs.Report, float64(p.Printed()), cut.Kind == release.CutFlexible})
		}
	}
	for _, m := range materials {
		if m.Process != proc {
			continue
		}
		soft := m.Stiffness == bench.Flexible
		if !slices.ContainsFunc(pieces, func(p piece) bool { return p.soft == soft }) {
			continue
		}
		t := MaterialAmount{Material: m}
		about, least := 0.0, 0.0
		for _, p := range pieces {
			if p.soft != soft {
				continue
			}
			t.Solid += float64(p.count * p.report.Volume)
			most, low := measure.UsualFilling.Extruded(p.report.Volume, p.report.Area)
			about += float64(p.count * most)
			least += float64(p.count * low)
		}
		if proc == bench.Filament {
			t.Filament = measure.FilamentLength(about, measure.FilamentDiameter)
			t.FilamentLeast = measure.FilamentLength(least, measure.FilamentDiameter)
			t.Grams = measure.Grams(about, m.Density)
		} else {
			t.Grams = measure.Grams(t.Solid, m.Density)
			if m.Shrinkage > 0 {
				t.Liquid = measure.LiquidResin(t.Solid, m.Shrinkage)
			}
		}
		a.Materials = append(a.Materials, t)
	}
	return a
}
