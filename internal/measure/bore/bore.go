// Package bore finds round holes and pins: the parts of a mesh's surface that are
// cylinders about an axis, seen from inside or from outside. Its central type is
// Report; Find makes one.
//
// A wall is grown over neighbouring triangles that are parallel to an axis and bend
// one way, from an edge that would run along it (walls of flat facets) or from a
// patch whose normals lie nearly in a plane (irregular walls). A cylinder is then
// fitted by least squares to the corners between facets, and the wall is kept if
//
//   - its corners lie within 0.5 % of the radius of it (in irregular walls 2.5 %,
//     and 0.5 % in root mean square), and do not widen along it by 0.5 %: cones,
//     drafted holes of a degree and more, and slots are no cylinders;
//   - it goes 300° round, with no gap above 60° (see leastRound): clips, grooves,
//     fillets and open sockets are not reported. Parts of one wall that are cut
//     apart count together;
//   - it has seven sides or more: hexagons are for nuts and keys;
//   - it is 0.03 of its diameter deep, and no facet of a curved surface: see unlikely and dropHoses.
//
// What is kept is measured on the mesh, and on what its shells make together (package
// inside): the axis has to run free of the solid, so that a plug ends or divides a
// stretch and a hole that another shell fills is none; walls that lie within the solid
// are left out. The free diameter is twice the least distance of any triangle from the
// axis along the stretch. The axis is the fitted
// one; where a wall is uneven another, nearby, may pass a slightly thicker rod (for
// a regular polygon, odd or even, there is none). Diameter is to roundings where corners
// lie on a circle, and otherwise within what the corners are off by.
//
// The search has a budget of work, and Report.Partial says where it was overrun.
//
// What is not found: walls of more than a thousand sides that are not strips from end
// to end, and any of some ten thousand; walls whose triangles have no area or are inside
// out against most others, hollows that are closed at both ends, and recesses round
// something that leaves less than half of the diameter free. In a mesh that is inside
// out as a whole, in and out are exchanged back; in a single such shell they are not.
//
// Sources: Kåsa's circle fit (1976), Gauss and Newton's method, Jacobi's rotations.
package bore

import (
	"context"
	"math"
	"slices"

	"cardback/internal/measure/inside"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/parallel"
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
	Open     [2]bool // the stretch's end towards −Axis and towards Axis is not a floor
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
	// Partial says that the surface asks for more searches than are made (see
	// budget.go): what is listed was found, and there may be more.
	Partial bool
}

// Find looks for them.
func Find(ctx context.Context, t *tree.Tree) (Report, error) {
	f, err := find(ctx, t)
	if err != nil {
		return Report{}, err
	}
	f.ruler = inside.Of(t).Ruler()
	return f.report(), nil
}

// A large mesh is searched in lanes, side by side: each begins at its share of the
// triangles and knows nothing of the others until their walls are put together.
// Their number does not depend on the machine, so that results do not either; it
// is small, since each lane takes 5 bytes a triangle.
const lanes, laneFrom = 2, 1 << 16

func find(ctx context.Context, t *tree.Tree) (*finder, error) {
	s, err := newSurface(ctx, t.Mesh)
	if err != nil {
		return nil, err
	}
	n := len(t.Mesh.Triangles)
	share := n
	if n >= laneFrom {
		share = parallel.Count(n, lanes)
	}
	all := make([]finder, parallel.Count(n, max(share, 1)))
	err = parallel.Pieces(ctx, n, max(share, 1), func(p, lo, hi int) {
		f := &all[p]
		*f = finder{left: workFor(n, parallel.Count(n, max(share, 1))), surface: s, tree: t, stamp: make([]int32, n), trials: make([]uint8, n), verdict: map[string]int{}}
		f.limit = uint8(min(max(visits/n, leastLimit), mostLimit))
		f.creases(ctx, int32(lo), int32(hi))
		f.patches(ctx, int32(lo), int32(hi))
	})
	if err != nil || len(all) == 0 {
		return &finder{surface: s, tree: t}, err
	}
	f := &all[0]
	partial := slices.ContainsFunc(all, func(f finder) bool { return f.spent() })
	clear(f.trials)
	var walls, parts []wall
	for i := range all {
		walls = f.unclaimed(all[i].walls, walls)
		parts = append(parts, all[i].parts...)
		all[i].stamp, all[i].walls = f.stamp, nil
	}
	f.walls, f.parts = walls, f.unclaimed(parts, nil)
	f.left = pairWork
	f.joinParts()
	err = f.dropHoses(ctx)
	f.partial = partial || f.spent()
	return f, err
}

// unclaimed appends those of the walls that share no triangle with an earlier one,
// and claims theirs.
func (f *finder) unclaimed(from, to []wall) []wall {
	for _, w := range from {
		if slices.ContainsFunc(w.region, func(e int32) bool { return f.trials[e>>1] != 0 }) {
			continue
		}
		for _, e := range w.region {
			f.trials[e>>1] = taken
		}
		to = append(to, w)
	}
	return to
}

// creases searches for walls of flat facets from the edges of triangles lo to hi.
func (f *finder) creases(ctx context.Context, lo, hi int32) {
	for i := lo; i < hi; i++ {
		if i%64 == 0 && ctx.Err() != nil || f.spent() {
			return
		}
		if f.trials[i] >= f.limit || !f.sure(i) {
			continue
		}
		for k := range 3 {
			over := f.across[3*int(i)+k]
			if over>>1 < i || f.trials[i] >= f.limit || f.trials[over>>1] >= f.limit || !f.sure(over>>1) {
				continue
			}
			m := f.normalOf(over >> 1)
			if over&1 == 1 {
				m = m.Scale(-1)
			}
			bend := f.bend(i, k, f.normalOf(i), m)
			if size := math.Abs(bend); size < gentlest+float64(f.doubt[i])+float64(f.doubt[over>>1]) || size > sharpest {
				continue
			}
			// Edges of prisms run along the axis.
			t := &f.Triangles[i]
			f.tryAxis(i, unit(f.Vertices[t[(k+1)%3]].Sub(f.Vertices[t[k]])), math.Copysign(1, bend))
		}
	}
}
