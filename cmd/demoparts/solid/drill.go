package solid

import (
	"math"

	"cardback/internal/mesh"
)

// drillSides is the number of sides of a drilled hole. A hole is drawn round
// its rod, not inside it: the sides touch the stated diameter, so that a rod
// of exactly that diameter passes (the corners stand 0.9 % further out).
const drillSides = 24

// Drill takes away a hole of free diameter d from one point to another. Let it
// begin and end outside the solid for a hole that goes through.
func Drill(m *mesh.Mesh, from, to mesh.Vec, d float64) *mesh.Mesh {
	return Subtract(m, Rod(from, to, d, drillSides))
}

// Rod is a prism of n sides that touch the diameter d, between two points.
func Rod(from, to mesh.Vec, d float64, n int) *mesh.Mesh {
	return Tube([]mesh.Vec{from, to}, n, d/2/math.Cos(math.Pi/float64(n)))
}
