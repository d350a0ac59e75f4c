package verdict

import (
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/measure/thin"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict/seats"
	"cardback/internal/verdict/standing"
	"cardback/internal/words"
)

// hopeless is the share of a limit under which a thin place is not printable
// rather than printable with care: a third of a 0.8 mm wall is well under one
// line of a nozzle, and of a 0.6 mm wall a few dots of a screen. Judgement
// of ours, no source.
const hopeless = 1. / 3

// tableRow is a release's row of the material table; same may be nil.
func tableRow(site *release.Site, r release.Release, s survey.Survey, same standing.SameShape) []standing.Cell {
	made("standings", r.Number)
	return standing.Row(site, r, s, same, func(p release.Part, m bench.Material) standing.Outcome {
		rules, cut := rulesFor(r, p, m, site.Bench.Plates, s)
		out := standing.Outcome{Rules: rules, Cut: cut}
		if cs, ok := s.Measured(cut); ok {
			out.Remarks = remarks(r, p, cs, m)
		}
		return out
	})
}

// rulesFor judges one part in one material: every rule that does not pass, and
// those that pass with a mention. cut is the mesh that is printed; without one
// there is only the reason why.
func rulesFor(r release.Release, p release.Part, m bench.Material, plates []bench.Plate, s survey.Survey) (rules []standing.Rule, cut release.Cut) {
	cut, ok := printing.PartOf(r, p, m.Process).CutIn(m.Stiffness)
	if !ok {
		rule := standing.Rule{Code: standing.RuleCut, Answer: standing.Missing, Left: standing.Missing, About: m.Process.Name, Target: m.Process.ID}
		if printing.Bends(p) {
			rule.Code = standing.RuleFlexible
		}
		return []standing.Rule{rule}, cut
	}
	if p.Flexible && m.Stiffness == bench.Flexible && cut.Kind != release.CutFlexible && cut.Kind != release.CutAny {
		return []standing.Rule{{Code: standing.RuleFlexibleCut, Answer: standing.Missing, Left: standing.Missing, Target: string(release.CutFlexible)}}, cut
	}
	cs, ok := s.Measured(cut)
	if !ok {
		return []standing.Rule{{Code: standing.RuleReadable, Answer: standing.Missing, Left: standing.Missing, Target: string(cut.Kind)}}, cut
	}
	say := func(code standing.RuleCode, answer, left standing.Answer, about, target string) {
		rules = append(rules, standing.Rule{Code: code, Answer: answer, Left: left, About: about, Target: target})
	}
	if f := firstFault(cs.Report.Findings, "flat", "no-volume"); f != "" {
		say(standing.RuleSolid, standing.Fails, standing.Care, "", f)
	} else if f := firstFault(cs.Report.Findings); f != "" {
		say(standing.RuleSound, standing.Care, standing.Care, "", f) // another program may read it otherwise than the one that printed it
	}
	stated := standing.StatedBlend(r, m)
	class := m.Stiffness
	if len(stated) > 0 {
		if b, ok := release.BlendRule(stated, m); ok {
			class = b.Stiffness
		}
	}
	// What a joint or a bend is for shows in use, not on the plate: a print settles
	// neither.
	if m.Process.Brittle && m.Stiffness == bench.Rigid && slices.Contains(p.Snaps, cut.Kind) {
		if class == bench.Rigid {
			say(standing.RuleSnaps, standing.Fails, standing.Fails, m.Process.Name, string(cut.Kind))
		} else {
			say(standing.RuleSnaps, standing.Care, standing.Care, release.BlendText(stated), "")
		}
	}
	if p.Flexible && m.Stiffness != bench.Flexible {
		if class != bench.Flexible {
			say(standing.RuleFlexible, standing.Fails, standing.Fails, "", "")
		} else {
			say(standing.RuleFlexible, standing.Care, standing.Care, release.BlendText(stated), "")
		}
	}
	if m.Stiffness == bench.Flexible && cut.Kind != release.CutFlexible && !p.Flexible && jointed(r, p, cs) {
		say(standing.RuleStiff, standing.Care, standing.Care, "", "")
	}
	if rule, ok := plateRule(m.Process, cs, plates); ok {
		rules = append(rules, rule)
	}
	// Findings speak of the materials that a cut was drawn for; a standing is in this
	// one, so its own limits count.
	for _, kind := range []thin.Kind{thin.Wall, thin.Pin} {
		if _, ok := acceptedIn(p, cs, "thin-"+string(kind)); !ok {
			continue
		}
		if rule, ok := thinRule(ofKind(cs.Report.Thin, kind), m); ok {
			rules = append(rules, rule)
		}
	}
	open := cs.Report.Thin
	open.Places = slices.DeleteFunc(slices.Clone(open.Places), func(t thin.Place) bool {
		_, ok := acceptedIn(p, cs, "thin-"+string(t.Kind))
		return ok
	})
	if rule, ok := thinRule(open, m); ok {
		rules = append(rules, rule)
	}
	for _, f := range seats.Of(p, cs.Report.Bores, []bench.Material{m}) {
		if len(f.By) > 0 && f.Item.Kind != bench.Screw && !f.By[0].Narrowest.Passes {
			say(standing.RuleHole, standing.Care, standing.Passes, fmt.Sprintf("%s mm %s", words.Plain(f.Item.Diameter), f.Item.Kind), "hole-too-small")
		}
	}
	if l := cs.Layers[m.Process]; l != nil && l.Encloses {
		for _, f := range layerFindings(r, m.Process, l) {
			switch f.Code {
			case "lies-flat":
				say(standing.RuleFlat, standing.Care, standing.Passes, fmt.Sprintf("%s° about %s", words.Plain(l.Steep.Pose.Tilt), l.Steep.Pose.About), f.Code)
			case "trapped", "left-in":
				rule := standing.Rule{Code: standing.RuleTrapped, Answer: standing.Care, Left: standing.Care, About: m.Process.Left, Also: m.Process.Outlet, Target: f.Code}
				if !m.Process.LeftHarms { // what does harm may seep out later, which does not show on the plate
					rule.Left = standing.Passes
				}
				rules = append(rules, rule)
			case "well":
				say(standing.RuleWell, standing.Care, standing.Passes, "", f.Code)
			}
		}
	}
	for i := range rules {
		switch rules[i].Code {
		case standing.RuleThin, standing.RuleHole, standing.RuleFlat, standing.RuleWell, standing.RuleTrapped: // those of findings that may be accepted
			if why, ok := acceptedIn(p, cs, rules[i].Target); ok {
				rules[i].Accept(why)
			}
		}
	}
	return rules, cut
}

