package verdict

import (
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/survey"
)

// Table is the material table: a cell for each release and material, by
// release, then in bench order. A release is offered in a material when every
// slot has a cut for it; parts that come in a flexible cut alone do not stand
// in the way of a rigid material, but are named. It is limited by plate when
// it is offered and does not fit the design standard of the material's process.
// The reason names the parts that are well under the material's limits.
func Table(site *release.Site, s survey.Survey) []Cell {
	var out []Cell
	for _, r := range site.Releases {
		for _, m := range site.Bench.Materials {
			c := Cell{Release: r.Number, Material: m.ID}
			c.Standing, c.Reason = inMaterial(site, r, m, s)
			out = append(out, c)
		}
	}
	return out
}

func inMaterial(site *release.Site, r release.Release, m bench.Material, s survey.Survey) (Standing, string) {
	hasCut := func(p release.Part) bool {
		_, ok := p.CutFor(m.Process, m.Stiffness)
		return ok
	}
	readable := func(p release.Part) bool {
		cut, ok := p.CutFor(m.Process, m.Stiffness)
		_, read := s.Measured(cut)
		return ok && read
	}
	flexibleOnly := func(p release.Part) bool {
		return len(p.Cuts) == 1 && p.Cuts[0].Kind == release.CutFlexible
	}
	var missing, unreadable, flexible []string
	for _, sl := range slots(r, m.Process) {
		if _, ok := sl.first(readable); ok {
			continue
		}
		if _, ok := sl.first(hasCut); ok {
			unreadable = append(unreadable, sl.name)
			continue
		}
		if _, ok := sl.first(func(p release.Part) bool { return readable(p) || flexibleOnly(p) }); ok {
			flexible = append(flexible, sl.name)
			continue
		}
		missing = append(missing, sl.name)
	}
	switch {
	case len(r.Parts) == 0:
		return NotOffered, "This release has no parts yet."
	case len(missing) > 0:
		return NotOffered, fmt.Sprintf("There is no %s cut of %s.", m.Process, List(missing))
	case len(unreadable) > 0:
		return NotOffered, fmt.Sprintf("The mesh of %s could not be read.", List(unreadable))
	case len(flexible) == len(slots(r, m.Process)):
		return NotOffered, "Every part is made for a flexible material."
	}
	also := ""
	if len(flexible) > 0 {
		also = fmt.Sprintf(" Print %s in a flexible material.", List(flexible))
	}
	also += thinIn(r, m, s)
	for _, plate := range site.Bench.Plates {
		if !plate.Standard || plate.Process != m.Process {
			continue
		}
		if a := onPlate(r, plate, s); !a.Fits {
			return LimitedByPlate, fmt.Sprintf("Not on the design standard, %s: %s%s", plate.Name, a.Sentence, also)
		} else if len(a.UseSplit)+len(a.Tilted) > 0 {
			return Offered, a.Sentence + also
		}
	}
	return Offered, "Every part has a cut, and all fit the design standard." + also
}

// mostNamed is how many parts a reason names; beyond that it counts them.
const mostNamed = 3

// thinIn says which parts of r have places that are far too thin for m.
func thinIn(r release.Release, m bench.Material, s survey.Survey) string {
	var names []string
	for _, p := range r.Parts {
		cut, ok := p.CutFor(m.Process, m.Stiffness)
		if !ok || len(Meant(p, cut, []bench.Material{m})) == 0 {
			continue
		}
		cs, ok := s.Measured(cut)
		if ok && slices.ContainsFunc(TooThin(cs.Report.Thin, m.WallMin, m.PinMin, 1), grave) {
			names = append(names, p.Name)
		}
	}
	switch n := len(names); {
	case n == 0:
		return ""
	case n > mostNamed:
		return fmt.Sprintf(" Too thin for it in places: %d parts.", n)
	default:
		return fmt.Sprintf(" Too thin for it in places: %s.", List(names))
	}
}
