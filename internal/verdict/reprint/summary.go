package reprint

import (
	"fmt"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/words"
)

// mostListed is how many parts a summary names in one row; beyond that it counts
// the rest.
const mostListed = 8

// summary is the advice in a few sentences.
func (a Advice) summary() string {
	who := "If you printed revision " + a.From
	if a.From == "" {
		who = "If you printed what came before"
	}
	var out []string
	for _, row := range []struct {
		action Action
		first  string
	}{
		{PrintAgain, "print again: "},
		{PrintMore, "print more of: "},
		{PrintNew, "print what is new: "},
	} {
		if names := a.named(row.action); len(names) > 0 {
			out = append(out, row.first+firstOf(names))
		}
	}
	text := who + ", there is nothing to print again."
	if len(a.named(NotKnown)) > 0 {
		text = who + ", nothing that can be read needs to be printed again."
	}
	if len(out) > 0 {
		text = who + ", " + strings.Join(out, "; ") + "."
	}
	switch same := a.unchanged(); {
	case len(out) == 0 || same == 0:
	case same == 1:
		text += " 1 other part is as good as before."
	default:
		text += fmt.Sprintf(" %d other parts are as good as before.", same)
	}
	if names := a.named(IfWanted); len(names) > 0 {
		text += fmt.Sprintf(" New, if you want it: %s.", firstOf(names))
	}
	if names := a.named(NotKnown); len(names) > 0 {
		text += fmt.Sprintf(" Not known, because the mesh cannot be read: %s.", firstOf(names))
	}
	if names := a.named(NotNeeded); len(names) > 0 {
		text += fmt.Sprintf(" No longer needed: %s.", firstOf(names))
	}
	if names := a.named(NoLongerMade); len(names) > 0 {
		text += fmt.Sprintf(" No longer made for that process: %s.", firstOf(names))
	}
	if a.Tolerance > 0 {
		text += fmt.Sprintf(" Differences of less than %s mm do not show in a print and are not counted.", words.Plain(a.Tolerance))
	}
	if len(a.Hardware) > 0 {
		text += " Hardware:"
		for _, h := range a.Hardware {
			text += " " + h.Sentence
		}
	}
	return text
}

// named lists the parts with that action; where a part has it for one process and
// another action for the other, the name says which.
func (a Advice) named(action Action) []string {
	var out []string
	for _, group := range a.byPart() {
		var where []string
		other := false
		for _, p := range group {
			if p.Action != action {
				other = true
				continue
			}
			in := p.Process.String()
			if p.Only != "" && slices.ContainsFunc(group, func(q PartAdvice) bool { return q.Process == p.Process && q.Only != p.Only }) {
				in = string(p.Only) + " " + in
			}
			where = append(where, in)
		}
		switch {
		case len(where) == 0:
		case other:
			out = append(out, fmt.Sprintf("%s (%s)", group[0].Name, words.List(where)))
		default:
			out = append(out, group[0].Name)
		}
	}
	return out
}

// unchanged counts the parts of which everything that was printed is good.
func (a Advice) unchanged() int {
	n := 0
	for _, group := range a.byPart() {
		if !slices.ContainsFunc(group, func(p PartAdvice) bool { return p.Action != Keep }) {
			n++
		}
	}
	return n
}

// byPart cuts the list, in which the lines of a part stand together.
func (a Advice) byPart() [][]PartAdvice {
	var out [][]PartAdvice
	for i, p := range a.Parts {
		if i == 0 || p.Part != a.Parts[i-1].Part {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], p)
	}
	return out
}

func firstOf(names []string) string {
	if len(names) > mostListed {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:mostListed], ", "), len(names)-mostListed)
	}
	return words.List(names)
}

// Processes lists those that the advice speaks of, in bench order.
func (a Advice) Processes() []*bench.Process {
	var out []*bench.Process
	for _, p := range bench.ProcessesWith(a.Added) {
		if len(a.For(p)) > 0 {
			out = append(out, p)
		}
	}
	return out
}
