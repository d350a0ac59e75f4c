package release

import (
	"time"

	"cardback/internal/bench"
)

// Revision is a sealed state of a release, read from revisions.yaml, which
// `cardback seal` writes and only ever adds to.
type Revision struct {
	Name     string // "A", "B", … "Z", "AA"
	Date     time.Time
	Note     string // what changed
	Faults   string // why it was sealed although a fault stood; published; mostly empty
	Parts    []SealedPart
	Hardware []SealedHardware
}

// SealedPart is a part as it was sealed.
type SealedPart struct {
	Slug, Name   string
	Quantity     int
	MirroredTwin bool
	Only         *bench.Process // nil: every process needs it
	Choice       string         // as in Part
	Replaces     string         // slug then of the whole part that this piece is a split of
	Cuts         []SealedCut
}

// Printed is how many pieces come off the plate, as Part.Printed.
func (p SealedPart) Printed() int { return p.Part().Printed() }

// Mirrored is how many of those are mirrored.
func (p SealedPart) Mirrored() int { return p.Part().Mirrored() }

// Cut is the part's cut of that kind.
func (p SealedPart) Cut(kind CutKind) (SealedCut, bool) {
	for _, c := range p.Cuts {
		if c.Kind == kind {
			return c, true
		}
	}
	return SealedCut{}, false
}

// Part is p as the notes had it then. Its cuts have a kind and no file.
func (p SealedPart) Part() Part {
	q := Part{
		Slug: p.Slug, Name: p.Name, Quantity: p.Quantity, MirroredTwin: p.MirroredTwin,
		Only: p.Only, Choice: p.Choice, Replaces: p.Replaces,
	}
	for _, c := range p.Cuts {
		q.Cuts = append(q.Cuts, Cut{Kind: c.Kind})
	}
	return q
}

// SealedCut is a mesh as it was sealed: its key measures, and where its geometry
// is kept.
type SealedCut struct {
	Kind        CutKind
	Fingerprint string
	Triangles   int
	Volume      float64    // mm³
	Area        float64    // mm²
	Size        [3]float64 // mm, extents of the file's orientation
	Geometry    string     // path relative to Release.Dir
}

// SealedHardware is a line of the hardware list as it was sealed.
type SealedHardware struct {
	Item  string // id on the bench then
	Name  string
	Count int
	Cut   float64 // mm; zero where none applies
}
