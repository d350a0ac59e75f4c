package sound

import (
	"context"
	"slices"

	"cardback/internal/mesh"
)

// Spots are places for what mesh.Topology and others only count: the first of each
// kind by number, in mm; nil where there is none.
type Spots struct {
	OpenEdge         *mesh.Vec // the middle of an edge with one triangle
	NonManifoldEdge  *mesh.Vec // the middle of an edge with three or more
	InconsistentEdge *mesh.Vec // the middle of an edge that both its triangles run along the same way
	NoArea           *mesh.Vec // a corner of a triangle without area
	Duplicate        *mesh.Vec // the middle of a triangle that has the corners of an earlier one
	// BackToBack is the middle of a triangle that has the corners of an earlier one
	// and faces the other way, and Backs the number of such pairs.
	BackToBack *mesh.Vec
	Backs      int
}

// Spot looks for them.
func Spot(ctx context.Context, m *mesh.Mesh) (Spots, error) {
	var s Spots
	// The first of each by triangle.
	duplicate, back := int32(-1), int32(-1)
	err := eachEdge(ctx, m, func(lower, upper uint32, sides []sided) {
		var kind **mesh.Vec
		switch {
		case len(sides) == 1:
			kind = &s.OpenEdge
		case len(sides) > 2:
			kind = &s.NonManifoldEdge
		case sides[0].downward() == sides[1].downward():
			kind = &s.InconsistentEdge
		}
		if kind != nil && *kind == nil {
			p := m.Vertices[lower].Add(m.Vertices[upper]).Scale(0.5)
			*kind = &p
		}
		if len(sides) < 2 {
			return
		}
		// Two triangles on an edge are the same if their third corners are.
		third := func(x sided) uint32 {
			t := m.Triangles[x.triangle()]
			return t[0] ^ t[1] ^ t[2] ^ lower ^ upper
		}
		slices.SortFunc(sides, func(x, y sided) int {
			if a, b := third(x), third(y); a != b {
				return int(int64(a) - int64(b))
			}
			return int(x.triangle()) - int(y.triangle())
		})
		for i := 0; i < len(sides); {
			from := i
			up, down := 0, 0
			for ; i < len(sides) && third(sides[i]) == third(sides[from]); i++ {
				if sides[i].downward() {
					down++
				} else {
					up++
				}
			}
			// A pair is counted at the edge that its third corner lies above.
			if n := min(up, down); n > 0 && third(sides[from]) > upper {
				s.Backs += n
				for _, x := range sides[from:i] {
					if x.downward() != sides[from].downward() {
						if back < 0 || x.triangle() < back {
							back = x.triangle()
						}
						break
					}
				}
			}
		}
		for i := 1; i < len(sides); i++ {
			if n := sides[i].triangle(); third(sides[i]) == third(sides[i-1]) && (duplicate < 0 || n < duplicate) {
				duplicate = n
			}
		}
	})
	if err != nil {
		return Spots{}, err
	}
	middle := func(t int32) *mesh.Vec {
		if t < 0 {
			return nil
		}
		a, b, c := m.Corners(int(t))
		p := a.Add(b).Add(c).Scale(1.0 / 3)
		return &p
	}
	s.Duplicate, s.BackToBack = middle(duplicate), middle(back)
	for i, t := range m.Triangles {
		if i%4096 == 4095 && ctx.Err() != nil {
			return Spots{}, ctx.Err()
		}
		if c := cornersOf(m, int32(i)); hasRepeat(t) || !c.hasArea() {
			s.NoArea = &c[0]
			break
		}
	}
	return s, nil
}
