package verdict

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/release"
	"cardback/internal/survey/history"
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
			out = append(out, row.first+listed(names))
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
		text += fmt.Sprintf(" New, if you want it: %s.", listed(names))
	}
	if names := a.named(NotKnown); len(names) > 0 {
		text += fmt.Sprintf(" Not known, because the mesh cannot be read: %s.", listed(names))
	}
	if names := a.named(NotNeeded); len(names) > 0 {
		text += fmt.Sprintf(" No longer needed: %s.", listed(names))
	}
	if names := a.named(NoLongerMade); len(names) > 0 {
		text += fmt.Sprintf(" No longer made for that process: %s.", listed(names))
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
			out = append(out, fmt.Sprintf("%s (%s)", group[0].Name, List(where)))
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

func listed(names []string) string {
	if len(names) > mostListed {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:mostListed], ", "), len(names)-mostListed)
	}
	return List(names)
}

// Changes is what is told of a release's revisions: each with its note, newest
// first, and what to print for whoever printed an earlier one. The zero value is a
// release of which nothing was sealed.
type Changes struct {
	// Notes are newest first. Where the working files differ from the last revision, they
	// come first, without name, date and note.
	Notes []ChangeNote
	Now   []Advice // of somebody who would print the release as it now is; by revision, oldest first
}

// changesOf is Changes of a release. Without a history, h nil, nobody knows which revision
// the files are, and nothing is told.
func changesOf(r release.Release, h *history.Release) Changes {
	made("changes", r.Number)
	if len(r.Revisions) == 0 || h == nil {
		return Changes{}
	}
	var c Changes
	for _, s := range h.ToWorking {
		c.Now = append(c.Now, Reprint(s))
	}
	for i, rev := range r.Revisions {
		n := ChangeNote{Name: rev.Name, Date: rev.Date, Note: rev.Note, Faults: rev.Faults}
		if i > 0 && i-1 < len(h.ToNext) {
			a := Reprint(h.ToNext[i-1])
			n.Advice = &a
		}
		c.Notes = append(c.Notes, n)
	}
	if h.Unsealed() != nil {
		c.Notes = append(c.Notes, ChangeNote{Advice: &c.Now[len(c.Now)-1]})
	}
	slices.Reverse(c.Notes)
	return c
}

// Any reports whether a revision was sealed.
func (c Changes) Any() bool { return len(c.Notes) > 0 }

// Unsealed reports whether the working files differ from the last revision.
func (c Changes) Unsealed() bool { return c.Any() && c.Notes[0].Name == "" }

// Last is the last revision that was sealed; ok is false where there is none.
func (c Changes) Last() (n ChangeNote, ok bool) {
	for _, n := range c.Notes {
		if n.Name != "" {
			return n, true
		}
	}
	return n, false
}

// Earlier is the advice for each revision that is not what stands here, newest
// first.
func (c Changes) Earlier() []Advice {
	var out []Advice
	for i := len(c.Now) - 1; i >= 0; i-- {
		if i == len(c.Now)-1 && !c.Unsealed() {
			continue
		}
		out = append(out, c.Now[i])
	}
	return out
}

// ChangeNote is what a revision brought: the designer's note, and what it means
// for somebody who printed the one before. The first revision has no Advice.
type ChangeNote struct {
	Name   string // of the revision; empty for the working files
	Date   time.Time
	Note   string
	Faults string // why it was sealed although a fault stood; mostly empty
	Advice *Advice
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
