package verdict

import (
	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/release"
)

// Cell is one cell of the material table: a release in a material.
type Cell struct {
	Release  int // number
	Material string
	Standing Standing
	Reason   string // in words, mostly one or two sentences
	Grounds  []Ground
	Parts    []PartCell // of the parts that the material's process needs, in chart order
}

// PartCell is one part in a material.
type PartCell struct {
	Part     string // slug
	Standing Standing
	Reason   string
	Grounds  []Ground
}

// Ground is one thing that a standing rests on, and what would change it.
type Ground struct {
	Standing Standing // what it is ground for; that of the cell is the worst of them
	Code     string   // a RuleCode, or one of those below
	Parts    []string // slugs
	Kind     GroundKind
	Target   string
	Text     string // a sentence, and a second where it is accepted
	Accepted string // why the designer accepts it; empty where he does not
}

// Codes of grounds that are not rules.
const (
	GroundPrint     = "print"     // what came of a print of exactly these meshes
	GroundChanged   = "changed"   // an earlier mesh was proven
	GroundMoved     = "moved"     // one of the same shape was
	GroundNearly    = "nearly"    // one that differed by less than the printing tolerance was
	GroundUnprinted = "unprinted" // nobody has logged a print
	GroundAside     = "aside"     // printed in another material, which bends
)

// GroundKind says what Ground.Target names: what to look at, and to change, for
// another standing.
type GroundKind string

const (
	OfFinding  GroundKind = "finding"  // a finding's code, or what it begins with
	OfCut      GroundKind = "cut"      // a kind of cut, or a process that has none: a mesh to make or to mend
	OfPlate    GroundKind = "plate"    // a plate's id
	OfPrint    GroundKind = "print"    // the line of an entry of prints.yaml
	OfLog      GroundKind = "log"      // the print log: a print to make; no target
	OfRevision GroundKind = "revision" // a revision's name
	OfSettings GroundKind = "settings" // the release's print settings; no target
	OfMaterial GroundKind = "material" // another material's id
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
