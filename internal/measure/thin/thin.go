// Package thin finds where a solid is thin.
package thin

import (
	"context"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// Kind tells a wall, thin in one direction, from a pin, thin in two.
type Kind string

const (
	Wall Kind = "wall"
	Pin  Kind = "pin"
)

// Place is a stretch of the solid that is thin.
type Place struct {
	Kind      Kind
	Thickness float64  // mm, the least that is not one noisy triangle's
	At        mesh.Vec // mm: middle of the solid there
	Extent    float64  // mm, the greatest extent of the stretch
	Area      float64  // mm² of surface that belongs to it
}

// Report is how thick a solid is. Lengths are mm.
type Report struct {
	// Places are the thin stretches, thinnest first, walls and pins mixed.
	Places []Place
	// Wall and Pin are the thinnest of each kind, nil where there is none as thin
	// as Limit.
	Wall, Pin *float64
	Limit     float64 // stretches thicker than this are not listed
	// Ray and Ball are the thickness at the quantiles of Levels of the surface's
	// area: along the inward normal, and of the largest ball inside that touches.
	Ray, Ball []float64
	Samples   int
	Spacing   float64 // between samples, about
}

// Levels are the shares of the surface that Ray and Ball are given at.
var Levels = []float64{0.01, 0.05, 0.25, 0.5, 0.75, 0.95}

// Measure samples the surface. It wants a closed, consistently oriented mesh; of
// another it measures what there is.
func Measure(ctx context.Context, t *tree.Tree) (Report, error) { panic("to be written") }
