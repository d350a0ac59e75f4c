package release

import (
	"time"

	"cardback/internal/bench"
)

// Outcome is what came of a test print, in the words of the log.
type Outcome string

const (
	Good   Outcome = "good"   // as it should be
	Usable Outcome = "usable" // it serves, with what the remark says
	Failed Outcome = "failed"
)

// Outcomes lists them from best to worst.
var Outcomes = []Outcome{Good, Usable, Failed}

// Share is one stock of a blend. Share is from 0 to 1; those of one blend add up
// to 1.
type Share struct {
	Material bench.Material
	Share    float64
}

// Print is one entry of the print log (prints.yaml): what came off one plate.
type Print struct {
	Date      time.Time
	Whole     bool       // all parts of the release that the process needs
	Parts     []string   // slugs as they were then; empty where Whole
	Meshes    []MeshUsed // which meshes those were, as far as they were recorded
	Stock     []Share    // one entry with share 1 for a plain material
	Plate     string     // id of a bench plate; may be empty
	Layer     float64    // mm; zero where not stated
	Tilt      float64    // degrees
	TiltAbout string     // "x" or "y"; empty where no tilt is stated
	Supports  string
	Outcome   Outcome
	Remark    string // what happened
	Photo     string // path relative to Release.Dir; may be empty
	Line      int    // of prints.yaml, for messages
}

// MeshUsed is one mesh that was printed. The fingerprint identifies it, whatever
// its part is called today.
type MeshUsed struct {
	Part        string // slug as it was then
	Cut         CutKind
	Fingerprint string // 64 hexadecimal digits
}
