package measure

import (
	"fmt"
	"math"

	"cardback/internal/mesh"
	"cardback/internal/words"
)

const (
	// coarsestStep is how far apart, in mm, neighbouring 32-bit coordinates may
	// be: a tenth of a thin resin layer (10 µm; common practice, no source).
	// Coordinates from 16384 mm on are farther apart.
	coarsestStep = 0.001
)

// findings collects them.
type findings []Finding

// say adds a finding without a place.
func (f *findings) say(l Level, code, text string, args ...any) { f.sayAt(nil, l, code, text, args...) }

// sayAt adds one with a place, if p is not nil.
func (f *findings) sayAt(p *mesh.Vec, l Level, code, text string, args ...any) {
	found := Finding{Level: l, Code: code, Text: fmt.Sprintf(text, args...)}
	if p != nil {
		found.At = At(*p)
	}
	*f = append(*f, found)
}

// first is a pointer to the first of some places, nil where there is none.
func first(places []mesh.Vec) *mesh.Vec {
	if len(places) == 0 {
		return nil
	}
	return &places[0]
}

// findingsOf says in sentences what is wrong or worth knowing: one for each code,
// with the count and one place; the report has more places. empty says that the
// volume is nothing but rounding.
func findingsOf(r *Report, top mesh.Topology, empty bool) []Finding {
	found := findings{}
	edges(&found, r, top)
	orientation(&found, r, empty)
	shells(&found, r)
	crossings(&found, r)
	switch {
	case r.HullVolume == 0:
		found.say(Fault, "flat", "All corners lie in one plane, so there is no thickness to print.")
	case empty && r.OpenEdges == 0:
		found.say(Fault, "no-volume", "The volume comes to nothing: the surface encloses none, or parts of it that are inside out cancel the rest; little or nothing prints.")
	}
	if r.Thin.Partial {
		found.say(Note, "thin-partial", "So many surfaces lie over each other in places that walls and pins were not measured everywhere: what is thin there may be missing.")
	}
	if n := r.DegenerateTriangles; n > 0 {
		found.sayAt(r.Spots.NoArea, Note, "degenerate-triangles", "%s: nothing of that prints, but a program that drops such triangles may open a crack.", words.Count(n, "triangle has no area", "triangles have no area"))
	}
	if n := r.Spots.Backs; n > 0 {
		found.sayAt(r.Spots.BackToBack, Caution, "no-thickness", "%s back to back on the same three corners: a wall without thickness, of which nothing prints, or a wall left inside where bodies touch.", words.Count(n, "pair of triangles lies", "pairs of triangles lie"))
	}
	if n := r.DuplicateTriangles - r.Spots.Backs; n > 0 {
		found.sayAt(r.Spots.Duplicate, Caution, "duplicate-triangles", "%s the same three corners as an earlier one: a doubled surface may print hollow, or be taken for two bodies.", words.Count(n, "triangle has", "triangles have"))
	}
	if r.Intricate != [3]bool{} {
		found.say(Caution, "intricate", "So many edges cross each other that an outline cannot be worked out: drawings and plates take the outline of the convex hull, which is larger. A heap of loose slivers, rather than a surface, looks like this.")
	}
	if r.Bores.Partial {
		found.say(Caution, "holes-partial", "Holes were not all looked for: so many stretches of the surface might be round that the search ended at its bound. The holes and pins that are listed are there; others may be.")
	}
	units(&found, r)
	if step := float32Step(r.Bounds); step > coarsestStep {
		found.say(Note, "far-from-origin", "The part lies up to %s mm from the origin, where coordinates in an STL file are %s mm apart: fine detail is stepped, and thin walls may close.", words.Significant(farthestCoordinate(r.Bounds), 3), words.Significant(step, 3))
	}
	return found
}

