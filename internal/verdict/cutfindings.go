package verdict

import (
	"fmt"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/stack"
	"cardback/internal/measure/thin"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict/seats"
	"cardback/internal/words"
)

const (
	// leastHollow is the volume in mm³ from which a cup or a well is worth a
	// finding: a tenth of a millilitre, well above what a rod's blind hole holds
	// (a hole of 2.4 mm, 12 mm deep, holds 54 mm³).
	leastHollow = 100
	// leastTrapped is the same for a room that nothing can leave: a cube of a
	// millimetre is at the edge of what slices half a layer apart can tell.
	leastTrapped = 1
	// A thin place is a caution when it is under wellUnder of its limit, and a note
	// above: published guides to one process differ by more than that about one
	// feature (check values 4.6: pins in resin 0.5 to 1.5 mm, in filament 2 to 3).
	// A pin shorter than stubby times its thickness is a bump: it has nothing to
	// break off by, so it is a note too.
	wellUnder = 2. / 3
	stubby    = 2
	// gain is how much smaller the largest layer has to become by a tilt for a
	// part to be said to lie flat.
	gain = 2
)

// judged says what is found in one cut of a part when its measures are held
// against the materials it is meant for and the process that prints it.
func judged(r release.Release, p release.Part, cs *survey.CutSurvey, answer CutAnswer) []measure.Finding {
	return append(judgedIn(r, p, cs, answer.Meant, answer.Items, r.Processes()), layFindings(r, p, cs, r.Processes())...)
}

// judgedIn is judged for some materials, what the part takes in the holes as printed in
// them, and the layers of some processes.
func judgedIn(r release.Release, p release.Part, cs *survey.CutSurvey, materials []bench.Material, items []seats.Fit, by []*bench.Process) []measure.Finding {
	out := thinFindings(cs.Report.Thin, materials)
	for _, f := range items {
		out = append(out, f.Findings(slices.Contains(p.Snaps, cs.Cut.Kind), materials)...)
	}
	for _, proc := range by {
		if l := cs.Layers[proc]; l != nil && l.Encloses {
			out = append(out, layerFindings(r, proc, l)...)
		}
	}
	return out
}

// printersOf are the processes that could print a cut of that kind.
func printersOf(r release.Release, kind release.CutKind) []*bench.Process {
	return slices.DeleteFunc(r.Processes(), func(p *bench.Process) bool { return !kind.IsFor(p) })
}

// InProcesses adds to what was found in a mesh what it means in some processes: what a
// cavity does, those processes first where it harms people.
func InProcesses(found []measure.Finding, list []*bench.Process) []measure.Finding {
	var what []string
	for _, harms := range []bool{true, false} {
		for _, p := range list {
			if p.Cavity != "" && p.LeftHarms == harms {
				what = append(what, fmt.Sprintf("in %s %s", p, p.Cavity))
			}
		}
	}
	out := slices.Clone(found)
	for i, f := range out {
		if f.Code == "cavity" && len(what) > 0 {
			out[i].Text = strings.TrimSuffix(f.Text, ".") + ": " + strings.Join(what, "; ") + "."
		}
	}
	return out
}

// remarks counts what is found in a cut that does not keep it from passing in m:
// what the mesh itself shows, and what m makes of its measures.
func remarks(r release.Release, p release.Part, cs *survey.CutSurvey, m bench.Material) int {
	by, in := []*bench.Process{m.Process}, []bench.Material{m}
	return len(cs.Report.Findings) + len(judgedIn(r, p, cs, in, seats.Of(p, cs.Report.Bores, in), by)) + len(layFindings(r, p, cs, by))
}

// thinFindings gives one finding for the walls and one for the pins, about the
// worst place of each: what holds for it, and how many more there are.
func thinFindings(r thin.Report, materials []bench.Material) []measure.Finding {
	type class struct {
		limit     float64
		materials []bench.Material
	}
	var out []measure.Finding
	for _, kind := range []thin.Kind{thin.Wall, thin.Pin} {
		// The place to speak of: the thinnest that is grave for some material, else
		// the thinnest of all. Places come thinnest first.
		var worst *ThinPlace
		places, level := 0, measure.Note
		for _, m := range materials {
			under := tooThin(r, kind, m)
			places = max(places, len(under))
			for _, t := range under {
				better := worst == nil || t.Grave() && level == measure.Note || t.Grave() == (level == measure.Caution) && t.Thickness < worst.Thickness
				if !better {
					continue
				}
				worst = &t
				if t.Grave() {
					level = measure.Caution
				}
			}
		}
		if worst == nil {
			continue
		}
		var below []class // that it is under, in bench order
		for _, m := range materials {
			i := slices.IndexFunc(tooThin(r, kind, m), func(t ThinPlace) bool { return t.At == worst.At && t.Thickness == worst.Thickness })
			if i < 0 {
				continue
			}
			limit := tooThin(r, kind, m)[i].Limit
			c := slices.IndexFunc(below, func(c class) bool { return c.limit == limit && c.materials[0].Process == m.Process })
			if c < 0 {
				below = append(below, class{limit: limit})
				c = len(below) - 1
			}
			below[c].materials = append(below[c].materials, m)
		}
		least := below[0].limit // nearest to the place, of those it is under
		var limits []string
		for i, c := range below {
			least = min(least, c.limit)
			text := fmt.Sprintf("the %s mm of %s", words.Plain(c.limit), bench.Named(c.materials))
			if i == 0 {
				text = fmt.Sprintf("the %s mm that a %s needs in %s", words.Plain(c.limit), kind, bench.Named(c.materials))
			}
			limits = append(limits, text)
		}
		harm := thinHarm(kind)
		if level == measure.Note {
			harm = "that is as near as published guides differ, so look at it when it is printed"
		}
		text := fmt.Sprintf("The %s at %s is %s mm thick over %s mm, under %s: %s.",
			worst.Noun, measure.Where(worst.At), words.Beside(worst.Thickness, least, 2), words.Fixed(worst.Extent, 1), words.List(limits), harm)
		switch n := places - 1; {
		case n == 1:
			text += " One other place is under a limit too."
		case n > 1:
			text += fmt.Sprintf(" %d other places are under a limit too.", n)
		}
		out = append(out, measure.Finding{Level: level, Code: "thin-" + string(kind), Text: text, At: measure.At(worst.At)})
	}
	return out
}

