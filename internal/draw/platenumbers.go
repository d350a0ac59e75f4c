package draw

import (
	"html"
	"math"
	"strings"

	"cardback/internal/measure/shadow"
)

// numberSizes are the heights of a number, in shares of the type's, that are tried
// for a place on its silhouette; figures are told apart down to the last.
var numberSizes = [...]float64{1, 0.8, 0.65}

// numberGrid is how many places along and across a silhouette's box are tried.
const numberGrid = 28

// numbers writes each item's number: in the colour of the paper where the
// silhouette has the most room for it; else in ink on the nearest free place of
// the plate, with a line to it where that is not close by; else on the silhouette's
// middle with paper around.
func (c *plateChart) numbers(out *strings.Builder) {
	var left []int
	for i, it := range c.items {
		if it.Number == "" || len(c.rings[i]) == 0 {
			continue
		}
		if !c.numberOn(out, i) {
			left = append(left, i)
		}
	}
	for _, i := range left { // when all that lie on silhouettes are known
		if !c.numberBeside(out, i) {
			c.number(out, i, c.boxes[i].middle(), numberSizes[len(numberSizes)-1]*c.TextMM, "halo")
		}
	}
}

// number writes item i's number about a middle.
func (c *plateChart) number(out *strings.Builder, i int, mid shadow.Point, size float64, how string) {
	look := `class="number" fill="currentColor"`
	switch how {
	case "on":
		look = `class="number onink" fill="Canvas"`
	case "halo":
		look = `class="number halo" fill="currentColor" stroke="Canvas" stroke-width=".8" stroke-linejoin="round" paint-order="stroke"`
	}
	// Figures are some 0.72 of the type high.
	out.WriteString(`<text ` + look + ` x="` + short(mid.X) + `" y="` + short(mid.Y+float64(0.36*size)) + `" font-size="` + short(size) + `" text-anchor="middle">` + html.EscapeString(xmlText(c.items[i].Number)) + `</text>`)
}

// numberBox is what the figures take up about mid, with a little paper around.
func (c *plateChart) numberBox(i int, mid shadow.Point, size float64) block {
	w, h := textWidth(c.items[i].Number, size)/2+float64(0.1*size), 0.45*size
	return block{mid.X - w, mid.Y - h, mid.X + w, mid.Y + h}
}

// numberOn finds the place on the silhouette farthest from its edges; of those
// about as far, the one nearest to its middle.
func (c *plateChart) numberOn(out *strings.Builder, i int) bool {
	b := c.boxes[i]
	middle := b.middle()
	for _, share := range numberSizes {
		size := share * c.TextMM
		type place struct {
			at   shadow.Point
			room float64
		}
		var places []place
		most := 0.0
		for gy := range numberGrid {
			for gx := range numberGrid {
				p := shadow.Point{
					X: b.x0 + float64((b.x1-b.x0)*(float64(gx)+0.5)/numberGrid),
					Y: b.y0 + float64((b.y1-b.y0)*(float64(gy)+0.5)/numberGrid),
				}
				box := c.numberBox(i, p, size)
				if box.x0 < b.x0 || box.y0 < b.y0 || box.x1 > b.x1 || box.y1 > b.y1 || !inside(c.rings[i], p) {
					continue
				}
				if room := clearance(c.rings[i], box); room > 0 {
					places = append(places, place{p, room})
					most = max(most, room)
				}
			}
		}
		best, nearest := shadow.Point{}, math.Inf(1)
		for _, p := range places {
			if d := math.Hypot(p.at.X-middle.X, p.at.Y-middle.Y); p.room >= 0.8*most && d < nearest*(1-1e-9) {
				best, nearest = p.at, d
			}
		}
		if len(places) > 0 {
			c.number(out, i, best, size, "on")
			return true
		}
	}
	return false
}

