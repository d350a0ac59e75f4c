package measure

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
)

const (
	// smallestExtent and largestExtent, in mm, bound what is taken for a size in
	// millimetres without a remark: common practice, no source.
	smallestExtent, largestExtent = 2, 1000

	// coarsestStep is how far apart, in mm, neighbouring 32-bit coordinates may
	// be: a tenth of a thin resin layer (10 µm; common practice, no source).
	// Coordinates from 16384 mm on are farther apart.
	coarsestStep = 0.001

	// shellPairs bounds the search for a shell's surroundings.
	shellPairs = 10_000_000
)

// findingsOf says in sentences what is wrong or worth knowing. empty says that
// the volume is nothing but rounding.
func findingsOf(r *Report, m *mesh.Mesh, top mesh.Topology, empty bool) []Finding {
	found := []Finding{}
	say := func(l Level, code, text string, args ...any) {
		found = append(found, Finding{Level: l, Code: code, Text: fmt.Sprintf(text, args...)})
	}
	if n := r.OpenEdges; n > 0 {
		say(Fault, "open-edges", "The surface has %s with a triangle on one side only, so it does not close: what is inside is undefined, and layers may be left empty or filled where they should not be.", counted(n, "edge"))
	}
	if n := r.NonManifoldEdges; n > 0 {
		say(Caution, "non-manifold-edges", "Three or more triangles meet at %s: where bodies touch along a line or surfaces are doubled, they may print joined, parted or hollow.", counted(n, "edge"))
	}
	if n := top.InconsistentEdges; n > 0 {
		say(Fault, "inconsistent-orientation", "At %s the neighbouring triangles face opposite ways, so part of the surface is inside out: what is solid there may print hollow, or not at all.", counted(n, "edge"))
	}
	orientation(r, m, top, empty, say)
	switch {
	case r.HullVolume == 0:
		say(Fault, "flat", "All corners lie in one plane, so there is no thickness to print.")
	case empty && r.Closed:
		say(Fault, "no-volume", "The surface encloses no volume, so there is nothing to fill and nothing prints.")
	}
	if n := r.DegenerateTriangles; n > 0 {
		say(Note, "degenerate-triangles", "%s: nothing of that prints, but a program that drops such triangles may open a crack.", subject(n, "triangle has no area", "triangles have no area"))
	}
	if n := r.DuplicateTriangles; n > 0 {
		say(Caution, "duplicate-triangles", "%s the same three corners as an earlier one: a doubled surface may print hollow, or be taken for two bodies.", subject(n, "triangle has", "triangles have"))
	}
	if r.Shells > 1 {
		say(Note, "several-shells", "The surface is in %d separate shells: each prints as a piece of its own, unless shells overlap or one is a cavity in another.", r.Shells)
	}
	units(r, say)
	if step := float32Step(r.Bounds); step > coarsestStep {
		say(Note, "far-from-origin", "The part lies up to %s mm from the origin, where coordinates in an STL file are %s mm apart: fine detail is stepped, and thin walls may close.", short(farthestCoordinate(r.Bounds)), short(step))
	}
	return found
}

