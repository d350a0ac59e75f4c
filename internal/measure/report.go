package measure

import (
	"cardback/internal/measure/bore"
	"cardback/internal/measure/shadow"
	"cardback/internal/measure/sound"
	"cardback/internal/measure/thin"
	"cardback/internal/mend"
	"cardback/internal/mesh"
	"cardback/internal/words"
)

// Level says how much a finding weighs.
type Level string

const (
	Fault   Level = "fault"   // blocks sealing
	Caution Level = "caution" // prints, but may not come out as meant
	Note    Level = "note"    // worth knowing
)

// Finding is something the checks noticed in one mesh. Text is one plain
// sentence that says what was found and what it does at the printer.
type Finding struct {
	Level Level  `json:"level"`
	Code  string `json:"code"`
	Text  string `json:"text"`
	// At is where it is, in mm, as [x, y, z]; nil where it has no one place.
	At *[3]float64 `json:"at_mm,omitempty"`
}

// At is p as Finding.At has it.
func At(p mesh.Vec) *[3]float64 { return &[3]float64{p.X, p.Y, p.Z} }

// Where is p for a sentence: "(1.0, -2.0, 0.5)".
func Where(p mesh.Vec) string { return words.Place(p.X, p.Y, p.Z) }

// LengthSlack, in mm, is what two lengths may differ by and still be the
// same: coordinates below 16 mm keep 1e-6 mm in an STL file's 32 bits, so a
// length meant to be exact is off by no more than a few of those. It is a
// hundredth of what a calliper shows.
const LengthSlack = 1e-4

// Report holds every number measured from one mesh. Lengths are mm, areas mm²,
// volumes mm³. All but the fingerprint and the counts of triangles and vertices is of
// the surface that was measured: the file's own, or that with its cracks closed.
type Report struct {
	Fingerprint string // of the file's mesh
	Triangles   int    // as in the file, degenerate ones included
	Vertices    int    // after exact welding
	Bounds      mesh.Box
	Volume      float64 // signed, about the centre of the bounds
	Area        float64
	Centroid    mesh.Vec // of the enclosed volume; of the surface where the volume is zero or the mesh open

	Closed               bool // every edge has exactly two triangles
	OpenEdges            int  // edges with one triangle
	NonManifoldEdges     int  // edges with three or more
	ConsistentlyOriented bool // no edge is run along twice the same way
	Shells               int  // sets of triangles connected through shared edges
	Euler                int
	Genus                *int // nil unless closed

	DegenerateTriangles int // a repeated vertex, or distinct vertices with zero area
	DuplicateTriangles  int

	HullVolume, HullArea float64
	Hull                 []mesh.Vec // the hull's vertices, for plate fits
	Diameter             float64    // greatest distance between two points

	// Silhouette is the area of the shadow along each axis: indexed by shadow.View.
	Silhouette [3]float64
	Intricate  [3]bool // the shadow could not be worked out (shadow.ErrIntricate); its area is zero then

	Crossings sound.Crossings
	// Closing says how the cracks of the file's surface were closed before it was
	// measured; nil where it was measured as it is.
	Closing *mend.Closing
	Nesting sound.Shells
	Cracks  sound.Cracks
	Spots   sound.Spots // one place for each kind of flaw that is counted above
	Thin    thin.Report
	Bores   bore.Report

	Findings []Finding
}

// silhouette is the area of the shadow, nil where it is not known.
func (r *Report) silhouette(v shadow.View) *float64 {
	if r.Intricate[v] {
		return nil
	}
	return &r.Silhouette[v]
}
