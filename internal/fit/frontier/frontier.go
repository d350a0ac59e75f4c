// Package frontier says of any plate whether a part fits, without the part: a list of
// the least boxes and cylinders into which it goes. New finds a Frontier; Fits asks it.
// It serves a page, where a visitor types the plate in.
package frontier

import (
	"context"
	"errors"
	"math"
	"slices"

	"cardback/internal/fit"
	"cardback/internal/fit/footprint"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
)

// Frontier says of any plate whether a part fits, without the part: the least
// boxes into which it goes. It is made for a visitor's browser, and is
// conservative: whatever it says fits, fits, and Fit says so too. It misses no
// plate on which the part has Within to spare in every direction: in height,
// and across the footprint both ways.
//
// All numbers are whole multiples of Step, rounded up from extents that some
// orientation really has; those of a list, to the list's own pitch. Those of Boxes
// and Cylinders have Tolerance added before, since below that Fit need not find an
// orientation that is there.
type Frontier struct {
	Within float64 // mm
	Step   float64 // mm
	// Supplied is width, depth and height in the file's own orientation.
	Supplied [3]int
	// Circle is the diameter of the least circle around the footprint as
	// supplied, which no turn changes.
	Circle int
	// Turned are the footprints over all turns about the vertical, the lesser side
	// first; the height stays that of Supplied.
	Turned [][2]int
	// Boxes are the boxes over all orientations, the least side first: turning a
	// box onto another of its faces is an orientation too.
	Boxes [][3]int
	// Cylinders are diameter and height of upright cylinders, over all orientations.
	Cylinders [][2]int
}

// wantedWithin is the tolerance of a frontier, in mm, where MostBytes and the
// work that it takes allow it.
const wantedWithin = 1.0

// steps is how many of a frontier's steps its tolerance has.
const steps = 10

// mostSteps is how many steps a diameter may have.
const mostSteps = 10800

// frontierWork bounds the search for one list of boxes, in points looked at; past
// it the tolerance is raised. It takes some ten seconds of processor time; nearly
// all parts take a hundredth of that, and the longest known, a disc of 300 mm with
// some hundred corners at its rim, nearly all. frontierWorkInAll bounds the whole,
// past which unsearched answers.
const (
	frontierWork      = 1_200_000_000
	frontierWorkInAll = 2 * frontierWork
)

// Of a part with more than manyCorners points, which is a smooth one, the searches
// look at some only, such that the hull of all lies within gapShare of Within of
// theirs (see fewer), and add twice that to each box: it comes out of the tenth or
// two of Within that rounding leaves. Where that takes more than mostCorners,
// Within is raised.
const (
	manyCorners = 10_000
	mostCorners = 30_000
	gapShare    = 1.0 / 20
)

// hair is the part of slop that a frontier rounds away on each side: once where
// an extent is rounded up, once where a plate is rounded down. Two of them and
// the rounding of the divisions stay below slop.
const hair = 0.4

// Fits reports whether the part certainly fits on the plate, and how: as supplied,
// turned or tipped. CannotFit means that it has not Within to spare in any
// orientation.
func (f *Frontier) Fits(p fit.Plate) fit.Verdict {
	room := p.Usable()
	if p.Flaw() != "" || !(min(room.X, room.Y, room.Z) > 0) {
		return fit.CannotFit
	}
	whole := func(x float64) int { return int(math.Floor(min((x+hair*posture.Slop(0))/f.Step, mostSteps*2))) }
	w, d, h := whole(room.X), whole(room.Y), whole(room.Z)
	if p.Round {
		if f.Circle <= w && f.Supplied[2] <= h {
			return fit.AsSupplied
		}
		for _, c := range f.Cylinders {
			if c[0] <= w && c[1] <= h {
				return fit.Tipped
			}
		}
		return fit.CannotFit
	}
	if f.Supplied[0] <= w && f.Supplied[1] <= d && f.Supplied[2] <= h {
		return fit.AsSupplied
	}
	if f.Supplied[2] <= h {
		if f.Supplied[1] <= w && f.Supplied[0] <= d { // a quarter turn, to the step
			return fit.Turned
		}
		for _, t := range f.Turned {
			if t[0] <= min(w, d) && t[1] <= max(w, d) {
				return fit.Turned
			}
		}
	}
	room3 := [3]int{w, d, h}
	slices.Sort(room3[:])
	for _, b := range f.Boxes {
		if b[0] <= room3[0] && b[1] <= room3[1] && b[2] <= room3[2] {
			return fit.Tipped
		}
	}
	return fit.CannotFit
}