// edges says where the surface does not close, or is not a surface.
func edges(found *findings, r *Report, top mesh.Topology) {
	if n := r.OpenEdges; n > 0 {
		found.sayAt(r.Spots.OpenEdge, Fault, "open-edges", "The surface has %s with a triangle on one side only, so it does not close: what is inside is undefined, and layers may be left empty or filled where they should not be.", words.Count(n, "edge", "edges"))
	}
	if c := r.Closing; c != nil {
		found.sayAt(first(c.Places), Note, "cracks-closed", "%s a triangle on one side only, but every such crack closes within %s mm, far below what a printer shows. All numbers are of the closed surface. The file is left as it is: a program that does not join what lies so near may call it open.", words.Count(c.OpenEdges, "edge of the file has", "edges of the file have"), words.Slight(c.Farthest))
	}
	c := &r.Cracks
	if c.Partial {
		found.say(Note, "cracks-partial", "Cracks were not looked for everywhere: so many open edges lie beside each other that looking ended at its bound. The ones that are given are there; others may be.")
	}
	if n := c.TJunctions; n > 0 {
		found.sayAt(first(c.TPlaces), Caution, "t-junctions", "%s on an open edge that does not have it as an end: the crack is too fine to see, but the surface does not close there and a layer may be left empty or overfilled; split the edge at the corner.", words.Count(n, "corner lies", "corners lie"))
	}
	if n := c.NearDuplicates; n > 0 {
		remedy := "No one tolerance would join these corners and no others"
		if c.Weld > 0 {
			remedy = fmt.Sprintf("Joining corners within %s mm would bring these together and no others", words.Slight(c.Weld))
		}
		found.sayAt(first(c.NearPlaces), Caution, "near-duplicate-corners", "%s along open edges another one in nearly the same place, so that edges which look joined are not, and a layer may be left empty or overfilled there. %s.", words.Count(n, "corner has", "corners have"), remedy)
	}
	if n := r.NonManifoldEdges; n > 0 {
		found.sayAt(r.Spots.NonManifoldEdge, Caution, "non-manifold-edges", "Three or more triangles meet at %s: where bodies touch along a line, a wall was left inside or surfaces are doubled, they may print joined, parted or hollow.", words.Count(n, "edge", "edges"))
	}
	if n := top.InconsistentEdges; n > 0 {
		found.sayAt(r.Spots.InconsistentEdge, Fault, "inconsistent-orientation", "At %s the neighbouring triangles face opposite ways, so part of the surface is inside out: what is solid there may print hollow, or not at all.", words.Count(n, "edge", "edges"))
	}
}

// orientation says what runs the wrong way out: all of it, some closed shells,
// or, where the surface does not tell, most of it.
func orientation(found *findings, r *Report, empty bool) {
	s := &r.Nesting
	inward := len(s.Cavities) + len(s.Inverted) + len(s.Breaking) + s.Undecided
	switch n := len(s.Inverted); {
	case n > 0 && r.Closed && r.ConsistentlyOriented && r.Shells == inward+len(s.Reversed)+s.CoincidentCount:
		found.sayAt(&s.Inverted[0].At, Fault, "inside-out", "The surface is inside out (its volume comes to %s mm³): the part may print as a hole, or not at all; turn all triangles over.", words.Significant(r.Volume, 3))
	case n > 0:
		found.sayAt(&s.Inverted[0].At, Fault, "shell-inside-out", "%s inside out and not inside any solid: the piece may print as a hole, or not at all; turn its triangles over.", words.Count(n, "shell is", "shells are"))
	case r.Volume < 0 && !empty && s.Undecided+len(s.Breaking) == 0 && (r.OpenEdges == 0 || r.ConsistentlyOriented):
		found.say(Caution, "negative-volume", "The volume comes to %s mm³: most of the surface is wound inside out, and the part may print as a hole.", words.Significant(r.Volume, 3))
	}
}

