// Package rotation turns points. A rotation is the matrix that does it, row-major, for
// points as column vectors. Matrices are made so that right angles are exact, and no
// machine fuses a product, so that what is printed of them is the same everywhere.
package rotation

import (
	"math"

	"cardback/internal/mesh"
)

var Identity = [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}

// Apply turns v by a Result's Rotation.
func Apply(rot [9]float64, v mesh.Vec) mesh.Vec {
	return mesh.Vec{
		X: mesh.Vec{X: rot[0], Y: rot[1], Z: rot[2]}.Dot(v),
		Y: mesh.Vec{X: rot[3], Y: rot[4], Z: rot[5]}.Dot(v),
		Z: mesh.Vec{X: rot[6], Y: rot[7], Z: rot[8]}.Dot(v),
	}
}

// AboutVertical is the rotation by deg degrees counter-clockwise about +Z,
// exact for right angles.
func AboutVertical(deg float64) [9]float64 {
	s, c := math.Sincos(deg * math.Pi / 180)
	if quarter := deg / 90; quarter == math.Trunc(quarter) {
		s, c = math.Round(s), math.Round(c)
	}
	return WithoutMinusZero([9]float64{c, -s, 0, s, c, 0, 0, 0, 1})
}

// WithoutMinusZero writes −0 as 0, which JSON would show.
func WithoutMinusZero(rot [9]float64) [9]float64 {
	for i, v := range rot {
		if v == 0 {
			rot[i] = 0
		}
	}
	return rot
}

// notTurning is how far the rows of a declared matrix may be from an
// orthonormal frame: far above the rounding of sines and cosines, far below what
// would change 1 m by 1e-6 mm.
const notTurning = 1e-12

func IsRotation(m [9]float64) bool {
	x, y, z := mesh.Vec{X: m[0], Y: m[1], Z: m[2]}, mesh.Vec{X: m[3], Y: m[4], Z: m[5]}, mesh.Vec{X: m[6], Y: m[7], Z: m[8]}
	for _, off := range [...]float64{x.Dot(x) - 1, y.Dot(y) - 1, z.Dot(z) - 1, x.Dot(y), y.Dot(z), z.Dot(x), x.Cross(y).Dot(z) - 1} {
		if !(math.Abs(off) <= notTurning) {
			return false
		}
	}
	return true
}

// Product is the rotation by b followed by that by a.
func Product(a, b [9]float64) (out [9]float64) {
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
	m := AboutVertical(deg)
	c, s := m[0], m[3]
	if aboutY {
		return WithoutMinusZero([9]float64{c, 0, s, 0, 1, 0, -s, 0, c})
	}
	return WithoutMinusZero([9]float64{1, 0, 0, 0, c, -s, 0, s, c})
}

// InTwelveDecimals hides the last bits, in which machines may differ.
func InTwelveDecimals(rot [9]float64) [9]float64 {
	for i, v := range rot {
		rot[i] = math.Round(v*1e12) / 1e12
	}
	return rot
}
