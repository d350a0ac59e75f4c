package slice

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"cardback/internal/measure/stack"
	"cardback/internal/mesh"
	"cardback/internal/words"
)

// Trial is one pose of a sweep, in numbers.
type Trial struct {
	Pose                 Pose
	Height               float64
	Layers               int
	Peak, Jump, Overhang float64
	// Islands, Cups and Wells are counted where Looked is true. They take longer
	// than all else, so a sweep looks for them only as supplied and in the poses
	// that it chooses from in the end.
	Islands, Cups, Wells int
	Looked               bool
}

// places is how many spots of a pose need a support or a vent.
func (t *Trial) places() int { return t.Islands + t.Cups + t.Wells }

// Sweep is what a search over tilts found.
type Sweep struct {
	Layer  float64
	Flat   Trial   // as supplied
	Trials []Trial // all tilts tried: as supplied, then by axis, then angle
	Best   Trial
	Reason string // one or two sentences with the numbers that decided
}

// tiltStep is how far apart the tilts of a sweep are, in degrees; it goes from a
// quarter turn one way to a quarter turn the other.
const tiltStep = 5

// steep is what a largest layer may be over the least of all poses, and what
// moving a part has to bring. A flat plate has its least layer upright, and at 45°,
// the usual tilt, one 1/sin 45° times as large: that is taken to be as good. The
// rest, a millionth, is for corners rounded to 32 bits.
const steep = math.Sqrt2 * (1 + 1e-6)

// empty is the share of the cube over the bounds' diagonal up to which a volume is
// nothing: some thirty times the 32u that sums of terms as large as that cube may be
// off by. A wire a thousandth of a mm thick and a metre long has more.
const empty = 1e-13

// fewer is the share of the layers as supplied below which a pose is worth
// moving a part for, when its largest layer is small enough as it is.
const fewer = 0.8

// Tilts tries tilts of up to 90° about x and about y, 5° apart, and recommends
// one for vat printing; o.Pose is not looked at. The rule, in order:
//
//  1. The largest layer may be at most √2 times the least that any pose reaches.
//  2. No layer may outgrow the one before by more than half of the largest layer,
//     unless that holds for no pose left.
//  3. Of each of the four directions, the pose with the fewest layers stays, then
//     the one with the least overhang, then the least tilt; and the part as
//     supplied, if 1 and 2 allow it. Islands, cups and wells are looked for in
//     these. (Two poses of each direction took twice as long, and chose no other
//     for any of twenty machined and sculpted parts.)
//  4. Of these, the fewest islands, cups and wells win, then the fewest layers,
//     the least overhang and the least tilt.
//  5. A part that 1 and 2 allow as supplied stays so, unless the winner has fewer
//     islands, cups and wells, or a fifth fewer layers. One that they do not allow
//     is moved only for a √2 times smaller peak, or jump where that is what is
//     wrong.
//
// It compares areas, and knows nothing of forces, of a printer's height, or of how
// supports are built. Common practice for flat parts is a tilt of 30 to 45°.
// A mesh that encloses nothing has no areas to compare: it stays as supplied, and
// Reason says so. Errors are those of Cut; tilts that would have too many layers
// are left out.
func Tilts(ctx context.Context, m *mesh.Mesh, o Options) (*Sweep, error) {
	return tilts(ctx, m, o, stack.Of)
}

