package fit

import (
	"math"

	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
)

// Tolerance is the resolution, in mm, at which CannotFit is proved: no
// orientation leaves Tolerance or more to spare in every direction at once,
// which is to say that the part does not fit on the plate made smaller by
// Tolerance in height and across the footprint. A part that does fit that
// smaller plate is therefore never told that it cannot fit. As supplied and
// turned are decided exactly, not to this resolution.
const Tolerance = 0.1

// MaxScale bounds LargestScale; a part without extent in any direction that
// matters gets it, so that a Result is always finite and survives JSON.
const MaxScale = 1e6

// Plate is a build volume in mm. Its width lies along X, its depth along Y. A
// round plate has Width == Depth == its diameter. Margin is kept free along
// the footprint's edge, not in height.
type Plate struct {
	Width, Depth, Height float64
	Margin               float64
	Round                bool
}

// Usable is what the margin leaves: the extents a part may have.
func (p Plate) Usable() mesh.Vec {
	return mesh.Vec{X: p.Width - 2*p.Margin, Y: p.Depth - 2*p.Margin, Z: p.Height}
}

// Flaw says in a sentence what of the plate is no length, if anything.
func (p Plate) Flaw() string {
	room := p.Usable()
	if !(max(math.Abs(room.X), math.Abs(room.Y), math.Abs(room.Z)) <= posture.Farthest) {
		return "The plate has a dimension that is not a length."
	}
	if p.Margin < 0 {
		return "The plate's margin is below zero."
	}
	return ""
}

// Verdict says whether and how a part fits on a plate.
type Verdict string

const (
	AsSupplied Verdict = "as supplied" // in the file's own orientation
	Turned     Verdict = "turned"      // turned about the vertical
	Tipped     Verdict = "tipped"      // in the orientation given by Rotation
	// Recommended and RecommendedTurned are FitDeclared's alone: at the tilt that
	// the part's designer recommends, as it then stands or turned besides.
	Recommended       Verdict = "as recommended"
	RecommendedTurned Verdict = "as recommended, turned"
	CannotFit         Verdict = "cannot fit" // proved, to within Tolerance
	Undecided         Verdict = "undecided"  // neither found nor excluded within the budget
)

// Fits reports whether v is one of the verdicts that come with an orientation.
func (v Verdict) Fits() bool {
	switch v {
	case AsSupplied, Turned, Tipped, Recommended, RecommendedTurned:
		return true
	}
	return false
}

// Result is the answer for one part and one plate. All its numbers are finite.
type Result struct {
	Verdict Verdict
	// TurnDeg is counter-clockwise about +Z, for Turned, and for
	// RecommendedTurned after the recommended tilt; [0, 180).
	TurnDeg float64
	// Rotation is the orientation found, row-major, to be applied to the
	// part's points as column vectors; the identity for AsSupplied and where
	// nothing fits.
	Rotation [9]float64
	Extents  mesh.Vec // of the part in that orientation
	// LargestScale is the greatest uniform scale at which the part fits on
	// this plate as supplied or turned: 1.25 is 125 %. At most MaxScale; 0
	// where the margin leaves nothing of the plate.
	LargestScale float64
	// Declared says that the part has a recommended orientation (FitDeclared), and
	// Keeps that the fit keeps it, but for a turn about the vertical. LargestKept
	// is the greatest scale at which it would.
	Declared    bool
	Keeps       bool
	LargestKept float64
	Tolerance   float64 // mm within which a CannotFit is proved
	Reason      string  // one plain sentence: what decided
}
