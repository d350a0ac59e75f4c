package fit

import (
	"context"
	"errors"
	"math"
	"slices"

	"cardback/internal/mesh"
)

// Frontier says of any plate whether a part fits, without the part: the least
// boxes into which it goes. It is made for a visitor's browser, and is
// conservative: whatever it says fits, fits, and Fit says so too. It misses no
// plate on which the part has Within to spare in every direction: in height,
// and across the footprint both ways.
//
// All numbers are whole multiples of Step, rounded up from extents that some
// orientation really has. Those of Boxes and Cylinders have Tolerance added
// before, since below that Fit need not find an orientation that is there.
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

// wantedWithin is the tolerance of a frontier, in mm, where MostBytes allow it.
const wantedWithin = 1.0

// steps is how many of a frontier's steps its tolerance has. A box is rounded up
// to a step and what it is to cover rounded down, and Tolerance is a step where
// wantedWithin is kept, so three are lost; the rest is for the size of the
// cells.
const steps = 10

// mostSteps is how many steps a diameter may have: the tables of a cover take
// 2 bytes for each two of them, which comes to 60 MB.
const mostSteps = 5400

// firstWork and frontierWork bound the search for one list of boxes, in points
// looked at: the first for the quick search that is enough for most parts, the
// second for those that follow; past it the tolerance is raised. Each takes less
// than half a second of processor time.
const firstWork, frontierWork = 40_000_000, 60_000_000

// hair is the part of slop that a frontier rounds away on each side: once where
// an extent is rounded up, once where a plate is rounded down. Two of them and
// the rounding of the divisions stay below slop.
const hair = 0.4

// Fits reports whether the part certainly fits on the plate, and how: as supplied,
// turned or tipped. CannotFit means that it has not Within to spare in any
// orientation.
func (f *Frontier) Fits(p Plate) Verdict {
	room := p.usable()
	if notLengths(nil, p) != "" || !(min(room.X, room.Y, room.Z) > 0) {
		return CannotFit
	}
	whole := func(x float64) int { return int(math.Floor(min((x+hair*slop(0))/f.Step, mostSteps*2))) }
	w, d, h := whole(room.X), whole(room.Y), whole(room.Z)
	if p.Round {
		if f.Circle <= w && f.Supplied[2] <= h {
			return AsSupplied
		}
		for _, c := range f.Cylinders {
			if c[0] <= w && c[1] <= h {
				return Tipped
			}
		}
		return CannotFit
	}
	if f.Supplied[0] <= w && f.Supplied[1] <= d && f.Supplied[2] <= h {
		return AsSupplied
	}
	if f.Supplied[2] <= h {
		for _, t := range f.Turned {
			if t[0] <= min(w, d) && t[1] <= max(w, d) {
				return Turned
			}
		}
	}
	room3 := [3]int{w, d, h}
	slices.Sort(room3[:])
	for _, b := range f.Boxes {
		if b[0] <= room3[0] && b[1] <= room3[1] && b[2] <= room3[2] {
			return Tipped
		}
	}
	return CannotFit
}

