package frontier_test

import (
	"context"
	"fmt"

	"cardback/internal/fit"
	"cardback/internal/fit/frontier"
	"cardback/internal/mesh"
)

// A wing 60 × 40 × 1 mm that its designer would have leaning by 40°.
func wing() []mesh.Vec {
	var out []mesh.Vec
	for i := range 8 {
		out = append(out, mesh.Vec{X: 60 * float64(i&1), Y: 40 * float64(i>>1&1), Z: float64(i >> 2 & 1)})
	}
	return out
}

func ExampleFrontier_Fits() {
	f, err := frontier.New(context.Background(), wing())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(f.Fits(fit.Plate{Width: 44, Depth: 64, Height: 10, Margin: 2}))
	fmt.Println(f.Fits(fit.Plate{Width: 10, Depth: 66, Height: 50, Margin: 2}))
	fmt.Println(f.Fits(fit.Plate{Width: 40, Depth: 40, Height: 30}))
	// Output:
	// turned
	// tipped
	// cannot fit
}