// orientation says what is certain about the way out. The volume's sign tells
// for a closed, consistent surface; of several shells, one that runs inward is a
// cavity if it lies inside another one, and inside out if its box is not within
// the box of any shell that runs outward.
func orientation(r *Report, m *mesh.Mesh, top mesh.Topology, empty bool, say func(Level, string, string, ...any)) {
	switch {
	case empty:
		return
	case r.Volume < 0 && r.Closed && r.ConsistentlyOriented:
		say(Fault, "inside-out", "The surface is inside out (its volume comes to %s mm³): the part may print as a hole, or not at all; turn all triangles over.", short(r.Volume))
		return
	case r.Volume < 0:
		say(Caution, "negative-volume", "The volume comes to %s mm³: most of the surface is wound inside out, and the part may print as a hole.", short(r.Volume))
		return
	case !r.Closed || !r.ConsistentlyOriented || r.Shells < 2:
		return
	}
	var outward []mesh.Box
	var inward []mesh.Box
	for _, s := range shellsOf(m, top) {
		volume := s.volume.Value() / 6
		switch {
		case noVolume(volume, s.triangles, s.box.Size().Scale(2)): // about a corner, not the centre
		case volume > 0:
			outward = append(outward, s.box)
		default:
			inward = append(inward, s.box)
		}
	}
	if len(inward) == 0 {
		return
	}
	loose := 0
	if len(inward)*len(outward) <= shellPairs {
		for _, b := range inward {
			if !slices.ContainsFunc(outward, func(o mesh.Box) bool { return within(b, o) }) {
				loose++
			}
		}
	}
	if loose > 0 {
		say(Fault, "shell-inside-out", "%s inside out and not enclosed by any other: the piece may print as a hole, or not at all; turn its triangles over.", subject(loose, "shell is", "shells are"))
	}
	if n := len(inward) - loose; n > 0 {
		say(Note, "inward-shell", "%s inward: a cavity if the shell lies inside the solid, else a piece that is inside out; a closed cavity traps resin, and support inside it cannot be taken out.", subject(n, "shell faces", "shells face"))
	}
}

func within(inner, outer mesh.Box) bool {
	return inner.Min.X >= outer.Min.X && inner.Min.Y >= outer.Min.Y && inner.Min.Z >= outer.Min.Z &&
		inner.Max.X <= outer.Max.X && inner.Max.Y <= outer.Max.Y && inner.Max.Z <= outer.Max.Z
}

// shell is one shell's volume, six times, about its first corner, and its box.
type shell struct {
	triangles int
	origin    mesh.Vec
	volume    exact.Sum
	box       mesh.Box
}

func shellsOf(m *mesh.Mesh, top mesh.Topology) []shell {
	shells := make([]shell, top.Shells)
	for i, n := range top.ShellOf {
		if n < 0 {
			continue
		}
		s := &shells[n]
		a, b, c := m.Corners(i)
		if s.triangles == 0 {
			s.origin, s.box = a, mesh.Box{Min: a, Max: a}
		}
		s.triangles++
		s.box = grown(grown(grown(s.box, a), b), c)
		s.volume.Add(a.Sub(s.origin).Dot(b.Sub(s.origin).Cross(c.Sub(s.origin))))
	}
	return shells
}

// units points out a size that makes another unit than the millimetre likely,
// with the units that would bring it between the bounds.
func units(r *Report, say func(Level, string, string, ...any)) {
	size := r.Bounds.Size()
	extent := max(size.X, size.Y, size.Z)
	if extent > largestExtent {
		say(Caution, "large", "The largest extent is %s mm, more than common plates hold: check that the file is in millimetres.", short(extent))
		return
	}
	if extent >= smallestExtent || extent == 0 {
		return
	}
	var guesses []string
	for _, u := range []struct {
		name string
		mm   float64
	}{{"centimetres", 10}, {"inches", 25.4}, {"metres", 1000}} {
		if in := extent * u.mm; in >= smallestExtent && in <= largestExtent {
			guesses = append(guesses, fmt.Sprintf("%s (%s mm)", u.name, short(in)))
		}
	}
	hint := "."
	if len(guesses) > 0 {
		hint = ", such as " + strings.Join(guesses, ", ") + "."
	}
	say(Caution, "small", "The largest extent is %s mm, and it would print that small: the file may be in another unit%s", short(extent), hint)
}

func farthestCoordinate(b mesh.Box) float64 {
	far := 0.0
	for k := range 3 {
		far = max(far, math.Abs(b.Min.Component(k)), math.Abs(b.Max.Component(k)))
	}
	return far
}

// float32Step is the distance between neighbouring 32-bit numbers (24 bits of
// precision) at the coordinate farthest from 0.
func float32Step(b mesh.Box) float64 {
	_, exp := math.Frexp(farthestCoordinate(b)) // below 2^exp
	return math.Ldexp(1, exp-24)
}

// short writes a number with three significant digits, larger ones whole, and
// never with an exponent below a million.
func short(x float64) string {
	if a := math.Abs(x); a >= 1000 && a < 1e6 {
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.3g", x)
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func subject(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