// NewFrontier finds the frontier of the part with the given hull. Its tolerance is
// 1 mm, or, for a part so large that this takes more than MostBytes to write
// down, as fine as fits into them. The error is for coordinates that are no
// lengths, and the context's.
//
// The method is the branch and bound of Fit, turned round: a cell of directions
// that may point up is done with when every turn of it is covered, which is to
// say that the least extents which any orientation in the cell could have, with
// Within added, hold a box already found. Where they do not, and the cell is so
// small that its own centre would do, that orientation's box joins the list;
// else the cell is quartered. So every orientation is covered at the end, and of
// the boxes found, few enough are kept to cover all cells still. A search that
// accepts less than Within leaves smaller cells, with extents nearer to true
// ones, of which each box kept covers more: it takes longer, and its text is
// shorter. Long thin parts need the most of both, as nearly every orientation of
// a rod is the least in its way.
//
// An orientation with extents e in a cell whose least extents are l, in steps
// rounded down, has e ≥ l; a box b that covers l is at most l + steps, and so at
// most e with Within added: it goes into any room that has Within to spare for
// e. As the axes of a room may be exchanged by an orientation, both are compared
// in ascending order, which keeps e ≥ l.
func NewFrontier(ctx context.Context, hull []mesh.Vec) (*Frontier, error) {
	if why := notLengths(hull, Plate{}); why != "" {
		return nil, errors.New("fit frontier: " + why)
	}
	if len(hull) == 0 {
		return &Frontier{Within: wantedWithin, Step: wantedWithin / steps}, nil
	}
	pt := newPart(hull, mesh.Vec{}, false)
	least := max(wantedWithin, 2*pt.radius*steps/mostSteps)
	f, ok, err := frontierWithin(ctx, pt, least, steps, firstWork)
	if err != nil || ok && len(f.Text()) <= MostBytes {
		return f, err
	}
	// A frontier is a surface: its text shortens with the square of the tolerance.
	// A finer search makes it some five times shorter.
	probe := least
	for !ok || len(f.Text()) > 6*MostBytes && probe < 3*least {
		probe *= 3
		if f, ok, err = frontierWithin(ctx, pt, probe, steps, frontierWork); err != nil {
			return nil, err
		}
	}
	within := max(least, probe*math.Sqrt(float64(len(f.Text()))/(5*MostBytes)))
	for ; ; within *= 1.35 { // at last every box covers all
		for _, accept := range [...]int{steps - 2, steps - 4} {
			f, ok, err := frontierWithin(ctx, pt, within, accept, frontierWork)
			switch {
			case err != nil:
				return nil, err
			case ok && len(f.Text()) <= MostBytes:
				return f, nil
			}
			if !ok || len(f.Text()) > 5*MostBytes/2 {
				break
			}
		}
	}
}

func frontierWithin(ctx context.Context, pt part, within float64, accept, work int) (*Frontier, bool, error) {
	f := &Frontier{Within: within, Step: within / steps}
	e := extents(pt.points)
	f.Supplied = [3]int{f.up(e.X), f.up(e.Y), f.up(e.Z)}
	corners := footprint(nil, slices.Clone(pt.points))
	f.Circle = f.up(2 * leastCircle(corners).r)

	most := f.up(2*pt.radius+Tolerance) + 1
	turned := newCover(1, most, accept)
	var t turns
	t.each(corners, func(f0, f1 dir, a, b mesh.Vec) {
		f.turnedArc(turned, f0, f1, a, b, pt.slop)
	})
	for _, b := range turned.chosen() {
		f.Turned = append(f.Turned, [2]int{b[1], b[2]})
	}
	for _, round := range [2]bool{false, true} {
		pt.round = round
		s := frontierSearch{tipping: newTipping(pt), frontier: f, most: work}
		if round {
			s.cover = newCover(1, most, accept)
		} else {
			s.cover = newCover(most, most, accept)
		}
		ok, err := s.run(ctx)
		if !ok || err != nil {
			return f, ok, err
		}
		for _, b := range s.cover.chosen() {
			if round {
				f.Cylinders = append(f.Cylinders, [2]int{b[1], b[2]})
			} else {
				f.Boxes = append(f.Boxes, b)
			}
		}
	}
	return f, true, nil
}

// turnedArc covers the turns from f0 to f1, on which the extents are those of the
// chords a and b and so concave: their least is at an end.
func (f *Frontier) turnedArc(c *cover, f0, f1 dir, a, b mesh.Vec, slop float64) {
	w0, w1 := f0.along(a), f1.along(a)
	d0, d1 := f0.left().along(b), f1.left().along(b)
	pair := func(x, y int) [3]int { return [3]int{0, min(x, y), max(x, y)} }
	l := pair(f.down(min(w0, w1), slop), f.down(min(d0, d1), slop))
	c.begin()
	if !c.has(l) {
		box := pair(f.up(w0), f.up(d0))
		if !covers(box, l, c.accept) {
			m := between(f0, f1)
			f.turnedArc(c, f0, m, a, b, slop)
			f.turnedArc(c, m, f1, a, b, slop)
			return
		}
		c.put(box)
		c.has(l)
	}
	c.end()
}

