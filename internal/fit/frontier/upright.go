package frontier

import (
	"context"

	"cardback/internal/fit/footprint"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
)

// uprightSearch looks through all directions of a part that may point up for the
// least upright cylinders. Frontier tells what for.
type uprightSearch struct {
	*posture.Tipping // of a round plate
	within           float64
	more             float64 // mm, added to each extent before it is rounded up
	steps            *staircase
}

func (s *uprightSearch) run(ctx context.Context, most int) (ok bool, err error) {
	s.seed()
	whole := posture.WholeSphere()
	cells := whole[:]
	for level := 0; len(cells) > 0; level++ {
		if level > 40 {
			return false, nil
		}
		var next []posture.Cell
		for i, c := range cells {
			if i%64 == 63 && ctx.Err() != nil {
				return false, ctx.Err()
			}
			if s.spent() > most {
				return false, nil
			}
			if !s.done(c) {
				q := c.Quarters()
				next = append(next, q[:]...)
			}
		}
		cells = next
	}
	return true, ctx.Err()
}

// spent is the work so far, in points looked at.
func (s *uprightSearch) spent() int {
	if s.Compass != nil {
		return s.Work + s.Compass.Work
	}
	return s.Work
}

// seed puts in the cylinders of the axes of the file and of a few hundred
// directions, so that cells of poor ones are done with while they are large.
func (s *uprightSearch) seed() {
	ups := []mesh.Vec{{Z: 1}, {X: 1}, {Y: 1}}
	cells := posture.WholeSphere()
	level := cells[:]
	for range 3 {
		var next []posture.Cell
		for _, c := range level {
			q := c.Quarters()
			next = append(next, q[:]...)
		}
		level = next
	}
	for _, c := range level {
		ups = append(ups, c.Centre())
	}
	for _, up := range ups {
		s.Stand(up)
		s.steps.put(s.cylinder(s.Rotation(footprint.Dir{X: 1, Y: 0})))
	}
}

// cylinder is that of the part in the orientation, over all points.
func (s *uprightSearch) cylinder(rot [9]float64) [3]int {
	turned, _ := s.Afoot(rot)
	height := 0.0
	if c := s.Compass; c == nil {
		height = footprint.Extents(turned).Z
	} else {
		up := mesh.Vec{X: rot[6], Y: rot[7], Z: rot[8]}
		top := c.Points[c.Farthest(up, c.Toward(up, 0))]
		height = top.Sub(c.Points[c.Farthest(up.Scale(-1), c.Toward(up.Scale(-1), 0))]).Dot(up)
	}
	s.Work += 4 * len(turned)
	return s.box(2*footprint.LeastCircle(footprint.Corners(nil, turned)).R, height)
}

func (s *uprightSearch) box(diameter, height float64) [3]int {
	return [3]int{0, s.steps.up(diameter + s.more), s.steps.up(height + s.more)}
}

// done reports whether every orientation with its upward direction in the cell is
// covered, after adding the cylinder of the cell's centre where that helps. The
// bounds are those of posture.fallIn, where they are derived.
func (s *uprightSearch) done(c posture.Cell) bool {
	s.Stand(c.Centre())
	fall := s.FallIn(c)
	s.Work += 4 * len(s.Corners())
	room := [3]int{0, s.steps.room(s.LeastDiameter(fall), s.within, s.Part.Slop), s.steps.room(fall.Low, s.within, s.Part.Slop)}
	if s.steps.has(room) {
		return true
	}
	if !atMost(s.box(2*footprint.LeastCircle(s.Feet).R, s.Height()), room) {
		return false
	}
	rot := s.Rotation(footprint.Dir{X: 1, Y: 0})
	box := s.cylinder(rot)
	s.steps.put(box)
	if atMost(box, room) {
		return true
	}
	s.StickOut(rot) // the quarters of this cell will see these points
	return false
}
