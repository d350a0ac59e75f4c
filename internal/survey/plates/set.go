// Package plates answers one question: how a complete print of a release lies on the
// plates of one printer. Its value is the Set: the pieces as they stand, where package
// layout has put each of them, what was taken of each choice, what is printed in pieces
// and what is missing.
//
// What is printed comes from package printing, and the measures from the survey. A mesh
// is read only for an outline that the store does not have. Lengths are mm; outlines are
// exact, and two pieces keep the Spacing of the set to within layout.Tolerance.
package plates

import (
	"slices"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/layout"
	"cardback/internal/printing"
	"cardback/internal/words"
)

// Split is a whole part of which the pieces are laid, since it does not fit,
// or not in the orientation recommended for it.
type Split struct {
	printing.Way
	Fit fit.Result // why not, or how; empty where the whole has no readable mesh
}

// Short reports whether some of the pieces that are printed in a whole's place are not
// laid either.
func (s *Set) Short(split Split) bool {
	return slices.ContainsFunc(s.Layout.Unplaced, func(u layout.Unplaced) bool {
		return slices.ContainsFunc(split.Parts, func(p printing.Part) bool { return p.Slug == s.Pieces[u.Piece].Part.Slug })
	})
}

// Choice is the part that was taken of a choice.
type Choice struct {
	Group  string
	Taken  printing.Part
	Others []printing.Part
}

// Set is one full print of a release laid on plates of one kind.
type Set struct {
	Release int // its number
	Process *bench.Process
	Plate   bench.Plate
	Spacing float64
	Pieces  []Piece
	Layout  *layout.Layout // its pieces are numbered as Pieces
	Splits  []Split
	Choices []Choice
	Missing []string // parts that cannot be laid, each with why: "Tail: no mesh for resin"
}

// Sentence tells how many plates there are, what is known about fewer, and first how
// many parts are on none: what is said of plates is of the rest.
func (s *Set) Sentence() string {
	left := len(s.Missing) + len(s.Layout.Unplaced)
	switch {
	case left == 0:
		return s.Layout.Sentence()
	case len(s.Layout.Plates) == 0:
		return "no plates: nothing can be laid"
	}
	return words.Count(left, "part", "parts") + " left out; the rest on " + s.Layout.Sentence()
}