// up is a length in steps, rounded up; no extent is below 0.
func (f *Frontier) up(x float64) int { return int(math.Ceil(max(x-hair*slop(0), 0) / f.Step)) }

// upTipped is up for an extent of a tipped orientation.
func (f *Frontier) upTipped(x float64) int { return f.up(x + Tolerance) }

// down is a length that is known to be exceeded, in steps, rounded down, with
// room for what Fit takes as fitting.
func (f *Frontier) down(x, slop float64) int { return int(math.Floor(max(x-slop, 0) / f.Step)) }

// frontierSearch is the search for one list of boxes.
type frontierSearch struct {
	*tipping
	frontier *Frontier
	cover    *cover
	most     int // of s.work
}

func (s *frontierSearch) down(x float64) int { return s.frontier.down(x, s.part.slop) }

func (s *frontierSearch) run(ctx context.Context) (ok bool, err error) {
	s.seed()
	long := s.longest()
	if l := long.Norm(); l > 0 {
		long = long.Scale(1 / l)
	}
	whole := wholeSphere()
	cells := whole[:]
	for level := 0; len(cells) > 0; level++ {
		if level > 40 {
			return false, nil
		}
		var next []cell
		for i, c := range cells {
			if i%64 == 63 && ctx.Err() != nil {
				return false, ctx.Err()
			}
			if s.work > s.most {
				return false, nil
			}
			if !s.part.round && c.across(long) {
				continue
			}
			if !s.done(c) {
				q := c.quarters()
				next = append(next, q[:]...)
			}
		}
		cells = next
	}
	return true, ctx.Err()
}

// across reports whether every direction of the cell is more than acos(1/√3) away
// from ±long, a unit vector or 0. A search for boxes may leave such directions
// out: the squares of long's components along the three axes of a box add up to
// 1, so one of them is at least 1/3, and that axis may be the one that points up,
// as the sides of a box are told in no order. It is on the long part that
// directions are many, and near its own that they are few.
func (c cell) across(long mesh.Vec) bool {
	up := c.centre()
	sin := 0.0
	for _, v := range c.corners() {
		sin = max(sin, v.Cross(up).Norm())
	}
	// cos(θ − δ) ≤ cos θ + sin θ sin δ bounds |long·v|.
	along := math.Abs(long.Dot(up))
	const rounding = 1e-9
	return long != (mesh.Vec{}) && along+float64(sin*math.Sqrt(max(0, 1-float64(along*along)))) < 1/math.Sqrt(3)-rounding
}

// seed puts in the boxes of some orientations that are often among the least, so
// that cells of poor ones are done with while they are large: on each axis of the
// file and on each of a few hundred directions, the turns at which a side of the
// footprint lies along the plate.
func (s *frontierSearch) seed() {
	ups := []mesh.Vec{{Z: 1}, {X: 1}, {Y: 1}}
	cells := wholeSphere()
	level := cells[:]
	for range 3 {
		var next []cell
		for _, c := range level {
			q := c.quarters()
			next = append(next, q[:]...)
		}
		level = next
	}
	for _, c := range level {
		ups = append(ups, c.centre())
	}
	for _, up := range ups {
		s.stand(up)
		best := 0.0
		var turn dir
		s.t.each(s.corners(), func(f0, _ dir, a, b mesh.Vec) {
			if area := f0.along(a) * f0.left().along(b); turn == (dir{}) || area < best {
				best, turn = area, f0
			}
		})
		s.cover.put(s.box(s.rotation(turn)))
	}
}

