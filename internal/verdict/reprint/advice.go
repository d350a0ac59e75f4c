package reprint

import (
	"fmt"
	"slices"
	"strconv"

	"cardback/internal/bench"
	"cardback/internal/measure/change"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey/history"
	"cardback/internal/words"
)

// Action is what somebody who printed an earlier state does about a part.
type Action string

const (
	Keep         Action = "the same"                // what was printed is good
	PrintAgain   Action = "print again"             // what was printed is another shape
	PrintMore    Action = "print more"              // what was printed is good, but more of it is needed
	PrintNew     Action = "new"                     // the part, or its cut for the process, is new
	IfWanted     Action = "new, if you want it"     // new, and one of a choice, or a piece of a whole
	NotNeeded    Action = "no longer needed"        // the part is gone, or the process does without it
	NotKnown     Action = "not known"               // today's mesh cannot be read
	NoLongerMade Action = "no longer made for this" // the part's cut for the process is gone
)

// Prints reports whether the action needs a printer.
func (a Action) Prints() bool { return a == PrintAgain || a == PrintMore || a == PrintNew }

// Advice says what somebody who printed an earlier state of a release needs for
// a later one. It is about what was printed: parts that were not are printed as
// they now are.
type Advice struct {
	Added    []*bench.Process // of the bench: see bench.Bench
	From, To string           // names of revisions; To is empty for the working files
	// Tolerance is the printing tolerance, mm; zero where it had no say, since no two
	// meshes were compared.
	Tolerance float64
	Parts     []PartAdvice
	Hardware  []HardwareAdvice
	Summary   string // one paragraph for a feed or a note
}

// PartAdvice is what to do about one part that was printed by one process.
type PartAdvice struct {
	Part, Name string // today's slug and name; those of then where it is gone
	WasName    string // what it was called then, where that was something else
	Process    *bench.Process
	// Only is Rigid or Flexible where the advice is for what was printed in such a
	// material alone, since the other has a cut of its own; else empty.
	Only     bench.Stiffness
	Action   Action
	Pieces   int         // to print now, mirrored ones included; zero unless Action.Prints or IfWanted
	Kind     change.Kind // what became of the mesh
	AtMost   float64     // mm, the bound of the greatest distance between the surfaces where Kind is Changed or Nearly; zero where it is not known
	Sentence string
}

// HardwareAdvice is what to do about one line of the hardware list. Was is zero
// where the line is new, Is where it is gone.
type HardwareAdvice struct {
	Was, Is  release.SealedHardware
	Action   HardwareAction
	Sentence string
}

// HardwareAction is what somebody who has the earlier hardware does.
type HardwareAction string

const (
	BuyNew     HardwareAction = "new"
	BuyMore    HardwareAction = "more"
	CutAnew    HardwareAction = "other cut length"
	NeedFewer  HardwareAction = "fewer"
	LeaveAside HardwareAction = "no longer needed"
)

// For lists the advice on parts that were printed by proc.
func (a Advice) For(proc *bench.Process) []PartAdvice {
	return slices.DeleteFunc(slices.Clone(a.Parts), func(p PartAdvice) bool { return p.Process != proc })
}

// Nothing reports whether nothing is known to need printing, buying or cutting.
func (a Advice) Nothing() bool {
	return !slices.ContainsFunc(a.Parts, func(p PartAdvice) bool { return p.Action.Prints() }) &&
		!slices.ContainsFunc(a.Hardware, func(h HardwareAdvice) bool {
			return h.Action == BuyNew || h.Action == BuyMore || h.Action == CutAnew
		})
}

// Advise judges the step from an earlier state to a later one, by part in the
// later state's order and then by process. A part whose surface is the same, in
// other triangles or another place of its file, or by less than the printing
// tolerance another, need not be printed again; one that is mirrored, of another size
// or changed must. Of a mirrored part that is
// printed with a mirrored twin the two change places, and nothing is needed.
func Advise(s history.Step) Advice {
	a := Advice{Added: s.Added, From: s.From, To: s.To}
	for _, p := range s.Parts {
		if slices.ContainsFunc(p.Cuts, func(c history.CutStep) bool { return c.Change != nil }) {
			a.Tolerance = s.Tolerance
		}
		for _, proc := range bench.ProcessesWith(s.Added) {
			a.Parts = append(a.Parts, partAdvice(p, proc)...)
		}
	}
	a.Hardware = hardwareAdvice(s.HardwareWas, s.HardwareIs)
	a.Summary = a.summary()
	return a
}

