package seats

import (
	"fmt"
	"math"

	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/words"
)

const (
	// drillStep is the step of twist drills sold in small sizes, in mm, and
	// leastDrill the smallest of them (common practice, no source).
	drillStep, leastDrill = 0.1, 0.3

	// rodSlack, in mm, is how much more than a hole's free diameter a rod may be
	// said to need and still pass: what a calliper shows. Files with three decimals
	// move the flats of a hole by some thousandths; rods are drawn up to 0.006 (h6)
	// or 0.06 mm (h11) under their size, and prints repeat to 0.1 mm at best
	// (check values 4.6, 4.7).
	rodSlack = 0.01
)

// What holds a rod, and what does not. Judgement of ours: common practice, no source.
const (
	// holdShare is the least of a rod's diameter that it has to go into the hole it
	// ends in. One diameter is a good seat; half is where it slips out by itself.
	holdShare = 0.5
	// jointGap, in mm, is the room left between two parts that move on a rod.
	jointGap = 0.5
	// A hole is wide when it is leastPlay or playShare of the rod over the rod and the
	// greatest allowance of the materials, whichever is more: the rod wobbles.
	// Holes for a free pivot of 1.5 mm rod are drawn 1.6 to 1.9 (check values 4.7).
	leastPlay, playShare = 0.3, 0.15 // mm; of the diameter
)

// play is how far a hole may be over a rod and its allowance before it is wide.
func play(rod float64) float64 { return max(leastPlay, float64(playShare*rod)) }

// RodAnswer is how a rod goes into one hole. Lengths are mm at the printed
// scale.
type RodAnswer struct {
	// Passes says that the rod passes the hole as drawn; Free that it also has
	// the material's allowance, and so should pass and turn as printed.
	Passes, Free bool
	// Spare is the hole's free diameter less the rod and the allowance; negative
	// where the rod is tight or does not pass.
	Spare float64
	// Drill is the drill that makes a free pivot of the hole: the least of common
	// steps over the rod. It carries no allowance, which is for what printing
	// takes away from a hole; a drill gives it back. Zero where the hole is Free.
	Drill    float64
	Sentence string // "Passes a 1.5 mm rod with 0.06 mm to spare."
}

// Rod judges a rod of the given diameter in h, which is printed at scale (1 is
// full size) in a material whose holes want allowance more than the rod (0
// compares with the hole as drawn). Printed holes come out small (published
// design guides: 0.1 to 0.2 mm in resin, more in filament), so what passes the
// drawing alone is called tight.
func Rod(h bore.Hole, rod, allowance, scale float64) RodAnswer {
	return passage("rod", h, rod, allowance, scale)
}

// passage is Rod for a thing of any name.
func passage(thing string, h bore.Hole, rod, allowance, scale float64) RodAnswer {
	hole := h.Free * scale
	a := RodAnswer{Passes: hole >= rod-rodSlack, Spare: hole - rod - allowance}
	a.Free = a.Passes && a.Spare >= -rodSlack
	if !a.Free {
		a.Drill = drillFor(rod)
	}
	switch d := words.Plain(rod); {
	case a.Free:
		a.Spare = max(a.Spare, 0)
		a.Sentence = fmt.Sprintf("Passes a %s mm %s with %s mm to spare.", d, thing, words.Spare(a.Spare, 2))
	case a.Passes:
		a.Sentence = fmt.Sprintf("Passes a %s mm %s tightly: %s mm of the %s mm allowed for printing; clear it with a %s mm drill for a free pivot.",
			d, thing, words.Beside(max(hole-rod, 0), allowance, 2), words.Plain(allowance), words.Plain(a.Drill))
	default:
		a.Sentence = fmt.Sprintf("Passes %s mm and no %s mm %s: drill to %s mm.", words.Beside(hole, rod, 2), d, thing, words.Plain(a.Drill))
	}
	return a
}

// drillFor is the drill for a free pivot on a rod: the least step over its
// diameter.
func drillFor(rod float64) float64 {
	steps := math.Floor((rod+measure.LengthSlack)/drillStep) + 1
	return max(math.Round(steps)*drillStep, leastDrill)
}
