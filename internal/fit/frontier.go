package fit

import (
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
)

// Frontier says of any plate whether a part fits, without the part: the least
// boxes into which it goes. It is made for a visitor's browser, and is
// conservative: whatever it says fits, fits. It misses no box in which the part
// has Within to spare in every direction.
//
// All numbers are whole multiples of Step, rounded up from extents that some
// orientation really has.
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
// to a step and what it is to cover rounded down, so two are lost; the rest is
// for the size of the cells.
const steps = 8

// mostSteps is how many steps a diameter may have: the tables of a cover take
// 8 bytes for each two of them.
const mostSteps = 4096

// frontierWork bounds, in points looked at, the search for one frontier; past it
// the tolerance is raised.
const frontierWork = 400_000_000

// Fits reports whether the part certainly fits on the plate, and how: as supplied,
// turned or tipped. CannotFit means that it has not Within to spare in any
// orientation.
func (f *Frontier) Fits(p Plate) Verdict {
	room := p.usable()
	if !(min(room.X, room.Y, room.Z) > 0) {
		return CannotFit
	}
	// The greatest number of steps that fit, with the slop of Fit.
	whole := func(x float64) int { return int(math.Floor(min((x+slop(0))/f.Step, math.MaxInt32))) }
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
// down, as fine as fits into them.
//
// The method is the branch and bound of Fit, turned round: a cell of directions
// that may point up is done with when every turn of it is covered, which is to
// say that the least extents which any orientation in the cell could have, with
// Within added, hold a box already found. Where they do not, and the cell is so
// small that its own centre would do, that orientation's box joins the list;
// else the cell is quartered. So every orientation is covered at the end, and of
// the boxes found, few enough are kept to cover all cells still. The error is
// the context's.
func NewFrontier(ctx context.Context, hull []mesh.Vec) (*Frontier, error) {
	pt := newPart(hull, mesh.Vec{}, false)
	for within := max(wantedWithin, 2*pt.radius*steps/mostSteps); ; within *= 1.25 {
		f, ok, err := frontierWithin(ctx, pt, within)
		if err != nil {
			return nil, err
		}
		if ok && len(f.Text()) <= MostBytes {
			return f, nil
		}
	}
}

func frontierWithin(ctx context.Context, pt part, within float64) (*Frontier, bool, error) {
	f := &Frontier{Within: within, Step: within / steps}
	e := extents(pt.points)
	f.Supplied = [3]int{f.up(e.X), f.up(e.Y), f.up(e.Z)}
	corners := footprint(nil, slices.Clone(pt.points))
	f.Circle = f.up(2 * leastCircle(corners).r)

	most := f.up(2*pt.radius) + 2*steps
	turned := newCover(most)
	var t turns
	t.each(corners, func(f0, f1 dir, a, b mesh.Vec) {
		f.turnedArc(turned, f0, f1, a, b)
	})
	for _, b := range turned.chosen() {
		f.Turned = append(f.Turned, [2]int{b[0], b[1]})
	}
	for _, round := range [2]bool{false, true} {
		s := frontierSearch{frontier: f, cover: newCover(most)}
		s.part, s.posture.room, s.chosen, s.best = pt, pt.room, map[int]bool{}, math.Inf(-1)
		s.part.round = round
		s.choose()
		ok, err := s.run(ctx)
		if !ok || err != nil {
			return f, ok, err
		}
		for _, b := range s.cover.chosen() {
			if round {
				f.Cylinders = append(f.Cylinders, [2]int{b[0], b[1]})
			} else {
				f.Boxes = append(f.Boxes, b)
			}
		}
	}
	return f, true, nil
}

// turnedArc covers the turns from f0 to f1, on which the extents are those of the
// chords a and b and so concave: their least is at an end.
func (f *Frontier) turnedArc(c *cover, f0, f1 dir, a, b mesh.Vec) {
	w0, w1 := f0.along(a), f1.along(a)
	d0, d1 := f0.left().along(b), f1.left().along(b)
	pair := func(x, y int) [3]int { return [3]int{min(x, y), max(x, y), 0} }
	l := pair(f.down(min(w0, w1)), f.down(min(d0, d1)))
	c.begin()
	if !c.has(l) {
		box := pair(f.up(w0), f.up(d0))
		if !covers(box, l) {
			m := between(f0, f1)
			f.turnedArc(c, f0, m, a, b)
			f.turnedArc(c, m, f1, a, b)
			return
		}
		c.put(box)
		c.has(l)
	}
	c.end()
}

// up is a length in steps, rounded up, after the slop that its extent may err by.
func (f *Frontier) up(x float64) int { return int(math.Ceil((x - slop(0)) / f.Step)) }

// down is a length in steps, rounded down; no extent is below 0.
func (f *Frontier) down(x float64) int { return int(math.Floor(max(x-slop(0), 0) / f.Step)) }

// frontierSearch is the search for one list of boxes.
type frontierSearch struct {
	tipping
	frontier *Frontier
	cover    *cover
}

func (s *frontierSearch) run(ctx context.Context) (ok bool, err error) {
	s.seed()
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
			if s.work > frontierWork {
				return false, nil
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
		return [3]int{s.frontier.up(2 * k.r), s.frontier.up(e.Z), 0}
	}
	return sorted(s.frontier.up(e.X), s.frontier.up(e.Y), s.frontier.up(e.Z))
}

// done reports whether every orientation with its upward direction in the cell is
// covered, after adding boxes that the cell's centre gives. The bounds are those
// of posture.ceiling, where they are derived.
func (s *frontierSearch) done(c cell) bool {
	s.stand(c.centre())
	sinDelta, low := 0.0, math.Inf(1)
	for _, v := range c.corners() {
		sinDelta = max(sinDelta, v.Cross(s.up).Norm())
		low = min(low, s.tall.Dot(v))
	}
	sinDelta = min(sinDelta, 1)
	bend := float64(sinDelta*sinDelta) / (1 + math.Sqrt(1-float64(sinDelta*sinDelta)))
	low = max(low, 0)
	s.cover.begin()
	s.work += 4 * len(s.corners())
	if s.part.round {
		k := leastCircle(s.feet)
		lowest, highest := math.Inf(1), math.Inf(-1)
		for _, p := range s.feet {
			if k.distance(p) >= k.r*(1-1e3*nearly) {
				lowest, highest = min(lowest, p.Z), max(highest, p.Z)
			}
		}
		d := 2*(k.r-float64(k.r*bend)) - float64((highest-lowest)*sinDelta)
		l := [3]int{s.frontier.down(d), s.frontier.down(low), 0}
		if !s.settle(l, [3]int{s.frontier.up(2 * k.r), s.frontier.up(s.height()), 0}, dir{1, 0}) {
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
		lossA := float64(dir{a.X, a.Y}.norm()*bend) + float64(math.Abs(a.Z)*sinDelta)
		lossB := float64(dir{b.X, b.Y}.norm()*bend) + float64(math.Abs(b.Z)*sinDelta)
		all = s.arc(f0, f1, a, b, lossA, lossB, low)
	})
	if all {
		s.cover.end()
	}
	return all
}

// arc is done for the turns from f0 to f1, on which the extents are those of the
// chords a and b and so concave: their least is at an end.
func (s *frontierSearch) arc(f0, f1 dir, a, b mesh.Vec, lossA, lossB, low float64) bool {
	s.work += 8
	w0, w1 := f0.along(a), f1.along(a)
	d0, d1 := f0.left().along(b), f1.left().along(b)
	l := sorted(s.frontier.down(min(w0, w1)-lossA), s.frontier.down(min(d0, d1)-lossB), s.frontier.down(low))
	if s.cover.has(l) {
		return true
	}
	f := between(f0, f1)
	w, d := f.along(a), f.left().along(b)
	if s.settle(l, sorted(s.frontier.up(w), s.frontier.up(d), s.frontier.up(s.height())), f) {
		return true
	}
	if max(w-min(w0, w1), d-min(d0, d1)) < s.frontier.Step {
		return false // the cell is too large, not the arc
	}
	return s.arc(f0, f, a, b, lossA, lossB, low) && s.arc(f, f1, a, b, lossA, lossB, low)
}

// settle covers l with the box of the present posture turned by f, if that will
// do: the box as the chosen points have it is seen first, then all points.
func (s *frontierSearch) settle(l, box [3]int, f dir) bool {
	if s.cover.has(l) {
		return true
	}
	if !covers(box, l) {
		return false
	}
	rot := s.rotation(f)
	box = s.box(rot)
	if !covers(box, l) {
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

// covers reports whether box is at most l with the tolerance added.
func covers(box, l [3]int) bool {
	return box[0] <= l[0]+steps && box[1] <= l[1]+steps && box[2] <= l[2]+steps
}
