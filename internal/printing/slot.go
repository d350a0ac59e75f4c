package printing

import (
	"slices"

	"cardback/internal/fit"
)

// Slot is one thing that a complete print must have: any one of its ways.
type Slot struct {
	Name   string // for a sentence: "Torso", "a crest"
	Choice string // the choice group that it is of; mostly empty
	// Ways stand in chart order of their wholes; a whole comes before its pieces. The
	// first is the slot as the designer drew it.
	Ways []Way
}

// Way is a set of parts that fills a slot together: the whole part alone, or all the
// pieces that the process prints in its place.
type Way struct {
	Whole Part
	Parts []Part
	Split bool // Parts are the pieces of Whole
}

func slotsOf(parts []Part) []Slot {
	var out []Slot
	group := map[string]int{}
	for _, p := range parts {
		if p.Replaces != "" || !p.Needed {
			continue // pieces are ways of filling their whole's slot
		}
		ways := []Way{{Whole: p, Parts: []Part{p}}}
		if pieces := piecesOf(parts, p.Slug); len(pieces) > 0 {
			ways = append(ways, Way{Whole: p, Parts: pieces, Split: true})
		}
		if p.Choice == "" {
			out = append(out, Slot{Name: p.Name, Ways: ways})
			continue
		}
		i, seen := group[p.Choice]
		if !seen {
			i = len(out)
			group[p.Choice] = i
			out = append(out, Slot{Name: "a " + p.Choice, Choice: p.Choice})
		}
		out[i].Ways = append(out[i].Ways, ways...)
	}
	return out
}

func piecesOf(parts []Part, whole string) []Part {
	var out []Part
	for _, p := range parts {
		if whole != "" && p.Replaces == whole && p.Needed {
			out = append(out, p)
		}
	}
	return out
}

// Drawn is the part that the slot is drawn with: the first way's whole.
func (s Slot) Drawn() Part { return s.Ways[0].Whole }

// Wholes are the parts that the builder picks one of: one where it is no choice.
func (s Slot) Wholes() []Part {
	var out []Part
	for _, w := range s.Ways {
		if !w.Split {
			out = append(out, w.Whole)
		}
	}
	return out
}

// Only is the slot with the ways of one of its wholes.
func (s Slot) Only(whole string) Slot {
	s.Ways = slices.DeleteFunc(slices.Clone(s.Ways), func(w Way) bool { return w.Whole.Slug != whole })
	return s
}

// Pieces are those that replace one of the slot's wholes.
func (s Slot) Pieces(whole string) []Part {
	for _, w := range s.Ways {
		if w.Split && w.Whole.Slug == whole {
			return w.Parts
		}
	}
	return nil
}

// First is the first way of which every part passes.
func (s Slot) First(pass func(Part) bool) (Way, bool) {
	for _, w := range s.Ways {
		if !slices.ContainsFunc(w.Parts, func(p Part) bool { return !pass(p) }) {
			return w, true
		}
	}
	return Way{}, false
}

// Take picks the way that is printed, given how each part fits by itself: the first
// whose parts all keep the orientations recommended for them, since a fit that ruins
// the print is no fit; failing that, the first whose parts fit at all. ok is false
// where there is none.
func (s Slot) Take(on func(Part) fit.Result) (Way, bool) {
	if w, ok := s.First(func(p Part) bool { r := on(p); return r.Verdict.Fits() && !r.Otherwise() }); ok {
		return w, true
	}
	return s.First(func(p Part) bool { return on(p).Verdict.Fits() })
}