// tooThin lists the places of one kind that are under m's limit, thinnest first.
func tooThin(r thin.Report, kind thin.Kind, m bench.Material) []ThinPlace {
	return slices.DeleteFunc(TooThin(r, m.WallMin, m.PinMin, 1), func(t ThinPlace) bool { return t.Kind != kind })
}

// layerFindings says what the layers of a print by proc bring about.
func layerFindings(r release.Release, proc *bench.Process, l *survey.Layers) []measure.Finding {
	var out []measure.Finding
	say := func(level measure.Level, code string, place *[3]float64, text string, args ...any) {
		out = append(out, measure.Finding{Level: level, Code: code, At: place, Text: fmt.Sprintf(text, args...)})
	}
	if s := l.Steep; proc.Film && s != nil && s.Peak*gain <= l.Peak {
		say(measure.Caution, "lies-flat", nil, "In %s it lies flat: its largest layer is %s mm²; tilted %s° about %s it is %s mm². A large layer comes off the film with a jerk that can distort the part or tear it loose.",
			proc, words.Fixed(l.Peak, 0), words.Plain(s.Pose.Tilt), s.Pose.About, words.Fixed(s.Peak, 0))
	}
	if h, n := over(l.Trapped, leastTrapped); n > 0 && proc.Left != "" {
		harm := ""
		if proc.LeftHarm != "" {
			harm = ", and " + proc.LeftHarm
		}
		say(measure.Caution, leftCode(proc), measure.At(h.At), "In %s, %s closed all round (the largest, at %s, holds %s): %s stays in it%s. Open %s.",
			proc, words.Count(n, "hollow is", "hollows are"), measure.Where(h.At), millilitres(h.Volume), proc.Left, harm, proc.Outlet)
	}
	if h, n := over(l.Wells, leastHollow); n > 0 && proc.Film {
		say(measure.Caution, "well", measure.At(h.At), "As it is laid for %s%s, %s away from the plate (the largest, at %s, holds %s): on a printer that hangs the part over a film it sucks like a cup. Vent it at its closed end, or lay the part another way.",
			proc, posed(l), words.Count(n, "hollow opens", "hollows open"), measure.Where(h.At), millilitres(h.Volume))
	}
	if h, n := over(l.Cups, leastHollow); n > 0 && proc.Left != "" && proc.Cup != "" {
		say(measure.Note, "cup", measure.At(h.At), "As it is laid for %s%s, %s towards the plate (the largest, at %s, holds %s): %s stays in it. %s",
			proc, posed(l), words.Count(n, "hollow opens", "hollows open"), measure.Where(h.At), millilitres(h.Volume), proc.Left, proc.Cup)
	}
	supported := slices.ContainsFunc(r.Print, func(s release.PrintSettings) bool {
		return s.Process == proc && s.Supports != "" && !strings.HasPrefix(strings.ToLower(s.Supports), "none")
	})
	if n := l.IslandCount; n > 0 && !supported && proc.Supports == bench.SupportNeeded {
		say(measure.Note, "islands", measure.At(l.Islands[0].At), "As it is laid for %s%s, %s in mid-air (the largest, at %s, with %s mm²), and the release states no supports: each needs one under it.",
			proc, posed(l), words.Count(n, "place begins", "places begin"), measure.Where(l.Islands[0].At), words.Spare(l.Islands[0].Area, 2))
	}
	return out
}

// leftCode names the finding about what stays in a closed hollow: one that harms people
// cannot be accepted.
func leftCode(proc *bench.Process) string {
	if proc.LeftHarms {
		return "trapped"
	}
	return "left-in"
}

// over is the first hollow, which is the largest, and how many of those listed
// hold at least so many mm³.
func over(list []stack.Hollow, least float64) (first stack.Hollow, n int) {
	for _, h := range list {
		if h.Volume >= least {
			n++
		}
	}
	if n > 0 {
		first = list[0]
	}
	return first, n
}

func posed(l *survey.Layers) string {
	if l.Pose.Tilt == 0 {
		return ""
	}
	return fmt.Sprintf(" (tilted %s° about %s)", words.Plain(l.Pose.Tilt), l.Pose.About)
}
