// Package footprint looks at points from above: the corners of their convex hull,
// the least circle around them, and the turn in which they take the least of a
// rectangle, all decided exactly up to rounding. Lengths are in mm, and heights
// are kept.
package footprint

import (
	"cmp"
	"math"
	"slices"

	"cardback/internal/mesh"
)

// cornerGap is the share of a footprint's size by which two corners must differ to
// be two: some ten times the rounding of a projected coordinate, below which
// the edge between them has no direction worth the name. Leaving a corner out
// takes at most that from each side of an extent.
const cornerGap = 2e-15

// footprint returns the corners of the convex hull of pts as seen from above,
// counter-clockwise and without points on an edge, each with its Z kept: one
// corner for a single point, two for a segment. It sorts pts in place and uses
// dst's room (Andrew's monotone chain, after the points well inside have been
// set aside).
func Corners(dst, pts []mesh.Vec) []mesh.Vec {
	pts = outer(pts)
	slices.SortFunc(pts, func(a, b mesh.Vec) int {
		if a.X != b.X {
			return cmp.Compare(a.X, b.X)
		}
		if a.Y != b.Y {
			return cmp.Compare(a.Y, b.Y)
		}
		return cmp.Compare(a.Z, b.Z)
	})
	size := Extents(pts)
	near := cornerGap * max(size.X, size.Y)
	same := func(p, q mesh.Vec) bool { return max(math.Abs(p.X-q.X), math.Abs(p.Y-q.Y)) <= near }
	dst = dst[:0]
	grow := func(p mesh.Vec, floor int) {
		for len(dst) > floor && !leftTurn(dst[len(dst)-2], dst[len(dst)-1], p) {
			dst = dst[:len(dst)-1]
		}
		dst = append(dst, p)
	}
	for _, p := range pts {
		grow(p, 1)
	}
	floor := len(dst)
	for i := len(pts) - 2; i >= 0; i-- {
		grow(pts[i], floor)
	}
	// Only now, with both chains whole, are corners that are too near each other
	// taken for one: a chain that lost its end while it grew would be no chain.
	n := 0
	for _, p := range dst {
		if n == 0 || !same(dst[n-1], p) && !same(dst[0], p) {
			dst[n] = p
			n++
		}
	}
	dst = dst[:n]
	return dst
}

// outer moves to the front, and returns, the points that are not well inside the
// octagon of those farthest in eight directions (the first step of Akl and
// Toussaint's method, 1978, from memory): those are no corners, and most of a
// part's points are. Well inside is by more than 1e-14 of the size squared in
// each cross product, whose rounding is below 1e-15 of that.
func outer(pts []mesh.Vec) []mesh.Vec {
	if len(pts) < 16 {
		return pts
	}
	var far [8]mesh.Vec
	var most [8]float64
	for i, p := range pts {
		s, d := p.X+p.Y, p.Y-p.X
		for k, v := range [8]float64{p.X, s, p.Y, d, -p.X, -s, -p.Y, -d} {
			if i == 0 || v > most[k] {
				far[k], most[k] = p, v
			}
		}
	}
	size := max(most[0]+most[4], most[2]+most[6])
	if size == 0 {
		return pts
	}
	well := 1e-14 * float64(size*size)
	n := 0
	for i, p := range pts {
		inside := true
		for k, a := range far {
			b := far[(k+1)&7]
			if a == b {
				continue
			}
			if !(float64((b.X-a.X)*(p.Y-a.Y))-float64((b.Y-a.Y)*(p.X-a.X)) > well) {
				inside = false
				break
			}
		}
		if !inside {
			pts[n], pts[i] = pts[i], pts[n]
			n++
		}
	}
	return pts[:n]
}

func leftTurn(a, b, c mesh.Vec) bool {
	return float64((b.X-a.X)*(c.Y-a.Y))-float64((b.Y-a.Y)*(c.X-a.X)) > 0
}

// Extents is the size of the least axis-aligned box around pts.
func Extents(pts []mesh.Vec) mesh.Vec {
	return Bounds(pts).Size()
}

func Bounds(pts []mesh.Vec) mesh.Box {
	if len(pts) == 0 {
		return mesh.Box{}
	}
	b := mesh.Box{Min: pts[0], Max: pts[0]}
	for _, p := range pts[1:] {
		b.Min = mesh.Vec{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y), Z: min(b.Min.Z, p.Z)}
		b.Max = mesh.Vec{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y), Z: max(b.Max.Z, p.Z)}
	}
	return b
}