// shells says how the pieces lie in each other. What a cavity does is a matter of how the
// part is printed: see verdict.InProcesses.
func shells(found *findings, r *Report) {
	s := &r.Nesting
	if n := len(s.Cavities); n > 0 {
		volume := 0.0
		for _, c := range s.Cavities {
			volume -= c.Volume
		}
		found.sayAt(&s.Cavities[0].At, Caution, "cavity", "%s, %s mm³ in all.", words.Count(n, "cavity has no way out", "cavities have no way out"), words.Significant(volume, 3))
	}
	if n := len(s.Breaking); n > 0 {
		found.sayAt(&s.Breaking[0].At, Caution, "cavity-breaks-out", "%s inward and through the outside of the part: the cut that it stands for was not carried out, and where it breaks out there may be a hole, a lump or nothing.", words.Count(n, "shell runs", "shells run"))
	}
	if n := s.OverlappingCount; n > 0 {
		seam := ""
		if k := r.Crossings.Count - r.Crossings.Touching; k > 0 && crossOnlyOverlaps(r) {
			seam = ", where " + words.Count(k, "pair of triangles crosses", "pairs of triangles cross")
		}
		found.sayAt(first(s.OverlapPlaces), Caution, "overlapping-shells", "%s%s: what is in both usually prints as one solid, but a program that fills by turns leaves it empty, and volume, layers and amounts here count it twice; unite them to be sure.", atLeast(s.Partial, n, "pair of shells overlaps", "pairs of shells overlap"), seam)
	}
	if n := s.CoincidentCount; n > 0 {
		found.sayAt(&s.Coincident[0][1].At, Caution, "coincident-shells", "%s the same surface as another in the same place: a doubled surface may print hollow, or be traced twice; delete the copies.", words.Count(n, "shell is", "shells are"))
	}
	if n := len(s.Buried); n > 0 {
		found.sayAt(&s.Buried[0].At, Note, "buried-shell", "%s to the print, unless the program fills by turns and leaves a hollow; volume, layers and amounts here count what is inside twice.", words.Count(n, "shell lies wholly inside another solid: it adds nothing", "shells lie wholly inside another solid: they add nothing"))
	}
	if n := s.Undecided; n > 0 {
		found.say(Note, "inward-shell", "%s inward, as a cavity or inside out: which of the two could not be told, for want of a corner that touches no other shell; a piece that is inside out may print as a hole.", words.Count(n, "shell runs", "shells run"))
	}
	if n := r.Shells - len(s.Cavities) - len(s.Buried) - len(s.Breaking) - len(s.Reversed) - s.CoincidentCount; n > 1 {
		text := fmt.Sprintf("The surface is in %d separate shells", n)
		if n < r.Shells {
			text = fmt.Sprintf("Apart from cavities, copies and what is buried, the surface is in %d separate shells", n)
		}
		switch c := &r.Crossings; {
		case c.Count == 0 && !c.Partial:
			text += ", and none reaches into another: each prints as a piece of its own."
		case s.OverlappingCount > 0:
			text += ": those that overlap print as one piece, others each as a piece of its own."
		default:
			text += ": each prints as a piece of its own, unless it touches another."
		}
		found.say(Note, "several-shells", "%s", text)
	}
}

// crossings says where the surface passes through itself or touches itself.
func crossings(found *findings, r *Report) {
	c := &r.Crossings
	if c.Partial {
		found.sayAt(c.Past, Caution, "crossings-partial", "Crossings were not counted past %s of triangles whose boxes meet: so many lie over each other that looking ended at its bound. The ones that are given are there; others may be.", words.Count(c.Looked, "pair", "pairs"))
	}
	if r.Nesting.Partial {
		found.say(Caution, "shells-partial", "How shells lie in each other was not looked at everywhere: so many lie over each other that looking ended at its bound. What is said of shells is so; others may overlap or lie inside.")
	}
	var crossing, touching *mesh.Vec
	for i := len(c.Places) - 1; i >= 0; i-- {
		if p := &c.Places[i]; p.Touch {
			touching = &p.At
		} else {
			crossing = &p.At
		}
	}
	if n := c.Count - c.Touching; n > 0 && !crossOnlyOverlaps(r) {
		found.sayAt(crossing, Caution, "self-intersections", "%s through each other: this usually prints, for what either surface encloses is filled, but fine gaps or spurs may be left along the crossing.", atLeast(c.Partial, n, "pair of triangles passes", "pairs of triangles pass"))
	}
	// Doubled triangles touch each other and all their neighbours, and the sides of
	// a crack touch too: both are told as such.
	told := r.DuplicateTriangles + r.Nesting.CoincidentCount + r.Cracks.TJunctions + r.Cracks.NearDuplicates
	if n := c.Touching; n > 0 && told == 0 {
		found.sayAt(touching, Note, "self-touching", "%s without being joined there: what touches prints in one piece, also where it was meant to move or come apart.", atLeast(c.Partial, n, "pair of triangles touches", "pairs of triangles touch"))
	}
}

// crossOnlyOverlaps reports whether all triangles that cross do so because sound
// shells overlap, which is told as such.
func crossOnlyOverlaps(r *Report) bool {
	s := &r.Nesting
	return r.Crossings.Within == 0 && !r.Crossings.Partial && s.OverlappingCount > 0 && r.Closed && r.ConsistentlyOriented &&
		len(s.Breaking)+len(s.Inverted)+s.Undecided == 0
}

// atLeast is subject for a count that may not be whole.
func atLeast(partial bool, n int, one, many string) string {
	if partial {
		return "At least " + words.Count(n, one, many)
	}
	return words.Count(n, one, many)
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