// ofKind is r with the places of one kind alone.
func ofKind(r thin.Report, kind thin.Kind) thin.Report {
	r.Places = slices.DeleteFunc(slices.Clone(r.Places), func(p thin.Place) bool { return p.Kind != kind })
	return r
}

// jointed reports whether a part turns or is held on something: it takes rod, wire or
// a screw, a bearing or a spring, or it is one of several and has a round hole.
func jointed(r release.Release, p release.Part, cs *survey.CutSurvey) bool {
	for _, u := range p.Takes {
		switch u.Item.Kind {
		case bench.Rod, bench.Wire, bench.Screw, bench.Bearing, bench.Spring:
			return true
		}
	}
	return len(r.Parts) > 1 && len(cs.Report.Bores.Holes) > 0
}

// firstFault is the code of the first fault, one of the codes where any are given.
func firstFault(found []measure.Finding, codes ...string) string {
	for _, f := range found {
		if f.Level == measure.Fault && (len(codes) == 0 || slices.Contains(codes, f.Code)) {
			return f.Code
		}
	}
	return ""
}

// plateRule holds a mesh against the design standard of the process; ok is false
// where there is no standard, or the part fits it as it should. A print
// somewhere else does not make a part fit the standard; one of what fits nowhere
// shows that there is a plate for it.
func plateRule(proc *bench.Process, cs *survey.CutSurvey, plates []bench.Plate) (rule standing.Rule, ok bool) {
	i := slices.IndexFunc(plates, func(p bench.Plate) bool { return p.Standard && p.Process == proc })
	if i < 0 {
		return standing.Rule{}, false
	}
	standard := plates[i]
	otherwise := func(r fit.Result) bool { return r.Declared && !r.Keeps }
	switch res := cs.Fits[standard.ID]; {
	case res.Verdict.Fits() && otherwise(res):
		return standing.Rule{Code: standing.RulePosture, About: standard.Name, Target: standard.ID}, true
	case res.Verdict.Fits():
		return standing.Rule{}, false
	}
	var larger *bench.Plate
	undecided := false
	for i, p := range plates {
		if p.Process != proc {
			continue
		}
		res := cs.Fits[p.ID]
		undecided = undecided || !res.Verdict.Fits() && res.Verdict != fit.CannotFit
		if res.Verdict.Fits() && (larger == nil || otherwise(cs.Fits[larger.ID]) && !otherwise(res)) {
			larger = &plates[i]
		}
	}
	rule = standing.Rule{Code: standing.RulePlate, Answer: standing.Care, Left: standing.Care, Target: standard.ID}
	switch {
	case larger != nil:
		rule.About, rule.Also = standard.Name, larger.Name
		rule.Target = larger.ID
	case undecided:
		rule.About = standard.Name
	default:
		rule.Answer = standing.Fails
	}
	return rule, true
}

// thinRule is about the place that is furthest under its limit, of those that
// are far enough under it to matter, and before all of those the one that fails: it is
// hopelessly thin, and something hangs on it.
func thinRule(r thin.Report, m bench.Material) (rule standing.Rule, ok bool) {
	var least *ThinPlace
	fails := func(t ThinPlace) bool { return t.Thickness < t.Limit*hopeless && t.carries() }
	for _, t := range TooThin(r, m.WallMin, m.PinMin, 1) {
		if !t.Grave() {
			continue
		}
		switch {
		case least == nil, fails(t) && !fails(*least), fails(t) == fails(*least) && t.Thickness/t.Limit < least.Thickness/least.Limit:
			least = &t
		}
	}
	if least == nil {
		return standing.Rule{}, false
	}
	rule = standing.Rule{Code: standing.RuleThin, Answer: standing.Care, Left: standing.Passes, Target: "thin-" + string(least.Kind)}
	rule.About = fmt.Sprintf("a %s of %s mm where the material needs %s mm", least.Noun, words.Beside(least.Thickness, least.Limit, 2), words.Plain(least.Limit))
	if fails(*least) {
		rule.Answer = standing.Fails
	}
	return rule, true
}
