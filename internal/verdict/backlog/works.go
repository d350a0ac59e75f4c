package backlog

import (
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/verdict"
	"cardback/internal/verdict/standing"
)

// works makes tasks of what a print does not settle: cuts to make, meshes to mend,
// parts to think over, and limits that stay.
func (b *backlog) works() {
	for _, c := range b.cells {
		m := b.material(c.Material)
		for _, pc := range c.Parts {
			p := b.part(pc.Part)
			for _, g := range pc.Grounds {
				if t := b.work(p, g, m); t != nil {
					b.about(t, pc, m)
				}
			}
		}
	}
}

// work is the task that a ground of a part's cell asks for; nil where a print is
// what it asks for, or nothing is.
func (b *backlog) work(p release.Part, g standing.Ground, m bench.Material) *Task {
	if g.Standing == standing.Proven {
		return nil
	}
	var kind release.CutKind // of the mesh that is printed
	if cut, ok := printing.PartOf(b.r, p, m.Process).CutIn(m.Stiffness); ok {
		kind = cut.Kind
	}
	redesign := func(how string) *Task {
		t := b.task(taskKey{kind: TaskRedesign, part: p.Slug, cut: kind}, NewShape)
		t.say(g.Text)
		if t.Settles == "" {
			t.Settles = how
		}
		return t
	}
	stays := func(why string) *Task {
		t := b.task(taskKey{kind: TaskStays}, Nothing)
		t.say(why)
		t.Settles = "Nothing to do."
		return t
	}
	switch g.Code {
	case string(standing.RuleCut), string(standing.RuleFlexibleCut):
		t := b.task(taskKey{kind: TaskCut, cut: release.CutKind(g.Target)}, NewCut)
		t.Settles = fmt.Sprintf("Make the %s cut; then print it.", g.Target)
		return t
	case string(standing.RuleReadable), string(standing.RuleSolid), string(standing.RuleSound):
		t := b.task(taskKey{kind: TaskMend, part: p.Slug, cut: kind}, MendOne)
		if len(t.Missing) == 0 { // a finding has said it, and better
			t.say(g.Text)
		}
		t.Settles = mendIt
		return t
	case string(standing.RuleFlexible):
		if g.Standing == standing.WithCare {
			return stays(g.Text)
		}
		return stays(fmt.Sprintf("%s is made to bend: it is printed in a flexible material beside the rigid ones.", p.Name))
	case string(standing.RuleSnaps):
		if g.Standing == standing.WithCare {
			return stays(g.Text)
		}
		own := release.CutFor(m.Process)
		key, effort := taskKey{kind: TaskCut, part: p.Slug, cut: own}, NewCut
		if kind == own {
			key.kind, effort = TaskRedesign, NewShape
		}
		t := b.task(key, effort)
		t.say(g.Text)
		if t.Settles == "" {
			t.Settles = fmt.Sprintf("A %s cut that is split and glued round its pivots instead; then print it.", m.Process)
		}
		return t
	case string(standing.RuleStiff):
		return stays(g.Text)
	case string(standing.RulePlate):
		return b.tooLarge(p, m, redesign, stays)
	case string(standing.RuleTrapped):
		return redesign(fmt.Sprintf("Open %s; then print it.", m.Process.Outlet))
	case string(standing.RuleThin):
		if g.Standing == standing.NotSuited {
			return redesign("Thicken it there; then print it. A good print of it as it is would settle it too.")
		}
	case standing.GroundPrint:
		if g.Standing == standing.NotSuited {
			return b.failed(g, m)
		}
	case string(standing.RuleHole), string(standing.RuleFlat), string(standing.RuleWell), string(standing.RulePosture), standing.GroundUnprinted, standing.GroundChanged, standing.GroundMoved, standing.GroundNearly, standing.GroundAside:
	default:
		return redesign("See the reason in the material table.")
	}
	return nil
}

// failed is the task about a print that failed: parts of one plate share it.
func (b *backlog) failed(g standing.Ground, m bench.Material) *Task {
	t := b.task(taskKey{kind: TaskFailed, line: g.Target}, NewShape)
	text := g.Text
	for _, c := range b.cells { // where the parts that the release rests on share a sentence
		for _, shared := range c.Grounds {
			if c.Material == m.ID && shared.Code == g.Code && shared.Target == g.Target && slices.Contains(shared.Parts, g.Parts[0]) {
				text = shared.Text
			}
		}
	}
	t.say(text)
	t.Settles = "Change the part, or how it is printed, and log the next print."
	return t
}

