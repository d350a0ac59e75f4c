package verdict

import (
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/release"
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
			var cells []PartCell
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
func (b *backlog) printable(pc PartCell) bool {
	if pc.Standing == Proven || pc.Standing == NotOffered {
		return false
	}
	prints := false
	for _, g := range pc.Grounds {
		switch g.Code {
		case GroundPrint:
			if g.Standing == Proven || g.Standing == NotSuited {
				return false // printed well already; or badly, which a redesign is for
			}
			prints = true
		case GroundUnprinted, GroundChanged, GroundMoved:
			prints = true
		case string(RuleSound), string(RuleSolid), string(RuleTrapped):
			return false // the mesh is to change first
		case string(RulePosture), GroundAside:
		default:
			if g.Standing == NotSuited {
				return false
			}
		}
	}
	return prints
}

// print is one task of it.
func (b *backlog) print(cells []PartCell, c Cell, m bench.Material, needed bool) {
	t := &Task{Release: b.r.Number, Kind: TaskPrint, Needed: needed}
	var unprinted []string
	for _, pc := range cells {
		b.about(t, pc, m)
		for _, g := range pc.Grounds {
			switch {
			case g.Code == GroundUnprinted:
				unprinted = append(unprinted, b.part(pc.Part).Name)
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
		t.say(fmt.Sprintf("No print of %s is logged.", List(unprinted)))
	}
	need := b.need(t.Parts, m)
	t.Need = &need
	t.Effort = LongPrint
	if need.Seconds > 0 && need.Seconds <= shortPrint {
		t.Effort = ShortPrint
	}
	which := "these parts"
	if len(t.Parts) == 1 {
		which = "it"
	}
	t.Settles = fmt.Sprintf("Print %s in %s and log what came of it: cardback record %d.", which, Named([]bench.Material{m}), b.r.Number)
	b.tasks = append(b.tasks, t)
}

// asksForPrint reports whether a ground is one that a print settles, and that is not
// counted by name.
func asksForPrint(g Ground) bool {
	switch g.Code {
	case GroundChanged, GroundMoved, string(RuleThin), string(RuleHole), string(RuleFlat), string(RuleWell):
		return g.Standing != NotSuited
	case GroundPrint:
		return g.Standing == WithCare
	}
	return false
}

// need is what one set of the parts takes, on the design standard of the process or
// its first plate.
func (b *backlog) need(parts []string, m bench.Material) Need {
	var plate bench.Plate
	for _, p := range b.in.Site.Bench.Plates {
		if p.Process == m.Process && (plate.ID == "" || p.Standard && !plate.Standard) {
			plate = p
		}
	}
	n := newNeed(b.in.Site, []release.Share{{Material: m, Share: 1}}, plate)
	for _, p := range b.r.Parts {
		if slices.Contains(parts, p.Slug) {
			n.add(p, p.Printed(), b.in.Survey)
		}
	}
	if m.Process == bench.Resin && n.most() > 0 {
		n.assume("Time is of one plate with everything on it; each further plate takes its own tallest part's layers again.")
	}
	return n.finish()
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
			missing = append(missing, fmt.Sprintf("Changed since revision %s: %s.", last.Name, List(names)))
		}
	} else {
		return
	}
	faults := slices.ContainsFunc(b.tasks, func(t *Task) bool { return t.Kind == TaskMend })
	t := b.task(taskKey{kind: TaskSeal}, OneCommand)
	t.Missing = missing
	t.Settles = fmt.Sprintf("cardback seal %d --note %q", b.r.Number, "what changed")
	if faults {
		t.Settles += ", once its faults are mended"
	}
	t.Settles += "."
}
