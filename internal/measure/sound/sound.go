// Package sound finds what is wrong with a surface, and where: triangles that
// cross (Cross), shells that lie in each other or run the wrong way (Nest), seams
// that look closed and are not (Crack), and where the edges and triangles are
// that mesh.Topology only counts (Spot).
//
// Whether triangles meet, and on which side of a surface a point lies, is decided
// by exact predicates, never by a tolerance. Tolerances are met in Crack alone,
// which asks what was meant rather than what is; they are derived there.
//
// Every answer is the same to the last bit on any number of processors. Work is
// bounded on any input, and where a bound was reached the answer says so.
// Nothing is ever mended.
package sound

import "cardback/internal/mesh"

// MostPlaces is how many places of each kind are given; all are counted.
const MostPlaces = 20

// Crossing is a pair of triangles that meet otherwise than along what they share.
type Crossing struct {
	Triangles [2]int32 // by number, the lesser first
	At        mesh.Vec // a point of both, in mm, each coordinate rounded once
	Touch     bool     // they meet without passing through each other
}

// Crossings are all such pairs of a mesh.
type Crossings struct {
	Count    int        // pairs, touching ones included
	Touching int        // of these, pairs that touch only
	Within   int        // pairs that pass through each other and belong to one shell
	Places   []Crossing // up to MostPlaces, spread over the surface, crossing ones first
	// Partial says that looking ended at its bound, so that there are at least
	// Count pairs: see ration. Looked is how many pairs of triangles whose boxes meet
	// were looked at then, and Past where the last of them was.
	Partial bool
	Looked  int
	Past    *mesh.Vec
}

// Shell is one connected piece of surface, told by a triangle of it.
type Shell struct {
	Number    int      // as in mesh.Topology.ShellOf
	Triangles int      // that it has
	Volume    float64  // signed, mm³
	At        mesh.Vec // a corner of it, mm
}

// Shells says how the closed shells of a mesh lie in each other. Open shells,
// shells that are not wound one way throughout and shells without volume are in
// none of the lists. Lists of shells are whole; of pairs they hold up to
// MostPlaces, and all are counted.
type Shells struct {
	Cavities []Shell // run inward, inside a solid: a hollow
	Inverted []Shell // run inward, not inside any solid: inside out
	Buried   []Shell // run outward, wholly inside a solid
	Reversed []Shell // run outward, inside one that is inverted: a hollow of what is inside out as a whole
	Breaking []Shell // run inward and cross an outward shell: a hollow that breaks the surface
	// Overlapping are pairs of outward shells that have room in common and cross
	// or touch; Coincident pairs that are the same surface twice, whichever way
	// wound. Of several coincident shells, each is paired with the first.
	Overlapping, Coincident [][2]Shell

	OverlapPlaces                     []mesh.Vec // a point of both, for each of Overlapping
	OverlappingCount, CoincidentCount int
	// Undecided shells run inward, and whether inside a solid could not be told:
	// they touch other shells wherever they were looked at, or lie behind more
	// surface than is looked through.
	Undecided int
	// Partial says that looking for overlaps ended at its bound (see ration), or for
	// what lies around some shell (see mostPassed).
	Partial bool
}

// Cracks are places where a surface does not close though it looks closed.
type Cracks struct {
	TJunctions     int        // vertices of an open border that lie within another border edge
	TPlaces        []mesh.Vec // up to MostPlaces
	NearDuplicates int        // vertices of an open border with another one closer than Weld
	NearPlaces     []mesh.Vec // up to MostPlaces
	// Weld is the tolerance in mm that would join the near duplicates and nothing
	// else; zero where there are none, or where no tolerance would do that.
	Weld float64
	// Partial says that looking ended at its bound, so that there may be more.
	Partial bool
}