// partAdvice is one line for what was printed by proc, or one for what was
// printed in rigid and one in flexible materials where they differ.
func partAdvice(p history.PartStep, proc *bench.Process) []PartAdvice {
	rigid, hasRigid := p.In(history.Use{Process: proc})
	flexible, hasFlexible := p.In(history.Use{Process: proc, Flexible: true})
	a, b := adviceOn(p, proc, rigid), adviceOn(p, proc, flexible)
	switch {
	case !hasRigid && !hasFlexible:
		return nil
	case !hasRigid:
		b.Only = bench.Flexible
		return []PartAdvice{b}
	case !hasFlexible:
		a.Only = bench.Rigid
		return []PartAdvice{a}
	case a == b:
		return []PartAdvice{a}
	}
	a.Only, b.Only = bench.Rigid, bench.Flexible
	return []PartAdvice{a, b}
}

func adviceOn(p history.PartStep, proc *bench.Process, c history.CutStep) PartAdvice {
	out := PartAdvice{Part: p.Slug(), Name: p.Name(), Process: proc, Kind: c.Kind}
	if p.Was != nil && p.Is != nil && p.Was.Name != p.Is.Name {
		out.WasName = p.Was.Name
	}
	switch {
	case c.Was == nil && c.Is == nil:
		return out // no way of printing; nobody looks at it
	case c.Is == nil:
		out.Action, out.Sentence = NotNeeded, "No longer needed."
		if p.Is != nil && printing.Sealed([]release.SealedPart{*p.Is}, proc).Parts[0].Needed {
			out.Action, out.Sentence = NoLongerMade, fmt.Sprintf("There is no %s cut of it any more: what you have is what there was.", proc)
		}
		return out
	case c.Was == nil && c.Is.Fingerprint == "":
		out.Action, out.Sentence = NotKnown, "New, but its mesh cannot be read."
		return out
	case c.Was == nil:
		out.Action, out.Pieces = PrintNew, p.Is.Printed()
		out.Sentence = fmt.Sprintf("New: print %s.", pieces(out.Pieces))
		switch {
		case p.Was != nil:
			out.Sentence = fmt.Sprintf("New for %s: print %s.", proc, pieces(out.Pieces))
		case p.Is.Replaces != "":
			out.Action, out.Sentence = IfWanted, "New: a piece of a whole part. You need it only if you print that part in pieces."
		case p.Is.Choice != "":
			out.Action, out.Sentence = IfWanted, "New, and one of a choice: print it if you want it."
		}
		return out
	}
	if c.Is.Fingerprint == "" || c.Was.Fingerprint == "" {
		out.Action, out.Sentence = NotKnown, "Whether it has changed is not known: its mesh cannot be read."
		return out
	}
	if c.Change != nil && (c.Kind == change.Changed || c.Kind == change.Nearly) {
		d, _ := c.Change.Largest()
		out.AtMost = d.AtMost
	}
	out.Action, out.Pieces = enough(p, c)
	out.Sentence = sentenceOn(out, p, c)
	return out
}

// enough counts what was printed against what is needed, the part as its file has
// it and its mirror image apart.
func enough(p history.PartStep, c history.CutStep) (Action, int) {
	have, mirrored := p.Was.Quantity, p.Was.Mirrored()
	switch c.Kind {
	case change.Unchanged, change.SameShape, change.Moved, change.Nearly:
	case change.Mirrored:
		have, mirrored = mirrored, have
	default:
		have, mirrored = 0, 0
	}
	need, needMirrored := p.Is.Quantity, p.Is.Mirrored()
	missing := max(need-have, 0) + max(needMirrored-mirrored, 0)
	switch {
	case missing == 0:
		return Keep, 0
	case missing == need+needMirrored:
		return PrintAgain, missing
	}
	return PrintMore, missing
}

// keepSentence is all that is said of a part that nothing has happened to.
const keepSentence = "What you have is good: it is the same."

func sentenceOn(a PartAdvice, p history.PartStep, c history.CutStep) string {
	what := becameOf(c)
	was, is := p.Was.Printed(), p.Is.Printed()
	switch {
	case a.Action == PrintAgain && is == 1:
		return fmt.Sprintf("Print it again: %s.", what)
	case a.Action == PrintAgain:
		return fmt.Sprintf("Print all %d again: %s.", is, what)
	case a.Action == PrintMore && c.Kind == change.Mirrored:
		return fmt.Sprintf("Print %s more: %s, and those you have serve as the others.", pieces(a.Pieces), what)
	case a.Action == PrintMore:
		return fmt.Sprintf("Print %s more: %d are needed now, and those you have are good.", pieces(a.Pieces), is)
	case was > is:
		return fmt.Sprintf("What you have is good (%s). You now need %d, not %d.", what, is, was)
	case c.Kind == change.Unchanged:
		return keepSentence
	case c.Kind == change.Mirrored:
		return "What you have is good: the part and its mirrored twin have changed places."
	}
	return fmt.Sprintf("What you have is good: %s.", what)
}

