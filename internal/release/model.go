package release

import (
	"cmp"
	"slices"
	"time"

	"cardback/internal/bench"
	"cardback/internal/notes"
)

// Site is a whole content folder, read and checked.
type Site struct {
	Title, Tagline, Designer string
	Address                  string // absolute, ends in "/"
	Language                 string
	Licence                  string  // SPDX id used where a release names none
	UnitsShown               string  // "mm" or "mm+in"
	PrintTolerance           float64 // mm; a change below it asks nobody to print again
	Links                    []Link
	Keep                     []string // names in the built site that are the designer's own
	Bench                    bench.Bench
	Pages                    []Page    // pages/*.md, by file name
	Releases                 []Release // by number
	Root                     string    // the content folder, absolute
}

// Cuts lists every mesh file of the site, by release, part and cut.
func (s *Site) Cuts() []Cut {
	var out []Cut
	for _, r := range s.Releases {
		for _, p := range r.Parts {
			out = append(out, p.Cuts...)
		}
	}
	return out
}

// Link is a labelled address.
type Link struct{ Label, URL string }

// Page is a further page: a text with a title. Slug is the file's name without .md.
type Page struct {
	Slug, Title string
	Text        *notes.Document
}

// Release is one numbered publication.
type Release struct {
	Added      []*bench.Process // of its bench: see Processes
	Number     int
	Slug       string // folder name without the number
	Dir        string // absolute path of its folder
	Title      string
	Height     float64   // mm, of the figure as it stands; zero where the notes do not state it
	Scale      string    // "1:18"; empty where the notes do not state it
	Released   time.Time // zero where the notes say "not yet"
	Draft      bool      // set by Site.WithDrafts
	Summary    string
	Licence    string // SPDX id
	Credits    []Credit
	Hardware   []HardwareUse
	Print      []PrintSettings // at most one a process, in bench order
	Cautions   []string
	Tags       []string
	Notes      *notes.Document // the text under the fields of release.md
	Photos     []Photo
	Parts      []Part     // in chart order; Parts[i] is number i+1 on the chart
	Pose       *Cut       // the whole figure as it stands, for the standing test alone; nil where there is none
	SourceFile string     // release.md's path relative to Site.Root
	Log        []Print    // in file order; prints.yaml
	Revisions  []Revision // oldest first; revisions.yaml
}

// Credit names a work this release adapts and that work's licence.
type Credit struct{ Work, By, Licence, URL, Note string }

// HardwareUse is one line of the hardware list. Cut is the cut length in mm,
// zero where none applies.
type HardwareUse struct {
	Item  bench.Hardware
	Count int
	Cut   float64
	Where string
}

// PrintSettings are the designer's settings for one process. Layer is mm,
// Tilt degrees.
type PrintSettings struct {
	Process                         *bench.Process
	Layer, Tilt                     float64
	Supports, Blend, Infill, Remark string
	Walls                           int // lines side by side along the surface, of filament; zero where not stated
	// Shares is Blend where the notes state it as shares of materials; empty where
	// they state it in words or not at all.
	Shares []Share
}

// Photo is a JPEG or PNG beside the notes: its path relative to Release.Dir, with
// slashes, and its description.
type Photo struct{ File, Alt string }

// CutKind names what process a cut was prepared for.
type CutKind string

const (
	CutAny      CutKind = "any"
	CutFlexible CutKind = "flexible"
	// CutPose is no part's: it is the kind of a release's Pose.
	CutPose CutKind = "pose"
)

// CutFor is the kind of cut that is prepared for one process alone: its id.
func CutFor(proc *bench.Process) CutKind {
	if proc == nil {
		return ""
	}
	return CutKind(proc.ID)
}

// IsFor reports whether proc could print a cut of that kind: its own, and those that are
// of no process.
func (k CutKind) IsFor(proc *bench.Process) bool {
	return k == CutAny || k == CutFlexible || k == CutFor(proc)
}

// CutKinds lists the kinds that a part may have, in their order.
func CutKinds(list []*bench.Process) []CutKind {
	kinds := []CutKind{CutAny}
	for _, p := range list {
		kinds = append(kinds, CutFor(p))
	}
	slices.SortFunc(kinds, CompareCuts)
	return append(kinds, CutFlexible)
}

// CompareCuts sorts kinds: any first, flexible last, and those of processes by name.
func CompareCuts(a, b CutKind) int {
	place := func(k CutKind) int {
		switch k {
		case CutAny:
			return 0
		case CutFlexible:
			return 2
		}
		return 1
	}
	return cmp.Or(cmp.Compare(place(a), place(b)), cmp.Compare(a, b))
}

// Cut is one mesh file of a part.
type Cut struct {
	Kind CutKind
	File string // absolute path
	Rel  string // path relative to Site.Root, with slashes
}

// Part is one printable piece.
type Part struct {
	Slug         string // folder name
	Name         string // for people; from the folder name where not given
	Quantity     int    // copies of the part as supplied
	MirroredTwin bool   // as many mirrored copies are printed too
	Choice       string // choice group; the builder picks one part of the group
	// Only names the one process that needs this part: the back of a torso that
	// is split for resin has no place in a filament print. Nil: every process does.
	// part.yaml's "only".
	Only      *bench.Process
	Replaces  string // slug of the whole part that this piece is a split of
	Takes     []HardwareUse
	Tilt      float64        // recommended orientation: degrees about the axis TiltAbout
	TiltAbout string         // "x" or "y"; empty where no orientation is declared
	TiltFor   *bench.Process // the one process that it is declared for; nil for all
	Notes     string
	// Snaps names the cuts that have snap joints, which rigid resin breaks.
	Snaps []CutKind
	// Flexible says that the part must be printed in a flexible material.
	Flexible bool
	Accepts  []Accepted
	Cuts     []Cut // in the order of CompareCuts
}

// Printed is how many pieces come off the plate: Quantity, twice with a twin.
func (p Part) Printed() int { return p.Quantity + p.Mirrored() }

// Mirrored is how many of those are mirrored.
func (p Part) Mirrored() int {
	if p.MirroredTwin {
		return p.Quantity
	}
	return 0
}

// Processes lists the ways of printing on the bench that the release was read with.
func (r Release) Processes() []*bench.Process { return bench.ProcessesWith(r.Added) }
