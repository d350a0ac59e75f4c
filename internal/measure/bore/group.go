package bore

import (
	"cmp"
	"math"
	"slices"

	"cardback/internal/measure/inside"
	"cardback/internal/mesh"
	"cardback/internal/sets"
)

// held is a hole with its wall.
type held struct {
	Hole
	w      *wall
	radius float64
	shut   [2]bool // another body closes it there: it leads on into nothing
}

// report turns walls into holes and pins.
func (f *finder) report() Report {
	var holes []held
	var out Report
	f.left = pairWork
	for i := range f.walls {
		w := &f.walls[i]
		w.settle()
		if f.buried(w) {
			continue
		}
		if w.concave {
			holes = append(holes, f.holes(w)...)
			continue
		}
		lo, hi := w.ends[0].mean, w.ends[1].mean
		out.Pins = append(out.Pins, Pin{Axis: w.axis, Centre: w.place((lo + hi) / 2), Length: hi - lo, Diameter: 2 * w.radius, Residual: w.rms})
	}
	slices.SortFunc(holes, func(a, b held) int { return order(a.Centre, b.Centre, a.Diameter, b.Diameter, a.Depth, b.Depth) })
	f.partial = f.partial || f.spent()
	f.left = pairWork
	f.group(holes)
	out.Partial = f.partial || f.spent()
	for _, h := range holes {
		out.Holes = append(out.Holes, h.Hole)
	}
	slices.SortFunc(out.Pins, func(a, b Pin) int { return order(a.Centre, b.Centre, a.Diameter, b.Diameter, a.Length, b.Length) })
	return out
}

// order is by height, then depth, then width, then by size. Places are first
// compared in steps of 1e-4 mm, since roundings depend on the order of triangles.
func order(a, b mesh.Vec, d, e, l, m float64) int {
	step := func(x float64) float64 { return math.Round(x * 1e4) }
	return cmp.Or(cmp.Compare(step(a.Z), step(b.Z)), cmp.Compare(step(a.Y), step(b.Y)), cmp.Compare(step(a.X), step(b.X)),
		cmp.Compare(a.Z, b.Z), cmp.Compare(a.Y, b.Y), cmp.Compare(a.X, b.X), cmp.Compare(d, e), cmp.Compare(l, m))
}

// settle turns the axis so that its largest component is positive: an axis has no
// direction of its own.
func (w *wall) settle() {
	a := w.axis
	k := 2
	for _, other := range [2]int{1, 0} {
		// A component must be larger by a rounding to count, so that the choice
		// between equal ones does not hang on the last bit.
		if math.Abs(a.Component(other)) > math.Abs(a.Component(k))+1e-9 {
			k = other
		}
	}
	if a.Component(k) >= 0 {
		return
	}
	w.axis = mesh.Vec{X: 0 - a.X, Y: 0 - a.Y, Z: 0 - a.Z}
	w.ends[0], w.ends[1] = w.ends[1], w.ends[0]
	for i := range w.ends {
		e := &w.ends[i]
		e.mean, e.least, e.most = -e.mean, -e.most, -e.least
	}
}

// holes measures a concave wall. An end that bends outwards is a mouth. One that
// bends inwards is a floor, unless the axis runs free for a diameter from there:
// then it only narrows. The stretch reaches to the mean of a mouth's border, which
// for a slanting mouth is where the axis passes through it, and to the innermost
// point of a floor's. Where the axis lies in the solid, of whatever shell, nothing
// goes in: such a place divides the stretch, or ends it as a floor does. A recess
// round something that leaves less than half of its diameter free is no hole:
// nothing that fits it goes in.
func (f *finder) holes(w *wall) (out []held) {
	spans, whole := f.ruler.Spans(w.at, w.axis)
	whole = whole && f.outward > 0 // turned inside out, the solid is none
	solid := func(from, to float64) bool {
		return slices.ContainsFunc(spans, func(s inside.Span) bool { return s.From < to && s.To > from })
	}
	lo, hi := w.ends[0].mean, w.ends[1].mean
	for side := range w.ends {
		e := &w.ends[side]
		way := float64(2*side - 1)
		e.open = e.border || e.turn < 0
		if e.open {
			continue
		}
		if side == 0 {
			lo = max(lo, e.most)
		} else {
			hi = min(hi, e.least)
		}
		beyond := e.mean + way*2*w.radius
		if whole {
			e.open = !solid(min(e.mean, beyond), max(e.mean, beyond))
		} else {
			span := w.ends[1].mean - w.ends[0].mean
			e.open = !f.blocked(&w.cylinder, e.mean-way*span/2, beyond)
		}
	}
	if !(lo < hi) {
		lo, hi = w.ends[0].mean, w.ends[1].mean
	}
	// A thousandth of the depth and the noise are left off at either end: floors
	// and mouths themselves do not narrow it. As far beyond a mouth as the shallowest
	// hole is deep (see unlikely) the axis must run free, or what stands before the
	// mouth shuts it.
	off := min(0.001*(hi-lo)+4*f.noise, 0.25*(hi-lo))
	before := leastDeep * w.radius
	shut := [2]bool{w.ends[0].open && solid(lo-before, lo-off), w.ends[1].open && solid(hi+off, hi+before)}
	add := func(from, to float64, shut [2]bool) {
		if !(to-from > 2*off && to-from >= min(before, hi-lo)) {
			return
		}
		h := held{w: w, radius: w.radius, shut: shut, Hole: Hole{
			Axis: w.axis, Centre: w.place((from + to) / 2), Depth: to - from,
			Diameter: 2 * w.radius, Residual: w.rms,
			Open: [2]bool{w.ends[0].open && !shut[0], w.ends[1].open && !shut[1]},
		}}
		if !h.Open[0] && !h.Open[1] {
			return
		}
		// What is not measured to its end is not told.
		if h.Free = 2 * f.clearance(&w.cylinder, from+off, to-off, w.radius); h.Free >= w.radius && !f.spent() {
			out = append(out, h)
		}
	}
	from, begins := lo, shut[0]
	for _, s := range spans {
		if s.To <= lo+off || s.From >= hi-off {
			continue
		}
		if s.From > from {
			add(from, s.From, [2]bool{begins, true})
		}
		from, begins = s.To, true
	}
	if from < hi-off {
		add(from, hi, [2]bool{begins, shut[1]})
	}
	return out
}

