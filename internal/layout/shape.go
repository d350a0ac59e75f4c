package layout

import (
	"context"
	"fmt"
	"math"
	"slices"

	"cardback/internal/fit"
	"cardback/internal/fit/footprint"
	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/words"
)

// stepDeg is the step of the turns about the vertical that are tried for every
// piece, besides its own.
const stepDeg = 15

// table is the plate as pieces see it: the usable rectangle, or the square
// around the usable circle, in cells.
type table struct {
	usable        shadow.Point // its size, within the margin
	plate         shadow.Point // the whole plate's size
	margin, space float64
	round         bool
	pitch         float64
}

// mostCells bounds the cells of a plate. Some 600 by 600 is a cell of half a
// millimetre on the largest printers' plates: a tenth of a usual spacing of
// 2 mm or so is lost between two pieces on average.
const mostCells = 200_000

// pitch is the side of a cell: a round number, so that sizes and spacings that
// are round numbers end on the sides of cells; or the largest that leaves a
// narrow plate eight cells wide.
func newTable(o Options) *table {
	p := o.Plate
	t := &table{
		plate:  shadow.Point{X: p.Width, Y: p.Depth},
		usable: shadow.Point{X: p.Width - 2*p.Margin, Y: p.Depth - 2*p.Margin},
		margin: p.Margin, round: p.Round,
	}
	// A spacing beyond the plate's diagonal keeps pieces on plates of their own,
	// however large it is.
	t.space = min(o.Spacing, 2*max(t.usable.X, t.usable.Y))
	least := math.Sqrt(t.usable.X * t.usable.Y / mostCells)
	least = max(least, max(t.usable.X, t.usable.Y)/4096)
	t.pitch = math.Pow(10, math.Ceil(math.Log10(least)))
	for _, part := range [...]float64{5, 2} {
		if p := t.pitch / part; p >= least*(1-cellSlack) {
			t.pitch = p
			break
		}
	}
	return t
}

// shape is a piece as it is laid.
type shape struct {
	edges []edge         // the outline's boundary, straightened
	hull  []shadow.Point // corners of the outline's convex hull
	area  float64        // of the outline
	grown float64        // at most the area of the outline grown by half the spacing
	disc  float64        // radius of a disc that lies inside the outline
	turns []turned
	alone laid         // where it lies with the plate to itself
	box   float64      // the turn at which its box has the least area
	least shadow.Point // the size of that box
}

// turned is a shape at a turn about the vertical.
type turned struct {
	deg   float64
	low   shadow.Point // the lower left corner of its box, at the turn
	size  shadow.Point // of its box
	body  []probe      // cells of the outline, counted from that corner
	guard []run        // cells of the outline grown by the spacing
}

// newShape prepares a piece, or tells why it cannot be laid.
func newShape(ctx context.Context, p Piece, o Options, t *table) (*shape, string) {
	var points []shadow.Point
	for _, r := range p.Outline {
		for _, q := range r {
			if !(max(math.Abs(q.X), math.Abs(q.Y)) <= farthest) {
				return nil, "The outline has a coordinate beyond 10 m, or none."
			}
		}
		points = append(points, r...)
	}
	s := &shape{area: p.Outline.Area(), hull: shadow.ConvexRing(points)}
	if !(s.area > 0) || len(s.hull) < 3 {
		return nil, "The outline has no area."
	}
	if !(p.Height <= o.Plate.Height+1e-9) {
		return nil, fmt.Sprintf("It is %s mm high; the plate takes %s mm.", words.Rounded(p.Height, 2), words.Rounded(o.Plate.Height, 2))
	}
	own, ok := s.ownTurn(o.Plate)
	if !ok {
		return nil, "At no turn about the vertical does it lie on the plate."
	}
	for _, r := range p.Outline {
		s.edges = append(s.edges, straighten(r, t.pitch/8)...)
	}
	least := math.Sqrt(s.area) + math.Sqrt(math.Pi)*o.Spacing/2
	s.grown = max(float64(least*least), s.area)
	if o.Spacing > 0 {
		s.grown = max(s.grown, grownArea(s.edges, s.hull, o.Spacing/2))
	}
	s.disc = inscribed(ctx, s.edges, s.hull)
	degs := []float64{own, own + 180}
	for k := range 360 / stepDeg {
		degs = append(degs, float64(k*stepDeg))
	}
	s.box = s.leastBox()
	_, s.least = box(s.hull, s.box)
	for k := range 4 {
		degs = append(degs, s.box+float64(90*k))
	}
	for i, deg := range degs {
		degs[i] = within360(deg)
	}
	for i, deg := range degs {
		if !slices.Contains(degs[:i], deg) && ctx.Err() == nil {
			s.addTurn(deg, t)
		}
	}
	s.alone = s.lieAlone(own, t)
	return s, ""
}

func within360(deg float64) float64 {
	deg = math.Mod(deg, 360)
	if deg < 0 {
		deg += 360
	}
	if deg >= 360 || deg == 0 { // and no minus zero
		return 0
	}
	return deg
}

