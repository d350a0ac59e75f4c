// Package fittest has point sets, the hulls of real parts and random rotations for
// the tests of package fit and of those below it.
package fittest

import (
	"math"
	"math/rand/v2"
	"slices"

	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// RandomRotation is uniform over rotations (from a unit quaternion).
func RandomRotation(rng *rand.Rand) [9]float64 {
	var q [4]float64
	var n float64
	for n < 1e-3 {
		n = 0
		for i := range q {
			q[i] = rng.NormFloat64()
			n += q[i] * q[i]
		}
	}
	n = math.Sqrt(n)
	w, x, y, z := q[0]/n, q[1]/n, q[2]/n, q[3]/n
	return [9]float64{
		1 - 2*(y*y+z*z), 2 * (x*y - z*w), 2 * (x*z + y*w),
		2 * (x*y + z*w), 1 - 2*(x*x+z*z), 2 * (y*z - x*w),
		2 * (x*z - y*w), 2 * (y*z + x*w), 1 - 2*(x*x+y*y),
	}
}

func Rotated(pts []mesh.Vec, rot [9]float64) []mesh.Vec {
	out := make([]mesh.Vec, len(pts))
	for i, p := range pts {
		out[i] = rotation.Apply(rot, p)
	}
	return out
}

func Scaled(pts []mesh.Vec, k float64) []mesh.Vec {
	out := make([]mesh.Vec, len(pts))
	for i, p := range pts {
		out[i] = p.Scale(k)
	}
	return out
}

// Ellipsoid is n points spread over an ellipsoid with the given half axes.
func Ellipsoid(n int, a, b, c float64) []mesh.Vec {
	out := make([]mesh.Vec, n)
	for k := range out {
		z := 1 - (2*float64(k)+1)/float64(n)
		r := math.Sqrt(1 - z*z)
		sin, cos := math.Sincos(float64(k) * math.Pi * (3 - math.Sqrt(5)))
		out[k] = mesh.Vec{X: a * r * cos, Y: b * r * sin, Z: c * z}
	}
	return out
}

// Cylinder is an n-sided prism inscribed in a cylinder of radius r along Z.
func Cylinder(n int, r, h float64) []mesh.Vec {
	var out []mesh.Vec
	for k := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		out = append(out, mesh.Vec{X: r * cos, Y: r * sin}, mesh.Vec{X: r * cos, Y: r * sin, Z: h})
	}
	return out
}

// tetrahedron, octahedron and icosahedron have edges of length a.
func Tetrahedron(a float64) []mesh.Vec {
	k := a / (2 * math.Sqrt2)
	return []mesh.Vec{{X: k, Y: k, Z: k}, {X: k, Y: -k, Z: -k}, {X: -k, Y: k, Z: -k}, {X: -k, Y: -k, Z: k}}
}

func Octahedron(a float64) []mesh.Vec {
	k := a / math.Sqrt2
	return []mesh.Vec{{X: k}, {X: -k}, {Y: k}, {Y: -k}, {Z: k}, {Z: -k}}
}

func Icosahedron(a float64) []mesh.Vec {
	phi := (1 + math.Sqrt(5)) / 2
	var out []mesh.Vec
	for _, s := range [2]float64{a / 2, -a / 2} {
		for _, t := range [2]float64{a * phi / 2, -a * phi / 2} {
			out = append(out, mesh.Vec{Y: s, Z: t}, mesh.Vec{X: s, Y: t}, mesh.Vec{X: t, Z: s})
		}
	}
	return out
}

func BoxPoints(x, y, z float64) []mesh.Vec {
	var out []mesh.Vec
	for i := range 8 {
		out = append(out, mesh.Vec{X: x * float64(i&1), Y: y * float64(i>>1&1), Z: z * float64(i>>2&1)})
	}
	return out
}

func Polygon(n int, side float64) []mesh.Vec {
	r := side / (2 * math.Sin(math.Pi/float64(n)))
	var out []mesh.Vec
	for k := range n {
		s, c := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		out = append(out, mesh.Vec{X: r * c, Y: r * s})
	}
	return out
}

// uvBall is a ball of circles of latitude, as most programs make one.
func UVBall(r float64, round, down int) []mesh.Vec {
	out := []mesh.Vec{{Z: r}, {Z: -r}}
	for i := 1; i < down; i++ {
		for j := range round {
			a, b := math.Pi*float64(i)/float64(down), 2*math.Pi*float64(j)/float64(round)
			out = append(out, mesh.Vec{X: r * math.Sin(a) * math.Cos(b), Y: r * math.Sin(a) * math.Sin(b), Z: r * math.Cos(a)})
		}
	}
	return out
}

// LargeParts are those whose points are too many to be looked at one by one.
func LargeParts() map[string][]mesh.Vec {
	rng := rand.New(rand.NewPCG(5, 1))
	lump := make([]mesh.Vec, 12_000)
	for i := range lump {
		lump[i] = mesh.Vec{X: 30 * rng.NormFloat64(), Y: 20 * rng.NormFloat64(), Z: 10 * rng.NormFloat64()}
	}
	return map[string][]mesh.Vec{
		"ball of 15,842 points":      UVBall(15, 120, 133),
		"ball of 30,002 points":      UVBall(40, 200, 151),
		"cylinder of 20,000 sides":   Cylinder(20_000, 20, 30),
		"egg of 10,002 points":       Ellipsoid(10_002, 20, 30, 45),
		"lump, most of it inside":    lump,
		"large ball, 30,002 points":  UVBall(150, 200, 151),
		"box with 12,000 duplicates": slices.Repeat(BoxPoints(10, 20, 30), 1500),
	}
}

// Compose is the rotation by b followed by that by a, apart from the product that is
// tested.
func Compose(a, b [9]float64) [9]float64 {
	var out [9]float64
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				out[3*i+j] += a[3*i+k] * b[3*k+j]
			}
		}
	}
	return out
}

// Nudge is a rotation by up to about step radians about a random axis.
func Nudge(rng *rand.Rand, step float64) [9]float64 {
	q := [4]float64{1, step / 2 * rng.NormFloat64(), step / 2 * rng.NormFloat64(), step / 2 * rng.NormFloat64()}
	n := math.Sqrt(q[0]*q[0] + q[1]*q[1] + q[2]*q[2] + q[3]*q[3])
	w, x, y, z := q[0]/n, q[1]/n, q[2]/n, q[3]/n
	return [9]float64{
		1 - 2*(y*y+z*z), 2 * (x*y - z*w), 2 * (x*z + y*w),
		2 * (x*y + z*w), 1 - 2*(x*x+z*z), 2 * (y*z - x*w),
		2 * (x*z - y*w), 2 * (y*z + x*w), 1 - 2*(x*x+y*y),
	}
}
