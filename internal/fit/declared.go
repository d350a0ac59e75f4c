package fit

import (
	"context"

	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
	"cardback/internal/words"
)

// FitDeclared answers as Fit does for a part whose designer recommends an
// orientation: declared brings the part from its file's orientation into that
// one (row-major, as Result.Rotation; the identity if it is recommended as
// supplied). Standing so it is tried first, as it is and turned about the
// vertical, which keeps what the recommendation is for; only then comes Fit.
// Result.Keeps tells which it was.
//
// A declared matrix that is no rotation, to within notTurning, is not tried, and
// the reason says so.
func FitDeclared(ctx context.Context, hull []mesh.Vec, p Plate, declared [9]float64) Result {
	if declared == rotation.Identity || len(hull) == 0 || notFit(hull, p) != "" {
		res := Fit(ctx, hull, p)
		return res.beside(res.Verdict == AsSupplied || res.Verdict == Turned, res.LargestScale)
	}
	if !rotation.IsRotation(declared) {
		res := Fit(ctx, hull, p)
		res.Declared = true
		res.Reason += " The recommended orientation is no rotation."
		return res
	}
	stood := make([]mesh.Vec, len(hull))
	for i, v := range hull {
		stood[i] = rotation.Apply(declared, v)
	}
	res, _, _, _ := fitTurned(stood, p)
	kept := res.LargestScale
	if res.Verdict.Fits() {
		how := "at its recommended tilt"
		if res.Verdict == Turned {
			res.Verdict = RecommendedTurned
			how += ", turned " + words.Degrees(res.TurnDeg)
		} else {
			res.Verdict = Recommended
		}
		rot := rotation.Product(res.Rotation, declared)
		pt := posture.NewPart(hull, p.Usable(), p.Round)
		clearance := pt.Clearance(rot)
		if clearance >= -pt.Slop {
			res.Rotation, res.Extents = rotation.WithoutMinusZero(rot), pt.ExtentsIn(rot)
			res.Reason = "Fits " + how + ", with " + SpareText(clearance) + " to spare."
			res.LargestScale = fileScale(hull, p)
			return res.beside(true, kept)
		}
		// The two roundings differ where the last digits decide; then it does
		// not fit as far as anyone can check.
	}
	return Fit(ctx, hull, p).beside(false, kept)
}

// fileScale is Result.LargestScale, which is for the file's orientation.
func fileScale(hull []mesh.Vec, p Plate) float64 {
	res, _, _, _ := fitTurned(hull, p)
	return res.LargestScale
}

// beside adds to an answer what it means for the recommended orientation.
func (r Result) beside(keeps bool, kept float64) Result {
	r.Declared, r.Keeps, r.LargestKept = true, keeps, kept
	if r.Verdict.Fits() && !keeps {
		r.Reason += " That is not its recommended orientation, in which it does not fit, however turned."
	}
	return r
}

// Otherwise reports whether the part fits, but not in the orientation recommended
// for it.
func (r Result) Otherwise() bool { return r.Verdict.Fits() && r.Declared && !r.Keeps }
