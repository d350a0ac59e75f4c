package printing_test

import (
	"fmt"

	"cardback/internal/bench"
	"cardback/internal/printing"
	"cardback/internal/release"
)

func ExampleOf() {
	r := release.Release{
		Print: []release.PrintSettings{{Process: bench.Resin, Tilt: 35}},
		Parts: []release.Part{
			{Slug: "torso", Name: "Torso", Quantity: 1, Cuts: []release.Cut{{Kind: release.CutAny}}},
			{Slug: "front", Name: "Front", Quantity: 1, Replaces: "torso", Only: bench.Resin, Cuts: []release.Cut{{Kind: release.CutAny}}},
			{Slug: "arm", Name: "Arm", Quantity: 2, MirroredTwin: true, Cuts: []release.Cut{{Kind: release.CutAny}}},
		},
	}
	for _, proc := range r.Processes() {
		for _, slot := range printing.Of(r, proc).Slots {
			for _, way := range slot.Ways {
				for _, p := range way.Parts {
					fmt.Printf("%s: %d %s, %s, %v\n", proc, p.Number, p.Name, p.Pose, printing.Lots(p.Part))
				}
			}
		}
	}
	// Output:
	// filament: 1 Torso, as supplied, [{1 false}]
	// filament: 3 Arm, as supplied, [{2 false} {2 true}]
	// resin: 1 Torso, 35° about x, [{1 false}]
	// resin: 2 Front, 35° about x, [{1 false}]
	// resin: 3 Arm, 35° about x, [{2 false} {2 true}]
}
