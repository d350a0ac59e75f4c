package shadow

import (
	"slices"
)

// walkRings joins a border into simple rings: no ring passes a point twice.
// Where several meet in a point each follows its own sector of the region, and
// a loop that comes back to a point of its path is cut off as a ring. Points on
// a straight run are left out unless rings touch there. Rings begin at their
// least point and are sorted by it.
func walkRings(border []directed) [][]gridPoint {
	slices.SortFunc(border, func(p, q directed) int {
		if c := p.from.compare(q.from); c != 0 {
			return c
		}
		return p.to.compare(q.to)
	})
	// leaving(p) is the range of edges that leave p.
	leaving := func(p gridPoint) (lo, hi int) {
		lo, _ = slices.BinarySearchFunc(border, p, func(e directed, p gridPoint) int { return e.from.compare(p) })
		for hi = lo; hi < len(border) && border[hi].from == p; hi++ {
		}
		return lo, hi
	}
	next := make([]int, len(border))
	for i, e := range border {
		lo, hi := leaving(e.to)
		next[i] = lo
		for j := lo + 1; j < hi; j++ {
			if clockwiseBefore(e.to, e.from, border[j].to, border[next[i]].to) {
				next[i] = j
			}
		}
	}
	var rings [][]gridPoint
	done := make([]bool, len(border))
	place := map[gridPoint]int{} // where on the path a point stands
	for start := range border {
		var path []gridPoint
		for i := start; !done[i]; i = next[i] {
			done[i] = true
			if len(path) == 0 {
				path = append(path, border[i].from)
				place[border[i].from] = 0
			}
			p := border[i].to
			if k, seen := place[p]; seen {
				for _, q := range path[k+1:] {
					delete(place, q)
				}
				rings = append(rings, slices.Clone(path[k:]))
				path = path[:k+1]
				continue
			}
			place[p] = len(path)
			path = append(path, p)
		}
		clear(place)
	}
	out := rings[:0]
	for _, r := range rings {
		r = dropStraight(r, func(p gridPoint) bool {
			lo, hi := leaving(p)
			return hi-lo == 1
		})
		if len(r) > 2 {
			out = append(out, startAtLeast(r))
		}
	}
	slices.SortFunc(out, func(p, q []gridPoint) int { return slices.CompareFunc(p, q, gridPoint.compare) })
	return out
}

// clockwiseBefore reports whether, turning clockwise about at from the
// direction of back, p comes before q.
func clockwiseBefore(at, back, p, q gridPoint) bool {
	half := func(r gridPoint) int {
		if turn(at, back, r) < 0 {
			return 0
		}
		return 1
	}
	if hp, hq := half(p), half(q); hp != hq {
		return hp < hq
	}
	return turn(at, p, q) < 0
}

// dropStraight leaves out the points that may go and lie on the line between
// their neighbours.
func dropStraight(r []gridPoint, may func(gridPoint) bool) []gridPoint {
	var out []gridPoint
	for i, p := range r {
		before, after := r[(i+len(r)-1)%len(r)], r[(i+1)%len(r)]
		if turn(before, p, after) != 0 || !may(p) {
			out = append(out, p)
		}
	}
	return out
}

// startAtLeast turns a ring so that it begins at its least point.
func startAtLeast(r []gridPoint) []gridPoint {
	k := 0
	for i, p := range r {
		if p.compare(r[k]) < 0 {
			k = i
		}
	}
	return slices.Concat(r[k:], r[:k])
}
