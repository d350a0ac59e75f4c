package reprint

import (
	"slices"
	"time"

	"cardback/internal/release"
	"cardback/internal/survey/history"
)

// Changes is what is told of a release's revisions: each with its note, newest
// first, and what to print for whoever printed an earlier one. The zero value is a
// release of which nothing was sealed.
type Changes struct {
	// Notes are newest first. Where the working files differ from the last revision, they
	// come first, without name, date and note.
	Notes []ChangeNote
	Now   []Advice // of somebody who would print the release as it now is; by revision, oldest first
}

// Of is what is told of a release. Without a history, h nil, nobody knows which revision
// the files are, and nothing is told.
func Of(r release.Release, h *history.Release) Changes {
	if len(r.Revisions) == 0 || h == nil {
		return Changes{}
	}
	var c Changes
	for _, s := range h.ToWorking {
		c.Now = append(c.Now, Advise(s))
	}
	for i, rev := range r.Revisions {
		n := ChangeNote{Name: rev.Name, Date: rev.Date, Note: rev.Note, Faults: rev.Faults}
		if i > 0 && i-1 < len(h.ToNext) {
			a := Advise(h.ToNext[i-1])
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
