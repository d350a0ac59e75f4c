package verdict

import (
	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/release"
)

// Finding is a finding with its place.
type Finding struct {
	Release int
	Part    string // slug; empty for one about the whole release
	Cut     release.CutKind
	File    string // relative to the content root
	// Mesh is the fingerprint of the cut, with which the finding may be accepted (see
	// AcceptLine); empty for one that is not about a mesh that could be read.
	Mesh string
	// Accepted is why the designer accepts it, where that was said of this very mesh:
	// its level is then at most a note.
	Accepted string
	measure.Finding
}

// PlateAnswer says what a release needs on one plate: every part fits, or the
// pieces to print instead of a whole, or what does not fit.
type PlateAnswer struct {
	Plate    bench.Plate
	Parts    []PartFit
	Fits     bool     // a complete set of parts fits
	UseSplit []string // slugs of whole parts to replace by their pieces here
	Tilted   []string // slugs of parts that fit only in another orientation than the recommended one
	Blocking []string // slugs of the parts that do not fit or cannot be read, and have no pieces that do
	Sentence string   // the answer in words
}

// PartFit is one part on one plate, in the cut its process uses.
type PartFit struct {
	Part    string
	Cut     release.Cut
	Offered bool       // false: the part has no cut for the plate's process
	Result  fit.Result // without a verdict where there is no cut or its mesh could not be read
	Text    string     // the verdict in words, for the table
}
