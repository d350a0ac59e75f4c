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
			if s.work > most {
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
	s.work += 4 * len(s.part.points)
	turned := make([]mesh.Vec, len(s.part.points))
	for i, v := range s.part.points {
		turned[i] = Apply(rot, v)
	}
	return s.box(2*leastCircle(footprint(nil, turned)).r, extents(turned).Z)
}

func (s *uprightSearch) box(diameter, height float64) [3]int {
	return [3]int{0, s.steps.up(diameter + Tolerance), s.steps.up(height + Tolerance)}
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