// tilts is Tilts with the search for islands and hollows as an argument.
func tilts(ctx context.Context, m *mesh.Mesh, o Options, look func(context.Context, *mesh.Mesh, float64) (stack.Report, error)) (*Sweep, error) {
	o.Pose = Pose{}
	o, err := o.filled()
	if err != nil {
		return nil, err
	}
	s, err := newSubject(ctx, m)
	if err != nil {
		return nil, err
	}
	sweep := &Sweep{Layer: o.Layer}
	reversed, cancels := false, false
	for _, p := range poses() {
		got, err := s.run(ctx, p, o.Layer, o.Limit)
		if p.Tilt != 0 && errors.Is(err, ErrTooManyLayers) {
			continue
		}
		if err != nil {
			return nil, err
		}
		l := got.layers(o, s.encloses)
		reversed = reversed || l.Reversed
		cancels = cancels || p.Tilt == 0 && l.Height > 0 && l.Volume <= empty*8*s.reach*s.reach*s.reach
		sweep.Trials = append(sweep.Trials, Trial{Pose: p, Height: l.Height, Layers: len(l.Areas), Peak: l.Peak, Jump: l.Jump, Overhang: l.Overhang})
	}
	var chosen []int
	if s.encloses && !cancels && sweep.Trials[0].Layers > 0 {
		chosen = sweep.shortlist()
		m = rightWayOut(m, reversed)
		for _, i := range chosen {
			t := &sweep.Trials[i]
			found, err := look(ctx, t.Pose.Apply(m), o.Layer)
			if err != nil {
				return nil, err
			}
			t.Islands, t.Cups, t.Wells, t.Looked = len(found.Islands), len(found.Cups), len(found.Wells), true
		}
	}
	sweep.choose(s.encloses, cancels, chosen)
	return sweep, nil
}

// poses lists the tilts of a sweep, as supplied first.
func poses() []Pose {
	out := []Pose{{}}
	for _, about := range []string{"x", "y"} {
		for tilt := -90.0; tilt <= 90; tilt += tiltStep {
			if tilt != 0 {
				out = append(out, Pose{tilt, about})
			}
		}
	}
	return out
}

// direction numbers the four directions to tilt in, from 1; as supplied is 0.
func (p Pose) direction() int {
	d := 0
	if p.Tilt != 0 {
		d++
	}
	if p.Tilt < 0 {
		d++
	}
	if p.About == "y" {
		d += 2
	}
	return d
}

// allowed reports for each trial whether rules 1 and 2 let it stay, with what 5
// asks of a part that they do not let stay as it is.
func (s *Sweep) allowed() []bool {
	flat := &s.Trials[0]
	least := s.least()
	ok := make([]bool, len(s.Trials))
	if least == nil {
		return ok
	}
	most := steep * least.Peak
	if flat.Peak > most {
		most = min(most, flat.Peak/math.Sqrt2*(1+1e-6))
	}
	calm := false
	for i, t := range s.Trials {
		ok[i] = t.Peak > 0 && t.Peak <= most
		calm = calm || ok[i] && t.calm()
	}
	for i, t := range s.Trials {
		ok[i] = ok[i] && (t.calm() || !calm)
	}
	if flat.Peak > 0 && flat.Peak <= most && !ok[0] { // its jump alone is in the way
		some := false
		for i, t := range s.Trials {
			ok[i] = ok[i] && t.Jump <= flat.Jump/math.Sqrt2
			some = some || ok[i]
		}
		ok[0] = !some
	}
	return ok
}

// calm is rule 2.
func (t *Trial) calm() bool { return t.Jump <= t.Peak/2 }

// least is the trial with the least peak of those that have any; nil where none has.
func (s *Sweep) least() *Trial {
	var least *Trial
	for i := range s.Trials {
		// Less by more than rounding, so that of equals the first is named.
		if t := &s.Trials[i]; t.Peak > 0 && (least == nil || t.Peak < least.Peak*(1-1e-9)) {
			least = t
		}
	}
	return least
}

// shortlist is rule 3, and always the trial as supplied. Nothing has been looked for
// yet, so that better compares the rest.
func (s *Sweep) shortlist() []int {
	best := [5]int{0, -1, -1, -1, -1}
	for i, ok := range s.allowed() {
		d := s.Trials[i].Pose.direction()
		if ok && (best[d] < 0 || better(&s.Trials[i], &s.Trials[best[d]]) < 0) {
			best[d] = i
		}
	}
	return slices.DeleteFunc(best[:], func(i int) bool { return i < 0 })
}

// better is the order of rule 4; overhang counts to a millionth of a mm², so that
// rounding does not decide.
func better(a, b *Trial) int {
	return cmp.Or(
		cmp.Compare(a.places(), b.places()),
		cmp.Compare(a.Layers, b.Layers),
		cmp.Compare(math.Round(a.Overhang*1e6), math.Round(b.Overhang*1e6)),
		cmp.Compare(math.Abs(a.Pose.Tilt), math.Abs(b.Pose.Tilt)),
		cmp.Compare(b.Pose.Tilt, a.Pose.Tilt), // the positive first
	)
}

