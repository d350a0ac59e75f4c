package meshtest

import (
	"math"

	"pgregory.net/rapid"

	"cardback/internal/mesh"
)

// DrawCoordinate favours what makes determinants vanish: few values, tiny offsets
// from them, and numbers of very different sizes.
func DrawCoordinate(t *rapid.T) float64 {
	x := float64(rapid.IntRange(-3, 3).Draw(t, "x"))
	switch rapid.IntRange(0, 5).Draw(t, "kind") {
	case 0:
		return x * 0.1
	case 1:
		return x + float64(rapid.IntRange(-4, 4).Draw(t, "steps"))*0x1p-52
	case 2:
		return x * math.Ldexp(1, rapid.IntRange(-120, 120).Draw(t, "scale"))
	case 3:
		return x * math.Ldexp(1, rapid.IntRange(-1000, 300).Draw(t, "scale"))
	}
	return x
}

// DrawPoint is a point of such coordinates.
func DrawPoint(t *rapid.T) mesh.Vec {
	return mesh.Vec{X: DrawCoordinate(t), Y: DrawCoordinate(t), Z: DrawCoordinate(t)}
}
