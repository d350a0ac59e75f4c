package verdict

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/release"
	"cardback/internal/survey"
)

// Plates judges one release on every plate of the bench, in bench order.
func Plates(site *release.Site, r release.Release, s survey.Survey) []PlateAnswer {
	var out []PlateAnswer
	for _, plate := range site.Bench.Plates {
		out = append(out, onPlate(r, plate, s))
	}
	return out
}

// printCut is the mesh that is printed when r is printed by proc: the rigid
// cut, or the flexible one of a part that has no other.
func printCut(p release.Part, proc bench.Process) (release.Cut, bool) {
	if cut, ok := p.CutFor(proc, bench.Rigid); ok {
		return cut, true
	}
	return p.CutFor(proc, bench.Flexible)
}

func onPlate(r release.Release, plate bench.Plate, s survey.Survey) PlateAnswer {
	a := PlateAnswer{Plate: plate, Fits: true}
	answers := map[string]PartFit{}
	for _, p := range r.Parts {
		f := partOnPlate(p, plate, s)
		answers[p.Slug] = f
		a.Parts = append(a.Parts, f)
	}
	fits := func(p release.Part) bool { return answers[p.Slug].Result.Verdict.Fits() }
	offered := func(p release.Part) bool { return answers[p.Slug].Offered }

	var split []string
	var not shortfall
	for _, sl := range slots(r, plate.Process) {
		if w, ok := sl.first(fits); ok {
			if w.split {
				split = append(split, sl.name)
				a.UseSplit = append(a.UseSplit, sl.ways[0].parts[0].Slug)
			}
			continue
		}
		a.Fits = false
		if _, ok := sl.first(offered); !ok {
			not.missing = append(not.missing, sl.name)
			continue
		}
		for _, p := range sl.failing(fits) {
			switch answers[p.Slug].Result.Verdict {
			case "":
				not.unread = append(not.unread, p.Name)
			case fit.Undecided:
				not.undecided = append(not.undecided, p.Name)
			default:
				not.fitting = append(not.fitting, p.Name)
			}
			a.Blocking = append(a.Blocking, p.Slug)
		}
	}
	a.Sentence = sentence(r, plate, split, not)
	return a
}

// shortfall is what keeps a release off a plate: names of parts.
type shortfall struct {
	missing   []string // no cut for the process
	unread    []string // a mesh that could not be read
	undecided []string // neither a fit nor a proof against one
	fitting   []string // proved not to fit
}

func sentence(r release.Release, plate bench.Plate, split []string, not shortfall) string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if len(r.Parts) == 0 {
		return "This release has no parts yet."
	}
	if len(not.missing) == len(slots(r, plate.Process)) {
		return fmt.Sprintf("No part has a cut for %s.", plate.Process)
	}
	if len(not.missing) > 0 {
		say("There is no %s cut of %s.", plate.Process, List(not.missing))
	}
	if len(not.unread) > 0 {
		say("The mesh of %s could not be read.", List(not.unread))
	}
	if len(not.undecided) > 0 {
		say("Whether %s can fit is undecided.", List(not.undecided))
	}
	switch len(not.fitting) {
	case 0:
	case 1:
		say("%s does not fit at full size.", not.fitting[0])
	default:
		say("%s do not fit at full size.", List(not.fitting))
	}
	switch {
	case len(out) > 0:
		return strings.Join(out, " ")
	case len(split) > 0:
		return fmt.Sprintf("Everything fits when %s is printed in its pieces.", List(split))
	default:
		return "Everything fits."
	}
}

func partOnPlate(p release.Part, plate bench.Plate, s survey.Survey) PartFit {
	f := PartFit{Part: p.Slug}
	cut, ok := printCut(p, plate.Process)
	if !ok || !p.NeededFor(plate.Process) {
		f.Text = "no " + string(plate.Process) + " cut"
		if !p.NeededFor(plate.Process) {
			f.Text = "not needed in " + string(plate.Process)
		}
		return f
	}
	f.Cut, f.Offered = cut, true
	cs, ok := s.Measured(cut)
	if !ok {
		f.Text = "the mesh could not be read"
		return f
	}
	f.Result = cs.Fits[plate.ID]
	switch f.Result.Verdict {
	case fit.AsSupplied:
		f.Text = "fits as supplied"
	case fit.Turned:
		// Fit gives the turn with as few decimals as it can be true with.
		f.Text = "fits turned " + strconv.FormatFloat(f.Result.TurnDeg, 'f', -1, 64) + "°"
	case fit.Tipped:
		f.Text = "fits tipped"
	default:
		f.Text = string(f.Result.Verdict)
	}
	return f
}

// Findings lists what the checks noticed in every cut, by release, part and
// cut, faults first within a cut: what is wrong with the mesh, and what becomes
// of it in the materials it is meant for.
func Findings(site *release.Site, s survey.Survey) []Finding {
	var out []Finding
	for _, r := range site.Releases {
		for _, p := range r.Parts {
			for _, c := range p.Cuts {
				cs := s.Of(c)
				if cs == nil {
					continue
				}
				place := Finding{Release: r.Number, Part: p.Slug, Cut: c.Kind, File: c.Rel}
				if cs.Err != nil {
					place.Finding = measure.Finding{Level: measure.Fault, Code: "unreadable", Text: cs.Err.Error()}
					out = append(out, place)
					continue
				}
				found := append(slices.Clone(cs.Report.Findings), judged(r, p, cs, site.Bench.Materials)...)
				slices.SortStableFunc(found, func(a, b measure.Finding) int { return weight(a.Level) - weight(b.Level) })
				for _, f := range found {
					place.Finding = f
					out = append(out, place)
				}
			}
		}
	}
	return out
}

func weight(l measure.Level) int {
	return slices.Index([]measure.Level{measure.Fault, measure.Caution, measure.Note}, l)
}
