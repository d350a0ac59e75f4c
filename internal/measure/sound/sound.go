// Package sound finds what is wrong with a surface, and where.
package sound

import (
	"context"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// MostPlaces is how many places of each kind are given; all are counted.
const MostPlaces = 20

// Crossing is a pair of triangles that meet otherwise than along what they share.
type Crossing struct {
	Triangles [2]int32 // by number, the lesser first
	At        mesh.Vec // a point of both, in mm
	Touch     bool     // they meet without passing through each other
}

// Crossings are all such pairs of a mesh.
type Crossings struct {
	Count    int        // pairs, touching ones included
	Touching int        // of these, pairs that touch only
	Places   []Crossing // up to MostPlaces, spread over the surface
}

// Cross finds the pairs of triangles that cross or touch.
func Cross(ctx context.Context, t *tree.Tree) (Crossings, error) { panic("to be written") }

// Shell is one connected piece of surface, told by a triangle of it.
type Shell struct {
	Number    int      // as in mesh.Topology.ShellOf
	Triangles int      // that it has
	Volume    float64  // signed, mm³
	At        mesh.Vec // a corner of it, mm
}

// Shells says how the closed shells of a mesh lie in each other. Open shells and
// shells without volume are in none of the lists.
type Shells struct {
	Cavities []Shell // run inward, inside a solid: a hollow
	Inverted []Shell // run inward, not inside any solid: inside out
	Buried   []Shell // run outward, wholly inside a solid
	// Overlapping are pairs of outward shells that cross; Coincident pairs that
	// are the same surface twice.
	Overlapping, Coincident [][2]Shell
}

// Nest sorts the shells.
func Nest(ctx context.Context, t *tree.Tree, top mesh.Topology, c Crossings) (Shells, error) {
	panic("to be written")
}

// Cracks are places where a surface does not close though it looks closed.
type Cracks struct {
	TJunctions     int        // vertices of an open border that lie within another border edge
	TPlaces        []mesh.Vec // up to MostPlaces
	NearDuplicates int        // vertices of an open border with another one closer than Weld
	NearPlaces     []mesh.Vec // up to MostPlaces
	// Weld is the tolerance in mm that would join the near duplicates and nothing
	// else; zero where there are none.
	Weld float64
}

// Crack looks along the open borders.
func Crack(ctx context.Context, m *mesh.Mesh) (Cracks, error) { panic("to be written") }
