package layout

import (
	"context"
	"math"
	"math/bits"

	"cardback/internal/measure/shadow"
)

// rule says which of the free places of a piece is taken, over all its turns:
// the one where the far corner of its box has the least across·X + up·Y, or,
// with outward, the one where the middle of its box is farthest from the middle
// of the plate.
type rule struct {
	across, up float64
	outward    bool
	over       bool // the plate's width and depth change places
}

// rules are those tried. The first of the weights fills the plate in layers; the
// others fill it from a corner.
var rules = []rule{
	{across: 1e-3, up: 1},
	{across: 1e-3, up: 1, over: true},
	{across: 0.3, up: 1},
	{across: 0.3, up: 1, over: true},
	{across: 1, up: 1},
	{outward: true},
	{across: 0.7, up: 1, over: true},
	{outward: true, over: true},
}

// turnedOver is the plate with width and depth changed.
func (t *table) turnedOver() *table {
	o := *t
	o.usable = shadow.Point{X: t.usable.Y, Y: t.usable.X}
	o.plate = shadow.Point{X: t.plate.Y, Y: t.plate.X}
	return &o
}

// packing lays pieces one after another.
type packing struct {
	table  *table
	shapes []*shape
	rule   rule
	work   int // words looked at
	limit  int // of work, past which pack gives up; 0 for none
	room   []uint64
}

// pack lays the pieces, given by their shapes' numbers, in their order, each on
// the first plate that has room. It stops where more than most plates would be
// needed, or the context ends; it is false then.
func (p *packing) pack(ctx context.Context, order []int, most int) ([]*sheet, bool) {
	t := p.table
	if p.rule.over {
		t = t.turnedOver()
	}
	var sheets []*sheet
	p.room = make([]uint64, int(t.usable.X/t.pitch)/64+2)
next:
	for _, i := range order {
		if ctx.Err() != nil || p.limit > 0 && p.work > p.limit {
			return nil, false
		}
		for _, s := range sheets {
			if p.lay(s, i) {
				continue next
			}
		}
		if len(sheets) >= most {
			return nil, false
		}
		s := newSheet(t, len(p.shapes))
		p.work += s.rows * s.words * len(s.taken)
		sheets = append(sheets, s)
		if !p.lay(s, i) {
			p.layAlone(s, i)
		}
	}
	for _, s := range sheets {
		p.finish(s)
	}
	return sheets, true
}

// finish lets go of what a sheet needs while pieces are laid on it, and turns it back.
func (p *packing) finish(s *sheet) {
	s.taken, s.gone = nil, nil
	if p.rule.over {
		for k, l := range s.laid {
			// A quarter turn, counter-clockwise, of the whole plate.
			s.laid[k] = laid{l.shape, within360(l.deg + 90), p.table.plate.X - l.y, l.x}
		}
	}
}

// fill lays pieces in their order on one plate until one has no room.
func (p *packing) fill(ctx context.Context, order []int) *sheet {
	t := p.table
	if p.rule.over {
		t = t.turnedOver()
	}
	p.room = make([]uint64, int(t.usable.X/t.pitch)/64+2)
	s := newSheet(t, len(p.shapes))
	p.work += s.rows * s.words * len(s.taken)
	for k, i := range order {
		if ctx.Err() != nil {
			break
		}
		if !p.lay(s, i) {
			if k == 0 {
				p.layAlone(s, i)
			}
			break
		}
	}
	p.finish(s)
	return s
}

// lay lays the piece on the sheet by the rule, if there is room.
func (p *packing) lay(s *sheet, i int) bool {
	sh := p.shapes[i]
	best := math.Inf(1)
	turn, column, row := -1, 0, 0
	for k := range sh.turns {
		if s.gone[i]>>k&1 == 1 {
			continue
		}
		u := &sh.turns[k]
		if u.size.X > s.t.usable.X+fitSlop || u.size.Y > s.t.usable.Y+fitSlop {
			s.gone[i] |= 1 << k
			continue
		}
		value, x, y, found, whole := p.find(s, u, best)
		if found {
			best, turn, column, row = value, k, x, y
		} else if whole {
			s.gone[i] |= 1 << k
		}
	}
	if turn < 0 {
		return false
	}
	u := &sh.turns[turn]
	s.take(u.guard, column, row)
	p.work += len(u.guard) * len(s.taken) * s.words / 4
	at := s.at(column, row)
	s.laid = append(s.laid, laid{i, u.deg, s.t.margin + at.X - u.low.X, s.t.margin + at.Y - u.low.Y})
	s.fill += sh.area
	return true
}

// find looks for the best place of a piece at one turn that is better than best.
// Whole says that all rows were looked at in vain: there is no room at all.
func (p *packing) find(s *sheet, u *turned, best float64) (value float64, x, y int, found, whole bool) {
	lastX, lastY := s.room(u)
	whole = true
	for i := range lastY + 1 {
		row := i
		if p.rule.outward { // from both ends towards the middle
			if row = i / 2; i%2 == 1 {
				row = lastY - i/2
			}
		}
		if p.value(s, u, 0, row) >= best && (!p.rule.outward || p.value(s, u, lastX, row) >= best) {
			whole = false
			// Rows farther up, or farther in, are worse still.
			break
		}
		free, ok := s.free(p.room, u, row, lastX, &p.work)
		if !ok {
			continue
		}
		whole = false
		for j, w := range free {
			if w != 0 {
				c := j<<6 + bits.TrailingZeros64(w)
				if v := p.value(s, u, c, row); v < best {
					best, x, y, found = v, c, row, true
				}
				break
			}
		}
		if !p.rule.outward {
			continue
		}
		for j := len(free) - 1; j >= 0; j-- {
			if w := free[j]; w != 0 {
				c := j<<6 + 63 - bits.LeadingZeros64(w)
				if v := p.value(s, u, c, row); v < best {
					best, x, y, found = v, c, row, true
				}
				break
			}
		}
	}
	return best, x, y, found, whole && !found
}

// value is what the rule makes of a place; the least is best.
func (p *packing) value(s *sheet, u *turned, x, y int) float64 {
	at := s.at(x, y)
	if p.rule.outward {
		dx := at.X + u.size.X/2 - s.t.usable.X/2
		dy := at.Y + u.size.Y/2 - s.t.usable.Y/2
		return -float64(dx*dx) - float64(dy*dy)
	}
	return float64(p.rule.across*(at.X+u.size.X)) + float64(p.rule.up*(at.Y+u.size.Y))
}

// layAlone lays a piece that has an empty plate for itself and no place on the
// grid: on a round plate, where the cells near the edge are lost, or where it
// fits to within rounding. What lies elsewhere on the plate must not come near.
func (p *packing) layAlone(s *sheet, i int) {
	sh := p.shapes[i]
	l := sh.alone
	if p.rule.over { // undone in the end
		l = laid{i, within360(l.deg + 270), l.y, p.table.plate.X - l.x}
	}
	l.shape = i
	edges := make([]edge, len(sh.edges))
	for k, e := range sh.edges {
		a, b := turn(e.a, l.deg), turn(e.b, l.deg)
		edges[k] = edge{
			shadow.Point{X: a.X + l.x - s.t.margin, Y: a.Y + l.y - s.t.margin},
			shadow.Point{X: b.X + l.x - s.t.margin, Y: b.Y + l.y - s.t.margin}, e.dev,
		}
	}
	s.take(cover(edges, s.t.space, s.t.pitch, nil), 0, 0)
	s.laid = append(s.laid, l)
	s.fill += sh.area
}