// tooLarge is what to do about a part that does not fit the design standard.
func (b *backlog) tooLarge(p release.Part, m bench.Material, redesign, stays func(string) *Task) *Task {
	if b.splitHelps(p, m.Process) {
		return stays(fmt.Sprintf("%s is too large for the design standard of %s, where its pieces are printed.", p.Name, m.Process))
	}
	undecided := false
	cut, _ := printing.PartOf(b.r, p, m.Process).CutIn(m.Stiffness)
	if cs, ok := b.in.Survey.Measured(cut); ok {
		verdictOn := func(want func(fit.Verdict) bool) bool {
			return slices.ContainsFunc(b.in.Site.Bench.Plates, func(q bench.Plate) bool { return q.Process == m.Process && want(cs.Fits[q.ID].Verdict) })
		}
		undecided = !verdictOn(fit.Verdict.Fits) && verdictOn(func(v fit.Verdict) bool { return v == fit.Undecided })
	}
	if undecided {
		return redesign("Make it a little smaller, or split it: the search neither found a fit nor proved that there is none.")
	}
	return redesign("Split it into pieces that fit, or make it smaller.")
}

// splitHelps reports whether p has pieces that all fit the design standard.
func (b *backlog) splitHelps(p release.Part, proc *bench.Process) bool {
	pieces := printing.Of(b.r, proc).Pieces(p.Slug)
	if len(pieces) == 0 {
		return false
	}
	for _, a := range b.judged.Plates {
		if !a.Plate.Standard || a.Plate.Process != proc {
			continue
		}
		return !slices.ContainsFunc(pieces, func(q printing.Part) bool {
			i := slices.IndexFunc(a.Parts, func(f verdict.PartFit) bool { return f.Part == q.Slug })
			return i < 0 || !a.Parts[i].Result.Verdict.Fits()
		})
	}
	return false
}

// otherPlates lists by process what fits no plate but larger ones than the standard
// asks for, and what fits the standard only as it should not be laid. What does not
// fit the standard is a redesign, also where the bench has no material to say so.
func (b *backlog) otherPlates() {
	for _, a := range b.judged.Plates {
		if a.Plate.Standard {
			for _, slug := range a.Tilted {
				t := b.beyond(a.Plate.Process)
				t.add(slug)
				t.say(fmt.Sprintf("%s fits the design standard, %s, only in another orientation than the one recommended.", b.part(slug).Name, a.Plate.Name))
			}
		}
		var not []string
		for _, slug := range a.Blocking {
			i := slices.IndexFunc(a.Parts, func(f verdict.PartFit) bool { return f.Part == slug })
			if i < 0 {
				continue
			}
			switch f := a.Parts[i]; {
			case f.Result.Verdict != fit.CannotFit && f.Result.Verdict != fit.Undecided:
			case !a.Plate.Standard:
				not = append(not, slug)
				b.beyond(a.Plate.Process).add(slug)
			case !slices.ContainsFunc(b.tasks, func(t *Task) bool { return t.Kind == TaskRedesign && slices.Contains(t.Parts, slug) }):
				t := b.task(taskKey{kind: TaskRedesign, part: slug, cut: f.Cut.Kind}, NewShape)
				t.say(fmt.Sprintf("%s does not fit the design standard, %s: %s.", b.part(slug).Name, a.Plate.Name, f.Text))
				t.Settles = "Split it into pieces that fit, or make it smaller."
				b.process(t, a.Plate.Process)
			}
		}
		if len(not) > 0 {
			b.beyond(a.Plate.Process).say(fmt.Sprintf("On %s these do not fit, or not surely: %s.", a.Plate.Name, b.named(not)))
		}
	}
}

// beyond is the task about other plates of a process.
func (b *backlog) beyond(proc *bench.Process) *Task {
	t := b.task(taskKey{kind: TaskPlates, proc: proc}, OnlyIfWanted)
	t.Settles = "Split it further, or lay it otherwise."
	return t
}

// cutsMissing says of which parts a cut is missing, once they are all known.
func (b *backlog) cutsMissing() {
	for _, t := range b.tasks {
		if t.Kind != TaskCut || len(t.Missing) > 0 {
			continue
		}
		b.inChartOrder(t.Parts)
		t.say(fmt.Sprintf("There is no %s cut of %s.", t.Cut, b.named(t.Parts)))
	}
}
