package measure_test

import (
	"context"
	"fmt"

	"cardback/internal/measure"
	"cardback/internal/mesh"
)

// A corner piece: a tetrahedron with legs of 6 mm, with one triangle missing.
func Example() {
	m := &mesh.Mesh{
		Vertices:  []mesh.Vec{{}, {X: 6}, {Y: 6}, {Z: 6}},
		Triangles: [][3]uint32{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}},
	}
	r, err := measure.Measure(context.Background(), m)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("hull %.0f mm³, area %.0f mm²\n", r.HullVolume, r.Area)
	for _, f := range r.Findings {
		fmt.Println(f.Level, f.Code)
	}
	// Output:
	// hull 36 mm³, area 54 mm²
	// fault open-edges
}
