package printing

import (
	"slices"

	"cardback/internal/bench"
	"cardback/internal/release"
)

// Plan is what one process prints of a release.
type Plan struct {
	Process *bench.Process
	// Settings are the release's for the process; without a Process where the release
	// states none.
	Settings release.PrintSettings
	// Parts are all of the release's, in chart order: Parts[i] is number i+1, whether
	// it is Needed or not.
	Parts []Part
	Slots []Slot // in chart order
}

// Of plans a print of r by proc.
func Of(r release.Release, proc *bench.Process) Plan {
	out := Plan{Process: proc, Settings: Settings(r, proc)}
	for i, p := range r.Parts {
		out.Parts = append(out.Parts, newPart(p, i+1, proc, out.Settings))
	}
	out.Slots = slotsOf(out.Parts)
	return out
}

// Settings are the release's for a process; without a Process where it states none.
func Settings(r release.Release, proc *bench.Process) release.PrintSettings {
	if i := slices.IndexFunc(r.Print, func(s release.PrintSettings) bool { return s.Process == proc }); i >= 0 {
		return r.Print[i]
	}
	return release.PrintSettings{}
}

// Sealed plans a print of a revision's parts. Their cuts have a kind and no file.
func Sealed(parts []release.SealedPart, proc *bench.Process) Plan {
	var r release.Release
	for _, p := range parts {
		r.Parts = append(r.Parts, p.Part())
	}
	return Of(r, proc)
}

// Part finds a part by its folder's name; ok is false where the release has none of it.
func (p Plan) Part(slug string) (part Part, ok bool) {
	i := slices.IndexFunc(p.Parts, func(q Part) bool { return q.Slug == slug })
	if i < 0 {
		return Part{}, false
	}
	return p.Parts[i], true
}

// Pieces are the parts that the process prints in place of a whole, in chart order;
// none where the part has none.
func (p Plan) Pieces(whole string) []Part { return piecesOf(p.Parts, whole) }

// Offers reports whether the process prints anything of the release.
func (p Plan) Offers() bool {
	return slices.ContainsFunc(p.Parts, func(q Part) bool { return len(q.Meshes()) > 0 })
}

// Plans are those of several processes for one release.
type Plans []Plan

// All plans a print of r by each process of the bench, in its order.
func All(r release.Release) Plans {
	var out Plans
	for _, proc := range r.Processes() {
		out = append(out, Of(r, proc))
	}
	return out
}

// By is the plan of a process; without parts where there is none.
func (p Plans) By(proc *bench.Process) Plan {
	if i := slices.IndexFunc(p, func(q Plan) bool { return q.Process == proc }); i >= 0 {
		return p[i]
	}
	return Plan{Process: proc}
}

// Printing is the part in each of the plans that prints cut c of it.
func (p Plans) Printing(slug string, c release.Cut) []Part {
	var out []Part
	for _, plan := range p {
		if part, ok := plan.Part(slug); ok && part.Prints(c) {
			out = append(out, part)
		}
	}
	return out
}

// Pieces are the parts that any process prints in place of a whole, in chart order.
func Pieces(r release.Release, whole string) []release.Part {
	return slices.DeleteFunc(slices.Clone(r.Parts), func(q release.Part) bool { return whole == "" || q.Replaces != whole })
}
