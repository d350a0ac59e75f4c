package verdict

import (
	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/release"
)

// Standing is a release's state in a material, as far as it is judged: by the
// cuts offered and by the plates.
type Standing string

const (
	Offered        Standing = "offered"
	LimitedByPlate Standing = "limited by plate"
	NotOffered     Standing = "not offered"
)

// Cell is one cell of the material table.
type Cell struct {
	Release  int // number
	Material string
	Standing Standing
	Reason   string // one plain sentence
}

// Finding is a finding with its place.
type Finding struct {
	Release int
	Part    string // slug; empty for one about the whole release
	Cut     release.CutKind
	File    string // relative to the content root
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
