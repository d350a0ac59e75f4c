// Package change answers: how do two meshes of a part differ?
//
// Its central type is Change; Compare makes one. It names the least that tells the
// two apart: nothing, another triangulation of the same surface, a move, less than
// the printing tolerance, a mirror image, another size, or a change, with the largest
// and the mean distance between the surfaces and where it is.
//
// Definitions. The distance of a point from a surface is that from the nearest
// point of its triangles. The largest distance of a surface from another is the
// greatest of those of all its points (the directed Hausdorff distance), and
// the mean is weighted by area. Both are taken each way, since a boss that is gone
// is far from the new surface, and nothing of the new surface is far from the old.
//
// Guarantees. Distance.Largest is attained, at Distance.At; Distance.AtMost is
// proved, by branch and bound over the triangles; they differ by at most Tolerance
// unless the budget of work ran out. "Same shape", and every motion, is proved
// likewise, to within Same (or to what 32-bit coordinates are rounded to, where
// the part is so far from the origin that this is more). "Nearly the same" is proved
// to within the printing tolerance. Surfaces so near are of the same solid where they
// enclose volumes that differ by no more than such a distance sweeps, and wind alike
// about the points beside each connected piece, see sameFacing. The mean is sampled.
// The same meshes give the same answer to the last bit, on any number of
// processors.
//
// What it does not promise: that a motion is found where there is one. A body with
// hundreds of corners that are alike, moved and also cut into other triangles, may
// be said to be changed, and then its distances are right.
//
// Sources. Distances over a triangle: Tang, Lee and Kim, Interactive Hausdorff
// distance computation for general polygonal models, 2009 (a triangle's distance
// from one triangle is greatest at a corner). Moments of triangles: integration
// of quadratics, exact.
package change

import (
	"cardback/internal/mesh"
)

// Kind says how two meshes differ; earlier kinds are preferred.
type Kind string

const (
	Unchanged Kind = "unchanged"       // the same fingerprint
	SameShape Kind = "same shape"      // another triangulation of the same surface
	Moved     Kind = "moved"           // turned or shifted or both, and nothing else
	Nearly    Kind = "nearly the same" // by less than the printing tolerance, perhaps moved
	Mirrored  Kind = "mirrored"        // a mirror image, perhaps moved
	Rescaled  Kind = "rescaled"        // another size, perhaps moved or mirrored
	Changed   Kind = "changed"
)

// Same is the distance in mm below which surfaces are the same. Coordinates in
// 32 bits are rounded by less than a tenth of it within 200 mm of the origin,
// and no printer shows a hundred times as much.
const Same = 1e-4

// Cause says what makes a change one.
type Cause string

const (
	ofDistance Cause = ""         // the surfaces are apart
	OfVolume   Cause = "volume"   // they are near each other, and enclose another volume
	OfFacing   Cause = "facing"   // they are near each other, and some of them faces the other way
	OfBudget   Cause = "unproved" // no difference was found, and the search ended before it could be excluded
)

// Change is how a new mesh differs from an old one.
type Change struct {
	Kind  Kind
	Cause Cause // of Changed; empty for all others

	// Motion takes the old mesh to the new one; to within the tolerance for Nearly.
	// For Unchanged, SameShape and Changed it is Still.
	Motion Motion

	// Distances between the surfaces: of the old one's points from the new surface, and
	// of the new one's from the old, where the files place them, but for Nearly with the
	// old one moved first. Zero unless Kind is Changed or Nearly.
	OldToNew, NewToOld Distance

	Old, New Size

	// Tolerance is the printing tolerance that was asked for, mm.
	Tolerance float64
}

// Size is what a mesh encloses, in mm³ and mm². The volume is that of the winding:
// negative for a mesh turned inside out, and of little meaning for an open one.
type Size struct{ Volume, Area float64 }

// Distance is how far one surface is from another, in mm.
type Distance struct {
	Largest float64  // attained at At
	AtMost  float64  // proved; mostly within Tolerance of Largest
	Mean    float64  // weighted by area
	At      mesh.Vec // on the surface that is measured from
	Nearest mesh.Vec // the point of the other surface that is nearest to At
}

// Motion takes a point p to Scale·Matrix·p + Shift.
type Motion struct {
	Matrix [9]float64 // row-major, of columns; a rotation, or one with a mirroring
	Shift  mesh.Vec   // mm
	Scale  float64    // 1 unless rescaled
}

// Still is the motion that moves nothing.
var Still = Motion{Matrix: [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}, Scale: 1}

// Apply is where the motion takes p.
func (m Motion) Apply(p mesh.Vec) mesh.Vec {
	r := &m.Matrix
	return mesh.Vec{
		X: mesh.Vec{X: r[0], Y: r[1], Z: r[2]}.Dot(p),
		Y: mesh.Vec{X: r[3], Y: r[4], Z: r[5]}.Dot(p),
		Z: mesh.Vec{X: r[6], Y: r[7], Z: r[8]}.Dot(p),
	}.Scale(m.Scale).Add(m.Shift)
}

// Mirrors reports whether the motion makes a mirror image.
func (m Motion) Mirrors() bool { return determinant(m.Matrix) < 0 }

func determinant(r [9]float64) float64 {
	a, b, c := mesh.Vec{X: r[0], Y: r[1], Z: r[2]}, mesh.Vec{X: r[3], Y: r[4], Z: r[5]}, mesh.Vec{X: r[6], Y: r[7], Z: r[8]}
	return a.Dot(b.Cross(c))
}

// Largest is the greater of the two largest distances, where it is and on which
// mesh.
func (c *Change) Largest() (d Distance, onNew bool) {
	if c.NewToOld.Largest >= c.OldToNew.Largest {
		return c.NewToOld, true
	}
	return c.OldToNew, false
}

// Shown is what a drawing of both meshes shows best: an offset to look across, and whether
// the largest distance is to be marked in it. Of a mesh that was only moved or rescaled
// the offset is its shift.
func (c *Change) Shown() (offset mesh.Vec, largest Distance, marked bool) {
	largest, _ = c.Largest()
	if c.Kind != Changed || largest.Largest <= Same {
		return c.Motion.Shift, largest, false
	}
	return largest.At.Sub(largest.Nearest), largest, true
}

// Mean is the mean distance over both surfaces together, weighted by their areas.
func (c *Change) Mean() float64 {
	area := c.Old.Area + c.New.Area
	if area == 0 {
		return 0
	}
	return (float64(c.OldToNew.Mean*c.Old.Area) + float64(c.NewToOld.Mean*c.New.Area)) / area
}

// MustReprint reports whether what was printed from the old mesh differs from what
// the new one prints by more than the printing tolerance.
func (c *Change) MustReprint() bool {
	return c.Kind == Mirrored || c.Kind == Rescaled || c.Kind == Changed
}
