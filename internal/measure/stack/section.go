package stack

import (
	"cmp"
	"math"
	"slices"

	"cardback/internal/measure/inside"
	"cardback/internal/mesh"
)

// section is a layer's solid along its rows. Row j meets the solid's border at
// ends[rows[j]:rows[j+1]], ascending, in turn into the solid and out of it, so
// that the row falls into stretches: empty before the first end, solid after it,
// and so on. A stretch bears the number of the end at which it ends; the first
// and the last of a row, which are outside, bear the number 0.
type section struct {
	rows   []int32
	ends   []float64
	lo, hi int // rows before lo and from hi on are empty
}

// crossing is where a row meets a triangle: sign 1 on the way into the solid.
type crossing struct {
	x    float64
	row  int32
	sign int32
}

// sampler makes sections. Its buffers are used again for each layer.
type sampler struct {
	grid         *grid
	active       []int32 // triangles that may reach the layer
	found, byRow []crossing
	count        []int32
	narrow       float64
	lo, hi       int // rows with crossings lie in [lo, hi)
}

func newSampler(g *grid) *sampler {
	return &sampler{grid: g, count: make([]int32, len(g.ys)+1), narrow: max(1e-3*g.pitch, inside.GapIn(g.bounds))}
}

// at fills in the section at layer k. The layers must be asked for in their order,
// from the one at which active was set.
func (s *sampler) at(k int, out *section) {
	g := s.grid
	s.active = append(s.active, g.order[g.starts[k]:g.starts[k+1]]...)
	s.found = s.found[:0]
	kept := s.active[:0]
	for _, t := range s.active {
		if int(g.greatest[t]) < k {
			continue
		}
		kept = append(kept, t)
		s.cut(int(t), g.zs[k])
	}
	s.active = kept
	s.sort()
	out.rows, out.ends = out.rows[:0], out.ends[:0]
	out.lo, out.hi = s.lo, s.hi
	for range s.lo + 1 {
		out.rows = append(out.rows, 0)
	}
	for j := s.lo; j < s.hi; j++ {
		from := len(out.ends)
		if !s.row(s.byRow[s.count[j]:s.count[j+1]], out) {
			// The surface is open here; the row before stands in.
			out.ends = out.ends[:from]
			if j > 0 {
				out.ends = append(out.ends, out.ends[out.rows[j-1]:out.rows[j]]...)
			}
		}
		out.rows = append(out.rows, int32(len(out.ends)))
	}
	for len(out.rows) <= len(g.ys) {
		out.rows = append(out.rows, int32(len(out.ends)))
	}
}

// seam is where a triangle meets a layer: from p to q, p at the lesser y. Its sign
// is 1 where rows enter the solid.
type seam struct {
	p, q  mesh.Vec
	sign  int32
	slope float64
}

// cut returns triangle t's seam at height z, if it has one that rows can cross. Its
// ends are worked out from the edges alone, from the lower end to the upper, so
// triangles that share an edge agree to the last bit, a closed surface has closed
// sections, and each row leaves as often as it enters.
func (g *grid) cut(t int, z float64) (seam, bool) {
	a, b, c := g.mesh.Corners(t)
	var rise, fall mesh.Vec // where the triangle's outline goes up and down through z
	ua, ub, uc := a.Z > z, b.Z > z, c.Z > z
	switch {
	case !ua && ub && uc:
		rise, fall = between(a, b, z), between(a, c, z)
	case ua && !ub && !uc:
		rise, fall = between(c, a, z), between(b, a, z)
	case ua && !ub && uc:
		rise, fall = between(b, c, z), between(b, a, z)
	case !ua && ub && !uc:
		rise, fall = between(a, b, z), between(c, b, z)
	case ua && ub && !uc:
		rise, fall = between(c, a, z), between(c, b, z)
	case !ua && !ub && uc:
		rise, fall = between(b, c, z), between(a, c, z)
	default:
		return seam{}, false
	}
	// Seen from outside along +x, a front face has its rising edge at lesser y.
	s := seam{p: rise, q: fall, sign: 1}
	if rise.Y > fall.Y {
		s = seam{p: fall, q: rise, sign: -1}
	}
	s.slope = (s.q.X - s.p.X) / (s.q.Y - s.p.Y)
	return s, s.p.Y < s.q.Y
}

// at is the seam's x at y, which lies in [p.Y, q.Y).
func (s *seam) at(y float64) float64 {
	return min(max(s.p.X+float64((y-s.p.Y)*s.slope), min(s.p.X, s.q.X)), max(s.p.X, s.q.X))
}

// cut adds the crossings of triangle t with the rows at height z.
func (s *sampler) cut(t int, z float64) {
	g := s.grid
	sm, ok := g.cut(t, z)
	if !ok {
		return
	}
	for j := firstAbove(g.ys, g.pitch, sm.p.Y, false); j < len(g.ys) && g.ys[j] < sm.q.Y; j++ {
		s.found = append(s.found, crossing{sm.at(g.ys[j]), int32(j), sm.sign})
	}
}

// between is where the edge from a corner below z to one above meets it.
func between(below, above mesh.Vec, z float64) mesh.Vec {
	t := (z - below.Z) / (above.Z - below.Z)
	return mesh.Vec{
		X: below.X + float64(t*(above.X-below.X)),
		Y: below.Y + float64(t*(above.Y-below.Y)),
		Z: z,
	}
}

// sort puts the crossings in the order of rows, then of x: row j's end up at
// byRow[count[j]:count[j+1]].
func (s *sampler) sort() {
	clear(s.count)
	s.lo, s.hi = len(s.count)-1, 0
	for _, c := range s.found {
		s.count[c.row]++
		s.lo, s.hi = min(s.lo, int(c.row)), max(s.hi, int(c.row)+1)
	}
	s.lo = min(s.lo, s.hi)
	sum := int32(0)
	for j, n := range s.count {
		s.count[j] = sum
		sum += n
	}
	s.byRow = slices.Grow(s.byRow[:0], len(s.found))[:len(s.found)]
	for _, c := range s.found {
		s.byRow[s.count[c.row]] = c
		s.count[c.row]++
	}
	copy(s.count[1:], s.count) // each had moved on to where the next begins
	s.count[0] = 0
	for j := s.lo; j < s.hi; j++ {
		row := s.byRow[s.count[j]:s.count[j+1]]
		if len(row) > 24 {
			slices.SortFunc(row, func(a, b crossing) int { return cmp.Compare(a.x, b.x) })
			continue
		}
		for i := 1; i < len(row); i++ {
			c, h := row[i], i
			for ; h > 0 && row[h-1].x > c.x; h-- {
				row[h] = row[h-1]
			}
			row[h] = c
		}
	}
}

// row adds the ends of one row's solid. Gaps that package inside closes, and those
// narrower than a thousandth of the pitch, are closed: bodies that touch have them. So
// the order of crossings at one x does not matter. It returns false if the row does
// not leave as often as it enters.
func (s *sampler) row(row []crossing, out *section) bool {
	from := len(out.ends)
	winding, enter := int32(0), math.Inf(-1)
	for _, c := range row {
		before := winding
		winding += c.sign
		switch {
		case before <= 0 && winding > 0:
			enter = c.x
			if n := len(out.ends); n > from && enter-out.ends[n-1] <= s.narrow {
				enter = out.ends[n-2]
				out.ends = out.ends[:n-2]
			}
		case before > 0 && winding <= 0 && c.x > enter:
			out.ends = append(out.ends, enter, c.x)
		}
	}
	return winding == 0
}
