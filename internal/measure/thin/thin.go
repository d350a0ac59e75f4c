// Package thin finds where a solid is thin. Its central type is Report; Measure
// makes one. The solid is the union of a mesh's shells, as package inside has it: bodies
// that overlap, or are flush, are as thick as they are together.
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
// Beside every sharp edge of a body, however thick, both are small; that is an edge,
// not a thin place. So for Places the ball heeds opposed surfaces only, whose normals
// differ by 140° or more, and a place has to go on:
//
//   - A wall of thickness t is where, whichever way one goes along the middle of the
//     solid, both ways together, it stays between t/1.25 and 1.25·t thick over 0.8 mm and
//     over 2·t.
//   - A pin of thickness t, at most twice as wide as thick, is where it does so along
//     its axis over 0.8 mm and over t.
//   - What is thin and does neither is an edge or a point: two faces meet at an angle of
//     more than 12.8°, a cone is blunter than 25.4°, or a fillet runs out into a flat.
//     Nothing has to stand there by itself: a printer rounds it off. Edges lists these
//     apart, and they are no finding.
//
// See level.go for the derivation and for what these come to on wedges and fillets.
//
// Guarantees:
//
//   - Rays are exact to rounding. Balls are at most 0.85% too large in Places, 3%
//     in Report.Ball where they touch at a right angle or more; none is too small.
//   - Samples do not depend on how the surface is cut into triangles (see sampler),
//     but for extra ones in small features; the same mesh gives the same report to
//     the last bit on any number of processors.
//   - No wall with a disc of Report.Least mm² on either side is missed: that has a
//     lattice point on it. Walls and pins smaller than that are found if they have
//     triangles of their own, or by luck.
//   - On a regular prism of n sides with inradius r a pin's thickness lies between
//     2r(1 − tan 20°·tan(π/n)) and 2r/cos(π/n); see the derivation at gauge.
//   - Time and memory are bounded: some 800 thousand short rays, 16 thousand samples for the
//     quantiles and some 60 thousand gauges at most, about 200 bytes each. Where so
//     many surfaces lie over each other that a few lines cost a million triangles,
//     samples are left out and Partial says so.
//
// Through the openings of a mesh that is not closed nothing is measured. One that is
// inside out has no thin places.
package thin

