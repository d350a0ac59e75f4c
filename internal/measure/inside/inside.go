package inside

import (
	"math"
	"slices"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// Flush is the gap, in mm, up to which solids are one: a tenth of the finest layer
// that any process lays (0.01 mm), so that none prints it. It is also well above
// what 32-bit coordinates make of faces meant to be one, for meshes up to metres;
// see Solid.Gap.
const Flush = 1e-3

// mostMarks is how many crossings of one line are looked at. Figures have tens.
const mostMarks = 1 << 14

// Solid is what the shells of one mesh enclose together.
type Solid struct {
	tree *tree.Tree
	mesh *mesh.Mesh
	// Gap, mm: between solids no farther apart than this there is none. It is Flush,
	// or what the rounding to 32 bits of two faces that are meant to be one can come
	// to where that is more: each coordinate c is off by up to 2^-24·c, a corner by √3
	// of that, two corners by twice as much, 2^-22·c rounded up.
	Gap float64
	// Rounding, mm, is what places along a line are off by at most, but where the
	// line runs within a face: 64 units in the last place of the greatest coordinate
	// (some ten operations, each of a few units).
	Rounding float64
}

// Of is the solid of the mesh that t is the tree of.
func Of(t *tree.Tree) *Solid {
	b := t.Mesh.Bounds()
	return &Solid{tree: t, mesh: t.Mesh, Gap: GapIn(b), Rounding: 64 * 0x1p-53 * farthest(b)}
}

// GapIn is the Gap of a solid with the bounds b, for those who find what is solid by
// lines of their own.
func GapIn(b mesh.Box) float64 { return max(Flush, 0x1p-22*farthest(b)) }

func farthest(b mesh.Box) float64 {
	most := 0.0
	for k := range 3 {
		most = max(most, math.Abs(b.Min.Component(k)), math.Abs(b.Max.Component(k)))
	}
	return most
}

// Span is a stretch of a line inside the solid. From and To are how far along the
// line its ends are, in lengths of the line's direction; Enter and Leave are the
// triangles it begins and ends at.
type Span struct {
	From, To     float64
	Enter, Leave int32
}

// Length is how long the span is.
func (s Span) Length() float64 { return s.To - s.From }

// Ruler lays lines through a solid. It keeps its scratch from line to line: one
// goroutine uses one ruler, and what a call returns holds until the next.
type Ruler struct {
	solid *Solid
	marks []mark
	spans []Span
	// Work counts the triangles looked at so far, for those who have a budget.
	Work int
}

// Ruler makes one. It is cheap.
func (s *Solid) Ruler() *Ruler { return &Ruler{solid: s} }

// mark is a crossing of a surface: how far along the line, and by how much the
// winding number changes there.
type mark struct {
	at       float64
	change   int32
	triangle int32
}

// line is a line made ready: seen along it, from its front, x is to the right and y
// up. A point q of space is seen at q − p sheared along the line's greatest component.
type line struct {
	p       mesh.Vec
	i, j, k int
	si, sj  float64 // shear
	inverse float64 // of the greatest component
	flip    int32
}

func lineOf(p, d mesh.Vec) (line, bool) {
	k := 0
	for n := range 3 {
		if math.Abs(d.Component(n)) > math.Abs(d.Component(k)) {
			k = n
		}
	}
	along := d.Component(k)
	l := line{p: p, i: (k + 1) % 3, j: (k + 2) % 3, k: k, inverse: 1 / along, flip: 1}
	l.si, l.sj = d.Component(l.i)/along, d.Component(l.j)/along
	if along < 0 {
		l.flip = -1
	}
	return l, along != 0 && !math.IsInf(l.inverse, 0) && !math.IsNaN(l.inverse)
}

// seen is where q is seen, and how far along the line.
func (l *line) seen(q mesh.Vec) (x, y, along float64) {
	q = q.Sub(l.p)
	w := q.Component(l.k)
	return q.Component(l.i) - float64(l.si*w), q.Component(l.j) - float64(l.sj*w), w * l.inverse
}

// turn is the sign of the turn from a to b about the origin, exactly: a product
// that is greater does not round to a lesser number, and where the two round to the
// same, what each left out decides.
func turn(ax, ay, bx, by float64) int32 {
	l, r := float64(ax*by), float64(ay*bx)
	if l == r {
		l, r = math.FMA(ax, by, -l), math.FMA(ay, bx, -r)
	}
	switch {
	case l > r:
		return 1
	case l < r:
		return -1
	}
	return 0
}

// round is what the edge from a to b adds to the turns of a polygon round the
// origin (the winding rule for polygons with half-open edges: an edge includes its
// lower end and not its upper one, and counts where the origin is strictly to its
// left going up, to its right going down). Run along the other way it adds the
// opposite, whatever the numbers.
func round(ax, ay, bx, by float64) int32 {
	switch {
	case ay <= 0 && by > 0 && turn(ax, ay, bx, by) > 0:
		return 1
	case ay > 0 && by <= 0 && turn(ax, ay, bx, by) < 0:
		return -1
	}
	return 0
}

// mark adds the crossing of triangle t, if it has one.
//
// A corner is seen at the same rounded place from every triangle that has it, and the
// triangle's turns round the origin are added up edge by edge, so that what an edge
// adds to the triangle on its one side it takes from that on its other: the changes
// along a line come to exactly 0 wherever edges pair. Rounding moves the corners by a
// few units in their last place, and nothing else.
func (r *Ruler) mark(l *line, t int32) {
	a, b, c := r.solid.mesh.Corners(int(t))
	ax, ay, az := l.seen(a)
	bx, by, bz := l.seen(b)
	cx, cy, cz := l.seen(c)
	change := round(ax, ay, bx, by) + round(bx, by, cx, cy) + round(cx, cy, ax, ay)
	if change == 0 {
		return
	}
	u, v, w := float64(bx*cy)-float64(by*cx), float64(cx*ay)-float64(cy*ax), float64(ax*by)-float64(ay*bx)
	at := (float64(u*az) + float64(v*bz) + float64(w*cz)) / (u + v + w)
	lo, hi := min(az, bz, cz), max(az, bz, cz)
	if !(at >= lo) { // also where it is not a number: seen edge on
		at = lo
	}
	// Counter-clockwise as seen from its front, the triangle faces along the line:
	// there the line leaves.
	r.marks = append(r.marks, mark{min(at, hi), -change * l.flip, t})
}

// cross finds the marks of a line from lo to hi in order, those that enter before those that
// leave at one place. It is false where there is no line, or there are more marks than
// are looked at.
func (r *Ruler) cross(p, d mesh.Vec, lo, hi float64) bool {
	r.marks = r.marks[:0]
	l, ok := lineOf(p, d)
	if !ok {
		return false
	}
	over := false
	r.solid.tree.OnLine(p, d, lo, hi, func(t int32) bool {
		r.Work++
		r.mark(&l, t)
		if n := len(r.marks); n > 0 && !(r.marks[n-1].at >= lo && r.marks[n-1].at <= hi) {
			r.marks = r.marks[:n-1]
		}
		over = len(r.marks) > mostMarks
		return !over
	})
	if over {
		return false
	}
	slices.SortFunc(r.marks, func(a, b mark) int {
		switch { // not by cmp.Or, which compares all three: this is asked tens of millions of times
		case a.at != b.at:
			if a.at < b.at {
				return -1
			}
			return 1
		case a.change != b.change:
			return int(b.change - a.change)
		}
		return int(a.triangle - b.triangle)
	})
	return true
}

// total is the sum of all changes: 0 where the line does not come through an opening.
func (r *Ruler) total() (n int32) {
	for _, m := range r.marks {
		n += m.change
	}
	return n
}

// Spans are the stretches, in order, of the line p + t·d (all of it, t below 0 too)
// inside the solid. Gaps of at most Gap mm are closed, and spans of no more than
// rounding left out. whole is false where the line comes through an opening of the
// surface, or crosses it too often to be followed: spans are then those that are
// inside as counted from both ends, or none.
func (r *Ruler) Spans(p, d mesh.Vec) (spans []Span, whole bool) {
	r.spans = r.spans[:0]
	length := d.Norm()
	if !r.cross(p, d, math.Inf(-1), math.Inf(1)) {
		return nil, false
	}
	total := r.total()
	// Counted from the far end, windings are less by total.
	r.join(1+max(total, 0), math.Inf(1), length)
	return r.spans, total == 0
}

// Within is Spans between lo and hi (lo ≤ 0 ≤ hi) for a line through a p whose winding
// number is known: much quicker, since only what is near is looked at. Spans that go on
// beyond lo or hi end there, at the triangle −1. ok is false where the line crosses the
// surface too often to be followed.
func (r *Ruler) Within(p, d mesh.Vec, winding int, lo, hi float64) (spans []Span, ok bool) {
	r.spans = r.spans[:0]
	if !r.cross(p, d, lo, hi) {
		return nil, false
	}
	first := int32(winding)
	for _, m := range r.marks {
		if m.at <= 0 {
			first -= m.change
		}
	}
	r.marks = slices.Insert(r.marks, 0, mark{lo, first, -1})
	r.join(1, hi, d.Norm())
	return r.spans, true
}

// Known is the winding number at s along the line that Spans or Within was last asked
// about, as counted from its beginning.
func (r *Ruler) Known(s float64) int {
	w := int32(0)
	for _, m := range r.marks {
		if m.at > s {
			break
		}
		w += m.change
	}
	return int(w)
}

// Step is the winding number of q, where that of p is known: both off the surface.
func (r *Ruler) Step(p, q mesh.Vec, winding int) (w int, ok bool) {
	if ok = r.cross(p, q.Sub(p), 0, 1); !ok {
		return winding, p == q
	}
	return winding + int(r.total()), true
}

// join makes spans of the marks: where the winding number is at least least. One that
// has no end ends at last, if that is finite.
func (r *Ruler) join(least int32, last, length float64) {
	gap, rounding := r.solid.Gap/length, r.solid.Rounding/length
	winding, open, is := int32(0), Span{}, false
	add := func() {
		if n := len(r.spans); n > 0 && open.From-r.spans[n-1].To <= gap {
			r.spans[n-1].To, r.spans[n-1].Leave = open.To, open.Leave
		} else {
			r.spans = append(r.spans, open)
		}
	}
	for _, m := range r.marks {
		winding += m.change
		switch {
		case !is && winding >= least:
			open, is = Span{From: m.at, Enter: m.triangle}, true
		case is && winding < least:
			open.To, open.Leave, is = m.at, m.triangle, false
			add()
		}
	}
	if is && !math.IsInf(last, 1) {
		open.To, open.Leave = last, -1
		add()
	}
	r.spans = slices.DeleteFunc(r.spans, func(s Span) bool { return s.Length() <= rounding })
}

// ways are directions that no modelled edge or plane is likely to be along: their
// components have no simple ratio. An odd number, so that there is a middle.
var ways = [7]mesh.Vec{
	{X: 0.2371, Y: 0.3719, Z: 0.8976}, {X: 0.8839, Y: -0.2269, Z: 0.4091}, {X: -0.3467, Y: -0.8861, Z: 0.3079},
	{X: 0.5683, Y: 0.6637, Z: -0.4861}, {X: -0.7027, Y: 0.5417, Z: 0.4613}, {X: 0.1303, Y: -0.6211, Z: -0.7727},
	{X: -0.9323, Y: 0.2801, Z: 0.2293},
}

// Winding is the winding number of p. On a surface, to within rounding, it is that of
// one of its sides. whole is false where ways to look at p from differ, since the mesh
// is open or not wound alike: the number is then the middle one of what they say,
// which about a surface nearly closed is that of the closed one.
func (r *Ruler) Winding(p mesh.Vec) (winding int, whole bool) {
	var said []int
	for _, way := range ways {
		if !r.cross(p, way, math.Inf(-1), math.Inf(1)) {
			continue
		}
		before, after := int32(0), int32(0)
		for _, m := range r.marks {
			if m.at <= 0 {
				before += m.change
			} else {
				after -= m.change
			}
		}
		if before == after && len(said) == 0 {
			return int(before), true
		}
		said = append(said, int(before), int(after))
	}
	if len(said) == 0 {
		return 0, false
	}
	slices.Sort(said)
	return said[(len(said)-1)/2], false
}

// Contains reports whether p is in the solid: its winding number is 1 or more.
func (r *Ruler) Contains(p mesh.Vec) bool {
	w, _ := r.Winding(p)
	return w >= 1
}

// Buried reports whether p, on the surface or near it, lies within the solid with
// more than Gap of it on both sides along n: what is a surface in the file is none in
// the print.
func (r *Ruler) Buried(p, n mesh.Vec) bool {
	spans, _ := r.Spans(p, n)
	gap := r.solid.Gap / n.Norm()
	for _, s := range spans {
		if s.From < -gap && s.To > gap {
			return true
		}
	}
	return false
}
