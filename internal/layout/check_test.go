package layout

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/shadow"
)

// This file checks layouts by means of its own: outlines are turned by the
// textbook formula, and distances are those between the edges themselves.

// moved is the outline of a placed copy, on its plate.
func moved(o shadow.Outline, p Placed) shadow.Outline {
	sin, cos := math.Sin(p.TurnDeg*math.Pi/180), math.Cos(p.TurnDeg*math.Pi/180)
	out := make(shadow.Outline, len(o))
	for i, r := range o {
		for _, q := range r {
			out[i] = append(out[i], shadow.Point{X: cos*q.X - sin*q.Y + p.X, Y: sin*q.X + cos*q.Y + p.Y})
		}
	}
	return out
}

func bounds(o shadow.Outline) (lo, hi shadow.Point) {
	lo, hi = o[0][0], o[0][0]
	for _, r := range o {
		for _, p := range r {
			lo.X, lo.Y, hi.X, hi.Y = min(lo.X, p.X), min(lo.Y, p.Y), max(hi.X, p.X), max(hi.Y, p.Y)
		}
	}
	return lo, hi
}

// inside tells by the parity of crossings with a ray whether p is in the region.
func inside(o shadow.Outline, p shadow.Point) bool {
	in := false
	for _, r := range o {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				in = !in
			}
		}
	}
	return in
}

func pointToSegment(p, a, b shadow.Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Min(1, math.Max(0, ((p.X-a.X)*dx+(p.Y-a.Y)*dy)/l))
	}
	return math.Hypot(a.X+t*dx-p.X, a.Y+t*dy-p.Y)
}

// between is the distance of two segments; where they cross properly, it is minus
// the least distance of an end from the other segment: how deep they cross.
func between(a, b, c, d shadow.Point) float64 {
	side := func(p, q, r shadow.Point) float64 { return (q.X-p.X)*(r.Y-p.Y) - (q.Y-p.Y)*(r.X-p.X) }
	least := math.Min(math.Min(pointToSegment(a, c, d), pointToSegment(b, c, d)), math.Min(pointToSegment(c, a, b), pointToSegment(d, a, b)))
	if side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0 {
		return -least
	}
	return least
}

// apartBy is the distance of two regions if that is below far, else far; below
// zero where they overlap. Pairs of edges whose boxes are far apart are left out.
func apartBy(o, q shadow.Outline, far float64) float64 {
	lo, hi := bounds(o)
	lo2, hi2 := bounds(q)
	if lo.X > hi2.X+far || lo2.X > hi.X+far || lo.Y > hi2.Y+far || lo2.Y > hi.Y+far {
		return far
	}
	least := far
	for _, r := range o {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if math.Min(a.X, b.X) > hi2.X+far || lo2.X > math.Max(a.X, b.X)+far || math.Min(a.Y, b.Y) > hi2.Y+far || lo2.Y > math.Max(a.Y, b.Y)+far {
				continue
			}
			for _, s := range q {
				for j, c := range s {
					d := s[(j+1)%len(s)]
					if math.Min(a.X, b.X) > math.Max(c.X, d.X)+far || math.Min(c.X, d.X) > math.Max(a.X, b.X)+far ||
						math.Min(a.Y, b.Y) > math.Max(c.Y, d.Y)+far || math.Min(c.Y, d.Y) > math.Max(a.Y, b.Y)+far {
						continue
					}
					least = math.Min(least, between(a, b, c, d))
				}
			}
		}
	}
	// One region wholly within another's, for regions whose edges keep away
	// from each other: then any point of a ring tells. Where edges touch, points
	// in the middle of the edges tell too.
	for _, pair := range [2][2]shadow.Outline{{o, q}, {q, o}} {
		for _, r := range pair[0] {
			for i, a := range r {
				b := r[(i+1)%len(r)]
				for _, p := range [2]shadow.Point{a, {X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}} {
					if !inside(pair[1], p) {
						continue
					}
					deep := math.Inf(1)
					for _, s := range pair[1] {
						for j, c := range s {
							deep = math.Min(deep, pointToSegment(p, c, s[(j+1)%len(s)]))
						}
					}
					least = math.Min(least, -deep)
				}
			}
		}
	}
	return least
}

