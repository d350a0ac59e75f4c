package sound

import (
	"context"

	"cardback/internal/mesh"
)

// OpenEdge is an edge with one triangle, which runs along it from From to To.
type OpenEdge struct {
	From, To uint32
	Triangle int32
}

// Balance is what the edges of a mesh come to for what they enclose.
type Balance struct {
	Open []OpenEdge // by lower vertex and then by upper one
	// Uneven is the number of edges that are not run along as often one way as the
	// other, open ones included: where there are none, the surface is the boundary
	// of a solid, though three or more triangles may meet at an edge.
	Uneven int
	// Inconsistent is the number of edges with two triangles that run along it the
	// same way.
	Inconsistent int
}

// BalanceOf looks at every edge once. The error is the context's.
func BalanceOf(ctx context.Context, m *mesh.Mesh) (Balance, error) {
	var b Balance
	err := eachEdge(ctx, m, func(lower, upper uint32, sides []sided) {
		net := 0
		for _, s := range sides {
			if s.downward() {
				net--
			} else {
				net++
			}
		}
		if net != 0 {
			b.Uneven++
		}
		switch {
		case len(sides) == 2 && net != 0:
			b.Inconsistent++
		case len(sides) == 1 && net > 0:
			b.Open = append(b.Open, OpenEdge{lower, upper, sides[0].triangle()})
		case len(sides) == 1:
			b.Open = append(b.Open, OpenEdge{upper, lower, sides[0].triangle()})
		}
	})
	return b, err
}

// EachJoint calls f for every edge with exactly two triangles: which they are, and
// whether they face the same way there. The error is the context's.
func EachJoint(ctx context.Context, m *mesh.Mesh, f func(a, b int32, agree bool)) error {
	return eachEdge(ctx, m, func(lower, upper uint32, sides []sided) {
		if len(sides) == 2 {
			f(sides[0].triangle(), sides[1].triangle(), sides[0].downward() != sides[1].downward())
		}
	})
}
