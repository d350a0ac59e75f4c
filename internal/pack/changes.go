package pack

import (
	"fmt"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/survey/history"
	"cardback/internal/verdict"
	"cardback/internal/words"
)

// ChangesFile is the change note's name in an archive.
const ChangesFile = "what-changed.txt"

// Changes is what is told of a release's revisions: each with its note, newest
// first, and what to print for whoever printed an earlier one. The zero value is a
// release of which nothing was sealed.
type Changes struct {
	Notes []verdict.ChangeNote // see verdict.ChangeNotes
	Now   []verdict.Advice     // see verdict.ReprintNow
}

// ChangesOf asks verdict. Without a history, h nil, nobody knows which revision the
// files are, and nothing is told.
func ChangesOf(r release.Release, h *history.Release) Changes {
	if len(r.Revisions) == 0 || h == nil {
		return Changes{}
	}
	return Changes{Notes: verdict.ChangeNotes(r, h), Now: verdict.ReprintNow(h)}
}

// Any reports whether a revision was sealed.
func (c Changes) Any() bool { return len(c.Notes) > 0 }

// Unsealed reports whether the working files differ from the last revision.
func (c Changes) Unsealed() bool { return c.Any() && c.Notes[0].Name == "" }

// Last is the last revision that was sealed; ok is false where there is none.
func (c Changes) Last() (n verdict.ChangeNote, ok bool) {
	for _, n := range c.Notes {
		if n.Name != "" {
			return n, true
		}
	}
	return n, false
}

// Earlier is the advice for each revision that is not what stands here, newest
// first.
func (c Changes) Earlier() []verdict.Advice {
	var out []verdict.Advice
	for i := len(c.Now) - 1; i >= 0; i-- {
		if i == len(c.Now)-1 && !c.Unsealed() {
			continue
		}
		out = append(out, c.Now[i])
	}
	return out
}

// revision says which revision the files are.
func (c Changes) revision() string {
	last, ok := c.Last()
	switch {
	case !ok:
		return ""
	case c.Unsealed():
		return fmt.Sprintf("These files are later than revision %s (%s) and are not sealed yet.", last.Name, last.Date.Format("2006-01-02"))
	}
	return fmt.Sprintf("These files are revision %s (%s).", last.Name, last.Date.Format("2006-01-02"))
}

// text is the change note for one process: the revisions, and for whoever printed
// an earlier one which parts to print again.
func (c Changes) text(r *release.Release, proc *bench.Process) []byte {
	var b strings.Builder
	para := func(s string) { b.WriteString(wrap(s) + "\n\n") }
	heading := func(s string) { b.WriteString(s + "\n" + strings.Repeat("-", len(s)) + "\n\n") }

	para(fmt.Sprintf("%02d %s: what changed, for %s", r.Number, oneLine(r.Title), proc))
	para(c.revision())
	for _, a := range c.Earlier() {
		heading("If you printed revision " + a.From)
		c.advice(&b, a, proc)
	}
	heading("Revisions")
	for _, n := range c.Notes {
		if n.Name == "" {
			continue
		}
		fmt.Fprintf(&b, "%s, %s\n", n.Name, n.Date.Format("2006-01-02"))
		if n.Note != "" {
			b.WriteString(indent(wrap(n.Note)) + "\n")
		}
		if n.Faults != "" {
			b.WriteString(indent(wrap("Sealed although a fault stood: "+n.Faults)) + "\n")
		}
		b.WriteString("\n")
	}
	return []byte(strings.TrimRight(b.String(), "\n") + "\n")
}

// advice is what to do for one process, and about the hardware.
func (c Changes) advice(b *strings.Builder, a verdict.Advice, proc *bench.Process) {
	groups := a.Groups(proc)
	if len(groups) == 0 {
		b.WriteString(wrap(fmt.Sprintf("Nothing was printed for %s then.", proc)) + "\n\n")
	}
	prints := false
	for _, g := range groups {
		prints = prints || g.Action.Prints()
	}
	if len(groups) > 0 && !prints {
		b.WriteString("There is nothing to print again.\n\n")
	}
	for _, g := range groups {
		var same []string
		var lines string
		for _, p := range g.Parts {
			if p.Untouched() {
				same = append(same, p.Titled())
				continue
			}
			lines += bullet(entry(p))
		}
		fmt.Fprintf(b, "%s:\n", words.Capital(string(g.Action)))
		b.WriteString(lines)
		if len(same) > 0 {
			b.WriteString(bullet(strings.Join(same, "; ")))
		}
		b.WriteString("\n")
	}
	if a.Tolerance > 0 {
		b.WriteString(wrap(fmt.Sprintf("Differences of less than %s mm do not show in a print and are not counted.", words.Plain(a.Tolerance))) + "\n\n")
	}
	if len(a.Hardware) > 0 {
		b.WriteString("Hardware:\n")
		for _, h := range a.Hardware {
			b.WriteString(bullet(h.Sentence))
		}
		b.WriteString("\n")
	}
}

func entry(p verdict.PartAdvice) string {
	name := oneLine(p.Titled())
	if p.WasName != "" {
		name += " (it was called " + oneLine(p.WasName) + ")"
	}
	if p.Sentence == words.Capital(string(p.Action))+"." {
		return name // the heading says it
	}
	return name + ". " + p.Sentence
}

// capital gives a heading its capital letter; actions are ASCII.