// numberBeside finds the free place of the plate nearest to the silhouette.
func (c *plateChart) numberBeside(out *strings.Builder, i int) bool {
	const (
		farthest = 14  // mm of the picture
		near     = 0.3 // paper between number and silhouette, at least
		places   = 72  // along and across
	)
	size := 0.8 * c.TextMM
	b, middle := c.boxes[i], c.boxes[i].middle()
	// Half a millimetre nearer counts for no more than being by the middle.
	cost := func(mm float64) int { return int(math.Ceil(2 * max(mm-near, 0))) }
	// Places by what the leader costs at least, which is the way from box to box: most
	// are never looked at. The share taken off is far above what Hypot rounds.
	var byLeast [2*farthest + 1][]shadow.Point
	for gy := range places {
		for gx := range places {
			p := shadow.Point{
				X: b.x0 - farthest + float64((b.x1-b.x0+2*farthest)*float64(gx)/(places-1)),
				Y: b.y0 - farthest + float64((b.y1-b.y0+2*farthest)*float64(gy)/(places-1)),
			}
			if d := cost(c.numberBox(i, p, size).distance(b) * (1 - 1e-12)); d < len(byLeast) {
				byLeast[d] = append(byLeast[d], p)
			}
		}
	}
	var at, from, to shadow.Point
	nearest, aside := len(byLeast), math.Inf(1)
	for least, ps := range byLeast {
		if least > nearest {
			break
		}
		for _, p := range ps {
			side := math.Hypot(p.X-middle.X, p.Y-middle.Y)
			if least == nearest && side >= aside*(1-1e-9) {
				continue
			}
			box := c.numberBox(i, p, size)
			if !c.free(box) {
				continue
			}
			f, t := c.leader(i, box)
			d := cost(math.Hypot(t.X-f.X, t.Y-f.Y))
			if d > nearest || d == nearest && side >= aside*(1-1e-9) || clearance(c.rings[i], box) < near || !c.clear(i, f, t) {
				continue
			}
			at, from, to, nearest, aside = p, f, t, d, side
		}
	}
	if nearest == len(byLeast) {
		return false
	}
	if nearest > 2 {
		p := newPen(2)
		p.line([]shadow.Point{from, to}, false)
		out.WriteString(`<path class="leader" fill="none" stroke="currentColor" stroke-width=".18" d="` + p.text.String() + `"/>`)
	}
	c.labels = append(c.labels, c.numberBox(i, at, size))
	c.number(out, i, at, size, "beside")
	return true
}

// free reports whether the box lies on the plate and on nothing else.
func (c *plateChart) free(b block) bool {
	if b.x0 < c.left || b.x1 > c.left+c.width || b.y0 < c.top || b.y1 > c.top+c.depth {
		return false
	}
	if c.Round {
		r := c.width / 2
		for _, x := range [...]float64{b.x0, b.x1} {
			for _, y := range [...]float64{b.y0, b.y1} {
				if math.Hypot(x-c.left-r, y-c.top-r) > r {
					return false
				}
			}
		}
	}
	for _, l := range c.labels {
		if b.meets(l) {
			return false
		}
	}
	mid := shadow.Point{X: (b.x0 + b.x1) / 2, Y: (b.y0 + b.y1) / 2}
	for k, rings := range c.rings {
		if b.meets(c.boxes[k]) && (inside(rings, mid) || clearance(rings, b) <= 0) {
			return false
		}
	}
	return true
}

// leader is the shortest line from the box to the silhouette, of those that begin
// at the box's corners or sides and end at the silhouette's corners or edges.
func (c *plateChart) leader(i int, b block) (from, to shadow.Point) {
	best := math.Inf(1)
	try := func(q, p shadow.Point) {
		if d := math.Hypot(p.X-q.X, p.Y-q.Y); d < best {
			best, from, to = d, q, p
		}
	}
	for _, r := range c.rings[i] {
		for j, p := range r {
			try(shadow.Point{X: min(max(p.X, b.x0), b.x1), Y: min(max(p.Y, b.y0), b.y1)}, p)
			for _, corner := range b.corners() {
				try(corner, nearestOn(corner, p, r[(j+1)%len(r)]))
			}
		}
	}
	return from, to
}

// nearestOn is the point of the segment ab nearest to p.
func nearestOn(p, a, b shadow.Point) shadow.Point {
	dx, dy := b.X-a.X, b.Y-a.Y
	if l := dot(dx, dy, dx, dy); l > 0 {
		t := min(max(dot(p.X-a.X, p.Y-a.Y, dx, dy)/l, 0), 1)
		return shadow.Point{X: a.X + float64(t*dx), Y: a.Y + float64(t*dy)}
	}
	return a
}

