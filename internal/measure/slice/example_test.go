package slice_test

import (
	"context"
	"fmt"

	"cardback/internal/measure/slice"
	"cardback/internal/mesh"
)

// A plate of 60 × 40 × 3 mm.
func plate() *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range 8 {
		m.Vertices = append(m.Vertices, mesh.Vec{X: 60 * float64(i&1), Y: 40 * float64(i>>1&1), Z: 3 * float64(i>>2)})
	}
	m.Triangles = [][3]uint32{{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4}, {2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}}
	return m
}

func ExampleCut() {
	l, err := slice.Cut(context.Background(), plate(), slice.Options{Pose: slice.Pose{Tilt: 30, About: "y"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d layers, the largest %.2f mm², as supplied %.2f mm²; %.0f mm² lean out\n", len(l.Areas), l.Peak, l.FlatPeak, l.Overhang)
	// Output:
	// 652 layers, the largest 240.00 mm², as supplied 2400.00 mm²; 2400 mm² lean out
}

func ExampleTilts() {
	s, err := slice.Tilts(context.Background(), plate(), slice.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.Reason)
	// Output:
	// Tilt it 45° about y: the largest layer falls from 2400 to 170 mm², at the price of 891 layers instead of 60.
}
