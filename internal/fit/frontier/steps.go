package frontier

import (
	"math"

	"cardback/internal/fit/posture"
)

// staircase says of each room on a lattice whether one of the boxes put into it
// goes in. Rooms and boxes are whole multiples of its pitch, with their sides in
// ascending order. Of what has two sides only, the first is 0 and one row is
// enough.
type staircase struct {
	pitch      float64 // mm
	rows, size int
	// least has, for each i < rows and j from i to size − 1, the least third side
	// among the boxes whose first two are at most i and j; see at. It falls along
	// both, and is none where there is no such box.
	least []int16
}

// none stands for no third side; a side is at most mostSteps and some.
const none = math.MaxInt16

// newStaircase makes room for sides up to most mm, the first of them below rows.
func newStaircase(pitch, most float64, rows int) *staircase {
	size := int(most/pitch) + 2
	s := &staircase{pitch: pitch, rows: min(rows, size), size: size}
	s.least = make([]int16, s.at(s.rows-1, s.size-1)+1)
	for i := range s.least {
		s.least[i] = none
	}
	return s
}

// at is the place of i and j, i ≤ j, in the table: row i has size − i places.
func (s *staircase) at(i, j int) int { return i*s.size - i*(i-1)/2 + j - i }

// has reports whether some box is at most room.
func (s *staircase) has(room [3]int) bool {
	return int(s.least[s.at(min(room[0], s.rows-1), min(room[1], s.size-1))]) <= room[2]
}

// put puts in a box, and returns how many places of the table it changed.
func (s *staircase) put(b [3]int) (changed int) {
	for i := b[0]; i < s.rows; i++ {
		j := max(b[1], i)
		if j >= s.size {
			break
		}
		row := s.least[s.at(i, j) : s.at(i, s.size-1)+1]
		if int(row[0]) <= b[2] {
			break // and so it is in all further rows
		}
		k := 0
		for ; k < len(row) && int(row[k]) > b[2]; k++ {
			row[k] = int16(b[2])
		}
		changed += k
	}
	return changed
}

// corners are the boxes that have no other at or below them, in ascending order.
func (s *staircase) corners() [][3]int {
	var out [][3]int
	for i := range s.rows {
		before := int16(none)
		for j := i; j < s.size; j++ {
			k := s.least[s.at(i, j)]
			// With the first two sides at most k, more of the second is no more room.
			if k < before && (i == 0 || k < s.least[s.at(i-1, j)]) {
				out = append(out, [3]int{i, j, int(k)})
			}
			before = k
		}
	}
	return out
}

// room is what a plate has at least that leaves within, in mm, on an extent known
// to be at least l: rounded down to the pitch, as plates are.
func (s *staircase) room(l, within, slop float64) int {
	return int((max(l-slop, 0) + within) / s.pitch)
}

// up is the extent rounded up to the pitch.
func (s *staircase) up(extent float64) int {
	return int(math.Ceil(max(extent-hair*posture.Slop(0), 0) / s.pitch))
}

// atMost reports whether the box goes into the room.
func atMost(box, room [3]int) bool {
	return box[0] <= room[0] && box[1] <= room[1] && box[2] <= room[2]
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
