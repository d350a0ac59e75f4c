package seats

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/words"
)

// Findings says what is amiss between an item and its holes in a cut of a part, printed
// in the given materials. Snaps says that the cut has sockets that snap, which are open
// at a side.
func (f *Fit) Findings(snaps bool, materials []bench.Material) []measure.Finding {
	return append(f.ill(), f.spares(snaps, materials)...)
}

// thing names the item by its size: "1.5 mm rod".
func (f *Fit) thing() string {
	return fmt.Sprintf("%s mm %s", words.Plain(f.Item.Diameter), f.Item.Kind)
}

// beside tells of the holes that are nearest to the item's size and not its.
func (f *Fit) beside() string {
	var out []string
	for _, h := range f.near {
		kind := "wider"
		if h.Free < f.Item.Diameter {
			kind = "narrower"
		}
		out = append(out, fmt.Sprintf("the next %s, at %s, passes %s mm", kind, measure.Where(h.Centre), words.Fixed(h.Free, 2)))
	}
	if len(out) == 0 {
		return ""
	}
	text := strings.Join(out, "; ")
	return " " + words.Sentence(text)
}

// missing says that no hole takes the item, and what there is instead.
func (f *Fit) missing() measure.Finding {
	if len(f.shallow) == 0 {
		return measure.Finding{Level: measure.Caution, Code: "no-hole",
			Text: fmt.Sprintf("The part takes %s, but no round hole near that size was found: it may lie in an open channel, which is not measured, or the hole may be missing.%s", f.thing(), f.beside())}
	}
	deepest := slices.MaxFunc(f.shallow, func(a, b seat) int { return cmp.Compare(a.depth(), b.depth()) })
	h := deepest.own[0]
	which := "the one round place near that size"
	if len(f.shallow) > 1 {
		which = fmt.Sprintf("the deepest of %d round places near that size", len(f.shallow))
	}
	return measure.Finding{Level: measure.Caution, Code: "hole-shallow", At: measure.At(h.Centre),
		Text: fmt.Sprintf("The part takes %s, and %s, %s mm wide, at %s, goes %s mm in and holds none: a hole for it is %s mm deep or more, or goes right through. It may lie in an open channel, which is not measured, or be missing.%s",
			f.thing(), which, words.Fixed(h.Free, 2), measure.Where(h.Centre), words.Fixed(deepest.depth(), 2), words.Plain(holdShare*f.Item.Diameter), f.beside())}
}

// ill says how the item's holes are unfit for it, or that it has none.
func (f *Fit) ill() []measure.Finding {
	thing := f.thing()
	if len(f.Holes) == 0 {
		return []measure.Finding{f.missing()}
	}
	if f.Item.Kind == bench.Screw {
		return nil // cuts its own thread, or passes: a hole near its size does for either
	}
	place := measure.At(f.Holes[0].Centre)
	if f.Item.Kind == bench.Magnet {
		h := slices.MinFunc(f.Holes, func(a, b bore.Hole) int { return cmp.Compare(a.Depth, b.Depth) })
		if h.Depth < f.Item.Thickness-measure.LengthSlack {
			return []measure.Finding{{Level: measure.Caution, Code: "shallow-pocket", At: measure.At(h.Centre),
				Text: fmt.Sprintf("The pocket for the magnet at %s is %s mm deep and the magnet %s mm thick: it stands proud.", measure.Where(h.Centre), words.Fixed(h.Depth, 2), words.Plain(f.Item.Thickness))}}
		}
	}
	where := fmt.Sprintf("The hole for the %s at %s", thing, measure.Where(f.Holes[0].Centre))
	switch n := len(f.rows[0]); {
	case len(f.Holes) > 1:
		where = fmt.Sprintf("The narrowest of %d holes for the %s, at %s,", len(f.Holes), thing, measure.Where(f.Holes[0].Centre))
	case n > 1:
		where = fmt.Sprintf("The narrowest of %d holes on one axis for the %s, at %s,", n, thing, measure.Where(f.Holes[0].Centre))
	}
	for _, b := range f.By {
		if !b.Narrowest.Passes {
			return []measure.Finding{{Level: measure.Caution, Code: "hole-too-small", At: place,
				Text: fmt.Sprintf("%s passes only %s mm: drill it to %s mm.", where, words.Fixed(f.Holes[0].Free, 2), words.Plain(b.Narrowest.Drill))}}
		}
	}
	var out []measure.Finding
	if f.Item.Kind == bench.Rod {
		out = f.passedOver()
	}
	var tight []string
	drill := 0.0
	for _, b := range f.By {
		if !b.Narrowest.Free {
			tight = append(tight, fmt.Sprintf("%s mm in %s", words.Plain(f.Item.Diameter+f.allowance(b.Materials[0])), bench.Named(b.Materials)))
			drill = b.Narrowest.Drill
		}
	}
	if len(tight) == 0 {
		return out
	}
	return append(out, measure.Finding{Level: measure.Note, Code: "hole-tight", At: place,
		Text: fmt.Sprintf("%s passes %s mm as drawn; for a free pivot it should pass %s, because printed holes come out small. Clear it with a %s mm drill.", where, words.Fixed(f.Holes[0].Free, 2), words.List(tight), words.Plain(drill))})
}

