package seats

import (
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// jointFinding is one thing amiss with a rod between parts, in one process.
type jointFinding struct {
	code  string
	level measure.Level
	text  string
}

// jointFindings says which rods of the list cannot go where the notes say they go.
//
// A rod is too long where both of its ends are in holes with a floor and all the
// room along it, with jointGap between parts, is less than its length. It is too
// short where it cannot go through every part that lies between its ends and still
// hold in those, or cannot reach from ear to ear of a hinge. It stands out where it
// is longer than the hinge, or than all the room that its holes have, one of its ends
// being in a hole without a floor. Where it is not known
// which of a part's holes is meant, the answer that excuses the rod is taken.
func jointFindings(site *release.Site, r release.Release, s survey.Survey, proc *bench.Process) []jointFinding {
	var out []jointFinding
	plan := printing.Of(r, proc)
	for _, j := range joints(r, plan) {
		for _, set := range j.alternatives(plan) {
			if f, ok := j.check(set, r, s, proc, site.Bench.Materials); ok && !slices.Contains(out, f) {
				out = append(out, f)
			}
		}
	}
	return out
}

func (j *joint) check(set []taker, r release.Release, s survey.Survey, proc *bench.Process, materials []bench.Material) (jointFinding, bool) {
	var rooms []room
	var names []string
	for _, t := range set {
		cut, ok := t.part.Cut()
		if !ok {
			return jointFinding{}, false
		}
		cs, ok := s.Measured(cut)
		if !ok {
			return jointFinding{}, false
		}
		rm, ok := roomIn(t.part.Part, cs, j.use.Item, printing.Meant(r, t.part.Part, cut, materials))
		if !ok {
			return jointFinding{}, false // said of the part
		}
		for range t.holes {
			rooms = append(rooms, rm)
		}
		names = append(names, t.part.Name)
	}
	where := ""
	if j.use.Where != "" {
		where = " (" + j.use.Where + ")"
	}
	what := fmt.Sprintf("The %s mm piece of %s%s", words.Plain(j.use.Cut), j.use.Item.Name, where)
	if most, closed := longest(rooms); closed && j.use.Cut > most+float64(float64(len(rooms)-1)*jointGap)+measure.LengthSlack {
		return jointFinding{"rod-too-long", measure.Caution, fmt.Sprintf("%s is too long: %s have %s mm for it between the floors of their holes, so they stand %s mm apart.",
			what, words.List(names), words.Fixed(most, 1), words.Fixed(j.use.Cut-most, 1))}, true
	}
	least := shortest(rooms, j.use.Item.Diameter)
	if gap, span, ok := hinge(rooms); ok {
		least = max(least, gap+2*float64(holdShare*j.use.Item.Diameter))
		if j.use.Cut > span+2*jointGap {
			return jointFinding{"rod-stands-out", measure.Note, fmt.Sprintf("%s is longer than the hinge of %s, which is %s mm across: it stands out by %s mm.",
				what, words.List(names), words.Fixed(span, 1), words.Fixed(j.use.Cut-span, 1))}, true
		}
	}
	if j.use.Cut < least-measure.LengthSlack {
		verb := "needs"
		if len(names) > 1 {
			verb = "need"
		}
		return jointFinding{"rod-too-short", measure.Caution, fmt.Sprintf("%s is too short: %s %s at least %s mm for it to hold at both ends.", what, words.List(names), verb, words.Fixed(least, 1))}, true
	}
	return j.standsOut(rooms, names, what)
}

// standsOut says of a rod with an end in a hole without a floor that it is longer than
// the holes that it could use. At each open end, and between parts, jointGap is
// allowed. Where one part alone names the rod nothing is said: the rest of it may be
// meant to be seen, or go into a part whose notes do not name it.
func (j *joint) standsOut(rooms []room, names []string, what string) (jointFinding, bool) {
	most, closed := longest(rooms)
	allowed := most + float64(float64(len(rooms)-1)*jointGap)
	floors := 0
	for _, r := range rooms {
		if r.blind {
			floors++
		}
	}
	allowed += float64(float64(max(2-floors, 0)) * jointGap)
	if closed || floors > 2 || len(names) < 2 || j.use.Cut <= allowed+measure.LengthSlack {
		return jointFinding{}, false
	}
	out := j.use.Cut - most
	return jointFinding{"rod-stands-out", measure.Caution, fmt.Sprintf("%s is longer than the holes it could use: %s have %s mm for it in all, so it stands out by %s mm. Cut it shorter, or deepen a hole.", what, words.List(names), words.Fixed(most, 1), words.Fixed(out, 1))}, true
}

// longest is the room for a rod whose ends are both in holes with a floor, where the
// parts touch; closed is false where they are not, or not known to be.
func longest(rooms []room) (most float64, closed bool) {
	floors := 0
	for _, r := range rooms {
		most += r.most
		if r.blind {
			floors++
		}
	}
	return most, floors == 2
}

// shortest is the least length that goes through what must lie between the ends and
// holds at both. Parts may overlap as the halves of a hinge do, so that of each
// only its least counts.
func shortest(rooms []room, diameter float64) float64 {
	hold := 2 * float64(holdShare*diameter)
	var inside []float64 // of parts that may be between the ends
	floors, ears := 0, 0.0
	for _, r := range rooms {
		ears = max(ears, r.ears)
		if r.blind {
			floors++
			continue
		}
		inside = append(inside, r.least)
	}
	slices.Sort(inside)
	ends := max(2-floors, 0) // the ends that are in one of these
	sum := 0.0
	for _, l := range inside[:max(len(inside)-ends, 0)] {
		sum += l
	}
	if len(rooms) < 2 {
		sum, hold = 0, hold/2
	}
	if ears > 0 {
		return max(sum+hold, ears+2*float64(holdShare*diameter))
	}
	return sum + hold
}
