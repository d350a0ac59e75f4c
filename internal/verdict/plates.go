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
func printCut(p release.Part, proc *bench.Process) (release.Cut, bool) {
	if cut, ok := p.CutFor(proc, bench.Rigid); ok {
		return cut, true
	}
	return p.CutFor(proc, bench.Flexible)
}

func onPlate(r release.Release, plate bench.Plate, s survey.Survey) PlateAnswer {
	a := Judge(r, plate.Process, func(p release.Part) PartFit { return partOnPlate(p, plate, s) })
	a.Plate = plate
	return a
}

// Judge says what a release needs on a plate of the process, given how each of
// its parts does there. Of the ways to fill a slot that of fit.FirstWay is taken.
func Judge(r release.Release, proc *bench.Process, on func(release.Part) PartFit) PlateAnswer {
	a := PlateAnswer{Fits: true}
	answers := map[string]PartFit{}
	for _, p := range r.Parts {
		f := on(p)
		answers[p.Slug] = f
		a.Parts = append(a.Parts, f)
	}
	fits := func(p release.Part) bool { return answers[p.Slug].Result.Verdict.Fits() }
	keeps := func(p release.Part) bool { return fits(p) && !answers[p.Slug].Otherwise() }
	offered := func(p release.Part) bool { return answers[p.Slug].Offered }

	var way printing
	var not shortfall
	for _, sl := range slots(r, proc) {
		ways := make([][]fit.Result, len(sl.ways))
		for i, w := range sl.ways {
			for _, p := range w.parts {
				ways[i] = append(ways[i], answers[p.Slug].Result)
			}
		}
		if i, ok := fit.FirstWay(ways); ok {
			w := sl.ways[i]
			if w.split {
				way.split = append(way.split, sl.name)
				a.UseSplit = append(a.UseSplit, sl.ways[0].parts[0].Slug)
			} else if len(sl.ways) > 1 && sl.ways[1].split {
				way.whole = append(way.whole, w.parts[0].Name)
			}
			for _, p := range w.parts {
				if !keeps(p) {
					way.tilted = append(way.tilted, p.Name)
					a.Tilted = append(a.Tilted, p.Slug)
				}
			}
			continue
		}
		a.Fits = false
		if _, ok := sl.first(offered); !ok {
			not.missing = append(not.missing, sl.name)
			continue
		}
		// What stands in the way is the part as the designer drew it, and of one that
		// has pieces, those too.
		block := func(parts []release.Part) (large []string) {
			for _, p := range parts {
				switch answers[p.Slug].Result.Verdict {
				case "":
					not.unread = append(not.unread, p.Name)
				case fit.Undecided:
					not.undecided = append(not.undecided, p.Name)
				default:
					large = append(large, p.Name)
				}
				a.Blocking = append(a.Blocking, p.Slug)
			}
			return large
		}
		failing := sl.failing(fits)
		tooLarge := block(failing)
		pieces := block(sl.failingPieces(func(p release.Part) bool { return fits(p) || !offered(p) }))
		switch {
		case len(tooLarge) > 0 && len(pieces) > 0:
			not.either = append(not.either, split{tooLarge[0], pieces})
		default:
			not.fitting = append(append(not.fitting, tooLarge...), pieces...)
		}
	}
	a.Sentence = sentence(r, proc, way, not)
	return a
}

// printing is how a release goes onto a plate: names of parts.
type printing struct {
	split  []string // wholes whose pieces are printed
	whole  []string // wholes that need not be split
	tilted []string // fit only in another orientation than the recommended one
}

// shortfall is what keeps a release off a plate: names of parts.
type shortfall struct {
	missing   []string // no cut for the process
	unread    []string // a mesh that could not be read
	undecided []string // neither a fit nor a proof against one
	fitting   []string // proved not to fit
	either    []split  // proved not to fit, whole or in pieces
}

// split is a whole and those of its pieces that stand in the way.
type split struct {
	whole  string
	pieces []string
}

func sentence(r release.Release, proc *bench.Process, how printing, not shortfall) string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if len(r.Parts) == 0 {
		return "This release has no parts yet."
	}
	if len(not.missing) == len(slots(r, proc)) {
		return fmt.Sprintf("No part has a cut for %s.", proc)
	}
	if len(not.missing) > 0 {
		say("There is no %s cut of %s.", proc, List(not.missing))
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
	for _, s := range not.either {
		does := "does"
		if len(s.pieces) > 1 {
			does = "do"
		}
		say("%s fits at full size neither whole nor in its pieces, of which %s %s not fit.", s.whole, List(s.pieces), does)
	}
	switch {
	case len(out) > 0:
	case len(how.split) > 0:
		say("Each part fits when %s is printed in its pieces.", List(how.split))
	case len(how.whole) > 0:
		say("Each part fits; %s need not be split.", List(how.whole))
	default:
		say("Each part fits.")
	}
	switch tilted := how.tilted; {
	case len(tilted) > mostNamed:
		say("%d parts fit only in another orientation than the one recommended.", len(tilted))
	case len(tilted) == 1:
		say("%s fits only in another orientation than the one recommended.", tilted[0])
	case len(tilted) > 0:
		say("%s fit only in another orientation than the one recommended.", List(tilted))
	}
	return strings.Join(out, " ")
}