// ownTurn is the turn at which the piece goes on the plate alone, by package
// fit's exact decision; it is false where there is none. Given a context that
// has ended, Fit decides what needs no search: as supplied and turned.
func (s *shape) ownTurn(p fit.Plate) (float64, bool) {
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	flat := make([]mesh.Vec, len(s.hull))
	for i, q := range s.hull {
		flat[i] = mesh.Vec{X: q.X, Y: q.Y}
	}
	switch r := fit.Fit(ended, flat, p); r.Verdict {
	case fit.AsSupplied:
		return 0, true
	case fit.Turned:
		return r.TurnDeg, true
	}
	return 0, false
}

// addTurn adds a turn at which the piece goes on the plate, unless it covers
// the same cells as one that is there already.
func (s *shape) addTurn(deg float64, t *table) {
	u := turned{deg: deg}
	u.low, u.size = box(s.hull, deg)
	if u.size.X > t.usable.X+fitSlop || u.size.Y > t.usable.Y+fitSlop {
		return
	}
	edges := make([]edge, len(s.edges))
	by := turnBy(deg)
	for i, e := range s.edges {
		a, b := by(e.a), by(e.b)
		edges[i] = edge{shadow.Point{X: a.X - u.low.X, Y: a.Y - u.low.Y}, shadow.Point{X: b.X - u.low.X, Y: b.Y - u.low.Y}, e.dev}
	}
	body := cover(edges, 0, t.pitch, &u.size)
	u.guard = cover(edges, t.space, t.pitch, nil)
	u.body = probes(body)
	for _, v := range s.turns {
		if slices.Equal(v.body, u.body) && slices.Equal(v.guard, u.guard) && v.size == u.size {
			return
		}
	}
	s.turns = append(s.turns, u)
}

// fitSlop is by how much package fit lets a piece be too large, twice.
const fitSlop = 2e-9

// turn turns p about the origin, counter-clockwise; exactly for right angles.
func turn(p shadow.Point, deg float64) shadow.Point { return turnBy(deg)(p) }

// turnBy is turn for many points.
func turnBy(deg float64) func(shadow.Point) shadow.Point {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	if quarter := deg / 90; quarter == math.Trunc(quarter) {
		sin, cos = math.Round(sin), math.Round(cos)
	}
	return func(p shadow.Point) shadow.Point {
		return shadow.Point{X: float64(p.X*cos) - float64(p.Y*sin), Y: float64(p.X*sin) + float64(p.Y*cos)}
	}
}

// box is the lower left corner and the size of the points' box at a turn.
func box(points []shadow.Point, deg float64) (low, size shadow.Point) {
	lo := shadow.Point{X: math.Inf(1), Y: math.Inf(1)}
	hi := shadow.Point{X: math.Inf(-1), Y: math.Inf(-1)}
	by := turnBy(deg)
	for _, p := range points {
		q := by(p)
		lo.X, lo.Y = min(lo.X, q.X), min(lo.Y, q.Y)
		hi.X, hi.Y = max(hi.X, q.X), max(hi.Y, q.Y)
	}
	return lo, shadow.Point{X: hi.X - lo.X, Y: hi.Y - lo.Y}
}

// mostSides is at how many of its sides, the longest, a hull is tried for its least box.
const mostSides = 1000

// leastBox is the turn, in [0, 90), at which the piece's box has the least area:
// one at which a side of the hull lies along the plate's width, of those of more than
// mostSides one of the longest. Of boxes that
// differ by rounding alone the first is taken, and no turn at all before any.
func (s *shape) leastBox() float64 {
	best := 0.0
	_, size := box(s.hull, 0)
	least := size.X * size.Y * (1 - 1e-9)
	sides := make([]int, len(s.hull))
	for i := range sides {
		sides[i] = i
	}
	length := func(i int) float64 { return distance(s.hull[i], s.hull[(i+1)%len(s.hull)]) }
	if len(sides) > mostSides {
		slices.SortStableFunc(sides, func(i, j int) int { return compare(length(j), length(i)) })
		sides = sides[:mostSides]
	}
	for _, i := range sides {
		p, q := s.hull[i], s.hull[(i+1)%len(s.hull)]
		deg := math.Mod(360-math.Atan2(q.Y-p.Y, q.X-p.X)*180/math.Pi, 90)
		if _, size := box(s.hull, deg); size.X*size.Y < least {
			best, least = deg, size.X*size.Y*(1-1e-9)
		}
	}
	return best
}

// lieAlone puts the piece into the middle of the plate.
func (s *shape) lieAlone(deg float64, t *table) laid {
	middle := shadow.Point{X: t.plate.X / 2, Y: t.plate.Y / 2}
	var at shadow.Point
	if t.round {
		corners := make([]mesh.Vec, len(s.hull))
		for i, p := range s.hull {
			corners[i] = mesh.Vec{X: p.X, Y: p.Y}
		}
		c := footprint.LeastCircle(corners)
		at = turn(shadow.Point{X: c.X, Y: c.Y}, deg)
	} else {
		low, size := box(s.hull, deg)
		at = shadow.Point{X: low.X + size.X/2, Y: low.Y + size.Y/2}
	}
	return laid{deg: within360(deg), x: middle.X - at.X, y: middle.Y - at.Y}
}