// box is that of the part in the orientation, over all points.
func (s *frontierSearch) box(rot [9]float64) [3]int {
	s.work += 4 * len(s.part.points)
	turned := make([]mesh.Vec, len(s.part.points))
	for i, v := range s.part.points {
		turned[i] = Apply(rot, v)
	}
	e := extents(turned)
	if s.part.round {
		k := leastCircle(footprint(nil, turned))
		return [3]int{0, s.frontier.upTipped(2 * k.r), s.frontier.upTipped(e.Z)}
	}
	return sorted(s.frontier.upTipped(e.X), s.frontier.upTipped(e.Y), s.frontier.upTipped(e.Z))
}

// done reports whether every orientation with its upward direction in the cell is
// covered, after adding boxes that the cell's centre gives. The bounds are those
// of posture.fallIn, where they are derived.
func (s *frontierSearch) done(c cell) bool {
	s.stand(c.centre())
	fall := s.fallIn(c)
	s.cover.begin()
	s.work += 4 * len(s.corners())
	if s.part.round {
		l := [3]int{0, s.down(s.leastDiameter(fall)), s.down(fall.low)}
		box := [3]int{0, s.frontier.upTipped(2 * leastCircle(s.feet).r), s.frontier.upTipped(s.height())}
		if !s.settle(l, box, dir{1, 0}) {
			return false
		}
		s.cover.end()
		return true
	}
	all := true
	s.t.each(s.feet, func(f0, f1 dir, a, b mesh.Vec) {
		if !all {
			return
		}
		all = s.arc(f0, f1, a, b, fall)
	})
	if all {
		s.cover.end()
	}
	return all
}

// arc is done for the turns from f0 to f1, on which the extents are those of the
// chords a and b and so concave: their least is at an end.
func (s *frontierSearch) arc(f0, f1 dir, a, b mesh.Vec, fall fall) bool {
	s.work += 8
	w0, w1 := f0.along(a), f1.along(a)
	d0, d1 := f0.left().along(b), f1.left().along(b)
	l := sorted(s.down(min(w0, w1)-fall.of(a)), s.down(min(d0, d1)-fall.of(b)), s.down(fall.low))
	if s.cover.has(l) {
		return true
	}
	f := between(f0, f1)
	w, d := f.along(a), f.left().along(b)
	if s.settle(l, sorted(s.frontier.upTipped(w), s.frontier.upTipped(d), s.frontier.upTipped(s.height())), f) {
		return true
	}
	if max(w-min(w0, w1), d-min(d0, d1)) < s.frontier.Step {
		return false // the cell is too large, not the arc
	}
	return s.arc(f0, f, a, b, fall) && s.arc(f, f1, a, b, fall)
}

// settle covers l with the box of the present posture turned by f, if that will
// do: the box as the chosen points have it is seen first, then all points.
func (s *frontierSearch) settle(l, box [3]int, f dir) bool {
	if s.cover.has(l) {
		return true
	}
	if !covers(box, l, s.cover.accept) {
		return false
	}
	rot := s.rotation(f)
	box = s.box(rot)
	if !covers(box, l, s.cover.accept) {
		s.stickOut(rot) // the quarters of this cell will see these points
		return false
	}
	s.cover.put(box)
	return s.cover.has(l)
}

func sorted(a, b, c int) [3]int {
	if a > b {
		a, b = b, a
	}
	if b > c {
		b, c = c, b
	}
	if a > b {
		a, b = b, a
	}
	return [3]int{a, b, c}
}

func between(f0, f1 dir) dir {
	m := dir{f0.x + f1.x, f0.y + f1.y}
	l := m.norm()
	return dir{m.x / l, m.y / l}
}

// covers reports whether box is at most l with so many steps added.
func covers(box, l [3]int, more int) bool {
	return box[0] <= l[0]+more && box[1] <= l[1]+more && box[2] <= l[2]+more
}
