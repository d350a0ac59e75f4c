package standing

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
