package backlog

import (
	"fmt"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/verdict/needs"
	"cardback/internal/verdict/standing"
	"cardback/internal/words"
)

// prints makes one print of all parts in a material that a good one would settle:
// one of those that the release rests on, and one of further choices and of wholes or
// pieces that it may do without. Parts whose mesh is to change first are left out.
func (b *backlog) prints() {
	for _, c := range b.cells {
		m := b.material(c.Material)
		rests := map[string]bool{}
		for _, g := range c.Grounds {
			for _, part := range g.Parts {
				rests[part] = true
			}
		}
		for _, needed := range []bool{true, false} {
			var cells []standing.PartCell
			for _, pc := range c.Parts {
				if rests[pc.Part] == needed && b.printable(pc) {
					cells = append(cells, pc)
				}
			}
			if len(cells) > 0 {
				b.print(cells, *c, m, needed)
			}
		}
	}
}

// printable reports whether a good print of the mesh as it is would settle
// something.
func (b *backlog) printable(pc standing.PartCell) bool {
	if pc.Standing == standing.Proven || pc.Standing == standing.NotOffered {
		return false
	}
	prints := false
	for _, g := range pc.Grounds {
		switch g.Code {
		case standing.GroundPrint:
			if g.Standing == standing.Proven || g.Standing == standing.NotSuited {
				return false // printed well already; or badly, which a redesign is for
			}
			prints = true
		case standing.GroundUnprinted, standing.GroundChanged, standing.GroundMoved, standing.GroundNearly:
			prints = true
		case string(standing.RuleSound), string(standing.RuleSolid), string(standing.RuleTrapped):
			return false // the mesh is to change first
		case string(standing.RulePosture), standing.GroundAside:
		default:
			if g.Standing == standing.NotSuited {
				return false
			}
		}
	}
	return prints
}

// print is one task of it.
func (b *backlog) print(cells []standing.PartCell, c standing.Cell, m bench.Material, needed bool) {
	t := &Task{Release: b.r.Number, Kind: TaskPrint, Needed: needed}
	var unprinted []string
	for _, pc := range cells {
		b.about(t, pc, m)
		for _, g := range pc.Grounds {
			switch {
			case g.Code == standing.GroundUnprinted:
				unprinted = append(unprinted, pc.Part)
			case !needed && asksForPrint(g):
				t.say(g.Text)
			}
		}
	}
	for _, g := range c.Grounds { // where several parts share a sentence
		if needed && asksForPrint(g) && slices.ContainsFunc(g.Parts, func(p string) bool { return slices.Contains(t.Parts, p) }) {
			t.say(g.Text)
		}
	}
	switch n := len(unprinted); {
	case n > mostNamed:
		t.say(fmt.Sprintf("%d parts have no logged print.", n))
	case n > 0:
		t.say(fmt.Sprintf("No print of %s is logged.", b.named(unprinted)))
	}
	need := b.need(t.Parts, m)
	t.Need = &need
	t.Effort = LongPrint
	if need.Seconds > 0 && need.Seconds <= shortPrint {
		t.Effort = ShortPrint
	}
	t.Settles = "Print, and log what came of it."
	t.Command = fmt.Sprintf("cardback record %d --material %s", b.r.Number, m.ID)
	b.tasks = append(b.tasks, t)
}

// Takes says what a print takes: pieces, material, time and plate. It is empty for
// other kinds of task.
func (t Task) Takes() string {
	n := t.Need
	if n == nil {
		return ""
	}
	out := []string{words.Count(n.Pieces, "piece", "pieces")}
	least := ""
	if n.Process.Pace == bench.ByLayer && n.Pieces > 1 {
		least = "at least " // of one plate with everything on it
	}
	switch {
	case n.Used <= 0:
	case n.Process.Measured == bench.ByVolume:
		out = append(out, words.Fixed(float64(n.Tenths())/10, 1)+" ml")
	default:
		out = append(out, words.AtMost(n.UsedGrams, 0)+" g")
	}
	if n.Seconds > 0 {
		out = append(out, least+words.Duration(n.Seconds))
	}
	text := strings.Join(out, ", ")
	if n.Plate.Name != "" {
		text += " on " + n.Plate.Name
	}
	if n.Seconds <= 0 {
		text += ", for which the bench states no time"
	}
	return text
}

// asksForPrint reports whether a ground is one that a print settles, and that is not
// counted by name.
func asksForPrint(g standing.Ground) bool {
	switch g.Code {
	case standing.GroundChanged, standing.GroundMoved, standing.GroundNearly, string(standing.RuleThin), string(standing.RuleHole), string(standing.RuleFlat), string(standing.RuleWell):
		return g.Standing != standing.NotSuited
	case standing.GroundPrint:
		return g.Standing == standing.WithCare
	}
	return false
}

// need is what one set of the parts takes, on the first plate of the process that
// takes each of them, the design standard before others; on the standard where there
// is none.
func (b *backlog) need(parts []string, m bench.Material) needs.Need {
	var plates []bench.Plate
	for _, standard := range []bool{true, false} {
		for _, p := range b.in.Site.Bench.Plates {
			if p.Process == m.Process && p.Standard == standard {
				plates = append(plates, p)
			}
		}
	}
	var plate bench.Plate
	for i := len(plates) - 1; i >= 0; i-- { // the first is left
		if i == 0 && plate.ID == "" || b.allFit(parts, m, plates[i]) {
			plate = plates[i]
		}
	}
	return needs.OfParts(b.in.Site, b.r, parts, b.in.Survey, []release.Share{{Material: m, Share: 1}}, plate)
}

// allFit reports whether each of the parts fits a plate by itself.
func (b *backlog) allFit(parts []string, m bench.Material, plate bench.Plate) bool {
	return !slices.ContainsFunc(parts, func(slug string) bool {
		cut, ok := printing.PartOf(b.r, b.part(slug), m.Process).CutIn(m.Stiffness)
		cs, measured := b.in.Survey.Measured(cut)
		return !ok || !measured || !cs.Fits[plate.ID].Verdict.Fits()
	})
}

// seal asks for a revision where the working files are in none.
func (b *backlog) seal() {
	if len(b.r.Parts) == 0 {
		return
	}
	var missing []string
	if last := b.r.LastRevision(); last == nil {
		missing = append(missing, "Never sealed: nobody can be told what changes.")
	} else if h := b.in.History[b.r.Number]; h != nil {
		step := h.Unsealed()
		if step == nil {
			return
		}
		var names []string
		for _, p := range step.Parts {
			if !p.Same() {
				names = append(names, p.Name())
			}
		}
		switch n := len(names); {
		case n == 0:
			missing = append(missing, fmt.Sprintf("The hardware has changed since revision %s.", last.Name))
		case n > mostNamed:
			missing = append(missing, fmt.Sprintf("%d parts have changed since revision %s.", n, last.Name))
		default:
			missing = append(missing, fmt.Sprintf("Changed since revision %s: %s.", last.Name, words.List(names)))
		}
	} else {
		return
	}
	faults := slices.ContainsFunc(b.tasks, func(t *Task) bool { return t.Kind == TaskMend })
	t := b.task(taskKey{kind: TaskSeal}, OneCommand)
	t.Missing = missing
	t.Settles = "Seal it."
	if faults {
		t.Settles = "Seal it, once its faults are mended."
	}
	t.Command = fmt.Sprintf("cardback seal %d --note %q", b.r.Number, "what changed")
}
