package measure

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"cardback/internal/measure/thin"
	"cardback/internal/words"
)

// An STL file states no unit, and one that was drawn in inches, centimetres or metres
// comes out too small. Alone, a part is pointed out where nothing of its size could be
// printed as it is drawn; a release knows more (verdict.unitFindings).
const (
	// smallestExtent and largestExtent, in mm, bound what is taken for a size in
	// millimetres without a remark: common practice, no source.
	smallestExtent, largestExtent = 2, 1000

	// likelyExtent, in mm, is a usual size; a unit that makes a part as large is
	// named before others that do not.
	likelyExtent = 5

	// detailedExtent, in mm, is the size up to which detail is looked at: a part of
	// 1000 mm in inches. Above it nothing that is drawn in inches would be printed whole.
	detailedExtent = 40

	// thinnestDrawn, in mm, is less than any published guide has a wall: 0.4 supported
	// in resin is the least (check values 4.6), and real tubes of 0.3 print. A part
	// of which a quarter of the surface lies over less is drawn at another size.
	thinnestDrawn, thinShare = 0.25, 0.25

	// narrowestHole, in mm, is the least that any published guide lets stay open
	// (resin, check values 4.6).
	narrowestHole = 0.5

	// tinyExtent, in mm, is the largest extent of a part, and fineWall and finestSide,
	// in mm, how thick it is over a twentieth of its surface and how wide its triangles
	// are on average, that together are finer than printers print (a resin pixel, and
	// half the least wall; common practice, no source): a part that small is drawn
	// coarsely if it was meant to be.
	tinyExtent, fineWall, fineShare, finestSide = 12, 0.2, 0.05, 0.05

	// mostlyHull is the share of its convex hull from which on a body counts as convex:
	// a ball of 500 facets, or rounding, keeps more.
	mostlyHull = 0.98
)

// unitOfLength is one that a file may be in.
type unitOfLength struct {
	name string
	mm   float64
}

var otherUnitsOfLength = []unitOfLength{{"centimetres", 10}, {"inches", 25.4}, {"metres", 1000}}

// units points out a size that makes another unit than the millimetre likely,
// with the units that would bring it between the bounds.
func units(found *findings, r *Report) {
	size := r.Bounds.Size()
	extent := max(size.X, size.Y, size.Z)
	switch {
	case extent == 0:
	case extent > largestExtent:
		hint := "check that the file is in millimetres."
		if in := extent / 1000; in >= smallestExtent {
			hint = fmt.Sprintf("if the file is in micrometres, the part is %s mm.", words.Significant(in, 3))
		}
		found.say(Caution, "large", "The largest extent is %s mm, more than common plates hold: %s", words.Significant(extent, 3), hint)
	case extent < smallestExtent:
		hint := "."
		if g := otherUnits(extent); g != "" {
			hint = ", such as " + g + "."
		}
		found.say(Caution, "small", "The largest extent is %s mm, and it would print that small: the file may be in another unit%s", words.Significant(extent, 3), hint)
	case extent <= detailedExtent && r.Area > 0:
		if why := tooFine(r, extent); len(why) > 0 {
			found.say(Caution, "fine-for-its-size", "The largest extent is %s mm, and %s: no printer makes that. If the file is in another unit, such as %s, it would print far too small.", words.Significant(extent, 3), strings.Join(why, ", "), otherUnits(extent))
		}
	}
}

// tooFine says what of a part is finer than any printer makes it.
func tooFine(r *Report, extent float64) []string {
	var why []string
	// Where surfaces cross, rays say little about the solid: it has to be thin by its
	// volume too, which over half its area is the thickness of a plate.
	slight := r.Solid() && r.Volume > 0 && 2*r.Volume/r.Area < 2*thinnestDrawn
	if wall, ok := thicknessAt(&r.Thin, thinShare); ok && slight && wall < thinnestDrawn {
		why = append(why, fmt.Sprintf("a quarter of its surface lies over less than %s mm of solid", words.Significant(wall, 3)))
	}
	if n := len(r.Bores.Holes); n > 0 {
		least := math.Inf(1)
		for _, h := range r.Bores.Holes {
			least = min(least, h.Diameter)
		}
		if least < narrowestHole {
			why = append(why, fmt.Sprintf("its narrowest round hole is %s mm across", words.Significant(least, 3)))
		}
	}
	if extent <= tinyExtent {
		// Beside the edges of a convex body every solid is thin; it has no walls.
		hollowed := r.Volume < mostlyHull*r.HullVolume
		if wall, ok := thicknessAt(&r.Thin, fineShare); ok && slight && hollowed && wall < fineWall && len(why) == 0 {
			why = append(why, fmt.Sprintf("a twentieth of its surface lies over less than %s mm of solid", words.Significant(wall, 3)))
		}
		// The side of an equilateral triangle of the mean area.
		if side := math.Sqrt(4 / math.Sqrt(3) * r.Area / float64(r.Triangles)); side < finestSide {
			why = append(why, fmt.Sprintf("its triangles are %s mm wide on average", words.Significant(side, 3)))
		}
	}
	return why
}

// thicknessAt is how far the solid goes in at a share of the surface.
func thicknessAt(r *thin.Report, share float64) (float64, bool) {
	i := slices.Index(thin.Levels, share)
	if i < 0 || i >= len(r.Ray) {
		return 0, false
	}
	return r.Ray[i], true
}

// otherUnits lists the units that would make a small extent usual, or else possible.
func otherUnits(extent float64) string {
	for _, least := range []float64{likelyExtent, smallestExtent} {
		var guesses []string
		for _, u := range otherUnitsOfLength {
			if in := extent * u.mm; in >= least && in <= largestExtent {
				guesses = append(guesses, fmt.Sprintf("%s (%s mm)", u.name, words.Significant(in, 3)))
			}
		}
		if len(guesses) > 0 {
			return strings.Join(guesses, " or ")
		}
	}
	return ""
}