// clear reports whether no other silhouette or number lies under the line.
func (c *plateChart) clear(i int, from, to shadow.Point) bool {
	line := block{min(from.X, to.X), min(from.Y, to.Y), max(from.X, to.X), max(from.Y, to.Y)}
	for k, rings := range c.rings {
		if k == i || !line.meets(c.boxes[k]) {
			continue
		}
		for _, r := range rings {
			for j, p := range r {
				if crossing(from, to, p, r[(j+1)%len(r)]) {
					return false
				}
			}
		}
	}
	for _, l := range c.labels {
		corners := l.corners()
		for j, p := range corners {
			if crossing(from, to, p, corners[(j+1)%4]) {
				return false
			}
		}
	}
	return true
}

// block is a box of the picture.
type block struct{ x0, y0, x1, y1 float64 }

func (a block) middle() shadow.Point {
	return shadow.Point{X: (a.x0 + a.x1) / 2, Y: (a.y0 + a.y1) / 2}
}

func (a block) corners() [4]shadow.Point {
	return [4]shadow.Point{{X: a.x0, Y: a.y0}, {X: a.x1, Y: a.y0}, {X: a.x1, Y: a.y1}, {X: a.x0, Y: a.y1}}
}

func (a block) meets(b block) bool {
	return a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}

// distance is how far apart two boxes are.
func (a block) distance(b block) float64 {
	return math.Hypot(max(a.x0-b.x1, b.x0-a.x1, 0), max(a.y0-b.y1, b.y0-a.y1, 0))
}

func boxAround(rings []shadow.Ring) block {
	b := block{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, r := range rings {
		for _, p := range r {
			b = block{min(b.x0, p.X), min(b.y0, p.Y), max(b.x1, p.X), max(b.y1, p.Y)}
		}
	}
	return b
}

// inside reports whether p lies in the region, by the even-odd rule.
func inside(rings []shadow.Ring, p shadow.Point) bool {
	in := false
	for _, r := range rings {
		for j, a := range r {
			b := r[(j+1)%len(r)]
			if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(b.X-a.X)*((p.Y-a.Y)/(b.Y-a.Y)) {
				in = !in
			}
		}
	}
	return in
}

// clearance is the least distance of the box from the rings' edges; zero or less
// where an edge comes into it.
func clearance(rings []shadow.Ring, b block) float64 {
	least := math.Inf(1)
	for _, r := range rings {
		for j, p := range r {
			q := r[(j+1)%len(r)]
			// The box around the edge is no farther than the edge, which leaves out most.
			dx := max(b.x0-max(p.X, q.X), min(p.X, q.X)-b.x1, 0)
			dy := max(b.y0-max(p.Y, q.Y), min(p.Y, q.Y)-b.y1, 0)
			if float64(dx*dx)+float64(dy*dy) >= float64(least*least) {
				continue
			}
			if least = min(least, boxToSegment(b, p, q)); least <= 0 {
				return 0
			}
		}
	}
	return least
}

// boxToSegment is the distance of a box and a segment: zero where they meet; else
// it is attained at an end of the segment or at a corner of the box.
func boxToSegment(b block, p, q shadow.Point) float64 {
	corners := b.corners()
	least := math.Inf(1)
	for _, e := range [...]shadow.Point{p, q} {
		least = min(least, math.Hypot(e.X-min(max(e.X, b.x0), b.x1), e.Y-min(max(e.Y, b.y0), b.y1)))
	}
	for j, a := range corners {
		if crossing(p, q, a, corners[(j+1)%4]) {
			return 0
		}
		least = min(least, distance(a, p, q))
	}
	return least
}

// crossing reports whether two segments meet.
func crossing(a, b, c, d shadow.Point) bool {
	side := func(p, q, r shadow.Point) float64 {
		return float64((q.X-p.X)*(r.Y-p.Y)) - float64((q.Y-p.Y)*(r.X-p.X))
	}
	return side(a, b, c)*side(a, b, d) <= 0 && side(c, d, a)*side(c, d, b) <= 0 &&
		min(a.X, b.X) <= max(c.X, d.X) && min(c.X, d.X) <= max(a.X, b.X) && min(a.Y, b.Y) <= max(c.Y, d.Y) && min(c.Y, d.Y) <= max(a.Y, b.Y)
}
