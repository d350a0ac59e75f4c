package verdict

import (
	"slices"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/words"
)

// slot is one thing that a complete print must have: any one of its ways.
type slot struct {
	name string
	ways []way
}

// way is a set of parts that fills a slot together: the whole part alone, or
// all the pieces that replace it.
type way struct {
	parts []release.Part
	split bool
}

// slots lists what a complete print of r by proc must have, in chart order.
func slots(r release.Release, proc *bench.Process) []slot {
	var out []slot
	group := map[string]int{}
	for _, p := range r.Parts {
		if p.Replaces != "" || !p.NeededFor(proc) {
			continue // pieces are ways of filling their whole's slot
		}
		ways := []way{{parts: []release.Part{p}}}
		if pieces := slices.DeleteFunc(r.Pieces(p), func(q release.Part) bool { return !q.NeededFor(proc) }); len(pieces) > 0 {
			ways = append(ways, way{parts: pieces, split: true})
		}
		if p.Choice == "" {
			out = append(out, slot{p.Name, ways})
			continue
		}
		if i, ok := group[p.Choice]; ok {
			out[i].ways = append(out[i].ways, ways...)
			continue
		}
		group[p.Choice] = len(out)
		out = append(out, slot{"a " + p.Choice, ways})
	}
	return out
}

// first returns the first way of filling s all of whose parts pass.
func (s slot) first(pass func(release.Part) bool) (way, bool) {
	for _, w := range s.ways {
		if !slices.ContainsFunc(w.parts, func(p release.Part) bool { return !pass(p) }) {
			return w, true
		}
	}
	return way{}, false
}

// failing lists the parts of s's first way that do not pass: what stands in
// the way of the part as the designer drew it.
func (s slot) failing(pass func(release.Part) bool) []release.Part {
	var out []release.Part
	for _, p := range s.ways[0].parts {
		if !pass(p) {
			out = append(out, p)
		}
	}
	return out
}

// failingPieces lists the pieces of the first way's part, where it has some, that do
// not pass.
func (s slot) failingPieces(pass func(release.Part) bool) []release.Part {
	if len(s.ways) < 2 || !s.ways[1].split {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(s.ways[1].parts), pass)
}

// Slot is what a complete print must have, for a page to decide with: a name and
// its ways, each the slugs of parts that fill it together. Every way but the
// first of a part is in pieces where Split says so.
type Slot struct {
	Name string
	Ways []Way
}

// Way is a set of parts that fills a slot.
type Way struct {
	Parts []string
	Split bool
}

// Slots lists what Judge goes by.
func Slots(r release.Release, proc *bench.Process) []Slot {
	var out []Slot
	for _, sl := range slots(r, proc) {
		s := Slot{Name: sl.name}
		for _, w := range sl.ways {
			way := Way{Split: w.split}
			for _, p := range w.parts {
				way.Parts = append(way.Parts, p.Slug)
			}
			s.Ways = append(s.Ways, way)
		}
		out = append(out, s)
	}
	return out
}

// List joins names for a sentence: "a", "a and b", "a, b and c".
func List(names []string) string { return words.List(names) }
