package meshtest

import (
	"math"

	"cardback/internal/mesh"
)

// Spiral spreads n directions evenly over the sphere, by equal steps of height
// and the golden angle.
func Spiral(i, n int) mesh.Vec {
	z := 1 - (2*float64(i)+1)/float64(n)
	return Polar(math.Sqrt(1-z*z), float64(i)*math.Pi*(3-math.Sqrt(5)), z)
}
