// Package thin finds where a solid is thin. Its central type is Report; Measure
// makes one.
//
// Thickness is measured at points of the surface, by two definitions:
//
//   - ray: how far the inward normal runs until it leaves the solid;
//   - ball: the diameter of the largest ball inside that touches the point.
//
// On a wedge of angle 2a, at a distance x from its edge along a face, the ray is
// x·tan 2a and the ball 2x·tan a; on a plate both are its thickness, on a tube its
// wall, on a rod and a sphere the diameter. A ball is never larger than the ray.
//
// Beside every sharp edge of a body, however thick, both definitions of a wedge
// give small numbers, and so does the ball beside a right angle. That is an edge,
// not a thin place. For Places the ball therefore heeds opposed surfaces only,
// whose normals differ by 140° or more: it is the largest ball that touches the
// point with no opposed surface inside. Edges under 40° count, and are thin down to
// nothing; what is said of them is the middle thickness within half a millimetre of
// the edge, and a long edge may come as several places. Blunter ones do not.
//
// Guarantees:
//
//   - Rays are exact to rounding. Balls are at most 0.85% too large in Places, 3%
//     in Report.Ball where they touch at a right angle or more; none is too small.
//   - Samples do not depend on how the surface is cut into triangles (see sampler),
//     but for extra ones in small features; the same mesh gives the same report to
//     the last bit on any number of processors.
//   - On a regular prism of n sides with inradius r a pin's thickness lies between
//     2r(1 − tan 20°·tan(π/n)) and 2r/cos(π/n); see the derivation at gauge.
//   - Time and memory are bounded: some 45 thousand samples at most, about 200
//     bytes each.
//
// A feature whose whole surface is smaller than a few Spacing² may be missed; so
// may a needle with a triangle as its section, whose sides are not opposed. Of
// open and inside-out meshes it reports what the rays meet, or nothing.
package thin

import (
	"context"
	"math"
	"slices"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// Kind tells a wall, thin in one direction, from a pin, thin in two.
type Kind string

const (
	Wall Kind = "wall"
	Pin  Kind = "pin"
)

// Limit is the thickness from which on a place is not listed, in mm: above the
// greatest least pin of any stock on the bench, 3 mm, with room for a figure
// printed a little smaller than it was drawn.
const Limit = 3.5

// most is how many places of each kind are listed.
const most = 12

// Place is a stretch of the solid that is thin.
type Place struct {
	Kind Kind
	// Thickness, mm, is the least there is, but not one noisy triangle's: the median
	// over half a millimetre about a point, and what is thinner than that comes to at
	// most a millimetre's disc, π/4 mm², or three Spacing². A pin's is its lesser thickness.
	Thickness float64
	At        mesh.Vec // mm: middle of the solid where it is thinnest
	// Extent is the greatest extent, in mm, and Area the surface, in mm², of what is
	// connected with it and at most 1.25 times as thick.
	Extent float64
	Area   float64
}

// Report is how thick a solid is. Lengths are mm.
type Report struct {
	// Places are the thin stretches, thinnest first, walls and pins mixed; at most
	// the twelve thinnest of each kind.
	Places []Place
	// Wall and Pin are the thinnest of each kind, nil where there is none as thin
	// as Limit.
	Wall, Pin *float64
	Limit     float64 // stretches thicker than this are not listed
	// Ray and Ball are the thickness at the quantiles of Levels of the surface's
	// area: along the inward normal, and of the largest ball inside that touches.
	// Surface from which the inward normal leads nowhere is left out; they are nil
	// where that is all.
	Ray, Ball []float64
	Samples   int
	Spacing   float64 // between samples, about
}

// Levels are the shares of the surface that Ray and Ball are given at.
var Levels = []float64{0.01, 0.05, 0.25, 0.5, 0.75, 0.95}

// Measure samples the surface. It wants a closed, consistently oriented mesh; of
// another it measures what there is. The error is the context's.
func Measure(ctx context.Context, t *tree.Tree) (Report, error) {
	return measureWith(ctx, t, wanted)
}

// measureWith is Measure with that many samples of a large surface.
func measureWith(ctx context.Context, t *tree.Tree, wanted float64) (Report, error) {
	report := Report{Limit: Limit}
	from, ok, err := newSampler(ctx, t.Mesh, wanted)
	if err != nil || !ok {
		return report, err
	}
	samples, err := from.all(ctx)
	if err != nil {
		return report, err
	}
	if err := measured(ctx, t, samples); err != nil {
		return report, err
	}
	report.Samples, report.Spacing = len(samples), from.spacing
	report.Ray = quantiles(samples, func(s *sample) float64 { return s.ray })
	report.Ball = quantiles(samples, func(s *sample) float64 { return s.ball })

	gauges, err := gaugeAll(ctx, t, samples, from.spacing)
	if err != nil {
		return report, err
	}
	report.Places, err = places(ctx, t, gauges, from)
	if err != nil {
		return report, err
	}
	for i := range report.Places {
		switch p := &report.Places[i]; {
		case p.Kind == Wall && report.Wall == nil:
			report.Wall = &p.Thickness
		case p.Kind == Pin && report.Pin == nil:
			report.Pin = &p.Thickness
		}
	}
	return report, nil
}

// quantiles is a length at Levels of the area that has one.
func quantiles(samples []sample, length func(*sample) float64) []float64 {
	type weighed struct{ length, area float64 }
	all := make([]weighed, 0, len(samples))
	total := 0.0
	for i := range samples {
		if s := &samples[i]; s.area > 0 && !math.IsInf(length(s), 1) {
			all = append(all, weighed{length(s), s.area})
			total += s.area
		}
	}
	if len(all) == 0 {
		return nil
	}
	slices.SortStableFunc(all, func(a, b weighed) int { return compare(a.length, b.length) })
	out := make([]float64, 0, len(Levels))
	sum, i := 0.0, 0
	for _, level := range Levels {
		for ; i < len(all)-1 && sum+all[i].area < float64(level*total); i++ {
			sum += all[i].area
		}
		out = append(out, all[i].length)
	}
	return out
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