func partOnPlate(p release.Part, plate bench.Plate, s survey.Survey) PartFit {
	f := OnAnyPlate(p, plate.Process, s)
	if f.Text != "" {
		return f
	}
	f.Result = s.Of(f.Cut).Fits[plate.ID]
	f.Text = answer(f.Result)
	return f
}

// OnAnyPlate is what holds of a part on every plate of the process: the cut that
// is printed, or, in Text, why there is none to try.
func OnAnyPlate(p release.Part, proc *bench.Process, s survey.Survey) PartFit {
	f := PartFit{Part: p.Slug}
	cut, ok := printCut(p, proc)
	switch {
	case !p.NeededFor(proc):
		f.Text = "not needed in " + proc.String()
	case !ok:
		f.Text = "no " + proc.String() + " cut"
	default:
		f.Cut, f.Offered = cut, true
		if _, ok := s.Measured(cut); !ok {
			f.Text = "the mesh could not be read"
		}
	}
	return f
}

// Otherwise reports whether the part fits, but not in the orientation that is
// recommended for it.
func (f PartFit) Otherwise() bool {
	return f.Result.Otherwise()
}

// answer is a part's answer for a table. A turn about the vertical keeps a
// recommended tilt; fit gives its angle with as few decimals as it can be true
// with.
func answer(res fit.Result) string {
	switch {
	case res.Verdict == fit.Recommended:
		return "fits at its recommended tilt"
	case res.Verdict == fit.RecommendedTurned:
		return "fits at its recommended tilt, turned " + degrees(res.TurnDeg)
	case res.Verdict.Fits() && res.Declared && !res.Keeps:
		return "fits, but not at the recommended tilt"
	case res.Verdict == fit.AsSupplied:
		return "fits as supplied"
	case res.Verdict == fit.Turned:
		return "fits turned " + degrees(res.TurnDeg)
	case res.Verdict == fit.Tipped:
		return "fits tipped"
	}
	return string(res.Verdict)
}

func degrees(deg float64) string { return strconv.FormatFloat(deg, 'f', -1, 64) + "°" }

// Findings lists what the checks noticed in every cut, by release, part and
// cut, faults first within a cut: what is wrong with the mesh, and what becomes
// of it in the materials it is meant for.
func Findings(site *release.Site, s survey.Survey) []Finding {
	var out []Finding
	for _, r := range site.Releases {
		stated := append(unitFindings(r, s), statedFindings(r, s)...)
		for _, p := range r.Parts {
			out = append(out, partFindings(site, r, p, s, stated)...)
		}
		out = append(out, hardwareFindings(site, r, s)...)
		out = append(out, licenceFindings(r)...)
		out = append(out, poseFindings(r, s)...)
		out = append(out, placeholderFindings(r.Number, r.Placeholders())...)
		for _, f := range stated {
			if f.Part == "" {
				out = append(out, f)
			}
		}
	}
	return out
}

// partFindings is Findings for one part. stated are those of the release that come of
// what its notes state and of its files together, of which it takes its own.
func partFindings(site *release.Site, r release.Release, p release.Part, s survey.Survey, stated []Finding) []Finding {
	var out []Finding
	var cuts []cutFindings
	read := true
	for _, c := range p.Cuts {
		cs := s.Of(c)
		if cs == nil {
			read = false
			continue
		}
		of := cutFindings{place: Finding{Release: r.Number, Part: p.Slug, Cut: c.Kind, File: c.Rel}}
		if cs.Err != nil {
			read = false
			one := of.place
			one.Finding = measure.Finding{Level: measure.Fault, Code: "unreadable", Text: cs.Err.Error()}
			of.found = append(of.found, one)
			cuts = append(cuts, of)
			continue
		}
		of.place.Mesh = cs.Report.Fingerprint
		found := append(append(measure.Reading(cs.Info), cs.Report.Findings...), judged(r, p, cs, site.Bench.Materials)...)
		found = slices.Concat(found, placeholderMesh(cs), plateFindings(site, r, p, c, s))
		for _, f := range stated {
			if f.Part == p.Slug && f.Cut == c.Kind {
				found = append(found, f.Finding)
			}
		}
		for _, f := range found {
			one := of.place
			one.Finding = f
			of.found = append(of.found, one.accepted(p))
		}
		cuts = append(cuts, of)
	}
	if read && len(cuts) > 0 {
		checkAccepts(p, cuts)
	}
	for _, c := range cuts {
		slices.SortStableFunc(c.found, func(a, b Finding) int { return weight(a.Level) - weight(b.Level) })
		out = append(out, c.found...)
	}
	return out
}

func weight(l measure.Level) int {
	return slices.Index([]measure.Level{measure.Fault, measure.Caution, measure.Note}, l)
}