// passedOver says which holes are taken to be a rod's where another near its size,
// which is not, does not pass it.
func (f *Fit) passedOver() []measure.Finding {
	i := slices.IndexFunc(f.spare, func(r row) bool { return r.narrowest().Free < f.Item.Diameter-rodSlack })
	if i < 0 {
		return nil
	}
	var meant []string
	for _, r := range f.rows {
		for _, s := range r {
			meant = append(meant, measure.Where(s.own[0].Centre))
		}
	}
	other := f.spare[i].narrowest()
	return []measure.Finding{{Level: measure.Note, Code: "hole-other", At: measure.At(other.Centre),
		Text: fmt.Sprintf("The %s is taken to go into the %s at %s, which it passes. The hole at %s passes only %s mm: if the rod goes there too, drill it to %s mm.", f.thing(), words.Noun(len(meant), "hole", "holes"), words.List(meant), measure.Where(other.Centre), words.Fixed(other.Free, 2), words.Plain(drillFor(f.Item.Diameter)))}}
}

// spares says where a part has fewer holes for an item than it takes of it, and
// where the holes taken to be a rod's are too wide for it.
func (f *Fit) spares(snaps bool, materials []bench.Material) []measure.Finding {
	if len(f.Holes) == 0 || f.Item.Kind == bench.Wire || f.Item.Kind == bench.Cord {
		return nil // wire is bent and cord tied: one hole may take several
	}
	var out []measure.Finding
	thing := f.thing()
	if f.Places < f.Count && !f.wider {
		level := measure.Caution
		if snaps {
			level = measure.Note // sockets that snap are open at a side
		}
		text := fmt.Sprintf("The part takes %d of %s and has %s of that size: others may lie in open sockets or channels, which are not measured, or be missing.", f.Count, thing, words.Count(f.Places, "round hole", "round holes"))
		out = append(out, measure.Finding{Level: level, Code: "too-few-holes", At: measure.At(f.Holes[0].Centre), Text: text + f.beside()})
	}
	if f.Item.Kind != bench.Rod {
		return out
	}
	if h, ok := f.wobbles(most(materials)); ok {
		found := measure.Finding{Level: measure.Caution, Code: "hole-wide", At: measure.At(h.Centre)}
		found.Text = fmt.Sprintf("The hole for the %s at %s is %s mm wide, %s mm over the rod: it wobbles. Take a thicker rod, or line the hole.", thing, measure.Where(h.Centre), words.Fixed(h.Free, 2), words.Spare(h.Free-f.Item.Diameter, 2))
		if f.wider {
			found.Text = fmt.Sprintf("The part takes %s, and no round hole near that size was found. The nearest that takes it, at %s, is %s mm wide, %s mm over the rod: it wobbles. Take a thicker rod, or line the hole; the rod's own may also lie in an open channel, which is not measured.", thing, measure.Where(h.Centre), words.Fixed(h.Free, 2), words.Spare(h.Free-f.Item.Diameter, 2))
		}
		out = append(out, found)
	}
	return out
}

// wobbles is a hole that the rod wobbles in: one on a line of its own that nothing
// else guides it on, or where several rods share a line one of those.
func (f *Fit) wobbles(allowance float64) (bore.Hole, bool) {
	var loose []bore.Hole
	snug, lines := 0, 0
	for _, r := range f.rows {
		guided := false
		for _, s := range r {
			if wide(s.own[0].Free, f.Item.Diameter, allowance) {
				loose = append(loose, s.own[0])
				continue
			}
			snug++
			guided = true
		}
		if guided {
			lines++
			continue
		}
		return r.narrowest(), true
	}
	if f.Count > lines && min(f.Count, f.Places) > snug && len(loose) > 0 {
		return loose[0], true
	}
	return bore.Hole{}, false
}