// boxPitch is that of Boxes, in steps, and listPitch that of the other two lists: the
// wider, the shorter the text, and the more there is to prove.
const boxPitch, listPitch = 5, 2

// New finds the frontier of the part with the given hull. Its tolerance is
// 1 mm, or coarser for a part so large that this takes more than MostBytes to write
// down, or so large and smooth that it takes more than frontierWork to prove. It ends
// within a stated work for any part; past it, Within is what needs no search. The
// error is for coordinates that are no lengths, and the context's.
//
// The method is the branch and bound of Fit, turned round: a cell of orientations
// is done with when it is covered, which is to say that a box already found goes
// into every room, rounded down to the list's pitch, that has Within to spare on
// the least extents which any orientation of the cell could have. Where it is
// not, and the cell is so small that the box of its own middle would do, that
// joins the list; else the cell is divided. So every orientation is covered at the
// end. What is written down is the staircase that the boxes make on the lattice
// of rooms (see written), which is smooth, and so has few steps.
//
// Boxes have their sides in ascending order, as the axes of a room may be exchanged
// by an orientation; so are rooms, which keeps one that has room for another's
// sides above it.
func New(ctx context.Context, hull []mesh.Vec) (*Frontier, error) {
	return newWithin(ctx, hull, frontierWork, frontierWorkInAll)
}

