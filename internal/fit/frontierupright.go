package fit

import (
	"context"

	"cardback/internal/mesh"
)

// uprightSearch looks through all directions of a part that may point up for the
// least upright cylinders. Frontier tells what for.
type uprightSearch struct {
	*tipping // of a round plate
	within   float64
	more     float64 // mm, added to each extent before it is rounded up
	steps    *staircase
}

func (s *uprightSearch) run(ctx context.Context, most int) (ok bool, err error) {
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
			if s.spent() > most {
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

// spent is the work so far, in points looked at.
func (s *uprightSearch) spent() int {
	if s.compass != nil {
		return s.work + s.compass.work
	}
	return s.work
}

// seed puts in the cylinders of the axes of the file and of a few hundred
// directions, so that cells of poor ones are done with while they are large.
func (s *uprightSearch) seed() {
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
		s.steps.put(s.cylinder(s.rotation(dir{1, 0})))
	}
}

// cylinder is that of the part in the orientation, over all points.
func (s *uprightSearch) cylinder(rot [9]float64) [3]int {
	turned, _ := s.afoot(rot)
	height := 0.0
	if c := s.compass; c == nil {
		height = extents(turned).Z
	} else {
		up := mesh.Vec{X: rot[6], Y: rot[7], Z: rot[8]}
		top := c.points[c.farthest(up, c.toward(up, 0))]
		height = top.Sub(c.points[c.farthest(up.Scale(-1), c.toward(up.Scale(-1), 0))]).Dot(up)
	}
	s.work += 4 * len(turned)
	return s.box(2*leastCircle(footprint(nil, turned)).r, height)
}

func (s *uprightSearch) box(diameter, height float64) [3]int {
	return [3]int{0, s.steps.up(diameter + s.more), s.steps.up(height + s.more)}
}

// done reports whether every orientation with its upward direction in the cell is
// covered, after adding the cylinder of the cell's centre where that helps. The
// bounds are those of posture.fallIn, where they are derived.
func (s *uprightSearch) done(c cell) bool {
	s.stand(c.centre())
	fall := s.fallIn(c)
	s.work += 4 * len(s.corners())
	room := [3]int{0, s.steps.room(s.leastDiameter(fall), s.within, s.part.slop), s.steps.room(fall.low, s.within, s.part.slop)}
	if s.steps.has(room) {
		return true
	}
	if !atMost(s.box(2*leastCircle(s.feet).r, s.height()), room) {
		return false
	}
	rot := s.rotation(dir{1, 0})
	box := s.cylinder(rot)
	s.steps.put(box)
	if atMost(box, room) {
		return true
	}
	s.stickOut(rot) // the quarters of this cell will see these points
	return false
}
