// Package slice cuts a solid into layers and says how large they are, in any
// pose; and which tilts keep them small. Its central type is Layers; Cut makes
// one, Tilts compares poses.
//
// No contours are built. A triangle adds one segment to the section at a height,
// and the signed area between that segment and a fixed axis is a polynomial in
// the height between the triangle's corners; these areas add up to the section's
// (Green's theorem), as tetrahedra do to a volume. So areas are exact at every
// cut, to a rounding that is stated at Layers.
//
// What follows from it. Areas are those of the winding: where two shells overlap,
// the overlap counts twice, and a cavity's shell, wound inwards, counts
// negatively. A mesh that is inside out as a whole is taken the other way round
// (Layers.Reversed). Of a mesh that does not enclose anything there are no areas
// (Layers.Encloses), since they would depend on where the mesh lies; perimeters,
// overhang and the number of layers there are.
//
// It gives areas and ratios, never forces: a larger layer tears off the film of a
// vat printer with more force, but no law for it has been shown to hold from
// printer to printer.
//
// The same mesh gives the same answers to the last bit, on any number of
// processors.
package slice

import (
	"context"
	"errors"
	"fmt"
	"math"

	"cardback/internal/measure/stack"
	"cardback/internal/mesh"
)

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

// ErrTooManyLayers is wrapped in the error for a part so tall, in layers so thin,
// that it is no part or not in mm.
var ErrTooManyLayers = errors.New("too many layers")

// filled puts the defaults in, and refuses what is no length or angle.
func (o Options) filled() (Options, error) {
	if o.Layer == 0 {
		o.Layer = DefaultLayer
	}
	if o.Limit == 0 {
		o.Limit = DefaultLimit
	}
	if !(o.Layer > 0 && o.Layer <= math.MaxFloat32) {
		return o, fmt.Errorf("slice: a layer of %v mm has no height", o.Layer)
	}
	if !(o.Limit > 0 && o.Limit <= 90) {
		return o, fmt.Errorf("slice: a limit of %v degrees from the vertical is not between 0 and 90", o.Limit)
	}
	return o, o.Pose.check()
}

// Layers is a solid in layers, in one pose. Layer k is cut half way up, at
// (k+½)·Layer over the lowest point; a corner at exactly that height counts as
// below the cut. There are ceil(Height/Layer − 0.001) layers: the last may be a
// part of one, and is empty where less than half of it is left.
//
// Areas are right to within 32u·r·Perimeter, where u is 2⁻⁵³ and r half the
// diagonal of the bounds: at 100 mm across, some 10⁻¹² mm² for a layer one could
// print. Growth that is no more than that is none.
type Layers struct {
	Options   Options
	Height    float64   // mm
	Areas     []float64 // mm², signed by the winding; one a layer
	Perimeter []float64 // mm, of all outlines, inner ones included
	Peak      float64   // mm², the largest
	PeakLayer int       // the lowest as large, but for rounding
	FlatPeak  float64   // mm², the largest as supplied (the zero Pose)
	// Jump is the largest growth from one layer to the next, mm²; JumpRatio the
	// greater area over the lesser there (0 where the lesser is 0). The first layer
	// is held by the plate and is not growth; where no layer grows, all are 0.
	Jump      float64
	JumpRatio float64
	JumpLayer int     // the upper of the two
	Overhang  float64 // mm² of surface that leans out beyond Limit, what lies on the plate not counted
	Volume    float64 // mm³, enclosed; what the areas integrate to
	// Encloses is whether every edge is passed as often one way as the other, as in
	// any closed mesh with its triangles wound alike. Where it is false, sections do
	// not close: Areas are left at 0 and so is all that is drawn from them; Height,
	// Perimeter and Overhang hold, and of an open mesh the Report is what package
	// stack makes of it.
	Encloses bool
	// Reversed is whether the mesh is inside out, its volume negative: areas,
	// overhang and the Report are those of the mesh turned the right way out.
	Reversed bool
	stack.Report
}

// Cut slices m. It fails for options that make no sense, for a mesh with corners
// that are not finite or beyond the range of 32-bit numbers, for more layers than
// any printer has (ErrTooManyLayers), and when the context ends. A mesh without
// triangles, or flat, has no layers.
func Cut(ctx context.Context, m *mesh.Mesh, o Options) (*Layers, error) {
	l, err := measure(ctx, m, o)
	if err != nil || len(l.Areas) == 0 {
		return l, err
	}
	l.Report, err = stack.Of(ctx, l.Options.Pose.Apply(rightWayOut(m, l.Reversed)), l.Options.Layer)
	if err != nil {
		return nil, err
	}
	return l, nil
}

// rightWayOut is m with its triangles turned over if it is inside out.
func rightWayOut(m *mesh.Mesh, reversed bool) *mesh.Mesh {
	if !reversed {
		return m
	}
	out := &mesh.Mesh{Vertices: m.Vertices, Triangles: make([][3]uint32, len(m.Triangles))}
	for i, t := range m.Triangles {
		out.Triangles[i] = [3]uint32{t[0], t[2], t[1]}
	}
	return out
}

// measure is Cut without what follows regions from layer to layer.
func measure(ctx context.Context, m *mesh.Mesh, o Options) (*Layers, error) {
	o, err := o.filled()
	if err != nil {
		return nil, err
	}
	s, err := newSubject(ctx, m)
	if err != nil {
		return nil, err
	}
	p, err := s.run(ctx, o.Pose, o.Layer, o.Limit)
	if err != nil {
		return nil, err
	}
	l := p.layers(o, s.encloses)
	if l.FlatPeak = l.Peak; o.Pose.Tilt != 0 {
		flat, err := s.run(ctx, Pose{}, o.Layer, o.Limit)
		if err != nil {
			return nil, err
		}
		l.FlatPeak = flat.layers(o, s.encloses).Peak
	}
	return l, nil
}

// layers draws the largest layer and the worst jump from a pass.
func (p *pass) layers(o Options, encloses bool) *Layers {
	l := &Layers{
		Options: o, Height: p.height, Areas: p.areas, Perimeter: p.perimeter, Overhang: p.overhang,
		Volume: p.volume, Encloses: encloses, Reversed: p.reversed,
	}
	for k, a := range l.Areas {
		if k == 0 {
			l.Peak = a
			continue
		}
		// Nothing is drawn from differences that may be rounding.
		noise := float64(p.noise * max(p.perimeter[k], p.perimeter[k-1], p.perimeter[l.PeakLayer]))
		if a > l.Peak+noise {
			l.PeakLayer = k
		}
		l.Peak = max(l.Peak, a)
		if before := l.Areas[k-1]; a-before > max(l.Jump, noise) {
			l.Jump, l.JumpRatio, l.JumpLayer = a-before, 0, k
			if before > noise {
				l.JumpRatio = a / before
			}
		}
	}
	return l
}
