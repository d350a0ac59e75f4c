package pack

import (
	"fmt"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/verdict/reprint"
	"cardback/internal/words"
)

// ChangesFile is the change note's name in an archive.
const ChangesFile = "what-changed.txt"

// revisionText says which revision the files are.
func revisionText(c reprint.Changes) string {
	last, ok := c.Last()
	switch {
	case !ok:
		return ""
	case c.Unsealed():
		return fmt.Sprintf("These files are later than revision %s (%s) and are not sealed yet.", last.Name, words.Date(last.Date))
	}
	return fmt.Sprintf("These files are revision %s (%s).", last.Name, words.Date(last.Date))
}

// changesText is the change note for one process: the revisions, and for whoever printed
// an earlier one which parts to print again.
func changesText(c reprint.Changes, r *release.Release, proc *bench.Process) []byte {
	var b strings.Builder
	para := func(s string) { b.WriteString(wrap(s) + "\n\n") }
	heading := func(s string) { b.WriteString(s + "\n" + strings.Repeat("-", len(s)) + "\n\n") }

	para(fmt.Sprintf("%02d %s: what changed, for %s", r.Number, oneLine(r.Title), proc))
	para(revisionText(c))
	for _, a := range c.Earlier() {
		heading("If you printed revision " + a.From)
		advice(&b, a, proc)
	}
	heading("Revisions")
	for _, n := range c.Notes {
		if n.Name == "" {
			continue
		}
		fmt.Fprintf(&b, "%s, %s\n", n.Name, words.Date(n.Date))
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

// advice writes what to do for one process, and about the hardware.
func advice(b *strings.Builder, a reprint.Advice, proc *bench.Process) {
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

func entry(p reprint.PartAdvice) string {
	name := oneLine(p.Titled())
	if p.WasName != "" {
		name += " (it was called " + oneLine(p.WasName) + ")"
	}
	if p.Sentence == words.Capital(string(p.Action))+"." {
		return name // the heading says it
	}
	return name + ". " + p.Sentence
}
