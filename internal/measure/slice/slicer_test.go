package slice

import (
	"cmp"
	"math"
	"slices"

	"cardback/internal/mesh"
)

// Two slicers that share nothing with the package: neither looks at windings, nor
// adds up triangles' areas.

type flat struct{ x, y float64 }

// hullSection is the area and perimeter of the section of a convex body: every
// pair of corners on different sides is a chord inside the body, so where all such
// chords pass the height lies the section, and it is the hull of these points.
func hullSection(corners []mesh.Vec, z float64) (area, perimeter float64) {
	var pts []flat
	for _, a := range corners {
		for _, b := range corners {
			if a.Z < z && b.Z > z {
				t := (z - a.Z) / (b.Z - a.Z)
				pts = append(pts, flat{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)})
			}
		}
	}
	if len(pts) < 3 {
		return 0, 0
	}
	// The monotone chain (Andrew, 1979).
	slices.SortFunc(pts, func(a, b flat) int { return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.y, b.y)) })
	half := func(pts []flat) (ring []flat) {
		for _, p := range pts {
			for len(ring) > 1 {
				a, b := ring[len(ring)-2], ring[len(ring)-1]
				if (b.x-a.x)*(p.y-a.y)-(b.y-a.y)*(p.x-a.x) > 0 {
					break
				}
				ring = ring[:len(ring)-1]
			}
			ring = append(ring, p)
		}
		return ring[:len(ring)-1]
	}
	ring := half(pts)
	slices.Reverse(pts)
	ring = append(ring, half(pts)...)
	for i, p := range ring {
		q := ring[(i+1)%len(ring)]
		area += (p.x*q.y - q.x*p.y) / 2
		perimeter += math.Hypot(q.x-p.x, q.y-p.y)
	}
	return area, perimeter
}

// sweepSection is the area of the section of any body that does not cross
// itself. All segments at the height are found; between the neighbouring y of
// their ends the section is trapezia, and a line half way between meets their
// sides: from the first to the second is solid, from the third to the fourth, and
// so on. It is exact, and takes the square of the number of segments.
func sweepSection(m *mesh.Mesh, z float64) float64 {
	var segments [][2]flat
	var ys []float64
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		var ends []flat
		for _, e := range [3][2]mesh.Vec{{a, b}, {b, c}, {c, a}} {
			if (e[0].Z < z) != (e[1].Z < z) {
				t := (z - e[0].Z) / (e[1].Z - e[0].Z)
				ends = append(ends, flat{e[0].X*(1-t) + e[1].X*t, e[0].Y*(1-t) + e[1].Y*t})
			}
		}
		if len(ends) == 2 {
			segments = append(segments, [2]flat{ends[0], ends[1]})
			ys = append(ys, ends[0].y, ends[1].y)
		}
	}
	slices.Sort(ys)
	area := 0.0
	for i := 1; i < len(ys); i++ {
		y, tall := (ys[i]+ys[i-1])/2, ys[i]-ys[i-1]
		if !(ys[i-1] < y && y < ys[i]) {
			continue
		}
		var xs []float64
		for _, s := range segments {
			if (s[0].y < y) != (s[1].y < y) {
				xs = append(xs, s[0].x+(y-s[0].y)/(s[1].y-s[0].y)*(s[1].x-s[0].x))
			}
		}
		slices.Sort(xs)
		for k := 1; k < len(xs); k += 2 {
			area += tall * (xs[k] - xs[k-1])
		}
	}
	return area
}