// requireSound checks everything that Layout promises about where pieces lie.
func requireSound(t require.TestingT, pieces []Piece, o Options, l *Layout) {
	if h, ok := t.(*testing.T); ok {
		h.Helper()
	}
	unplaced := map[int]bool{}
	for _, u := range l.Unplaced {
		require.NotEmpty(t, u.Reason)
		require.False(t, unplaced[u.Piece])
		unplaced[u.Piece] = true
	}
	type key struct{ piece, copy int }
	seen := map[key]bool{}
	for _, plate := range l.Plates {
		require.NotEmpty(t, plate)
		var outlines []shadow.Outline
		for _, p := range plate {
			require.False(t, unplaced[p.Piece])
			require.False(t, seen[key{p.Piece, p.Copy}], "laid twice")
			require.True(t, p.Copy >= 0 && p.Copy < pieces[p.Piece].Copies)
			require.True(t, p.TurnDeg >= 0 && p.TurnDeg < 360)
			seen[key{p.Piece, p.Copy}] = true
			m := moved(pieces[p.Piece].Outline, p)
			outlines = append(outlines, m)
			require.LessOrEqual(t, pieces[p.Piece].Height, o.Plate.Height+Tolerance)
			lo, hi := bounds(m)
			if o.Plate.Round {
				r := o.Plate.Width / 2
				for _, ring := range m {
					for _, q := range ring {
						require.LessOrEqual(t, math.Hypot(q.X-r, q.Y-r), r-o.Plate.Margin+Tolerance, "beyond the margin")
					}
				}
				continue
			}
			require.GreaterOrEqual(t, math.Min(lo.X, lo.Y), o.Plate.Margin-Tolerance, "beyond the margin")
			require.LessOrEqual(t, hi.X, o.Plate.Width-o.Plate.Margin+Tolerance, "beyond the margin")
			require.LessOrEqual(t, hi.Y, o.Plate.Depth-o.Plate.Margin+Tolerance, "beyond the margin")
		}
		for i := range outlines {
			for j := range i {
				if d := apartBy(outlines[i], outlines[j], o.Spacing+1); d < o.Spacing-Tolerance {
					require.Failf(t, "too near", "pieces %d and %d are %.9g apart, not %g", plate[i].Piece, plate[j].Piece, d, o.Spacing)
				}
			}
		}
	}
	count := 0
	for i, p := range pieces {
		if !unplaced[i] {
			count += max(p.Copies, 0)
		}
	}
	require.Len(t, seen, count, "each copy once")
	require.LessOrEqual(t, l.Bound, len(l.Plates))
	require.NotEmpty(t, l.Why)
	if count > 0 {
		require.Positive(t, l.Bound)
	}
}

// The checks themselves must be able to fail.
func TestTheChecksSeeOverlaps(t *testing.T) {
	big, small := shadow.Outline{rectangle(10, 10)}, shadow.Outline{rectangle(2, 2)}
	ring := shadow.Outline{rectangle(10, 10), {{X: 1, Y: 1}, {X: 1, Y: 9}, {X: 9, Y: 9}, {X: 9, Y: 1}}}
	at := func(x, y float64) shadow.Outline { return moved(small, Placed{X: x, Y: y}) }
	require.InDelta(t, -4, apartBy(big, at(4, 4), 20), 1e-12) // wholly inside; the middle of a side is 4 deep
	require.InDelta(t, 3, apartBy(ring, at(4, 4), 20), 1e-12)
	require.InDelta(t, 5, apartBy(big, at(13, 14), 20), 1e-12)
	require.InDelta(t, 0, apartBy(big, at(10, 3), 20), 1e-12)
	require.Less(t, apartBy(big, at(9, 3), 20), -0.9)
	require.Less(t, apartBy(ring, at(8, 8), 20), -0.9)
}

func rectangle(w, h float64) shadow.Ring {
	return shadow.Ring{{}, {X: w}, {X: w, Y: h}, {Y: h}}
}