// buried says whether a wall is no surface of the print: all but a tenth of it lies
// within the solid that the shells make together, as a liner's outside does in the hole
// it fills. Of two holes that overlap, much of each wall is left.
func (f *finder) buried(w *wall) bool {
	// Regions grow to both sides in turn: places by the golden section keep step with
	// nothing.
	const looks, golden = 24, 0.6180339887498949
	in, all := 0, 0
	for k := range looks {
		if 10*(all-in) > looks {
			return false // most walls are seen in a few looks to lie open
		}
		_, share := math.Modf(float64(k) * golden)
		i := w.region[int(share*float64(len(w.region)))] >> 1
		if !f.sure(i) {
			continue
		}
		a, b, c := f.Corners(int(i))
		all++
		if f.ruler.Work > lineWork {
			f.partial = true
			return false
		}
		if f.ruler.Buried(a.Add(b).Add(c).Scale(1./3), f.normalOf(i)) {
			in++
		}
	}
	return all > 0 && 10*in >= 9*all
}

// group numbers the steps of each hole alike, in the order of their first, and
// says which holes go through. Two stretches belong together if their axes are one
// line, they adjoin, and one's end narrows where the other's widens; two mouths
// that face each other across a gap do not.
func (f *finder) group(holes []held) {
	whole := sets.New(len(holes))
	root := func(i int) int { return int(whole.Of(int32(i))) }
	inner := make([][2]bool, len(holes)) // ends that lead on into another stretch
	// Along x, stretches that may adjoin are near each other.
	byX, longest := make([]int, len(holes)), 0.0
	for i := range byX {
		byX[i] = i
		longest = max(longest, holes[i].Depth+2*holes[i].radius)
	}
	slices.SortStableFunc(byX, func(i, j int) int { return cmp.Compare(holes[i].Centre.X, holes[j].Centre.X) })
	for k, i := range byX {
		reach := holes[i].Depth + 2*holes[i].radius + longest
		for _, j := range byX[k+1:] {
			if holes[j].Centre.X-holes[i].Centre.X > reach || !f.spend(1) {
				break
			}
			for _, p := range [2][2]int{{i, j}, {j, i}} {
				a, b, ok := adjoin(&holes[p[0]], &holes[p[1]])
				if !ok {
					continue
				}
				inner[p[0]][a], inner[p[1]][b] = true, true
				holes[p[0]].Open[a], holes[p[1]].Open[b] = true, true
				whole.Join(int32(p[0]), int32(p[1]))
			}
		}
	}
	// Mouths at either end of the whole: the outer ends of its stretches.
	mouths := make([]int, len(holes))
	members := make([]int, len(holes))
	for i := range holes {
		members[root(i)]++
		for side := range 2 {
			if !inner[i][side] && holes[i].Open[side] {
				mouths[root(i)]++
			}
		}
	}
	number := make([]int, len(holes))
	next := 0
	for i := range holes {
		if root(i) == i {
			number[i] = next
			next++
		}
		r := root(i)
		holes[i].Group = number[r]
		holes[i].Stepped = members[r] > 1
		holes[i].Through = mouths[r] >= 2
	}
}

// adjoin says whether a's upper end (1) leads into b, and at which of its ends.
func adjoin(a, b *held) (int, int, bool) {
	if a.w == b.w {
		return 0, 0, false // parted by what stands between
	}
	wide := max(a.radius, b.radius)
	d := b.Centre.Sub(a.Centre)
	if reach := a.Depth + b.Depth + 2*wide; !(d.Dot(d) <= reach*reach) {
		return 0, 0, false
	}
	way := 1
	if a.Axis.Dot(b.Axis) < 0 {
		way = -1
	}
	// 1° and 2 % of the diameter: one tool's travel, drawn anew for the second step.
	if math.Abs(a.Axis.Dot(b.Axis)) < math.Cos(math.Pi/180) {
		return 0, 0, false
	}
	along := d.Dot(a.Axis)
	if along < 0 || d.Sub(a.Axis.Scale(along)).Norm() > 0.04*wide {
		return 0, 0, false
	}
	gap := along - a.Depth/2 - b.Depth/2
	// A cone or fillet between the two may be as long as the wider is wide.
	if gap > wide || gap < -0.1*min(a.Depth, b.Depth)-0.02*wide {
		return 0, 0, false
	}
	end := 0
	if way < 0 {
		end = 1
	}
	narrows, widens := a.w.ends[1].turn > 0, b.w.ends[end].turn > 0
	return 1, end, narrows != widens && !a.shut[1] && !b.shut[end]
}
