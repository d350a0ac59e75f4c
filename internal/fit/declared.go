package fit

import (
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
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
	if declared == identity || len(hull) == 0 || notLengths(hull, p) != "" {
		res := Fit(ctx, hull, p)
		return res.beside(res.Verdict == AsSupplied || res.Verdict == Turned, res.LargestScale)
	}
	if !isRotation(declared) {
		res := Fit(ctx, hull, p)
		res.Declared = true
		res.Reason += " The recommended orientation is no rotation."
		return res
	}
	stood := make([]mesh.Vec, len(hull))
	for i, v := range hull {
		stood[i] = Apply(declared, v)
	}
	res, _, _, _ := fitTurned(stood, p)
	kept := res.LargestScale
	if res.Verdict.Fits() {
		how := "at its recommended tilt"
		if res.Verdict == Turned {
			res.Verdict = RecommendedTurned
			how += ", turned " + degText(res.TurnDeg)
		} else {
			res.Verdict = Recommended
		}
		rot := product(res.Rotation, declared)
		pt := newPart(hull, p.usable(), p.Round)
		spare := pt.spare(rot)
		if spare >= -pt.slop {
			res.Rotation, res.Extents = withoutMinusZero(rot), pt.extentsIn(rot)
			res.Reason = "Fits " + how + ", with " + spareText(spare) + " to spare."
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

// notTurning is how far the rows of a declared matrix may be from an
// orthonormal frame: far above the rounding of sines and cosines, far below what
// would change 1 m by 1e-6 mm.
const notTurning = 1e-12

func isRotation(m [9]float64) bool {
	x, y, z := mesh.Vec{X: m[0], Y: m[1], Z: m[2]}, mesh.Vec{X: m[3], Y: m[4], Z: m[5]}, mesh.Vec{X: m[6], Y: m[7], Z: m[8]}
	for _, off := range [...]float64{x.Dot(x) - 1, y.Dot(y) - 1, z.Dot(z) - 1, x.Dot(y), y.Dot(z), z.Dot(x), x.Cross(y).Dot(z) - 1} {
		if !(math.Abs(off) <= notTurning) {
			return false
		}
	}
	return true
}

// product is the rotation by b followed by that by a.
func product(a, b [9]float64) (out [9]float64) {
	for i := range 3 {
		for j := range 3 {
			v := mesh.Vec{X: a[3*i], Y: a[3*i+1], Z: a[3*i+2]}
			out[3*i+j] = v.Dot(mesh.Vec{X: b[j], Y: b[3+j], Z: b[6+j]})
		}
	}
	return out
}

// Tilted is the rotation by deg degrees about the x or y axis, by the
// right-hand rule, exact for right angles: what a part's notes call its tilt.
func Tilted(deg float64, aboutY bool) [9]float64 {
	m := aboutVertical(deg)
	c, s := m[0], m[3]
	if aboutY {
		return withoutMinusZero([9]float64{c, 0, s, 0, 1, 0, -s, 0, c})
	}
	return withoutMinusZero([9]float64{1, 0, 0, 0, c, -s, 0, s, c})
}

// Otherwise reports whether the part fits, but not in the orientation recommended
// for it.
func (r Result) Otherwise() bool { return r.Verdict.Fits() && r.Declared && !r.Keeps }

// FirstWay picks the way in which something is printed, of several that would do,
// each told by how its parts fit: the first whose parts all keep the orientations
// recommended for them, since a fit that ruins the print is no fit; failing that,
// the first whose parts fit at all. It is false where there is none.
func FirstWay(ways [][]Result) (i int, ok bool) {
	keeps := func(r Result) bool { return r.Verdict.Fits() && !r.Otherwise() }
	for _, pass := range [...]func(Result) bool{keeps, func(r Result) bool { return r.Verdict.Fits() }} {
		for i, way := range ways {
			if !slices.ContainsFunc(way, func(r Result) bool { return !pass(r) }) {
				return i, true
			}
		}
	}
	return 0, false
}
