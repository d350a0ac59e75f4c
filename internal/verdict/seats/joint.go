package seats

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
)

// joint is a line of the hardware list held against the parts that its rods go
// through: those whose own notes name the same place, or the same length of the
// same item. Nothing else ties a rod to a hole.
type joint struct {
	use   release.HardwareUse
	names []string
	by    []taker
}

// taker is a part that a joint's rods go through.
type taker struct {
	part  printing.Part
	holes int // of this joint, in all copies together
}

// joints lists those of the rods with a stated length that one part or more name.
// A name that two lines of the list have ties nothing.
func joints(r release.Release, plan printing.Plan) []joint {
	var all []joint
	for _, u := range r.Hardware {
		if u.Item.Kind == bench.Rod && u.Cut > 0 {
			all = append(all, joint{use: u, names: places(u.Where)})
		}
	}
	for _, p := range plan.Parts {
		if !p.Needed {
			continue
		}
		for _, u := range p.Takes {
			for _, one := range apart(u) {
				var fits []int
				for i := range all {
					if all[i].has(one) {
						fits = append(fits, i)
					}
				}
				if len(fits) != 1 {
					continue
				}
				j := &all[fits[0]]
				if k := len(j.by) - 1; k >= 0 && j.by[k].part.Slug == p.Slug {
					j.by[k].holes += one.Count * p.Printed()
					continue
				}
				j.by = append(j.by, taker{p, one.Count * p.Printed()})
			}
		}
	}
	return slices.DeleteFunc(all, func(j joint) bool { return len(j.by) == 0 })
}

// has reports whether what a part takes is of this joint.
func (j *joint) has(u release.HardwareUse) bool {
	if u.Item.ID != j.use.Item.ID || u.Cut > 0 && u.Cut != j.use.Cut {
		return false
	}
	return u.Cut > 0 || slices.ContainsFunc(places(u.Where), func(n string) bool { return slices.Contains(j.names, n) })
}

// apart takes "2, hip and knee" for one at each.
func apart(u release.HardwareUse) []release.HardwareUse {
	names := places(u.Where)
	if len(names) != u.Count || u.Count == 1 {
		return []release.HardwareUse{u}
	}
	var out []release.HardwareUse
	for _, n := range names {
		one := u
		one.Count, one.Where = 1, n
		out = append(out, one)
	}
	return out
}

// places splits "hip and knees" into the names of places, each without the s of a
// plural.
func places(where string) []string {
	where = strings.ReplaceAll(strings.ToLower(where), " and ", ",")
	var out []string
	for _, n := range strings.Split(where, ",") {
		if n = strings.TrimSuffix(strings.TrimSpace(n), "s"); n != "" {
			out = append(out, n)
		}
	}
	return out
}

// alternatives lists the sets of parts that one rod of the joint goes through, each
// part as often as the rod goes through it: one set for each way of each slot, as far
// as the rod goes through it. A set of which the copies do not
// share out evenly over the rods is left out: it is not known which go together.
func (j *joint) alternatives(plan printing.Plan) [][]taker {
	sets := [][]taker{nil}
	grow := func(options [][]taker) {
		var out [][]taker
		for _, s := range sets {
			for _, o := range options {
				out = append(out, append(slices.Clone(s), o...))
			}
		}
		sets = out
	}
	through := func(w printing.Way) (out []taker) {
		for _, t := range j.by {
			if slices.ContainsFunc(w.Parts, func(p printing.Part) bool { return p.Slug == t.part.Slug }) {
				out = append(out, t)
			}
		}
		return out
	}
	for _, slot := range plan.Slots {
		var options [][]taker
		for _, w := range slot.Ways {
			if by := through(w); len(by) > 0 {
				options = append(options, by)
			}
		}
		if len(options) > 0 {
			grow(options)
		}
		if len(sets) > mostSets {
			return nil
		}
	}
	var out [][]taker
	for _, s := range sets {
		even := true
		for i := range s {
			if s[i].holes%j.use.Count != 0 {
				even = false
			}
			s[i].holes /= j.use.Count
		}
		if even {
			out = append(out, s)
		}
	}
	return out
}

// mostSets bounds how many ways of choosing are gone through.
const mostSets = 64

