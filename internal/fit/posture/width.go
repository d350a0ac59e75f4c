package posture

import (
	"maps"
	"math"
)

// WidthBudget bounds, in points looked at, the proof that a part is nowhere
// narrow: it takes less than 0.1 s.
const WidthBudget = 24_000_000

// Wider reports whether the part is proved to be wider than limit in every
// direction. It gives up, cheaply, on the first direction in which it is not,
// and past its budget.
//
// The least width of a part bounds each of its extents in every orientation,
// and the diameter of its footprint, which no turn and no choice of the upward
// direction changes. A part that is nearly a ball would otherwise have to be
// excluded by its footprints, whose bounds fall at once with the angle where the
// corners that decide do not lie level, as those of a mesh seldom do, and each
// of which has to be found; the bound of its width falls with the square.
//
// In a cell, the fixed chord that is the longest along some direction is at
// least as long along every direction v of the cell as along the worst of its
// corners (see fallIn).
func (s *Tipping) Wider(limit float64, budget int) bool {
	// The search that follows starts afresh, with few points and all its budget.
	chosen, points, worked := maps.Clone(s.Chosen), len(s.Posture.Points), s.Work
	defer func() { s.Chosen, s.Posture.Points, s.Work = chosen, s.Posture.Points[:points], worked }()
	whole := WholeSphere()
	cells := whole[:]
	for len(cells) > 0 {
		if s.Work-worked > budget {
			return false
		}
		c := cells[len(cells)-1]
		cells = cells[:len(cells)-1]
		up := c.Centre()
		s.Stand(up)
		if s.FallIn(c).Low > limit {
			continue
		}
		s.Work += 4 * len(s.Part.Points)
		if s.addExtremes(up) {
			s.Stand(up)
		}
		if s.Height() <= limit {
			return false
		}
		if s.FallIn(c).Low > limit {
			continue
		}
		if c.Half < math.Pi/4/(1<<20) {
			return false
		}
		q := c.Quarters()
		cells = append(cells, q[:]...)
	}
	return true
}
