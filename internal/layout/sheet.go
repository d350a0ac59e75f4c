package layout

import (
	"math"
	"math/bits"

	"cardback/internal/measure/shadow"
)

// sheet is one plate while pieces are laid on it: its cells, and which of them
// are taken by a piece and the spacing around it.
//
// A row of a piece, n cells from x0, may start at x if none of those cells is
// taken. So that all x of a row are tested 64 at a time, the sheet keeps for
// each power of two which cells begin a stretch of that length with something
// taken in it: two such stretches, overlapping, make n.
type sheet struct {
	t          *table
	cols, rows int
	words      int        // of a row, with two to spare for shifts
	taken      [][]uint64 // taken[k], row by row: bit x for cells x to x+2^k−1
	longest    []int      // by row: the longest stretch of free cells
	gone       []uint64   // by shape: bit i, no room any more at its turn i
	laid       []laid
	fill       float64 // area of the outlines, mm²
}

// laid is a shape on a plate; as Placed.
type laid struct {
	shape     int
	deg, x, y float64
}

// probe is a run of a piece's cells, ready for testing against a sheet.
type probe struct {
	run
	level int // of two stretches of 2^level cells that make the run
}

// probes puts the runs into an order in which a place that is taken is found
// out soon: rows from far apart first.
func probes(runs []run) []probe {
	if len(runs) == 0 {
		return nil
	}
	least, most := runs[0].y, runs[len(runs)-1].y
	byRow := make([][]run, most-least+1)
	for _, r := range runs {
		byRow[r.y-least] = append(byRow[r.y-least], r)
	}
	width := bits.Len(uint(len(byRow) - 1))
	out := make([]probe, 0, len(runs))
	for i := range 1 << width {
		// The row's number with its bits reversed.
		if y := int(bits.Reverse64(uint64(i)) >> (64 - width) & (1<<width - 1)); y < len(byRow) {
			for _, r := range byRow[y] {
				out = append(out, probe{r, bits.Len(uint(r.x1-r.x0)) - 1})
			}
		}
	}
	// The longest run first of all: it is the hardest to place.
	longest := 0
	for i, p := range out {
		if p.x1-p.x0 > out[longest].x1-out[longest].x0 {
			longest = i
		}
	}
	first := out[longest]
	copy(out[1:longest+1], out[:longest])
	out[0] = first
	return out
}

func newSheet(t *table, shapes int) *sheet {
	s := &sheet{t: t, gone: make([]uint64, shapes)}
	_, s.cols = cells(0, t.usable.X, t.pitch)
	_, s.rows = cells(0, t.usable.Y, t.pitch)
	s.cols, s.rows = max(s.cols, 1), max(s.rows, 1)
	s.words = s.cols/64 + 3
	s.longest = make([]int, s.rows)
	for y := range s.longest {
		s.longest[y] = s.cols
	}
	s.taken = make([][]uint64, bits.Len(uint(s.cols)))
	for k := range s.taken {
		s.taken[k] = make([]uint64, s.words*s.rows)
	}
	if t.round {
		s.keepRound()
	}
	return s
}

// keepRound takes the cells that do not lie in the usable circle as a whole.
func (s *sheet) keepRound() {
	r := s.t.usable.X / 2
	for y := range s.rows {
		low, high := float64(y)*s.t.pitch-r, float64(y+1)*s.t.pitch-r
		h := max(math.Abs(low), math.Abs(high))
		x0, x1 := s.cols, s.cols
		if h < r {
			half := math.Sqrt(float64(r*r) - float64(h*h))
			x0 = max(0, int(math.Ceil((r-half)/s.t.pitch-cellSlack)))
			x1 = max(x0, int(math.Floor((r+half)/s.t.pitch+cellSlack)))
		}
		row := s.taken[0][y*s.words : (y+1)*s.words]
		set(row, 0, min(x0, s.cols))
		set(row, min(x1, s.cols), s.cols)
		s.widen(y)
	}
}

