package solid

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"cardback/internal/mesh"
)

// flat is a point of the plane in which a face is cut.
type flat struct{ x, y float64 }

func turn(a, b, c flat) float64 {
	return float64((b.x-a.x)*(c.y-a.y)) - float64((b.y-a.y)*(c.x-a.x))
}

// flatten drops the axis along which n is longest, keeping the orientation: a
// ring that runs counter-clockwise about n does so in the plane.
func flatten(n, p mesh.Vec) flat {
	ax, ay, az := math.Abs(n.X), math.Abs(n.Y), math.Abs(n.Z)
	switch {
	case az >= ax && az >= ay && n.Z > 0:
		return flat{p.X, p.Y}
	case az >= ax && az >= ay:
		return flat{p.Y, p.X}
	case ay >= ax && n.Y > 0:
		return flat{p.Z, p.X}
	case ay >= ax:
		return flat{p.X, p.Z}
	case n.X > 0:
		return flat{p.Y, p.Z}
	default:
		return flat{p.Z, p.Y}
	}
}

// unitTriangle is where a face's corners go to be cut. Every face is cut in
// barycentric coordinates: points on its edges are then exactly in line, and a
// needle is as easy to order as any other triangle.
var unitTriangle = [3]flat{{0, 0}, {1, 0}, {0, 1}}

// split cuts one face along segs. border is its boundary, counter-clockwise,
// with the points on its edges, and at has their places in the unit triangle.
func split(pts []mesh.Vec, at map[int32]flat, corners [3]int32, border []int32, segs [][2]int32) ([]piece, error) {
	a, b, c := pts[corners[0]], pts[corners[1]], pts[corners[2]]
	n := b.Sub(a).Cross(c.Sub(a))
	place := func(p mesh.Vec) flat {
		return flat{n.Dot(c.Sub(p).Cross(a.Sub(p))) / n.Dot(n), n.Dot(a.Sub(p).Cross(b.Sub(p))) / n.Dot(n)}
	}
	type half struct{ u, v int32 }
	var halves []half
	for i, u := range border {
		halves = append(halves, half{u, border[(i+1)%len(border)]})
	}
	for _, s := range segs {
		for _, v := range s {
			if _, ok := at[v]; !ok {
				at[v] = place(pts[v])
			}
		}
		halves = append(halves, half{s[0], s[1]}, half{s[1], s[0]})
	}
	out := map[int32][]int{}
	for i, h := range halves {
		out[h.u] = append(out[h.u], i)
	}
	angle := func(u, v int32) float64 { return math.Atan2(at[v].y-at[u].y, at[v].x-at[u].x) }
	// The next half-edge of the region on the left: from where we came, the
	// first one met turning clockwise.
	next := func(i int) int {
		h := halves[i]
		back := angle(h.v, h.u)
		best, least := -1, math.Inf(1)
		for _, j := range out[h.v] {
			if halves[j].v == h.u && len(out[h.v]) > 1 {
				continue
			}
			d := back - angle(h.v, halves[j].v)
			for d <= 0 {
				d += 2 * math.Pi
			}
			if d < least {
				best, least = j, d
			}
		}
		return best
	}
	used := make([]bool, len(halves))
	var outer, inner [][]int32
	for i := range halves {
		if used[i] {
			continue
		}
		var ring []int32
		for j := i; !used[j]; {
			used[j] = true
			ring = append(ring, halves[j].u)
			if j = next(j); j < 0 {
				return nil, errors.New("an intersection line ends inside a face")
			}
		}
		if len(ring) < 3 {
			return nil, errors.New("a face is too thin to be cut")
		}
		// A ring that reaches the border bounds a region, however thin rounding
		// has made it; the others are loops, seen from within or from without.
		if ringArea(at, ring) > 0 || slices.ContainsFunc(ring, func(v int32) bool { return slices.Contains(border, v) }) {
			outer = append(outer, ring)
		} else {
			inner = append(inner, ring)
		}
	}
	holes := make([][][]int32, len(outer))
	for _, h := range inner {
		best, least := -1, math.Inf(1)
		for i, o := range outer {
			if slices.Contains(o, h[0]) || !within(at, o, at[h[0]]) {
				continue
			}
			if a := ringArea(at, o); a < least {
				best, least = i, a
			}
		}
		if best < 0 {
			return nil, errors.New("a loop lies in no region of its face")
		}
		holes[best] = append(holes[best], h)
	}
	var ps []piece
	for i, o := range outer {
		ts, err := clip(pts, at, bridge(at, o, holes[i]))
		if err != nil {
			return nil, err
		}
		ps = append(ps, ts...)
	}
	return ps, nil
}

func newell(pts []mesh.Vec, ring []int32) mesh.Vec {
	var n mesh.Vec
	o := pts[ring[0]]
	for i := 1; i+1 < len(ring); i++ {
		n = n.Add(pts[ring[i]].Sub(o).Cross(pts[ring[i+1]].Sub(o)))
	}
	return n
}

func ringArea(at map[int32]flat, ring []int32) float64 {
	var a float64
	o := at[ring[0]]
	for i := 1; i+1 < len(ring); i++ {
		a += turn(o, at[ring[i]], at[ring[i+1]])
	}
	return a / 2
}

