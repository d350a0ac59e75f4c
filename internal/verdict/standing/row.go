package standing

import (
	"fmt"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// Outcome is what the rules say of one part in one material.
type Outcome struct {
	Rules   []Rule      // those that do not pass, and those that pass with a mention
	Cut     release.Cut // the mesh that is printed; of no account where a rule is Missing
	Remarks int         // what is found in the cut, and is no more than worth knowing where it passes
}

// Row is a release's row of the material table: a cell for each material, in bench
// order. A release's standing is the worst of its slots', and a slot's is the best of its
// ways: a choice is as good as its best part, and a part that has pieces as good as the
// better of whole and pieces.
//
// A part that is made to bend does not stand in the way of a rigid material: it
// is set aside, named, and judged in the flexible material that suits it best.
// rules holds a part against a material; same may be nil.
func Row(site *release.Site, r release.Release, s survey.Survey, same SameShape, rules func(p release.Part, m bench.Material) Outcome) []Cell {
	j := judge{r: r, bench: site.Bench, rules: rules, same: same, fingerprints: map[string]string{}}
	for _, p := range r.Parts {
		for _, c := range p.Cuts {
			if cs, ok := s.Measured(c); ok {
				j.fingerprints[c.Rel] = cs.Report.Fingerprint
			}
		}
	}
	var out []Cell
	for _, m := range site.Bench.Materials {
		out = append(out, j.cell(m))
	}
	return out
}

// judge holds what the standings of one release rest on.
type judge struct {
	r            release.Release
	bench        bench.Bench
	rules        func(p release.Part, m bench.Material) Outcome
	same         SameShape
	fingerprints map[string]string // by release.Cut.Rel
}

// state is one part in the material it is judged in.
type state struct {
	part     release.Part
	name     string // for a sentence
	rules    []Rule
	ev       evidence
	standing Standing
	in       bench.Material
	aside    bool // in is not the material of the table's column
	remarks  int  // see Outcome.Remarks
}

func (j *judge) state(p release.Part, m bench.Material) state {
	out := j.rules(p, m)
	st := state{part: p, name: p.Name, in: m, rules: out.Rules, remarks: out.Remarks}
	if !slices.ContainsFunc(st.rules, func(r Rule) bool { return r.Answer == Missing }) {
		st.ev = evidenceFor(j.r, p, j.fingerprints[out.Cut.Rel], m, j.fingerprints, j.same)
	}
	st.standing = Decide(st.rules, st.ev.log, st.ev.before)
	return st
}

func (j *judge) cell(m bench.Material) Cell {
	c := Cell{Release: j.r.Number, Material: m.ID}
	plain := map[string]state{} // by slug
	plan := printing.Of(j.r, m.Process)
	for _, p := range plan.Parts {
		if !p.Needed {
			continue
		}
		st := j.state(p.Part, m)
		plain[p.Slug] = st
		pc := PartCell{Part: p.Slug, Standing: st.standing}
		pc.Grounds = groundsOf([]state{st})
		pc.Reason = reason(st.standing, []state{st}, pc.Grounds, nil)
		c.Parts = append(c.Parts, pc)
	}
	var of []state
	var mentions []string
	c.Standing = NotOffered
	for _, sl := range plan.Slots {
		chosen := j.fill(sl, m, plain)
		of = append(of, chosen.states...)
		mentions = append(mentions, chosen.mentions...)
	}
	switch {
	case len(of) == 0:
		c.Reason = "This release has no parts yet."
		return c
	case !slices.ContainsFunc(of, func(st state) bool { return !st.aside }):
		c.Reason = "Every part is made for a flexible material."
		c.Grounds = groundsOf(of)
		return c
	}
	c.Standing = of[0].standing
	for _, st := range of {
		c.Standing = worst(c.Standing, st.standing)
	}
	c.Grounds = groundsOf(of)
	c.Reason = reason(c.Standing, of, c.Grounds, mentions)
	return c
}

// filled is how a slot is filled best.
type filled struct {
	states   []state
	mentions []string
}

// fill takes the best way to fill a slot, the first of those that are equal.
func (j *judge) fill(sl printing.Slot, m bench.Material, plain map[string]state) filled {
	ways := make([]filled, len(sl.Ways))
	at := make([]Standing, len(sl.Ways))
	best := 0
	for i, w := range sl.Ways {
		at[i] = Proven
		for _, p := range w.Parts {
			st := plain[p.Slug]
			if printing.Bends(p.Part) && m.Stiffness != bench.Flexible && st.standing.rank() >= NotSuited.rank() {
				st = j.flexible(p.Part, m)
			}
			ways[i].states = append(ways[i].states, st)
			at[i] = worst(at[i], st.standing)
		}
		if at[i].rank() < at[best].rank() {
			best = i
		}
	}
	out := ways[best]
	if sl.Choice != "" && at[best] == NotOffered {
		for i := range out.states {
			out.states[i].name = sl.Name
		}
		return out
	}
	if w := sl.Ways[best]; w.Split {
		out.mentions = append(out.mentions, fmt.Sprintf("%s is printed in its pieces; whole: %s.", w.Whole.Name, at[best-1]))
	}
	if sl.Choice != "" { // the builder may want another one
		out.mentions = append(out.mentions, worseChoices(sl, at, best)...)
	}
	return out
}

// worseChoices says of each part of a choice that is worse than the best way how
// it stands, by itself or in its pieces.
func worseChoices(sl printing.Slot, at []Standing, best int) []string {
	names := make([][]string, len(Standings)) // by rank
	for i := range sl.Ways {
		if sl.Ways[i].Split {
			continue // told with the whole, which comes before
		}
		stands := at[i]
		if i+1 < len(sl.Ways) && sl.Ways[i+1].Split && at[i+1].rank() < stands.rank() {
			stands = at[i+1]
		}
		if stands.rank() > at[best].rank() {
			names[stands.rank()] = append(names[stands.rank()], sl.Ways[i].Whole.Name)
		}
	}
	var out []string
	for rank, n := range names {
		if len(n) > 0 {
			out = append(out, fmt.Sprintf("If you choose %s: %s.", strings.Join(n, " or "), Standings[rank]))
		}
	}
	return out
}

// flexible is the state of a part that is made to bend in the flexible material
// that suits it best, one of m's own process before others.
func (j *judge) flexible(p release.Part, m bench.Material) state {
	var best *state
	for _, own := range []bool{true, false} {
		for _, f := range j.bench.Materials {
			if f.Stiffness != bench.Flexible || own != (f.Process == m.Process) || !printing.PartOf(j.r, p, f.Process).Needed {
				continue
			}
			if st := j.state(p, f); best == nil || st.standing.rank() < best.standing.rank() {
				best = &st
			}
		}
	}
	if best == nil { // the bench has none: printable, by whoever finds one
		best = &state{part: p, name: p.Name, standing: WithCare}
	}
	best.aside = true
	return *best
}

func partNames(states []state) string {
	var names []string
	for _, st := range states {
		names = append(names, st.name)
	}
	return words.List(names)
}

// MostNamed is how many parts a sentence names; beyond that it counts them.
const MostNamed = 3
