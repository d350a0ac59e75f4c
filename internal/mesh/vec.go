package mesh

import "math"

// Vec is a point or direction in millimetres. Products are wrapped in float64
// conversions so that no processor fuses them with a following sum: printed
// numbers, fingerprints and pages must not differ between machines.
type Vec struct{ X, Y, Z float64 }

func (a Vec) Add(b Vec) Vec           { return Vec{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }
func (a Vec) Sub(b Vec) Vec           { return Vec{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }
func (a Vec) Scale(s float64) Vec     { return Vec{float64(a.X * s), float64(a.Y * s), float64(a.Z * s)} }
func (a Vec) Dot(b Vec) float64       { return float64(a.X*b.X) + float64(a.Y*b.Y) + float64(a.Z*b.Z) }
func (a Vec) Norm() float64           { return math.Sqrt(a.Dot(a)) }
func (a Vec) Component(i int) float64 { return [3]float64{a.X, a.Y, a.Z}[i] }

// Cross is the right-handed vector product.
func (a Vec) Cross(b Vec) Vec {
	return Vec{
		float64(a.Y*b.Z) - float64(a.Z*b.Y),
		float64(a.Z*b.X) - float64(a.X*b.Z),
		float64(a.X*b.Y) - float64(a.Y*b.X),
	}
}

// Box is an axis-aligned box; Min and Max are its extreme corners.
type Box struct{ Min, Max Vec }

// Size is the box's extent along each axis, in mm.
func (b Box) Size() Vec { return b.Max.Sub(b.Min) }

// Centre is the middle of the box.
func (b Box) Centre() Vec { return b.Min.Add(b.Max).Scale(0.5) }