// widen works out a row's stretches from its cells.
func (s *sheet) widen(y int) {
	row := s.taken[0][y*s.words : (y+1)*s.words]
	most := 0
	for x := next(row, 0, false); x < s.cols; {
		end := min(next(row, x, true), s.cols)
		most = max(most, end-x)
		x = next(row, end, false)
	}
	s.longest[y] = most
	for k := 1; k < len(s.taken); k++ {
		from := s.taken[k-1][y*s.words : (y+1)*s.words]
		to := s.taken[k][y*s.words : (y+1)*s.words]
		copy(to, from)
		by := 1 << (k - 1)
		w, b := by>>6, by&63
		for i := 0; i+w < len(to); i++ {
			v := from[i+w] >> b
			if i+w+1 < len(from) {
				v |= from[i+w+1] << (64 - b) // by 64 gives 0 in Go
			}
			to[i] |= v
		}
	}
}

// take takes the cells of the runs, moved by x and y.
func (s *sheet) take(runs []run, x, y int) {
	last := -1
	for _, r := range runs {
		row := r.y + y
		if row < 0 || row >= s.rows {
			continue
		}
		if last >= 0 && row != last {
			s.widen(last)
		}
		last = row
		set(s.taken[0][row*s.words:(row+1)*s.words], max(0, r.x0+x), min(s.cols, r.x1+x))
	}
	if last >= 0 {
		s.widen(last)
	}
}

// room is the greatest column and row in which the corner of a piece's box may
// be, so that the box ends within the usable rectangle.
func (s *sheet) room(u *turned) (x, y int) {
	steps := func(size, room float64) int {
		return max(0, int(math.Floor((room-size)/s.t.pitch+cellSlack)))
	}
	return steps(u.size.X, s.t.usable.X), steps(u.size.Y, s.t.usable.Y)
}

// quick is how many of a piece's rows are held against the longest free stretch
// first, which is a look at one number each.
const quick = 16

// free finds the columns from 0 to last where the piece may lie with its corner
// in row y: a bit for each, in the room of dst. It is false where there is none.
func (s *sheet) free(dst []uint64, u *turned, y, last int, work *int) ([]uint64, bool) {
	*work += 2
	for i := range u.body[:min(len(u.body), quick)] {
		if p := &u.body[i]; p.y+y < s.rows && p.x1-p.x0 > s.longest[p.y+y] {
			return nil, false
		}
	}
	n := last>>6 + 1
	dst = dst[:n]
	for i := range dst {
		dst[i] = ^uint64(0)
	}
	dst[n-1] = ^uint64(0) >> (63 - last&63)
	for i := range u.body {
		p := &u.body[i]
		if p.y+y >= s.rows {
			continue // within rounding of the plate's edge
		}
		row := s.taken[p.level][(p.y+y)*s.words : (p.y+y+1)*s.words]
		left := knock(dst, row, p.x0)
		*work += n
		if second := p.x1 - 1<<p.level; second > p.x0 {
			left = knock(dst, row, second)
			*work += n
		}
		if left == 0 {
			return dst, false
		}
	}
	return dst, true
}

// knock clears the bits of dst that are set in row moved down by x, and returns
// what is left, or-ed. The spare word of the row is what the last shift reads.
func knock(dst, row []uint64, x int) uint64 {
	b := uint(x & 63)
	row = row[x>>6:]
	row = row[:len(dst)+1]
	left := uint64(0)
	if b == 0 {
		for i, d := range dst {
			d &^= row[i]
			dst[i] = d
			left |= d
		}
		return left
	}
	c := 64 - b
	this := row[0]
	for i, d := range dst {
		after := row[i+1]
		d &^= this>>(b&63) | after<<(c&63)
		this = after
		dst[i] = d
		left |= d
	}
	return left
}

// at is the place of the corner of cell x, y.
func (s *sheet) at(x, y int) shadow.Point {
	return shadow.Point{X: float64(x) * s.t.pitch, Y: float64(y) * s.t.pitch}
}
