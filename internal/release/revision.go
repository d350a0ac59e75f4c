package release

import "time"

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
	Only         string
	Cuts         []SealedCut
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
