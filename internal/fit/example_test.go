package fit_test

import (
	"context"
	"fmt"

	"cardback/internal/fit"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// A wing 60 × 40 × 1 mm that its designer would have leaning by 40°.
func wing() []mesh.Vec {
	var out []mesh.Vec
	for i := range 8 {
		out = append(out, mesh.Vec{X: 60 * float64(i&1), Y: 40 * float64(i>>1&1), Z: float64(i >> 2 & 1)})
	}
	return out
}

func ExampleFitDeclared() {
	recommended := rotation.Tilted(40, false)
	for _, height := range []float64{30, 20} {
		res := fit.FitDeclared(context.Background(), wing(), fit.Plate{Width: 64, Depth: 64, Height: height}, recommended)
		fmt.Println(res.Verdict, res.Keeps)
		fmt.Println(res.Reason)
	}
	// Output:
	// as recommended true
	// Fits at its recommended tilt, with 3.5 mm to spare.
	// as supplied false
	// Fits as supplied with 4.0 mm to spare. That is not its recommended orientation, in which it does not fit, however turned.
}

func ExampleLargestScale() {
	// A rod 100 mm long reaches from corner to corner of 20 × 40 × 40 mm.
	rod := []mesh.Vec{{}, {X: 100}}
	scale, err := fit.LargestScale(context.Background(), rod, fit.Plate{Width: 20, Depth: 40, Height: 40})
	fmt.Println(scale.Reason, err)
	fmt.Printf("%.4f %v\n", scale.Largest, scale.Certified())
	// Output:
	// The largest scale in any orientation is 60 %; proved to within 0.1 %. <nil>
	// 0.6000 true
}
