package backlog

import (
	"fmt"
	"slices"
	"time"

	"cardback/internal/bench"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
)

// Progress is how far the releases have come, from the first sealed revision on. It
// says what sealed revisions and the print log keep, and nothing else of the past.
type Progress struct {
	// Points are the days on which something was sealed, or a mesh that was sealed by
	// then printed well, oldest first. Empty where nothing was ever sealed.
	Points []ProgressPoint
	Now    ProgressPoint // the working files, with the whole log; without a date
	// Unsealed is how many releases were never sealed: they are in Now alone.
	Unsealed int
	NotKnown []string // sentences: what cannot be told of the past
}

// ProgressPoint is the state at the end of a day.
type ProgressPoint struct {
	Date     time.Time
	Sealed   []SealedThen // on that day, by release; empty on a day of prints alone
	Releases int          // sealed at least once by then; of Now all
	By       []ProcessCount
}

// SealedThen is a revision that was sealed on a day. Changed is how many parts had
// another mesh, or were there or not, than in the one before; of a first revision all
// are new.
type SealedThen struct {
	Release  int
	Revision string
	Parts    int
	Changed  int
}

// ProcessCount is how many parts and releases were made for a process. A part
// counts once, however many copies are printed.
type ProcessCount struct {
	Process *bench.Process
	Parts   int // that the process needs
	Cut     int // of those, with a mesh for it
	// Printed is how many of those had a good print of exactly that mesh in the log, in
	// some material of the process. It is less than proven, since a check may leave
	// something to say.
	Printed int
	// Complete is how many releases had a mesh for everything that a print needs, and
	// CompletePrinted how many of those with good prints of all of it.
	Complete, CompletePrinted int
}

// ProgressOf tells the progress of a site.
func ProgressOf(site *release.Site, s survey.Survey) Progress {
	var p Progress
	var days []time.Time
	for _, r := range site.Releases {
		if len(r.Revisions) == 0 {
			p.Unsealed++
			continue
		}
		for _, rev := range r.Revisions {
			days = append(days, rev.Date)
		}
	}
	if first := len(days); first > 0 {
		since := slices.MinFunc(days, time.Time.Compare)
		for _, r := range site.Releases {
			for _, print := range r.Log {
				if print.Outcome == release.Good && !print.Date.Before(since) && sealedBy(r, print) {
					days = append(days, print.Date)
				}
			}
		}
	}
	slices.SortFunc(days, time.Time.Compare)
	days = slices.CompactFunc(days, time.Time.Equal)
	for _, day := range days {
		p.Points = append(p.Points, pointOn(site, day))
	}
	p.Now = ProgressPoint{Releases: len(site.Releases)}
	var states []stateThen
	for _, r := range site.Releases {
		states = append(states, stateThen{history.Working(r, s).Parts, r.Log})
	}
	p.Now.By = counts(site.Bench.InUse(), states)
	p.NotKnown = p.notKnown(site)
	return p
}

// sealedBy reports whether a mesh of the print was sealed on its day or before.
func sealedBy(r release.Release, print release.Print) bool {
	for _, rev := range r.Revisions {
		for _, part := range rev.Parts {
			for _, c := range part.Cuts {
				if !rev.Date.After(print.Date) && c.Fingerprint != "" && slices.ContainsFunc(print.Meshes, func(u release.MeshUsed) bool { return u.Fingerprint == c.Fingerprint }) {
					return true
				}
			}
		}
	}
	return false
}

// pointOn is the newest revision of each release on a day, and the prints up to it.
func pointOn(site *release.Site, day time.Time) ProgressPoint {
	pt := ProgressPoint{Date: day}
	var states []stateThen
	for _, r := range site.Releases {
		var at *release.Revision
		for i := range r.Revisions {
			rev := &r.Revisions[i]
			if rev.Date.After(day) {
				break // oldest first
			}
			if rev.Date.Equal(day) {
				pt.Sealed = append(pt.Sealed, SealedThen{r.Number, rev.Name, len(rev.Parts), changedSince(r, i)})
			}
			at = rev
		}
		if at == nil {
			continue
		}
		pt.Releases++
		log := slices.DeleteFunc(slices.Clone(r.Log), func(p release.Print) bool { return p.Date.After(day) })
		states = append(states, stateThen{at.Parts, log})
	}
	pt.By = counts(site.Bench.InUse(), states)
	return pt
}

