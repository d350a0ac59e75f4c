package fit

import (
	"math"
	"math/rand/v2"

	"cardback/internal/mesh"
)

// randomRotation is uniform over rotations (from a unit quaternion).
func randomRotation(rng *rand.Rand) [9]float64 {
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

func rotated(pts []mesh.Vec, rot [9]float64) []mesh.Vec {
	out := make([]mesh.Vec, len(pts))
	for i, p := range pts {
		out[i] = Apply(rot, p)
	}
	return out
}

func scaled(pts []mesh.Vec, k float64) []mesh.Vec {
	out := make([]mesh.Vec, len(pts))
	for i, p := range pts {
		out[i] = p.Scale(k)
	}
	return out
}

// ellipsoid is n points spread over an ellipsoid with the given half axes.
func ellipsoid(n int, a, b, c float64) []mesh.Vec {
	out := make([]mesh.Vec, n)
	for k := range out {
		z := 1 - (2*float64(k)+1)/float64(n)
		r := math.Sqrt(1 - z*z)
		sin, cos := math.Sincos(float64(k) * math.Pi * (3 - math.Sqrt(5)))
		out[k] = mesh.Vec{X: a * r * cos, Y: b * r * sin, Z: c * z}
	}
	return out
}

// cylinder is an n-sided prism inscribed in a cylinder of radius r along Z.
func cylinder(n int, r, h float64) []mesh.Vec {
	var out []mesh.Vec
	for k := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		out = append(out, mesh.Vec{X: r * cos, Y: r * sin}, mesh.Vec{X: r * cos, Y: r * sin, Z: h})
	}
	return out
}

// tetrahedron, octahedron and icosahedron have edges of length a.
func tetrahedron(a float64) []mesh.Vec {
	k := a / (2 * math.Sqrt2)
	return []mesh.Vec{{X: k, Y: k, Z: k}, {X: k, Y: -k, Z: -k}, {X: -k, Y: k, Z: -k}, {X: -k, Y: -k, Z: k}}
}

func octahedron(a float64) []mesh.Vec {
	k := a / math.Sqrt2
	return []mesh.Vec{{X: k}, {X: -k}, {Y: k}, {Y: -k}, {Z: k}, {Z: -k}}
}

func icosahedron(a float64) []mesh.Vec {
	phi := (1 + math.Sqrt(5)) / 2
	var out []mesh.Vec
	for _, s := range [2]float64{a / 2, -a / 2} {
		for _, t := range [2]float64{a * phi / 2, -a * phi / 2} {
			out = append(out, mesh.Vec{Y: s, Z: t}, mesh.Vec{X: s, Y: t}, mesh.Vec{X: t, Z: s})
		}
	}
	return out
}
