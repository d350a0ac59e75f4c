// Package bore finds round holes and pins.
package bore

import (
	"context"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// Hole is one cylindrical stretch of a hole. A stepped hole comes as several, on
// one axis and with one Group.
type Hole struct {
	Axis     mesh.Vec // unit
	Centre   mesh.Vec // mm, on the axis, half way down
	Depth    float64  // mm, along the axis
	Diameter float64  // mm, of the least-squares cylinder through the corners
	// Free is the diameter in mm of the largest cylinder on that axis that passes
	// along the stretch; for an n-gon inscribed in a circle, Diameter·cos(π/n).
	Free     float64
	Residual float64 // mm, root mean square distance of the corners from the cylinder
	Through  bool    // the hole, all its steps taken together, is open at both ends
	Stepped  bool    // it has further steps
	Group    int     // steps of one hole share a number
}

// Pin is a cylindrical stretch that stands out.
type Pin struct {
	Axis, Centre               mesh.Vec
	Length, Diameter, Residual float64
}

// Report is what was found, in an order that does not depend on the order of
// triangles where geometry can tell holes apart.
type Report struct {
	Holes []Hole
	Pins  []Pin
}

// Find looks for them.
func Find(ctx context.Context, t *tree.Tree) (Report, error) { panic("to be written") }
