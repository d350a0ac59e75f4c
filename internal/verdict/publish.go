package verdict

import (
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
	"cardback/internal/words"
)

// Codes of findings that keep a release from being published.
const (
	codePlaceholder = "placeholder"
	codeNoPlate     = "no-plate"
	codeLicence     = "licence-not-allowed"
)

// Breach reports whether the finding is one that nothing excuses: a licence that does not
// allow the release to be published.
func (f Finding) Breach() bool { return f.Code == codeLicence && f.Level == measure.Fault }

// siteFindings lists what the checks noticed in the site as a whole, its releases apart.
func siteFindings(site *release.Site) []Finding {
	return placeholderFindings(0, site.Placeholders())
}

func placeholderFindings(number int, list []release.Placeholder) []Finding {
	var out []Finding
	for _, p := range list {
		out = append(out, Finding{Release: number, File: p.File, Finding: measure.Finding{Level: measure.Fault, Code: codePlaceholder,
			Text: fmt.Sprintf("A placeholder stands there still: %s. Write your own before it is published.", p.What)}})
	}
	return out
}

// placeholderMesh is of a part that is still the block of a new release.
func placeholderMesh(cs *survey.CutSurvey) []measure.Finding {
	if cs.Report.Fingerprint != release.PlaceholderBlock {
		return nil
	}
	return []measure.Finding{{Level: measure.Fault, Code: codePlaceholder,
		Text: "The mesh is the block of a new release, a placeholder. Put your own in its place before it is published."}}
}

// plateFindings says that a cut fits on no plate of the bench, by each process that
// it is printed by: whoever has such a printer cannot print it. Where pieces stand for the
// part, they are what has to fit. By all its processes it is a fault, by one of two, or
// where a fit is not decided, a caution. Without a plate of the process there is nothing to say.
func plateFindings(site *release.Site, r release.Release, p release.Part, c release.Cut, s survey.Survey) []measure.Finding {
	var not, open, tried []*bench.Process
	split := false // some process prints pieces in its place
	for _, proc := range site.Bench.Processes() {
		plan := printing.Of(r, proc)
		part, _ := plan.Part(p.Slug)
		if cut, ok := part.Cut(); !ok || cut.Kind != c.Kind {
			continue
		}
		pieces := plan.Pieces(p.Slug)
		split = split || len(pieces) > 0
		fits, decided, any := false, true, false
		for _, plate := range site.Bench.Plates {
			if plate.Process != proc {
				continue
			}
			whole := partOnPlate(part, plate, s).Result.Verdict
			if whole == "" {
				continue // it was not tried there
			}
			any = true
			fits = fits || whole.Fits() || allOn(pieces, plate, s)
			decided = decided && whole == fit.CannotFit
		}
		switch {
		case !any:
			continue
		case !fits && decided:
			not = append(not, proc)
		case !fits:
			open = append(open, proc)
		}
		tried = append(tried, proc)
	}
	var out []measure.Finding
	if len(not) > 0 {
		level := measure.Caution
		if len(not) == len(tried) {
			level = measure.Fault
		}
		pieces := ""
		if split {
			pieces = ", and neither do its pieces together on one"
		}
		out = append(out, measure.Finding{Level: level, Code: codeNoPlate, Text: fmt.Sprintf(
			"It fits on no %s plate of the bench, in any orientation%s. Split it, or add the plate that it is meant for to bench/plates.yaml.", processes(not), pieces)})
	}
	if len(open) > 0 {
		out = append(out, measure.Finding{Level: measure.Caution, Code: codeNoPlate, Text: fmt.Sprintf(
			"On no %s plate of the bench a place for it was found; on some that is not proved.", processes(open))})
	}
	return out
}

// allOn reports whether there are pieces, and all of them fit on the plate.
func allOn(pieces []printing.Part, plate bench.Plate, s survey.Survey) bool {
	return len(pieces) > 0 && !slices.ContainsFunc(pieces, func(q printing.Part) bool {
		return !partOnPlate(q, plate, s).Result.Verdict.Fits()
	})
}

func processes(list []*bench.Process) string {
	var names []string
	for _, p := range list {
		names = append(names, p.String())
	}
	return words.List(names)
}

// sealedFindings says what revisions state of meshes that is not so, and which sealed meshes are lost: a caution each, since the
// release itself is as it was.
func sealedFindings(lost []history.LostMesh) []Finding {
	var out []Finding
	for _, l := range lost {
		if l.Differs != "" {
			out = append(out, Finding{Release: l.Release, File: l.File, Finding: measure.Finding{Level: measure.Caution, Code: "sealed-edited",
				Text: fmt.Sprintf("Revision %s states of the %s cut of %s %s: the text was changed after it was sealed. Put back what was sealed.", l.Revision, l.Cut, l.Part, l.Differs)}})
			continue
		}
		out = append(out, Finding{Release: l.Release, File: l.File, Finding: measure.Finding{Level: measure.Caution, Code: "sealed-lost",
			Text: fmt.Sprintf("Of the %s cut of %s in revision %s, %s: a later mesh cannot be compared with it. Put the file back from a copy; while the part is still the same, sealing again does it.", l.Cut, l.Part, l.Revision, l.Why)}})
	}
	return out
}
