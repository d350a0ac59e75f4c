package verdict

import (
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict/hardware"
	"cardback/internal/words"
)

// What holds a rod, and what does not. Judgement of ours: common practice, no source.
const (
	// holdShare is the least of a rod's diameter that it has to go into the hole it
	// ends in. One diameter is a good seat; half is where it slips out by itself.
	holdShare = 0.5
	// jointGap, in mm, is the room left between two parts that move on a rod.
	jointGap = 0.5
	// A hole is wide when it is leastPlay or playShare of the rod over the rod and the
	// greatest allowance of the materials, whichever is more: the rod wobbles.
	// Holes for a free pivot of 1.5 mm rod are drawn 1.6 to 1.9 (check values 4.7).
	leastPlay, playShare = 0.3, 0.15 // mm; of the diameter
)

// play is how far a hole may be over a rod and its allowance before it is wide.
func play(rod float64) float64 { return max(leastPlay, float64(playShare*rod)) }

// spares says where a part has fewer holes for an item than it takes of it, and
// where the holes taken to be a rod's are too wide for it.
func (f *ItemFit) spares(snaps bool, materials []bench.Material) []measure.Finding {
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
		out = append(out, measure.Finding{Level: level, Code: "too-few-holes", At: at(f.Holes[0].Centre), Text: text + f.beside()})
	}
	if f.Item.Kind != bench.Rod {
		return out
	}
	if h, ok := f.wobbles(most(materials)); ok {
		found := measure.Finding{Level: measure.Caution, Code: "hole-wide", At: at(h.Centre)}
		found.Text = fmt.Sprintf("The hole for the %s at %s is %s mm wide, %s mm over the rod: it wobbles. Take a thicker rod, or line the hole.", thing, pointText(h.Centre), words.Fixed(h.Free, 2), words.Spare(h.Free-f.Item.Diameter, 2))
		if f.wider {
			found.Text = fmt.Sprintf("The part takes %s, and no round hole near that size was found. The nearest that takes it, at %s, is %s mm wide, %s mm over the rod: it wobbles. Take a thicker rod, or line the hole; the rod's own may also lie in an open channel, which is not measured.", thing, pointText(h.Centre), words.Fixed(h.Free, 2), words.Spare(h.Free-f.Item.Diameter, 2))
		}
		out = append(out, found)
	}
	return out
}

// wobbles is a hole that the rod wobbles in: one on a line of its own that nothing
// else guides it on, or where several rods share a line one of those.
func (f *ItemFit) wobbles(allowance float64) (bore.Hole, bool) {
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

// hardwareFindings holds a release's hardware list against what its parts take and
// against the holes that were found. A list and parts contradict each other only
// where no way of sharing rods between parts can bring them together, since a rod
// that joins two parts is in the notes of both.
func hardwareFindings(site *release.Site, r release.Release, s survey.Survey, items []hardware.Bought) []Finding {
	var out []Finding
	add := func(level measure.Level, code, text string) {
		out = append(out, Finding{Release: r.Number, File: r.SourceFile, Finding: measure.Finding{Level: level, Code: code, Text: text}})
	}
	say := func(code, text string, args ...any) { add(measure.Caution, code, fmt.Sprintf(text, args...)) }
	for _, b := range items {
		listFindings(r, b, say)
	}
	perProcess := map[*bench.Process][]jointFinding{}
	known := r.Processes()
	for _, proc := range known {
		perProcess[proc] = jointFindings(site, r, s, proc)
	}
	var told []jointFinding
	for _, proc := range known {
		for _, f := range perProcess[proc] {
			if slices.Contains(told, f) {
				continue
			}
			told = append(told, f)
			var in []string
			for _, q := range known {
				if slices.Contains(perProcess[q], f) {
					in = append(in, q.Name)
				}
			}
			text := f.text
			if len(in) < len(known) {
				text += fmt.Sprintf(" (Found in the cuts for %s.)", words.List(in))
			}
			add(f.level, f.code, text)
		}
	}
	return out
}

func listFindings(r release.Release, b hardware.Bought, say func(code, text string, args ...any)) {
	for _, p := range b.Pieces {
		if stock := b.Item.StockLength; b.Item.Kind.Cuttable() && stock > 0 && p.Cut > stock {
			say("hardware-length", "A piece of %s of %s is longer than the %s in which it is sold.", words.Length(p.Cut), b.Item.Name, words.Length(stock))
		}
	}
	if len(r.Hardware) == 0 || b.Item.Kind == bench.Adhesive {
		return
	}
	if b.FromParts {
		say("hardware-missing", "The parts take %s of %s, and the hardware list has none.", words.Count(b.Taken, "piece", "pieces"), b.Item.Name)
		return
	}
	name, least := "", 0
	for _, p := range r.Parts {
		here := 0
		for _, u := range p.Takes {
			if u.Item.ID != b.Item.ID {
				continue
			}
			here += u.Count
			if u.Cut > 0 && !slices.ContainsFunc(b.Pieces, func(o hardware.Piece) bool { return o.Cut == u.Cut || o.Cut == 0 }) {
				say("hardware-cut", "%s takes a piece of %s mm of %s, and the hardware list has no piece of that length; it has %s.", p.Name, words.Plain(u.Cut), b.Item.Name, lengthsList(b.Pieces))
			}
		}
		if b.Item.Kind != bench.Magnet && here > least {
			name, least = p.Name, here
		}
	}
	switch {
	case b.Item.Kind == bench.Magnet && b.Taken > 0 && b.Taken != b.Count: // in one pocket each
		say("hardware-count", "The hardware list has %d of %s and the parts take %d.", b.Count, b.Item.Name, b.Taken)
	case b.Taken > 0 && b.Count > b.Taken:
		say("hardware-count", "The hardware list has %s of %s and the parts take %d: one is in no part's notes, or too many are in the list.", words.Count(b.Count, "piece", "pieces"), b.Item.Name, b.Taken)
	case least > b.Count:
		say("hardware-count", "The hardware list has %s of %s and one %s alone takes %d.", words.Count(b.Count, "piece", "pieces"), b.Item.Name, name, least)
	}
}

func lengthsList(pieces []hardware.Piece) string {
	var out []string
	for _, p := range pieces {
		out = append(out, words.Plain(p.Cut)+" mm")
	}
	return words.List(out)
}

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
	if most, closed := longest(rooms); closed && j.use.Cut > most+float64(float64(len(rooms)-1)*jointGap)+lengthSlack {
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
	if j.use.Cut < least-lengthSlack {
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
	if closed || floors > 2 || len(names) < 2 || j.use.Cut <= allowed+lengthSlack {
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
