package reprint

import (
	"cardback/internal/bench"
	"cardback/internal/measure/change"
)

// ActionGroup is the parts about which the same is to be done.
type ActionGroup struct {
	Action Action
	Parts  []PartAdvice
}

// actionsInOrder is the order in which advice is told: what has to be printed, what
// may be, what is not known, what is good, and what is gone.
var actionsInOrder = []Action{PrintAgain, PrintMore, PrintNew, IfWanted, NotKnown, Keep, NotNeeded, NoLongerMade}

// Groups is the advice on what was printed by proc, by action. Groups without a
// part are left out.
func (a Advice) Groups(proc *bench.Process) []ActionGroup {
	var out []ActionGroup
	for _, action := range actionsInOrder {
		g := ActionGroup{Action: action}
		for _, p := range a.For(proc) {
			if p.Action == action {
				g.Parts = append(g.Parts, p)
			}
		}
		if len(g.Parts) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// Titled is a part's name, with the kind of material where the advice is for one
// alone.
func (p PartAdvice) Titled() string {
	if p.Only == "" {
		return p.Name
	}
	return p.Name + " in a " + string(p.Only) + " material"
}

// Untouched reports whether nothing at all has happened to the part, so that its
// name says enough.
func (p PartAdvice) Untouched() bool {
	return p.Action == Keep && p.Kind == change.Unchanged && p.WasName == "" && p.Sentence == keepSentence
}
