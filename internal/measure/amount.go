package measure

import "math"

// VatShrinkage is the share of its volume that liquid acrylate resin loses as it
// cures: 7.28 %, measured on a model resin; eight commercial ones lost 7.66 to
// 11.2 % (Polymers 17(5) 610, 2025). Liquid is therefore some 8 to 13 % more than
// the solid it makes.
const VatShrinkage = 0.0728

// liquidResin is the liquid that cures to the given solid volume, in the same
// unit, where curing takes the share shrinkage (from 0 up to, not including, 1)
// of the liquid's volume. Supports, and what is left in the vat or washed off,
// are not in it.
func liquidResin(solid, shrinkage float64) float64 { return solid / (1 - shrinkage) }

// Grams is the mass of mm3 cubic millimetres at density g/cm³.
func Grams(mm3, density float64) float64 { return float64(mm3*density) / 1000 }

// Stock is what amounts are reckoned with.
type Stock struct {
	Shrinkage       float64 // of liquid resin, a share of its volume
	ResinDensity    float64 // cured, g/cm³
	FilamentDensity float64 // g/cm³
	Diameter        float64 // of the filament, mm
	Filling         Filling
}

// UsualStock is a cured rigid resin of 1.18 g/cm³ (common practice, no source)
// and a PLA of 1.24 g/cm³ (published filament tables).
var UsualStock = Stock{Shrinkage: VatShrinkage, ResinDensity: 1.18, FilamentDensity: 1.24, Diameter: FilamentDiameter, Filling: UsualFilling}

// FilamentDiameter is the usual filament's, in mm.
const FilamentDiameter = 1.75

// FilamentLength is how much filament of the given diameter holds the volume:
// V / (πd²/4), in mm for mm³ and mm. A diameter 0.05 off 1.75 mm moves it by
// about 6 %.
func FilamentLength(volume, diameter float64) float64 {
	return volume / (math.Pi * float64(diameter*diameter) / 4)
}

// Filling is how a filament print is filled: a solid shell along the whole
// surface, top and bottom included, and inside it a pattern that takes up a share
// of the room.
type Filling struct {
	Lines     int     // side by side in the shell
	LineWidth float64 // mm
	Infill    float64 // share of the core's volume, from 0 to 1
}

// UsualFilling is two lines of 0.45 mm and 15 % infill (common practice, no
// source).
var UsualFilling = Filling{Lines: 2, LineWidth: 0.45, Infill: 0.15}

// Shell is the shell's thickness in mm.
func (f Filling) Shell() float64 { return float64(float64(f.Lines) * f.LineWidth) }

// Extruded is about how many mm³ of filament a solid of the given volume and
// area takes: V_shell + Infill·V_core, with V_shell = min(volume, area·shell)
// and V_core the rest. It is never under least.
//
// area·shell counts the shell twice along convex edges and where it meets itself
// in thin places, and too little along inward edges, in holes and on hollows. For
// a sphere of radius r and a shell t it is r²t against the true r²t − rt² + t³/3,
// over by t/r: a tenth for r = 9 and t = 0.9 mm. For a box a·b·c it is over by
// 4t²(a+b+c) − 8t³. For a plate thinner than 2t it is exact.
//
// least holds for any solid: the core (what is farther than t from the surface)
// grown by a ball of radius t lies inside the solid, so by the Brunn-Minkowski
// inequality ∛V_core ≤ ∛V − t·∛(4π/3). A sphere reaches it. The solid volume
// itself is the other bound.
//
// Supports, skirts and purged filament are not in it. A volume of zero or less
// takes nothing.
func (f Filling) Extruded(volume, area float64) (about, least float64) {
	if volume <= 0 {
		return 0, 0
	}
	t := f.Shell()
	fill := func(shell float64) float64 { return shell + float64(f.Infill*(volume-shell)) }
	core := max(math.Cbrt(volume)-float64(t*math.Cbrt(4*math.Pi/3)), 0)
	least = fill(volume - float64(core*float64(core*core)))
	return max(fill(min(volume, float64(area*t))), least), least
}
