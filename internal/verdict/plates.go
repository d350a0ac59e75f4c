package verdict

import (
	"fmt"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict/seats"
	"cardback/internal/verdict/standing"
	"cardback/internal/words"
)

// onPlates judges one release on every plate of the bench, in bench order.
func onPlates(site *release.Site, r release.Release, s survey.Survey) []PlateAnswer {
	made("plates", r.Number)
	var out []PlateAnswer
	for _, plate := range site.Bench.Plates {
		out = append(out, onPlate(r, plate, s))
	}
	return out
}

func onPlate(r release.Release, plate bench.Plate, s survey.Survey) PlateAnswer {
	a := Judge(printing.Of(r, plate.Process), func(p printing.Part) PartFit { return partOnPlate(p, plate, s) })
	a.Plate = plate
	return a
}

// Judge says what a print needs on a plate of its process, given how each of its parts
// does there. Of the ways to fill a slot that of printing.Slot.Take is taken.
func Judge(plan printing.Plan, on func(printing.Part) PartFit) PlateAnswer {
	a := PlateAnswer{Fits: true}
	answers := map[string]PartFit{}
	for _, p := range plan.Parts {
		f := on(p)
		answers[p.Slug] = f
		a.Parts = append(a.Parts, f)
	}
	fits := func(p printing.Part) bool { return answers[p.Slug].Result.Verdict.Fits() }
	offered := func(p printing.Part) bool { return answers[p.Slug].Offered }

	var how layingOut
	var not shortfall
	for _, sl := range plan.Slots {
		if w, ok := sl.Take(func(p printing.Part) fit.Result { return answers[p.Slug].Result }); ok {
			if w.Split {
				how.split = append(how.split, w.Whole.Name)
				a.UseSplit = append(a.UseSplit, w.Whole.Slug)
			} else if len(sl.Pieces(w.Whole.Slug)) > 0 {
				how.whole = append(how.whole, w.Whole.Name)
			}
			for _, p := range w.Parts {
				if answers[p.Slug].Otherwise() {
					how.tilted = append(how.tilted, p.Name)
					a.Tilted = append(a.Tilted, p.Slug)
				}
			}
			continue
		}
		a.Fits = false
		if _, ok := sl.First(offered); !ok {
			not.missing = append(not.missing, sl.Name)
			continue
		}
		// What stands in the way is the part as the designer drew it, and of one that
		// has pieces, those too.
		block := func(parts []printing.Part, pass func(printing.Part) bool) (large []string) {
			for _, p := range parts {
				if pass(p) {
					continue
				}
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
		whole := sl.Drawn()
		tooLarge := block([]printing.Part{whole}, fits)
		pieces := block(sl.Pieces(whole.Slug), func(p printing.Part) bool { return fits(p) || !offered(p) })
		switch {
		case len(tooLarge) > 0 && len(pieces) > 0:
			not.either = append(not.either, split{whole.Name, pieces})
		default:
			not.fitting = append(append(not.fitting, tooLarge...), pieces...)
		}
	}
	a.Sentence = sentence(plan, how, not)
	return a
}

// layingOut is how a release goes onto a plate: names of parts.
type layingOut struct {
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

func sentence(plan printing.Plan, how layingOut, not shortfall) string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if len(plan.Parts) == 0 {
		return "This release has no parts yet."
	}
	if len(not.missing) == len(plan.Slots) {
		return fmt.Sprintf("No part has a cut for %s.", plan.Process)
	}
	if len(not.missing) > 0 {
		say("There is no %s cut of %s.", plan.Process, words.List(not.missing))
	}
	if len(not.unread) > 0 {
		say("The mesh of %s could not be read.", words.List(not.unread))
	}
	if len(not.undecided) > 0 {
		say("Whether %s can fit is undecided.", words.List(not.undecided))
	}
	switch len(not.fitting) {
	case 0:
	case 1:
		say("%s does not fit at full size.", not.fitting[0])
	default:
		say("%s do not fit at full size.", words.List(not.fitting))
	}
	for _, s := range not.either {
		does := "does"
		if len(s.pieces) > 1 {
			does = "do"
		}
		say("%s fits at full size neither whole nor in its pieces, of which %s %s not fit.", s.whole, words.List(s.pieces), does)
	}
	switch {
	case len(out) > 0:
	case len(how.split) > 0:
		say("Each part fits when %s is printed in its pieces.", words.List(how.split))
	case len(how.whole) > 0:
		say("Each part fits; %s need not be split.", words.List(how.whole))
	default:
		say("Each part fits.")
	}
	switch tilted := how.tilted; {
	case len(tilted) > standing.MostNamed:
		say("%d parts fit only in another orientation than the one recommended.", len(tilted))
	case len(tilted) == 1:
		say("%s fits only in another orientation than the one recommended.", tilted[0])
	case len(tilted) > 0:
		say("%s fit only in another orientation than the one recommended.", words.List(tilted))
	}
	return strings.Join(out, " ")
}

func partOnPlate(p printing.Part, plate bench.Plate, s survey.Survey) PartFit {
	f := OnAnyPlate(p, s)
	if f.Text != "" {
		return f
	}
	f.Result = s.Of(f.Cut).Fits[plate.ID]
	f.Text = answer(f.Result)
	return f
}

// OnAnyPlate is what holds of a part on every plate of its process: the cut that
// is printed, or, in Text, why there is none to try.
func OnAnyPlate(p printing.Part, s survey.Survey) PartFit {
	f := PartFit{Part: p.Slug}
	cut, ok := p.Cut()
	switch {
	case !p.Needed:
		f.Text = "not needed in " + p.Process.String()
	case !ok:
		f.Text = "no " + p.Process.String() + " cut"
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
		return "fits at its recommended tilt, turned " + words.Degrees(res.TurnDeg)
	case res.Verdict.Fits() && res.Declared && !res.Keeps:
		return "fits, but not at the recommended tilt"
	case res.Verdict == fit.AsSupplied:
		return "fits as supplied"
	case res.Verdict == fit.Turned:
		return "fits turned " + words.Degrees(res.TurnDeg)
	case res.Verdict == fit.Tipped:
		return "fits tipped"
	}
	return string(res.Verdict)
}

// findingsOf lists what the checks noticed in a release: in every cut, by part and cut,
// faults first within a cut, what is wrong with the mesh and what becomes of it in the
// materials it is meant for; then in the release as a whole.
func findingsOf(site *release.Site, r release.Release, s survey.Survey, of *CheckedRelease) []Finding {
	made("findings", r.Number)
	var out []Finding
	stated := append(unitFindings(r, s), statedFindings(r, s, of)...)
	for _, p := range r.Parts {
		out = append(out, partFindings(site, r, p, s, stated, of)...)
	}
	for _, f := range seats.OfRelease(site, r, s, of.Hardware) {
		out = append(out, Finding{Release: r.Number, File: r.SourceFile, Finding: f})
	}
	out = append(out, licenceFindings(r, of.Credits)...)
	out = append(out, poseFindings(r, s)...)
	out = append(out, placeholderFindings(r.Number, r.Placeholders())...)
	for _, f := range stated {
		if f.Part == "" {
			out = append(out, f)
		}
	}
	return out
}

// partFindings is findingsOf for one part. stated are those of the release that come of
// what its notes state and of its files together, of which it takes its own.
func partFindings(site *release.Site, r release.Release, p release.Part, s survey.Survey, stated []Finding, of *CheckedRelease) []Finding {
	var out []Finding
	var cuts []cutFindings
	read := true
	for _, c := range p.Cuts {
		cs := s.Of(c)
		if cs == nil {
			read = false
			continue
		}
		in := cutFindings{place: Finding{Release: r.Number, Part: p.Slug, Cut: c.Kind, File: c.Rel}}
		if cs.Err != nil {
			read = false
			one := in.place
			one.Finding = measure.Finding{Level: measure.Fault, Code: "unreadable", Text: cs.Err.Error()}
			in.found = append(in.found, one)
			cuts = append(cuts, in)
			continue
		}
		in.place.Mesh = cs.Report.Fingerprint
		found := append(append(measure.Reading(cs.Info), InProcesses(cs.Report.Findings, printersOf(r, c.Kind))...), judged(r, p, cs, of.Cut(c))...)
		found = slices.Concat(found, placeholderMesh(cs), plateFindings(site, r, p, c, s))
		for _, f := range stated {
			if f.Part == p.Slug && f.Cut == c.Kind {
				found = append(found, f.Finding)
			}
		}
		for _, f := range found {
			one := in.place
			one.Finding = f
			in.found = append(in.found, one.accepted(p))
		}
		cuts = append(cuts, in)
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