func within(at map[int32]flat, ring []int32, p flat) bool {
	in := false
	for i, u := range ring {
		a, b := at[u], at[ring[(i+1)%len(ring)]]
		if (a.y > p.y) != (b.y > p.y) && p.x < a.x+(b.x-a.x)*((p.y-a.y)/(b.y-a.y)) {
			in = !in
		}
	}
	return in
}

// bridge joins holes (clockwise) to their ring by the shortest clear lines,
// holes with the rightmost point first.
func bridge(at map[int32]flat, ring []int32, holes [][]int32) []int32 {
	right := func(h []int32) int {
		k := 0
		for i := range h {
			if at[h[i]].x > at[h[k]].x {
				k = i
			}
		}
		return k
	}
	hs := slices.Clone(holes)
	slices.SortStableFunc(hs, func(a, b []int32) int { return cmp.Compare(at[b[right(b)]].x, at[a[right(a)]].x) })
	ring = slices.Clone(ring)
	for k, h := range hs {
		bi, bj, best := 0, 0, math.Inf(1)
		for i, u := range ring {
			for j, v := range h {
				d := math.Hypot(at[u].x-at[v].x, at[u].y-at[v].y)
				if d >= best || !opensTo(at, ring, i, at[v]) || !clear(at, u, v, ring) {
					continue
				}
				ok := true
				for _, g := range hs[k:] {
					ok = ok && clear(at, u, v, g)
				}
				if ok {
					bi, bj, best = i, j, d
				}
			}
		}
		var joined []int32
		joined = append(joined, ring[:bi+1]...)
		joined = append(joined, h[bj:]...)
		joined = append(joined, h[:bj+1]...)
		joined = append(joined, ring[bi:]...)
		ring = joined
	}
	return ring
}

// opensTo reports whether p lies in the interior angle at ring[i].
func opensTo(at map[int32]flat, ring []int32, i int, p flat) bool {
	n := len(ring)
	a, b, c := at[ring[(i+n-1)%n]], at[ring[i]], at[ring[(i+1)%n]]
	if turn(a, b, c) >= 0 {
		return turn(a, b, p) >= 0 && turn(b, c, p) >= 0
	}
	return turn(a, b, p) >= 0 || turn(b, c, p) >= 0
}

// clear reports whether the segment u v crosses no edge of ring, apart from
// edges that end at u or v.
func clear(at map[int32]flat, u, v int32, ring []int32) bool {
	p, q := at[u], at[v]
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if a == u || b == u || a == v || b == v {
			continue
		}
		s, t := at[a], at[b]
		if turn(p, q, s)*turn(p, q, t) <= 0 && turn(s, t, p)*turn(s, t, q) <= 0 {
			return false
		}
	}
	return true
}

// clip cuts a ring into triangles by its ears, the best shaped first.
func clip(pts []mesh.Vec, at map[int32]flat, ring []int32) ([]piece, error) {
	ring = slices.Clone(ring)
	out := make([]piece, 0, len(ring))
	for len(ring) > 3 {
		n := len(ring)
		best, quality := -1, 0.0
		for i := range ring {
			u, v, w := ring[(i+n-1)%n], ring[i], ring[(i+1)%n]
			a, b, c := at[u], at[v], at[w]
			if turn(a, b, c) <= 0 || u == w {
				continue
			}
			if q := roundness(pts[u], pts[v], pts[w]); q > quality && earClear(at, ring, u, v, w) {
				best, quality = i, q
			}
		}
		if best < 0 {
			if best = flattest(at, ring); best < 0 {
				return nil, errors.New("a region has no ear left to clip")
			}
		}
		out = append(out, piece{[3]int32{ring[(best+n-1)%n], ring[best], ring[(best+1)%n]}})
		ring = slices.Delete(ring, best, best+1)
	}
	return append(out, piece{[3]int32(ring)}), nil
}

// roundness is a triangle's area over the square of its perimeter.
func roundness(a, b, c mesh.Vec) float64 {
	l := b.Sub(a).Norm() + c.Sub(b).Norm() + a.Sub(c).Norm()
	return b.Sub(a).Cross(c.Sub(a)).Norm() / (l * l)
}

func earClear(at map[int32]flat, ring []int32, u, v, w int32) bool {
	a, b, c := at[u], at[v], at[w]
	for _, k := range ring {
		if k == u || k == v || k == w {
			continue
		}
		p := at[k]
		if turn(a, b, p) >= 0 && turn(b, c, p) >= 0 && turn(c, a, p) >= 0 {
			return false
		}
	}
	return true
}

// flattest finds a corner so flat that cutting it off changes nothing: points
// on one edge of a face are in line only to within rounding. −1 for none.
func flattest(at map[int32]flat, ring []int32) int {
	const inLine = 1e-7 // of the unit triangle; rounding in the places of inner points stays below 1e-9
	best, least := -1, inLine
	n := len(ring)
	for i := range ring {
		if a := math.Abs(turn(at[ring[(i+n-1)%n]], at[ring[i]], at[ring[(i+1)%n]])); a < least {
			best, least = i, a
		}
	}
	return best
}
