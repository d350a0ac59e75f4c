package printing

import (
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure/slice"
	"cardback/internal/release"
	"cardback/internal/rotation"
)

// Part is a part of a release as one process prints it.
type Part struct {
	release.Part
	Process *bench.Process
	Number  int // on the chart, from 1
	// Needed is false for a part that is made for another process: a print by this
	// one leaves it out.
	Needed bool
	// Pose is how the process lays the part: as its own notes say, else by the
	// release's tilt for the process, about x since a release names no axis, else as
	// supplied. A mirrored copy is laid in the mirror image of Pose.
	Pose slice.Pose
	// Oriented says that Pose is of the part's own notes.
	Oriented bool

	rigid, flexible *release.Cut // of a material that bends and of any other; nil for none
}

// PartOf is one part of a release as a process prints it: as in Plan.Parts.
func PartOf(r release.Release, p release.Part, proc *bench.Process) Part {
	number := 1 + slices.IndexFunc(r.Parts, func(q release.Part) bool { return q.Slug == p.Slug })
	return newPart(p, number, proc, Settings(r, proc))
}

func newPart(p release.Part, number int, proc *bench.Process, settings release.PrintSettings) Part {
	out := Part{
		Part: p, Process: proc, Number: number, Needed: p.Only == nil || p.Only == proc,
		Oriented: p.TiltAbout != "" && (p.TiltFor == nil || p.TiltFor == proc),
	}
	switch {
	case out.Oriented:
		out.Pose = slice.Pose{Tilt: p.Tilt, About: p.TiltAbout}
	case settings.Tilt != 0:
		out.Pose = slice.Pose{Tilt: settings.Tilt, About: "x"}
	}
	first := func(kinds ...release.CutKind) *release.Cut {
		for _, k := range kinds {
			if i := slices.IndexFunc(p.Cuts, func(c release.Cut) bool { return c.Kind == k }); i >= 0 {
				return &p.Cuts[i]
			}
		}
		return nil
	}
	own := release.CutFor(proc)
	out.rigid, out.flexible = first(own, release.CutAny), first(release.CutFlexible, own, release.CutAny)
	return out
}

// CutIn is the mesh to print in a material of that stiffness: the flexible cut for a
// flexible material, else the process's own, else the one for any. ok is false where
// the part has none. A part that is not Needed has one too: a test print may be of
// anything.
func (p Part) CutIn(s bench.Stiffness) (cut release.Cut, ok bool) {
	found := p.rigid
	if s == bench.Flexible {
		found = p.flexible
	}
	if found == nil {
		return release.Cut{}, false
	}
	return *found, true
}

// Cut is the mesh that is laid on a plate of the process: that of a rigid material, or
// the flexible one of a part that has no other. ok is false where the part has none, or
// is not Needed.
func (p Part) Cut() (cut release.Cut, ok bool) {
	for _, c := range p.Meshes() {
		return c, true
	}
	return release.Cut{}, false
}

// Meshes are the cuts that the process prints in one material or another, each once:
// that of a rigid material comes before that of a flexible one. A part that is not
// Needed has none.
func (p Part) Meshes() []release.Cut {
	var out []release.Cut
	for _, c := range []*release.Cut{p.rigid, p.flexible} {
		if p.Needed && c != nil && !slices.Contains(out, *c) {
			out = append(out, *c)
		}
	}
	return out
}

// Prints reports whether c is one of Meshes.
func (p Part) Prints(c release.Cut) bool { return slices.Contains(p.Meshes(), c) }

// Declared reports whether anybody recommends Pose: the part's notes or the release's.
// What is laid as supplied for want of a word is not recommended so.
func (p Part) Declared() bool { return p.Oriented || p.Pose != slice.Pose{} }

// InStock reports whether a complete print in a stock of that stiffness counts the
// part: one that bends is printed in what bends, and any other in the rest.
func (p Part) InStock(s bench.Stiffness) bool {
	return p.Needed && Bends(p.Part) == (s == bench.Flexible)
}

// Bends reports whether the part is made to bend: it says so, or has no other cut than
// the one for flexible materials.
func Bends(p release.Part) bool {
	return p.Flexible || len(p.Cuts) == 1 && p.Cuts[0].Kind == release.CutFlexible
}

// Lot is copies of a part that are printed alike: as supplied, or mirrored in x = 0.
type Lot struct {
	Copies   int
	Mirrored bool
}

// Lots are the copies that one complete print has of the part.
func Lots(p release.Part) []Lot {
	out := []Lot{{Copies: p.Quantity}}
	if n := p.Mirrored(); n > 0 {
		out = append(out, Lot{Copies: n, Mirrored: true})
	}
	return out
}

// OnePiece is the part of a release that is printed in one piece and nothing else: how
// its mesh stands is how the figure stands.
func OnePiece(r release.Release) (release.Part, bool) {
	if len(r.Parts) == 1 && r.Parts[0].Printed() == 1 {
		return r.Parts[0], true
	}
	return release.Part{}, false
}

// Meant lists the materials that cut c of p is meant for: of the processes that need
// the part and print this cut. A flexible cut is meant for flexible materials, all
// others for the rest: they may be printed in a flexible one too, but its limits are
// not what they were drawn to.
func Meant(r release.Release, p release.Part, c release.Cut, materials []bench.Material) []bench.Material {
	var out []bench.Material
	for _, m := range materials {
		part := PartOf(r, p, m.Process)
		cut, ok := part.CutIn(m.Stiffness)
		soft := m.Stiffness == bench.Flexible
		if ok && part.Needed && cut.Kind == c.Kind && soft == (c.Kind == release.CutFlexible) {
			out = append(out, m)
		}
	}
	return out
}

// Rotation brings a mesh from its file's orientation into Pose: row-major.
func (p Part) Rotation() [9]float64 { return rotation.Tilted(p.Pose.Tilt, p.Pose.About == "y") }
