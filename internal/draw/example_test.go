package draw_test

import (
	"context"
	"fmt"

	"cardback/internal/draw"
	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
)

// A flat triangle of 20 by 10 mm, seen from above.
func ExampleFigure() {
	m := &mesh.Mesh{
		Vertices:  []mesh.Vec{{X: 5, Y: 5}, {X: 25, Y: 5}, {X: 5, Y: 15}},
		Triangles: [][3]uint32{{0, 1, 2}},
	}
	d, err := draw.Draw(context.Background(), m, shadow.Top)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(draw.Figure(d, draw.FigureOptions{ID: "pennant", Title: "Pennant, from above"}))
	// Output:
	// <svg class="figure top" viewBox="0 0 20 10" width="20mm" height="10mm" role="img" aria-labelledby="pennant-title"><title id="pennant-title">Pennant, from above</title><path class="silhouette" fill="currentColor" fill-rule="evenodd" d="m0 10h20l-20-10z"/></svg>
}
