// Package slice cuts a solid into layers and says how large they are.
package slice

import (
	"context"

	"cardback/internal/measure/stack"
	"cardback/internal/mesh"
)

// Pose is how a part is tilted before it is printed: by Tilt degrees about the x
// or y axis, by the right-hand rule. The zero Pose is as supplied.
type Pose struct {
	Tilt  float64
	About string // "x" or "y"; "" with no tilt
}

// Apply turns the mesh; the zero Pose returns m itself.
func (p Pose) Apply(m *mesh.Mesh) *mesh.Mesh { panic("to be written") }

// Options say how to slice.
type Options struct {
	Pose  Pose
	Layer float64 // mm; zero means DefaultLayer
	// Limit is the overhang's limit angle in degrees from the vertical; zero means
	// DefaultLimit. Surface that leans out farther than that counts.
	Limit float64
}

const (
	DefaultLayer = 0.05 // mm, a usual resin layer (common practice, no source)
	DefaultLimit = 45   // degrees (published design guides; check values, section 5)
)

// Layers is a solid in layers, in one pose. Layer k is cut half way up, at
// (k+½)·Layer over the lowest point.
type Layers struct {
	Options   Options
	Height    float64   // mm
	Areas     []float64 // mm², signed by the winding; one a layer
	Perimeter []float64 // mm
	Peak      float64   // mm², the largest
	PeakLayer int
	FlatPeak  float64 // mm², the largest as supplied (the zero Pose)
	// Jump is the largest growth from one layer to the next, mm²; JumpRatio the
	// greater area over the lesser there (0 where the lesser is 0).
	Jump      float64
	JumpRatio float64
	JumpLayer int     // the upper of the two
	Overhang  float64 // mm² of surface that leans out beyond Limit, what lies on the plate not counted
	stack.Report
}

// Cut slices m.
func Cut(ctx context.Context, m *mesh.Mesh, o Options) (*Layers, error) { panic("to be written") }

// Trial is one pose of a sweep, in numbers.
type Trial struct {
	Pose                 Pose
	Height               float64
	Layers               int
	Peak, Jump, Overhang float64
	Islands, Cups, Wells int
}

// Sweep is what a search over tilts found.
type Sweep struct {
	Layer  float64
	Flat   Trial   // as supplied
	Trials []Trial // all tilts tried, by axis, then angle; Flat is among them
	Best   Trial
	Reason string // one or two sentences with the numbers that decided
}

// Tilts tries tilts about x and y and recommends one for vat printing.
func Tilts(ctx context.Context, m *mesh.Mesh, o Options) (*Sweep, error) { panic("to be written") }