// changedSince is how many parts differ in revision i from the one before: added,
// removed or with another mesh. A part that was renamed is known by its meshes.
func changedSince(r release.Release, i int) int {
	now := r.Revisions[i].Parts
	if i == 0 {
		return len(now)
	}
	was := r.Revisions[i-1].Parts
	matched := make([]bool, len(was))
	n := 0
	for _, p := range now {
		k := slices.IndexFunc(was, func(q release.SealedPart) bool { return q.Slug == p.Slug })
		if k < 0 {
			for j, q := range was {
				kept := slices.ContainsFunc(now, func(o release.SealedPart) bool { return o.Slug == q.Slug })
				if k < 0 && !matched[j] && !kept && sameCuts(p, q) {
					k = j
				}
			}
		}
		if k >= 0 {
			matched[k] = true
		}
		if k < 0 || !sameCuts(p, was[k]) {
			n++
		}
	}
	for _, m := range matched {
		if !m {
			n++
		}
	}
	return n
}

// sameCuts reports whether two sealed parts have the same meshes for the same
// purposes.
func sameCuts(p, q release.SealedPart) bool {
	return slices.EqualFunc(p.Cuts, q.Cuts, func(a, b release.SealedCut) bool {
		return a.Kind == b.Kind && a.Fingerprint == b.Fingerprint && a.Fingerprint != ""
	})
}

// stateThen is a release's parts at some time, and what was logged by then.
type stateThen struct {
	parts []release.SealedPart
	log   []release.Print
}

// counts adds up the states of several releases, by process.
func counts(known []*bench.Process, states []stateThen) []ProcessCount {
	var out []ProcessCount
	for _, proc := range known {
		n := ProcessCount{Process: proc}
		for _, st := range states {
			cut, printed := map[string]bool{}, map[string]bool{}
			plan := printing.Sealed(st.parts, proc)
			for i, p := range plan.Parts {
				if !p.Needed {
					continue
				}
				n.Parts++
				var meshes []string
				for _, m := range p.Meshes() {
					if c, ok := st.parts[i].Cut(m.Kind); ok && c.Fingerprint != "" {
						meshes = append(meshes, c.Fingerprint)
					}
				}
				if len(meshes) == 0 {
					continue
				}
				cut[p.Slug] = true
				n.Cut++
				if printedWellIn(st.log, proc, meshes) {
					printed[p.Slug] = true
					n.Printed++
				}
			}
			filled := func(have map[string]bool) bool {
				return len(plan.Slots) > 0 && !slices.ContainsFunc(plan.Slots, func(sl printing.Slot) bool {
					_, ok := sl.First(func(p printing.Part) bool { return have[p.Slug] })
					return !ok
				})
			}
			if filled(cut) {
				n.Complete++
			}
			if filled(printed) {
				n.CompletePrinted++
			}
		}
		out = append(out, n)
	}
	return out
}

// printedWellIn reports whether the log has a good print by proc of one of the
// meshes.
func printedWellIn(log []release.Print, proc *bench.Process, meshes []string) bool {
	return slices.ContainsFunc(log, func(p release.Print) bool {
		stock := release.Present(p.Stock)
		return p.Outcome == release.Good && len(stock) > 0 && stock[0].Material.Process == proc &&
			slices.ContainsFunc(p.Meshes, func(u release.MeshUsed) bool { return slices.Contains(meshes, u.Fingerprint) })
	})
}

func (p Progress) notKnown(site *release.Site) []string {
	if len(p.Points) == 0 {
		return []string{"Nothing has been sealed yet, so nothing is known of the past."}
	}
	out := []string{
		"Which plates a part fitted then, and what the checks said, is not known: a revision keeps its meshes and measures, not the bench of its day.",
		"What the files were between two revisions is not known either.",
	}
	switch n := p.Unsealed; {
	case n == 1:
		out = append(out, "1 release was never sealed: it counts only as it is now.")
	case n > 1:
		out = append(out, fmt.Sprintf("%d releases were never sealed: they count only as they are now.", n))
	}
	bare := 0
	for _, r := range site.Releases {
		for _, print := range r.Log {
			if !slices.ContainsFunc(print.Meshes, func(u release.MeshUsed) bool { return u.Fingerprint != "" }) {
				bare++
			}
		}
	}
	switch {
	case bare == 1:
		out = append(out, "1 print in the logs does not say of which mesh it was, and counts for nothing.")
	case bare > 1:
		out = append(out, fmt.Sprintf("%d prints in the logs do not say of which meshes they were, and count for nothing.", bare))
	}
	return out
}