// becameOf is a clause about what became of a mesh.
func becameOf(c history.CutStep) string {
	switch c.Kind {
	case change.Unchanged:
		return "it is the same"
	case change.SameShape:
		return "the same surface, in other triangles"
	case change.Moved:
		return "it only lies otherwise in its file"
	case change.Mirrored:
		return "it is now the mirror image"
	case change.Rescaled:
		percent := "another"
		if c.Change != nil {
			percent = words.Percent(c.Change.Motion.Scale, 1) + " of its"
		}
		also := ""
		if c.Change != nil && c.Change.Motion.Mirrors() {
			also = ", and mirrored"
		}
		return fmt.Sprintf("it is now %s size%s", percent, also)
	}
	if c.Change == nil {
		return fmt.Sprintf("it has changed, and by how much cannot be said, because %s", c.Why)
	}
	d, _ := c.Change.Largest()
	switch {
	case c.Kind == change.Nearly:
		only := "it differs"
		if c.Change.Motion != change.Still {
			only = "it lies otherwise in its file, and but for that differs"
		}
		return fmt.Sprintf("%s by at most %s mm, which is under the printing tolerance of %s mm", only, words.AtMost(max(d.AtMost, 1e-4), 4), words.Plain(c.Change.Tolerance))
	case c.Change.Cause == change.OfVolume:
		return "its surface is where it was, but what that encloses is another solid: it is wound the other way, or there more than once"
	case c.Change.Cause == change.OfFacing:
		return "its surface is where it was, but some of it faces the other way, so that another solid is inside"
	case c.Change.Cause == change.OfBudget:
		return fmt.Sprintf("no difference of more than %s mm was found, but the search ended before more than %s mm could be excluded", words.AtMost(max(d.Largest, 1e-4), 4), words.AtMost(d.AtMost, 4))
	}
	return fmt.Sprintf("it has changed by up to %s mm, near %s", distance(d.AtMost), words.Place(d.At.X, d.At.Y, d.At.Z))
}

// distance writes one between surfaces: to a hundredth, as fine as printers tell
// apart.
func distance(mm float64) string {
	if mm < 0.005 {
		return "less than 0.01"
	}
	return words.Fixed(mm, 2)
}

func pieces(n int) string {
	if n == 1 {
		return "one"
	}
	return strconv.Itoa(n)
}

// hardwareAdvice pairs the lines of both lists: by item and cut length, then what
// is left of an item in order.
func hardwareAdvice(was, is []release.SealedHardware) []HardwareAdvice {
	var out []HardwareAdvice
	used := make([]bool, len(was))
	pick := func(same func(release.SealedHardware) bool) (release.SealedHardware, bool) {
		for i, h := range was {
			if !used[i] && same(h) {
				used[i] = true
				return h, true
			}
		}
		return release.SealedHardware{}, false
	}
	pairs := make([]HardwareAdvice, len(is))
	found := make([]bool, len(is))
	for i, h := range is {
		pairs[i].Is = h
		pairs[i].Was, found[i] = pick(func(w release.SealedHardware) bool { return w.Item == h.Item && w.Cut == h.Cut })
	}
	for i, h := range is {
		if !found[i] {
			pairs[i].Was, found[i] = pick(func(w release.SealedHardware) bool { return w.Item == h.Item })
		}
	}
	for _, p := range pairs {
		if p.Was.Item == "" || p.Was.Cut != p.Is.Cut || p.Was.Count != p.Is.Count {
			out = append(out, judgeHardware(p))
		}
	}
	for i, h := range was {
		if !used[i] {
			out = append(out, HardwareAdvice{Was: h, Action: LeaveAside, Sentence: fmt.Sprintf("No longer needed: %s.", line(h))})
		}
	}
	return out
}

func judgeHardware(h HardwareAdvice) HardwareAdvice {
	more := h.Is.Count - h.Was.Count
	switch {
	case h.Was.Item == "":
		h.Action, h.Sentence = BuyNew, fmt.Sprintf("New: %s.", line(h.Is))
	case h.Was.Cut != h.Is.Cut:
		h.Action = CutAnew
		h.Sentence = fmt.Sprintf("Now %s, where it was %s.", line(h.Is), line(h.Was))
		switch {
		case h.Is.Cut > 0 && h.Is.Cut < h.Was.Cut && more <= 0:
			h.Sentence += " Those you have can be cut down."
		case h.Is.Cut > 0 && h.Is.Cut < h.Was.Cut:
			h.Sentence += fmt.Sprintf(" Those you have can be cut down; cut %d more.", more)
		}
	case more > 0:
		h.Action, h.Sentence = BuyMore, fmt.Sprintf("Now %s, where it was %d: %d more.", line(h.Is), h.Was.Count, more)
	default:
		h.Action, h.Sentence = NeedFewer, fmt.Sprintf("Now %s, where it was %d.", line(h.Is), h.Was.Count)
	}
	return h
}

// line writes a line of the hardware list: "4 × Pivot rod, cut to 18 mm".
func line(h release.SealedHardware) string {
	text := fmt.Sprintf("%d × %s", h.Count, h.Name)
	if h.Cut > 0 {
		text += fmt.Sprintf(", cut to %s mm", words.Plain(h.Cut))
	}
	return text
}