import (
	"context"
	"math"
	"slices"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// Kind tells a wall, thin in one direction, from a pin, thin in two; and from both an
// edge and a point, which are so thin nowhere but where they end.
type Kind string

const (
	Wall  Kind = "wall"
	Pin   Kind = "pin"
	Edge  Kind = "edge"
	Point Kind = "point"
)

// Limit is the thickness from which on a place is not listed, in mm: above the
// greatest least pin of any stock on the bench, 3 mm, with room for a figure
// printed a little smaller than it was drawn.
const Limit = 3.5

// most is how many places of each kind are listed.
const most = 12

// farthest is how far a place is followed to find its Run, in mm: as far as any rule
// asks (see package verdict).
const farthest = 10.

// Place is a stretch of the solid that is thin.
type Place struct {
	Kind Kind
	// Thickness, mm, is the least there is, but not one noisy triangle's: the median
	// over half a millimetre about a point, and what is thinner than that comes to at
	// most a millimetre's disc, π/4 mm². A pin's is its lesser thickness.
	Thickness float64
	At        mesh.Vec // mm: middle of the solid where it is thinnest
	// Extent is the greatest extent, in mm, and Area the surface, in mm², of what is
	// connected with it and at most 1.25 times as thick.
	Extent float64
	Area   float64
	// Run, mm, of a wall or a pin, is how far it goes on between t/1.25 and 1.25·t thick:
	// a wall's in the direction where that is least, a pin's along its axis. It is
	// followed for 10 mm.
	Run float64
	// Joins says that along such a line it goes over into thicker solid at both ends: it
	// holds them together.
	Joins bool
}

// round is the surface, in multiples of thickness and extent, from which on what is thin
// two ways goes round and has no end. Straight, and at most twice as wide as thick, it
// has at most 6 (the perimeter of a section, 2 + 4); as a ring at least π·π.
const round = 8

// Noun is what to call the place. Of what is thin two ways a pin has an end that
// stands free; what is held at both ends, or is a ring, is a bar.
func (p Place) Noun() string {
	if p.Kind == Pin && (p.Joins || p.Area > round*p.Thickness*p.Extent) {
		return "bar"
	}
	return string(p.Kind)
}

// Report is how thick a solid is. Lengths are mm.
type Report struct {
	// Places are the thin stretches, thinnest first, walls and pins mixed; at most
	// the twelve thinnest of each kind.
	Places []Place
	// Edges are the stretches that are thin and neither wall nor pin, likewise.
	Edges []Place
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
	// Least, mm², is the size from which on no wall is missed: a disc that large on
	// either of its sides. 0 where nothing could be sampled.
	Least float64
	// Partial says that so many surfaces lie over each other somewhere that not all
	// samples there were measured.
	Partial bool
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
	pr := newProbe(t)
	samples, _, err := from.all(ctx, pr, nil)
	if err != nil {
		return report, err
	}
	partial, err := measured(ctx, pr, samples)
	if err != nil {
		return report, err
	}
	report.Partial = partial
	report.Samples, report.Spacing = len(samples), from.spacing
	report.Ray = quantiles(samples, func(s *sample) float64 { return s.ray })
	report.Ball = quantiles(samples, func(s *sample) float64 { return s.ball })

	closely, ok, err := newSampler(ctx, t.Mesh, looks*wanted)
	if err != nil || !ok {
		return report, err
	}
	if len(samples) > 0 {
		report.Least = leastSeen(closely.spacing)
	}
	thin, partial, err := closely.thin(ctx, pr)
	if err != nil {
		return report, err
	}
	report.Partial = report.Partial || partial
	f := finder{pr: pr, report: &report}
	if few := int(2 * wanted); len(thin) <= few {
		thin, err = closely.tufted(ctx, pr, thin)
		if err == nil {
			err = f.find(ctx, thin, closely, 0, math.Inf(1))
		}
	} else {
		// Thin in many places: the thinnest closely, the others by the coarser lattice.
		// A stretch is seen whole by the closer one if its band is below bound.
		slices.SortStableFunc(thin, func(a, b sample) int { return compare(a.ray, b.ray) })
		bound := thin[few].ray * (1 - 1e-9) / band // of a plate all rays are one but for rounding
		n, _ := slices.BinarySearchFunc(thin, band*bound, func(s sample, x float64) int { return compare(s.ray, x) })
		var close []sample
		if close, err = closely.tufted(ctx, pr, thin[:n:n]); err == nil {
			err = f.find(ctx, close, closely, 0, bound)
		}
		if err == nil {
			err = f.find(ctx, samples, from, bound, math.Inf(1))
		}
	}
	if err != nil {
		return report, err
	}
	report.Places, report.Edges = sorted(report.Places), sorted(report.Edges)
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

// leastSeen is the area of the least disc that always has a lattice point, for walls
// that are no smaller than their least. A square lattice leaves no disc free of more
// than √½ spacings' radius; a disc on a surface at the worst slope to its plane is
// seen there 1/√3 as narrow.
func leastSeen(spacing float64) float64 {
	d := max(least, 2*math.Sqrt(0.5)*math.Sqrt(3)*spacing)
	return math.Pi / 4 * d * d
}

// finder looks for places among samples.
type finder struct {
	pr     *probe
	report *Report
}

// find adds the places among the samples of a lattice that are thicker than lo and no
// thicker than hi. One at lo that was found by another lattice, and is there found a
// little thicker, is not added again.
func (f *finder) find(ctx context.Context, samples []sample, from sampler, lo, hi float64) error {
	gauges, partial, err := gaugeAll(ctx, f.pr, samples, from.centre)
	if err != nil {
		return err
	}
	f.report.Partial = f.report.Partial || partial
	defer func() { f.report.Partial = f.report.Partial || f.pr.spent(wanted, lineWork) }()
	for _, l := range []struct {
		to    *[]Place
		level bool
	}{{&f.report.Places, true}, {&f.report.Edges, false}} {
		found, err := places(ctx, f.pr, gauges, l.level, from)
		if err != nil {
			return err
		}
		before := len(*l.to)
		for _, p := range found {
			if p.Thickness <= lo/1.1 || p.Thickness > hi {
				continue
			}
			again := slices.ContainsFunc((*l.to)[:before], func(o Place) bool {
				return o.Kind == p.Kind && p.Thickness <= 1.1*o.Thickness && p.Thickness >= o.Thickness/1.1 &&
					o.At.Sub(p.At).Norm() <= o.Extent+p.Extent
			})
			if !again {
				*l.to = append(*l.to, p)
			}
		}
	}
	return nil
}

// sorted are the thinnest places of each kind, the thinnest first.
func sorted(all []Place) []Place {
	slices.SortStableFunc(all, func(a, b Place) int { return compare(a.Thickness, b.Thickness) })
	count := map[Kind]int{}
	return slices.DeleteFunc(all, func(p Place) bool { count[p.Kind]++; return count[p.Kind] > most })
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
