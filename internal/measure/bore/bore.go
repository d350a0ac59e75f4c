// Package bore finds round holes and pins: the parts of a mesh's surface that are
// cylinders about an axis, seen from inside or from outside.
package bore

import (
	"context"
	"math"

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
}

// Find looks for them.
func Find(ctx context.Context, t *tree.Tree) (Report, error) {
	f, err := find(ctx, t)
	if err != nil {
		return Report{}, err
	}
	return f.report(), nil
}

func find(ctx context.Context, t *tree.Tree) (*finder, error) {
	s, err := newSurface(ctx, t.Mesh)
	if err != nil {
		return nil, err
	}
	n := len(t.Mesh.Triangles)
	f := &finder{surface: s, tree: t, stamp: make([]int32, n), trials: make([]uint8, n), verdict: map[string]int{}}
	for i := range int32(n) {
		if i%1024 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if f.trials[i] >= trials || !f.sure(i) {
			continue
		}
		for k := range 3 {
			over := f.across[3*int(i)+k]
			if over>>1 < i || f.trials[i] >= trials || f.trials[over>>1] >= trials || !f.sure(over>>1) {
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
			e := &t.Mesh.Triangles[i]
			// Edges of prisms run along the axis.
			along := unit(t.Mesh.Vertices[e[(k+1)%3]].Sub(t.Mesh.Vertices[e[k]]))
			f.tryAxis(i, along, math.Copysign(1, bend))
		}
	}
	if err := f.patches(ctx); err != nil {
		return nil, err
	}
	f.joinParts()
	return f, nil
}
