package seats_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/bore"
	"cardback/internal/verdict/seats"
)

func TestRodInAHole(t *testing.T) {
	for _, c := range []struct {
		name                   string
		free, rod, allow, size float64
		want                   seats.RodAnswer
	}{
		{"to spare", 1.71, 1.5, .15, 1, seats.RodAnswer{Passes: true, Free: true, Spare: .06,
			Sentence: "Passes a 1.5 mm rod with 0.06 mm to spare."}},
		{"exactly the allowance", 1.65, 1.5, .15, 1, seats.RodAnswer{Passes: true, Free: true,
			Sentence: "Passes a 1.5 mm rod with 0.00 mm to spare."}},
		{"tight", 1.6, 1.5, .15, 1, seats.RodAnswer{Passes: true, Spare: -.05, Drill: 1.6,
			Sentence: "Passes a 1.5 mm rod tightly: 0.10 mm of the 0.15 mm allowed for printing; clear it with a 1.6 mm drill for a free pivot."}},
		// Check values, section 4.7: a polygon of 12 sides drawn at 1.5 passes 1.44889.
		{"twelve sides drawn at the rod's size", 1.44889, 1.5, .15, 1, seats.RodAnswer{Spare: -.20111, Drill: 1.6,
			Sentence: "Passes 1.45 mm and no 1.5 mm rod: drill to 1.6 mm."}},
		// The same section: "a 1.5 hole refuses 1/16 in rod".
		{"an inch rod in a metric hole", 1.5, 1.5875, 0, 1, seats.RodAnswer{Spare: -.0875, Drill: 1.6,
			Sentence: "Passes 1.50 mm and no 1.5875 mm rod: drill to 1.6 mm."}},
		{"as drawn, the rod's own size", 2, 2, 0, 1, seats.RodAnswer{Passes: true, Free: true,
			Sentence: "Passes a 2 mm rod with 0.00 mm to spare."}},
		// The same section: n 32 passes 1.49278, which no calliper tells from 1.5 mm
		// rod (h11: down to 1.44); n 24 passes 1.48717.
		{"thirty-two sides", 1.49278, 1.5, 0, 1, seats.RodAnswer{Passes: true, Free: true,
			Sentence: "Passes a 1.5 mm rod with 0.00 mm to spare."}},
		{"twenty-four sides", 1.48717, 1.5, 0, 1, seats.RodAnswer{Spare: -.01283, Drill: 1.6,
			Sentence: "Passes 1.49 mm and no 1.5 mm rod: drill to 1.6 mm."}},
		{"printed smaller, with the same rod", 1.8, 1.5, .15, .5, seats.RodAnswer{Spare: -.75, Drill: 1.6,
			Sentence: "Passes 0.90 mm and no 1.5 mm rod: drill to 1.6 mm."}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := seats.Rod(bore.Hole{Free: c.free, Diameter: c.free}, c.rod, c.allow, c.size)
			require.InDelta(t, c.want.Spare, got.Spare, 1e-9)
			require.InDelta(t, c.want.Drill, got.Drill, 1e-9)
			got.Spare, got.Drill = c.want.Spare, c.want.Drill
			require.Equal(t, c.want, got)
		})
	}
}

// Whatever the hole, the rod passes the drill that is named, and the next
// smaller step would not do.
func TestTheDrillIsTheLeastStepOverTheRod(t *testing.T) {
	for _, rod := range []float64{.8, .9, 1, 1.2, 1.5, 1.5875, 2, 2.38125, 3, 3.175} {
		drill := seats.DrillFor(rod)
		require.Greater(t, drill, rod)
		require.LessOrEqual(t, drill-.1, rod+1e-9)
		require.InDelta(t, math.Round(drill*10), drill*10, 1e-9)
	}
	require.InDelta(t, .3, seats.DrillFor(.1), 1e-9)
}

func ExampleRod() {
	h := bore.Hole{Diameter: 1.75, Free: 1.75 * math.Cos(math.Pi/16)} // sixteen sides
	fmt.Println(seats.Rod(h, 1.5, 0.15, 1).Sentence)
	fmt.Println(seats.Rod(h, 1.5, 0.3, 1).Sentence)
	fmt.Println(seats.Rod(h, 2, 0, 1).Sentence)
	// Output:
	// Passes a 1.5 mm rod with 0.06 mm to spare.
	// Passes a 1.5 mm rod tightly: 0.22 mm of the 0.3 mm allowed for printing; clear it with a 1.6 mm drill for a free pivot.
	// Passes 1.72 mm and no 2 mm rod: drill to 2.1 mm.
}
