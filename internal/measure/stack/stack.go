// Package stack follows the solid and the empty regions of a mesh from layer to
// layer: what begins in mid-air, and which hollows the solid closes off. Its
// central type is Report; Of makes one.
//
// The mesh is looked through as it lies, the plate at its least z, in layers cut
// half way up. A layer is sampled along rows, lines of constant y a pitch apart;
// along a row the solid is exact: it is where the winding number of the surface
// is above zero, so overlapping shells are one solid and inward shells inside
// others are cavities. It is the solid of package inside, and gaps that are none there
// are closed along rows; a row or layer that happens to lie within one sees it. Runs of neighbouring rows, and of neighbouring layers in
// the same row, belong together where they share more than a point. All the rest
// follows from what is connected with what, layers being joined upwards for
// islands and wells and downwards for cups. What lies beside the mesh, under its
// first layer and over its last is outside.
//
// Tolerance. A place is known to a layer in height and a pitch across. A volume is
// a sum by the midpoint rule, which errs by at most half a step times the variation
// of what it sums: half a layer times ∫|n_z| and half a pitch times ∫|n_y| over the
// hollow's surface, its open end included; usually it is within a thousandth. Solid
// and gaps thinner than √2 times the greater of layer and pitch may come and go
// between rows and layers: a wall that thin may leak, and islands that thin are
// followed down the mesh so that one is not told many times (see islands.go).
//
// What is too small to report is told at leastVolume, leastDepth and leastIsland.
//
// A row that the surface does not close, as at a hole in an open mesh, is taken
// to be as the row before it. A mesh that is inside out as a whole holds no solid,
// and its Report is empty.
//
// The sweep is the usual one of computational topology: union-find over sublevel
// sets, in which the younger of two regions that meet ends (the elder rule;
// Edelsbrunner and Harer, Computational Topology, 2010, from memory).
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
	// At is its end in mm: the top of a cup, the bottom of a well, the bottom of a
	// trapped volume.
	At     mesh.Vec
	Rim    float64 // mm, the height z at which it opens; of a trapped volume its top
	Volume float64 // mm³, what it holds as far as its rim
}

// Report is what a stack of layers holds. The plate is at the least z.
type Report struct {
	Islands []Island // from the lowest
	// Cups are closed at the top and open downwards, towards the plate: air and
	// resin are caught under their roof. A hollow that stands open on the plate is
	// one, a hole right through is not.
	Cups []Hollow // from the largest, like those below
	// Wells are closed at the bottom and open upwards: a printer that hangs the
	// part upside down over a film draws suction in them.
	Wells []Hollow
	// Trapped are closed all round.
	Trapped []Hollow

	// Layer and Pitch are what was used, in mm: the layer is thicker than was asked
	// for where the mesh would have been too much work (see grid.go). Both are 0
	// if nothing was looked through.
	Layer, Pitch float64
	Layers       int
	// Small is how many hollows were too small to report.
	Small int
}

const (
	// leastVolume of a hollow, mm³, is a ball 1 mm across (0.52 mm³), rounded: less
	// holds half a milligram of resin, and is what the seams of overlapping
	// shells and the roughness of a sculpt enclose (common practice, no source).
	leastVolume = 0.5
	// leastDepth of an island or a hollow, in layers: what is one layer deep may be
	// the roughness of a level surface that happens to lie at a layer's height. So
	// what stands apart by less than a layer is never reported, and what stands
	// apart by two always is. An island stands apart until it meets a region that is
	// held, or is older.
	leastDepth = 2
	// leastIsland is the largest area, mm², that an island must reach before it
	// meets another region: one pixel of a fine mask printer, 0.05 mm wide. No
	// other smallness excuses an island.
	leastIsland = 0.05 * 0.05
)

// Of looks through m as it lies, in layers of the given height in mm, which must be
// above 0. The error is the context's. Coordinates beyond 1e100 mm are not looked
// at.
func Of(ctx context.Context, m *mesh.Mesh, layer float64) (Report, error) {
	g, err := newGrid(ctx, m, layer)
	if err != nil || g.layers() == 0 {
		return Report{}, err
	}
	links, err := g.stack(ctx)
	if err != nil {
		return Report{}, err
	}
	r := Report{Layer: g.layer, Pitch: g.pitch, Layers: g.layers()}
	if r.Islands, err = g.islands(ctx, links); err != nil {
		return Report{}, err
	}
	wells, trapped := fill(links, up)
	cups, _ := fill(links, down)
	r.Wells = g.hollows(wells, up, &r.Small)
	r.Cups = g.hollows(cups, down, &r.Small)
	r.Trapped = g.hollows(trapped, up, &r.Small)
	return r, nil
}