// room is what is known of the place that one part gives a rod. Which of the part's
// holes it is need not be known: the bounds are over all that it may be. Lengths are
// mm.
type room struct {
	// Least and most is how far the rod goes in the part from where it enters to where
	// it ends or leaves: the depth of a hole, from ear to ear of a hinge.
	least, most float64
	blind       bool // whichever hole it is, it has a floor
	through     bool // whichever hole it is, it has none
	// Ears is the distance between the inner faces of the outermost ears, where the
	// rod can only be in one line of holes, and that one has ears; else zero.
	ears  float64
	gap   float64 // of one line: between the nearer ends of its first hole and its last
	lines []room  // of each line of holes, with ears where it has them; none in these
}

// roomIn is the room in a cut of p for a rod of the item; ok is false where no hole
// that can take it was found.
func roomIn(p release.Part, cs *survey.CutSurvey, item bench.Hardware, materials []bench.Material) (rm room, ok bool) {
	fits := Of(p, cs.Report.Bores, materials)
	i := slices.IndexFunc(fits, func(f Fit) bool { return f.Item.ID == item.ID })
	if i < 0 || len(fits[i].seats) == 0 {
		return room{}, false
	}
	rm = room{blind: true, through: true}
	lines := rows(fits[i].seats)
	for k, line := range lines {
		l := lengthsOf(line)
		if k == 0 || l.least < rm.least {
			rm.least = l.least
		}
		rm.most = max(rm.most, l.most)
		rm.blind = rm.blind && l.blind
		rm.through = rm.through && l.through
		rm.lines = append(rm.lines, l)
		if len(lines) == 1 {
			rm.ears = l.ears
		}
	}
	return rm, true
}

// hingePlay, in mm, is how much wider than the tongue the gap between a hinge's ears
// is drawn at most: twice what moving parts printed apart are given, 0.5 mm
// (check values 4.6).
const hingePlay = 1.0

// hinge looks for ears in one of two parts that take a single hole of the other
// between them. gap is the least distance between the inner faces of such ears and
// span the greatest over their outer ones; ok is false where nothing fits so.
func hinge(rooms []room) (gap, span float64, ok bool) {
	if len(rooms) != 2 {
		return 0, 0, false
	}
	for i, r := range rooms {
		for _, ears := range r.lines {
			for _, tongue := range rooms[1-i].lines {
				if ears.ears <= 0 || tongue.ears > 0 || !tongue.through || tongue.most > ears.ears+measure.LengthSlack || ears.ears > tongue.most+hingePlay {
					continue
				}
				if !ok || ears.ears < gap {
					gap = ears.ears
				}
				span, ok = max(span, ears.most), true
			}
		}
	}
	return gap, span, ok
}

// lengthsOf is the room in the seats of one line. Steps of one hole count as one
// stretch: the rod is held by its own of them, and has room in the wider ones too. One
// rod may go through all holes that open towards each other, or through one alone.
func lengthsOf(line row) room {
	type stretch struct {
		lo, hi   float64
		down, up bool // open at that end
	}
	first := line[0].own[0]
	var all []stretch
	r := room{blind: true, through: true, least: math.Inf(1)}
	for i := range line {
		s := &line[i]
		at, turned := s.own[0].Centre.Sub(first.Centre).Dot(first.Axis), s.own[0].Axis.Dot(first.Axis) < 0
		lo, hi, down, up := s.held()
		r.blind = r.blind && !s.through
		r.through = r.through && s.through
		r.least = min(r.least, hi-lo)
		st := stretch{s.lo, s.hi, s.through || down || s.lo < lo, s.through || up || s.hi > hi}
		if turned {
			st = stretch{-st.hi, -st.lo, st.up, st.down}
		}
		st.lo, st.hi = st.lo+at, st.hi+at
		all = append(all, st)
	}
	slices.SortFunc(all, func(a, b stretch) int { return cmp.Compare(a.lo, b.lo) })
	from := 0
	for i := range all {
		if i > 0 && !(all[i-1].up && all[i].down) {
			from = i
		}
		r.most = max(r.most, all[i].hi-all[from].lo)
	}
	r.gap = max(0, all[len(all)-1].lo-all[0].hi)
	if r.through {
		r.ears = r.gap
	}
	return r
}
