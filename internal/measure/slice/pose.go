package slice

import (
	"fmt"
	"math"

	"cardback/internal/mesh"
)

// Pose is how a part is tilted before it is printed: by Tilt degrees about the x
// or y axis, by the right-hand rule. The zero Pose is as supplied.
type Pose struct {
	Tilt  float64
	About string // "x" or "y"; "" with no tilt
}

// String is the pose in words: "as supplied", "45° about y".
func (p Pose) String() string {
	if p.Tilt == 0 {
		return "as supplied"
	}
	return fmt.Sprintf("%v° about %s", p.Tilt, p.About)
}

// check refuses what is no pose.
func (p Pose) check() error {
	switch {
	case math.IsNaN(p.Tilt) || math.IsInf(p.Tilt, 0):
		return fmt.Errorf("slice: a tilt of %v degrees is not an angle", p.Tilt)
	case p.Tilt != 0 && p.About != "x" && p.About != "y":
		return fmt.Errorf(`slice: a part is tilted about "x" or "y", not about %q`, p.About)
	}
	return nil
}

// Apply turns the mesh about the origin; the zero Pose, or any that is no pose,
// returns m itself. Quarter turns are exact; other corners are within 3 units in
// the last place of the larger of their two turned coordinates.
func (p Pose) Apply(m *mesh.Mesh) *mesh.Mesh {
	if p.Tilt == 0 || p.check() != nil {
		return m
	}
	t := p.turn(mesh.Vec{})
	out := &mesh.Mesh{Vertices: make([]mesh.Vec, len(m.Vertices)), Triangles: m.Triangles}
	for i, v := range m.Vertices {
		out.Vertices[i] = t.point(v)
	}
	return out
}

// turn is a pose ready for use: it takes points relative to a centre.
type turn struct {
	centre   mesh.Vec
	sin, cos float64
	aboutY   bool
}

func (p Pose) turn(centre mesh.Vec) turn {
	sin, cos := sinCos(p.Tilt)
	return turn{centre, sin, cos, p.About == "y"}
}

func (t *turn) point(p mesh.Vec) mesh.Vec {
	x, y, z := p.X-t.centre.X, p.Y-t.centre.Y, p.Z-t.centre.Z
	if t.aboutY {
		return mesh.Vec{X: float64(t.cos*x) + float64(t.sin*z), Y: y, Z: float64(t.cos*z) - float64(t.sin*x)}
	}
	return mesh.Vec{X: x, Y: float64(t.cos*y) - float64(t.sin*z), Z: float64(t.sin*y) + float64(t.cos*z)}
}

// sinCos is the sine and cosine of an angle in degrees, exact at quarter turns.
// The series is written out, and not left to package math, so that no processor
// fuses its products: areas must not differ between machines. On ±45° the last
// term taken is below 10⁻²⁰, so the error is that of the roundings, under 2u.
func sinCos(degrees float64) (sin, cos float64) {
	rest := math.Remainder(degrees, 90) // exact, in ±45
	x := float64(rest * (math.Pi / 180))
	square := float64(x * x)
	sin, cos = x, 1
	odd, even := x, 1.0
	for k := 1.0; k < 10; k++ {
		even = -float64(even*square) / ((2*k - 1) * (2 * k))
		odd = -float64(odd*square) / ((2 * k) * (2*k + 1))
		cos += even
		sin += odd
	}
	switch quarter := math.Mod((degrees-rest)/90, 4); quarter {
	case 1, -3:
		sin, cos = cos, -sin
	case 2, -2:
		sin, cos = -sin, -cos
	case 3, -1:
		sin, cos = -cos, sin
	}
	return sin, cos
}
