package gauge

import (
	"math"

	"cardback/internal/fit/footprint"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// floorFace is the upward slant of the floor turned outwards: what is inside has
// floorFace·p ≤ floorRoom.
var floorFace = mesh.Vec{X: -math.Sqrt2 / 2, Z: -math.Sqrt2 / 2}

const floorRoom = MidDepth * math.Sqrt2 / 2

// push is by how much the part moves towards +x, its circle's middle kept, for
// each mm that the gauge shrinks all round: down by 1 below the rim, and by √2
// along x for the floor, which comes up by 1 square to itself.
const push = 1 + math.Sqrt2

// certificate bounds from above what the gauge leaves free. It holds a weight w ≥ 0
// for each of some half-spaces n·p ≤ c that the gauge lies in (n a unit vector)
// and a point h of the part for each, such that Σw = 1 and Σwn = 0. If the part, turned
// by Q and moved by t, has σ to spare, then n·(Qh + t) ≤ c − σ for each, and so
//
//	σ ≤ Σw(c − n·Qh) = room − Σw n·Qh,
//
// for t falls out. That is true for every Q, so the half-spaces and points that
// decide at one rotation bound all others. It needs no more than the weights'
// balance; rounding there counts at most the part's distance from the gauge.
type certificate struct {
	room float64    // Σwc
	turn [9]float64 // Σw h nᵀ, row-major
	off  float64    // |Σwn|: what rounding left
}

func (c *certificate) add(w float64, n mesh.Vec, room float64, h mesh.Vec) {
	c.room += float64(w * room)
	for i, a := range [3]float64{h.X, h.Y, h.Z} {
		for j, b := range [3]float64{n.X, n.Y, n.Z} {
			c.turn[3*i+j] += float64(w * float64(a*b))
		}
	}
}

// lie looks at some of a part's points as one rotation turns them.
type lie struct {
	points []mesh.Vec // of the part, about the middle of its bounds
	rot    [9]float64
	seen   []mesh.Vec // turned
	work   int        // points looked at so far
}

func (l *lie) turn(rot [9]float64) {
	l.rot = rot
	l.seen = l.seen[:0]
	for _, p := range l.points {
		l.seen = append(l.seen, rotation.Apply(rot, p))
	}
	l.work += len(l.points)
}

// laid is the best place for a part in one orientation.
type laid struct {
	clearance float64  // the most that any place leaves free all round, as certified
	offset    mesh.Vec // that place
	points    []int    // those that decide
	proof     certificate
}

// best finds the place with the most to spare, as the part is turned.
//
// With σ to spare the top must stay σ below the rim: put it there. The floor then
// asks that the middle of the circle around the footprint has, in the part's frame,
// u ≤ limit − push·σ, and the wall that a circle about such a middle holds
// the footprint with radius R − σ. Let r(u) be the least radius about a middle on the line at u. It
// is convex, so r(limit − push·σ) − (R − σ) is convex and rises with σ; Newton's
// steps from the σ of the free circle fall towards its zero. Each step's tangent is
// a certificate by itself, so that stopping early costs sharpness, never truth.
func (l *lie) best() laid {
	top, low := 0, 0
	for i, p := range l.seen {
		if p.Z > l.seen[top].Z {
			top = i
		}
		if p.X+p.Z < l.seen[low].X+l.seen[low].Z {
			low = i
		}
	}
	l.work += 6 * len(l.seen) // a rough count of what the circle takes
	limit := MidDepth - l.seen[top].Z + l.seen[low].X + l.seen[low].Z
	free := footprint.LeastCircle(l.seen)
	clearance := Radius - free.R
	if limit-push*clearance >= free.X {
		w := l.spanning(free)
		return l.laid(clearance, free.X, free.Y, w, top, low)
	}
	var w wall
	for range 40 {
		u := limit - push*clearance
		w = l.onLine(u)
		next := clearance - (w.r-(Radius-clearance))/(1+push*w.pull)
		if !(next < clearance-1e-13) {
			break
		}
		clearance = next
	}
	return l.laid(clearance, limit-push*clearance, w.v, w, top, low)
}

// wall is up to three points that press outwards on a circle, with weights of
// sum one, in a balance but for a pull towards +x.
type wall struct {
	r, v float64 // radius and the y of the middle
	n    int
	i    [3]int
	w    [3]float64
	out  [3]mesh.Vec
	pull float64 // Σ w out.X; zero for a free circle
}

func (l *lie) laid(clearance, u, v float64, w wall, top, low int) laid {
	var c certificate
	whole := 1 + push*w.pull
	var sum mesh.Vec
	points := make([]int, 0, 5)
	press := func(share float64, n mesh.Vec, room float64, i int) {
		c.add(share/whole, n, room, l.points[i])
		sum = sum.Add(n.Scale(share / whole))
		points = append(points, i)
	}
	for k := range w.n {
		press(w.w[k], w.out[k], Radius, w.i[k])
	}
	if w.pull > 0 {
		press(w.pull, mesh.Vec{Z: 1}, 0, top)
		press(math.Sqrt2*w.pull, floorFace, floorRoom, low)
	}
	c.off = sum.Norm()
	return laid{clearance: c.at(l.rot), offset: mesh.Vec{X: -u, Y: -v, Z: -l.seen[top].Z - max(clearance, 0)}, points: points, proof: c}
}

// at is the bound for the rotation rot: room − tr(rot·turn).
func (c *certificate) at(rot [9]float64) float64 {
	trace := 0.0
	for i := range 3 {
		for j := range 3 {
			trace += float64(rot[3*i+j] * c.turn[3*j+i])
		}
	}
	return c.room - trace
}

// onLine is the least circle around the footprint whose middle has x = u: the
// worst, over pairs of points, of the least circle around the two.
func (l *lie) onLine(u float64) wall {
	far := func(v float64) int {
		at, most := 0, -1.0
		for i, p := range l.seen {
			if d := float64((p.X-u)*(p.X-u)) + float64((p.Y-v)*(p.Y-v)); d > most {
				at, most = i, d
			}
		}
		return at
	}
	pair := func(i, j int) (v, r float64) {
		p, q := l.seen[i], l.seen[j]
		p2, q2 := float64((p.X-u)*(p.X-u)), float64((q.X-u)*(q.X-u))
		lo, hi := min(p.Y, q.Y), max(p.Y, q.Y)
		v = p.Y
		switch {
		case hi > lo:
			v = (q2-p2)/(2*(q.Y-p.Y)) + (p.Y+q.Y)/2
			v = min(max(v, lo), hi)
		case q2 > p2:
			v = q.Y
		}
		return v, math.Sqrt(max(p2+float64((p.Y-v)*(p.Y-v)), q2+float64((q.Y-v)*(q.Y-v))))
	}
	i := far(0)
	j := i
	v, r := l.seen[i].Y, math.Abs(l.seen[i].X-u)
	for range 60 {
		k := far(v)
		p := l.seen[k]
		if math.Hypot(p.X-u, p.Y-v) <= r+float64(r*footprint.Nearly) {
			break
		}
		v1, r1 := pair(i, k)
		v2, r2 := pair(j, k)
		if r1 >= r2 {
			j, v, r = k, v1, r1
		} else {
			i, j, v, r = j, k, v2, r2
		}
		l.work += len(l.seen)
	}
	w := wall{r: r, v: v}
	a, b := outwards(l.seen[i], u, v), outwards(l.seen[j], u, v)
	if gap := math.Abs(a.Y - b.Y); i != j && gap > 1e-3 && a.Y*b.Y < 0 {
		w.n, w.i, w.out = 2, [3]int{i, j}, [3]mesh.Vec{a, b}
		w.w = [3]float64{math.Abs(b.Y) / gap, math.Abs(a.Y) / gap}
		w.pull = max(0, float64(w.w[0]*a.X)+float64(w.w[1]*b.X))
		return w
	}
	// One point, level with the middle.
	k := i
	if l.seen[j].X > l.seen[i].X {
		k = j
	}
	w.n, w.i, w.w, w.out, w.pull = 1, [3]int{k}, [3]float64{1}, [3]mesh.Vec{{X: 1}}, 1
	return w
}

func outwards(p mesh.Vec, u, v float64) mesh.Vec {
	d := mesh.Vec{X: p.X - u, Y: p.Y - v}
	if n := d.Norm(); n > 0 {
		return d.Scale(1 / n)
	}
	return mesh.Vec{X: 1}
}

// spanning picks two or three points on a least circle that hold it from all
// sides: the first that is found, and those next to its opposite on either side.
// Where those lie almost on one line, two points on a diameter.
func (l *lie) spanning(c footprint.Circle) wall {
	w := wall{r: c.R, v: c.Y}
	first := -1
	var from mesh.Vec
	left, right := -1, -1 // the last before half a turn counter-clockwise, and the first after
	var atLeft, atRight mesh.Vec
	for i, p := range l.seen {
		if c.Distance(p) < c.R*(1-1e3*footprint.Nearly) {
			continue
		}
		out := outwards(p, c.X, c.Y)
		if first < 0 {
			first, from = i, out
			continue
		}
		if cross(from, out) >= 0 {
			if left < 0 || out.X*from.X+out.Y*from.Y < atLeft.X*from.X+atLeft.Y*from.Y {
				left, atLeft = i, out
			}
		} else if right < 0 || out.X*from.X+out.Y*from.Y < atRight.X*from.X+atRight.Y*from.Y {
			right, atRight = i, out
		}
	}
	if left >= 0 && right >= 0 {
		w0, w1, w2 := cross(atLeft, atRight), cross(atRight, from), cross(from, atLeft)
		if sum := w0 + w1 + w2; min(w0, w1, w2) >= 0 && sum > 1e-3 {
			w.n, w.i, w.out = 3, [3]int{first, left, right}, [3]mesh.Vec{from, atLeft, atRight}
			w.w = [3]float64{w0 / sum, w1 / sum, w2 / sum}
			return w
		}
	}
	// Any two points do for a bound; the two farthest apart do it best.
	a, b := max(first, 0), max(first, 0)
	most := 0.0
	for _, j := range [2]int{left, right} {
		if j < 0 {
			continue
		}
		if d := math.Hypot(l.seen[j].X-l.seen[a].X, l.seen[j].Y-l.seen[a].Y); d > most {
			b, most = j, d
		}
	}
	out := mesh.Vec{X: 1}
	if a != b {
		d := l.seen[b].Sub(l.seen[a])
		out = mesh.Vec{X: d.X, Y: d.Y}.Scale(1 / math.Hypot(d.X, d.Y))
	}
	w.n, w.i, w.w, w.out = 2, [3]int{b, a}, [3]float64{0.5, 0.5}, [3]mesh.Vec{out, out.Scale(-1)}
	return w
}

func cross(a, b mesh.Vec) float64 { return float64(a.X*b.Y) - float64(a.Y*b.X) }
