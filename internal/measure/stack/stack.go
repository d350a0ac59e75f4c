// Package stack follows the solid and the empty regions from layer to layer.
package stack

import (
	"context"

	"cardback/internal/mesh"
)

// Island is a region of a layer with nothing under it.
type Island struct {
	At    mesh.Vec // mm, a point of it, at the layer's height
	Area  float64  // mm², in the layer where it begins
	Layer int      // from 0
}

// Hollow is an empty region that the solid closes off.
type Hollow struct {
	At     mesh.Vec // mm, its end: the top of a cup, the bottom of a well
	Rim    float64  // mm, the height z at which it opens; of a trapped volume its other end
	Volume float64  // mm³
}

// Report is what a stack of layers holds. The plate is at the least z.
type Report struct {
	Islands []Island
	// Cups are closed at the top and open downwards, towards the plate: air and
	// resin are caught under their roof.
	Cups []Hollow
	// Wells are closed at the bottom and open upwards: a printer that hangs the
	// part upside down over a film draws suction in them.
	Wells []Hollow
	// Trapped are closed all round.
	Trapped []Hollow
}

// Of looks through m as it lies, in layers of the given height in mm.
func Of(ctx context.Context, m *mesh.Mesh, layer float64) (Report, error) { panic("to be written") }