// choose applies rules 4 and 5 to the shortlist.
func (s *Sweep) choose(encloses, cancels bool, shortlist []int) {
	s.Flat, s.Best = s.Trials[0], s.Trials[0]
	switch {
	case s.Flat.Layers == 0:
		s.Reason = "Left as supplied: it has no height to slice."
		return
	case !encloses:
		s.Reason = "Left as supplied: the surface is open or wound both ways, so its layers have no area that could be compared."
		return
	case cancels:
		s.Reason = "Left as supplied: the volume comes to nothing, for the surface encloses none or part of it is inside out, so its layers have no area that could be compared."
		return
	case s.least() == nil:
		s.Reason = "Left as supplied: it is thinner than half a layer, so no layer has an area."
		return
	}
	ok := s.allowed()
	var winner *Trial
	for _, i := range shortlist {
		if t := &s.Trials[i]; ok[i] && (winner == nil || better(t, winner) < 0) {
			winner = t
		}
	}
	stays := ok[0] && winner.places() >= s.Flat.places() && float64(winner.Layers) > fewer*float64(s.Flat.Layers)
	if !stays {
		s.Best = *winner
	}
	s.Reason = s.reason(ok[0])
}

// reason says what was chosen and which numbers decided.
func (s *Sweep) reason(flatAllowed bool) string {
	flat, best := &s.Flat, &s.Best
	if best.Pose.Tilt == 0 {
		text := fmt.Sprintf("Leave it as supplied: its largest layer is %s mm² in %d layers", words.Significant(flat.Peak, 3), flat.Layers)
		if least := s.least(); least.Pose.Tilt != 0 && least.Peak < 0.99*flat.Peak {
			return text + fmt.Sprintf("; the least of any tilt is %s mm², %v, in %d layers, too little to be worth it.", words.Significant(least.Peak, 3), least.Pose, least.Layers)
		}
		return text + ", and no tilt tried has a smaller one worth naming."
	}
	text := fmt.Sprintf("Tilt it %v: ", best.Pose)
	switch {
	case flat.Peak == 0:
		text += fmt.Sprintf("as supplied it is thinner than half a layer; so its largest layer is %s mm²", words.Significant(best.Peak, 3))
	case best.Peak < flat.Peak/math.Sqrt2*(1+2e-6):
		text += fmt.Sprintf("the largest layer falls from %s to %s mm²", words.Significant(flat.Peak, 3), words.Significant(best.Peak, 3))
	case !flatAllowed:
		text += fmt.Sprintf("the worst growth from one layer to the next falls from %s to %s mm², with a largest layer of %s instead of %s mm²", words.Significant(flat.Jump, 3), words.Significant(best.Jump, 3), words.Significant(best.Peak, 3), words.Significant(flat.Peak, 3))
	case best.places() < flat.places():
		text += fmt.Sprintf("islands, cups and wells come to %d instead of %d, with a largest layer of %s instead of %s mm²", best.places(), flat.places(), words.Significant(best.Peak, 3), words.Significant(flat.Peak, 3))
	default:
		text += fmt.Sprintf("it takes a fifth fewer layers or better, with a largest layer of %s instead of %s mm²", words.Significant(best.Peak, 3), words.Significant(flat.Peak, 3))
	}
	switch {
	case best.Layers > flat.Layers:
		text += fmt.Sprintf(", at the price of %d layers instead of %d.", best.Layers, flat.Layers)
	case best.Layers < flat.Layers:
		text += fmt.Sprintf(", and it takes %d layers instead of %d.", best.Layers, flat.Layers)
	default:
		text += fmt.Sprintf(", in %d layers as before.", best.Layers)
	}
	if best.places() > flat.places() {
		text += fmt.Sprintf(" Islands, cups and wells come to %d instead of %d: mind the supports.", best.places(), flat.places())
	}
	return text
}
