package bore

// A search has a budget of work, counted and never timed, so that an answer is the
// same on every machine. What is counted is triangles looked at while walls are grown,
// and what is compared with what. The parts of figures take up to 120 triangles a
// triangle of theirs where they are small, and 4 where they have a million; the floor
// is over 8 times the most that any shared or demo mesh takes (1.3 million).
const (
	workFloor       = 12_000_000
	workPerTriangle = 40

	// pairWork is for comparing parts of walls with each other, for the triangles near
	// the holes, and for comparing holes with each other: some 10,000, all in one place;
	// apart from each other there may be many more.
	pairWork = 50_000_000

	// lineWork is for the triangles on the lines that are laid through the solid. A wall
	// that lies open takes three; figures have tens of walls and of triangles on a line.
	lineWork = 20_000_000
)

// workFor is how many triangles may be looked at in a mesh of n, in each of lanes.
func workFor(n, lanes int) int { return (workFloor + workPerTriangle*n) / lanes }

// spend takes work from the budget, and says whether there was enough.
func (f *finder) spend(work int) bool {
	if f.left >= 0 {
		f.left -= work
	}
	return f.left >= 0
}

// spent says that the budget was overrun: not all was looked for.
func (f *finder) spent() bool { return f.left < 0 }