func newWithin(ctx context.Context, hull []mesh.Vec, each, all int) (*Frontier, error) {
	if why := posture.NotLengths(hull); why != "" {
		return nil, errors.New("fit frontier: " + why)
	}
	if len(hull) == 0 {
		return &Frontier{Within: wantedWithin, Step: wantedWithin / steps}, nil
	}
	pt := posture.NewPart(hull, mesh.Vec{}, false)
	within := max(wantedWithin, 2*pt.Radius*steps/mostSteps)
	// Each turn of the loop raises within by a tenth at least. Twenty times the diameter
	// is a tolerance that the first box of any list covers at once, and fifty bytes of
	// text: that is within log(20·mostSteps/steps)/log 1.1 < 105 turns, and all bounds the
	// work of those before.
	for within < 40*pt.Radius+2*wantedWithin && all > 0 {
		some := posture.Part{Points: pt.Points, Radius: pt.Radius, Slop: pt.Slop}
		grow, gap := 1.6, 0.0
		if len(pt.Points) > manyCorners {
			var work int
			gap = gapShare * within
			some.Points, work = posture.Fewer(pt.Points, gap, each)
			all -= work
		}
		if len(some.Points) <= mostCorners || len(pt.Points) <= mostCorners {
			f, work, ok, err := frontierWithin(ctx, pt, some, within, gap, min(each, all))
			all -= work
			if err != nil {
				return nil, err
			}
			if ok {
				text := len(f.Text())
				if text <= MostBytes {
					return f, nil
				}
				// A frontier is a surface, so its text grows a little less than with the
				// square of the size.
				grow = max(1.1, math.Pow(float64(text)/MostBytes, 0.6))
			}
		}
		within *= grow
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	return unsearched(pt), nil
}

// unsearched is the frontier that is known without a search: the part as it lies.
// Within is its largest extent: a plate that has so much to spare in every direction, in
// any orientation whatever, is at least so large in each.
func unsearched(pt posture.Part) *Frontier {
	within := max(wantedWithin, 2*pt.Radius*steps/mostSteps)
	f := &Frontier{Within: within, Step: within / steps}
	f.supplied(pt)
	// A plate on which Fit must tip the part has Tolerance to spare; and sides on a
	// coarser pitch keep the tables of the text small.
	pitch := 1 + max(f.Supplied[0], f.Supplied[1], f.Supplied[2], f.Circle)/1000
	up := func(side int) int { return (side + f.up(fit.Tolerance) + 1 + pitch - 1) / pitch * pitch }
	box := sorted(up(f.Supplied[0]), up(f.Supplied[1]), up(f.Supplied[2]))
	f.Boxes = [][3]int{box}
	f.Cylinders = [][2]int{{up(f.Circle), up(f.Supplied[2])}}
	// A step more, since rooms are rounded down.
	f.Within = f.Step * float64(1+max(box[2], f.Cylinders[0][0], f.Cylinders[0][1]))
	return f
}

// supplied fills in what does not depend on a search, and returns the footprint.
func (f *Frontier) supplied(pt posture.Part) (corners []mesh.Vec) {
	e := footprint.Extents(pt.Points)
	f.Supplied = [3]int{f.up(e.X), f.up(e.Y), f.up(e.Z)}
	corners = footprint.Corners(nil, slices.Clone(pt.Points))
	f.Circle = f.up(2 * footprint.LeastCircle(corners).R)
	return corners
}

// frontierWithin finds a frontier of the part, of which some points stand for all:
// no direction has a point of the part that is more than gap farther. It is not ok
// where a search takes more than most work; the work that it took is returned.
func frontierWithin(ctx context.Context, pt, some posture.Part, within, gap float64, most int) (f *Frontier, work int, ok bool, err error) {
	f = &Frontier{Within: within, Step: within / steps}
	corners := f.supplied(pt)

	longest := 2*pt.Radius + fit.Tolerance + 2*gap + within
	turned := newStaircase(listPitch*f.Step, longest, 1)
	var t footprint.Turns
	t.Each(corners, func(f0, f1 footprint.Dir, a, b mesh.Vec) {
		turnedArc(turned, f0, f1, a, b, within, pt.Slop)
	})
	for _, b := range turned.corners() {
		f.Turned = append(f.Turned, [2]int{listPitch * b[1], listPitch * b[2]})
	}

	some.Round = true
	upright := uprightSearch{Tipping: posture.NewTipping(some), within: within, more: fit.Tolerance + 2*gap, steps: newStaircase(listPitch*f.Step, longest, 1)}
	if len(some.Points) >= posture.ManyForCompass {
		upright.Compass = posture.NewCompass(some.Points)
	}
	ok, err = upright.run(ctx, most)
	work += upright.spent()
	if !ok || err != nil {
		return f, work, ok, err
	}
	for _, b := range upright.steps.corners() {
		f.Cylinders = append(f.Cylinders, [2]int{listPitch * b[1], listPitch * b[2]})
	}

	some.Round = false
	size := boxPitch * f.Step
	boxes := axial(some, within, newStaircase(size, longest, math.MaxInt))
	boxes.more = fit.Tolerance + 2*gap
	ok, err = boxes.run(ctx, most)
	work += boxes.spent()
	if !ok || err != nil {
		return f, work, ok, err
	}
	for _, b := range boxes.steps.corners() {
		f.Boxes = append(f.Boxes, [3]int{boxPitch * b[0], boxPitch * b[1], boxPitch * b[2]})
	}
	return f, work, true, nil
}

// up is a length in steps, rounded up; no extent is below 0.
func (f *Frontier) up(x float64) int { return int(math.Ceil(max(x-hair*posture.Slop(0), 0) / f.Step)) }

// turnedArc covers the turns from f0 to f1, on which the extents are those of the
// chords a and b and so concave: their least is at an end.
func turnedArc(s *staircase, f0, f1 footprint.Dir, a, b mesh.Vec, within, slop float64) {
	w0, w1 := f0.Along(a), f1.Along(a)
	d0, d1 := f0.Left().Along(b), f1.Left().Along(b)
	pair := func(x, y int) [3]int { return [3]int{0, min(x, y), max(x, y)} }
	room := pair(s.room(min(w0, w1), within, slop), s.room(min(d0, d1), within, slop))
	if s.has(room) {
		return
	}
	if box := pair(s.up(w0), s.up(d0)); atMost(box, room) {
		s.put(box)
		return
	}
	m := between(f0, f1)
	turnedArc(s, f0, m, a, b, within, slop)
	turnedArc(s, m, f1, a, b, within, slop)
}

func between(f0, f1 footprint.Dir) footprint.Dir {
	m := footprint.Dir{X: f0.X + f1.X, Y: f0.Y + f1.Y}
	l := m.Norm()
	return footprint.Dir{X: m.X / l, Y: m.Y / l}
}
