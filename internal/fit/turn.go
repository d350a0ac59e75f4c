package fit

import (
	"math"
	"slices"

	"cardback/internal/mesh"
)

// dir is a unit vector in the plane of the footprint.
type dir struct{ x, y float64 }

func (f dir) dot(g dir) float64   { return float64(f.x*g.x) + float64(f.y*g.y) }
func (f dir) cross(g dir) float64 { return float64(f.x*g.y) - float64(f.y*g.x) }
func (f dir) left() dir           { return dir{-f.y, f.x} }
func (f dir) norm() float64       { return math.Sqrt(f.dot(f)) }
func (f dir) along(v mesh.Vec) float64 {
	return float64(f.x*v.X) + float64(f.y*v.Y)
}

// upper returns f or −f, whichever has its angle in [0, π).
func (f dir) upper() dir {
	if f.y < 0 || f.y == 0 && f.x < 0 {
		return dir{0 - f.x, 0 - f.y}
	}
	return f
}

// lookAhead is how many corners ahead a caliper looks for a better one. In
// exact arithmetic one would do; but along the shortest edges that footprint
// leaves, some ten units of rounding long, the rounding of two products may
// hide the gain, and a caliper would stop there for good. Three such edges in
// a row are beyond it.
const lookAhead = 3

// turns goes through all turns of a footprint about the vertical.
//
// A turn is given by the direction f of the footprint that comes to lie along
// the plate's width: the part is turned by minus the angle of f. The extents
// are then the width of the footprint along f and along f.left(). The pair of
// corners that realises a width changes only where f or f.left() is parallel
// to an edge's normal, so between those directions the extents are
//
//	w(f) = a·f,   d(f) = b·f.left(),
//
// with fixed chords a and b of the footprint: single sinusoids.
type turns struct {
	at []dir // room for the directions where a chord changes
}

// each calls visit for each arc of directions from f0 counter-clockwise to f1
// on which the chords a and b are fixed. The arcs cover half a circle, which
// is all turns, as half a turn changes no extent. No arc exceeds a right
// angle. Corners must come from footprint; a and b carry the difference in Z.
func (t *turns) each(corners []mesh.Vec, visit func(f0, f1 dir, a, b mesh.Vec)) {
	t.at = t.at[:0]
	n := len(corners)
	for i, p := range corners {
		q := corners[(i+1)%n]
		e := dir{q.X - p.X, q.Y - p.Y}
		l := e.norm()
		if l == 0 {
			continue
		}
		e = dir{e.x / l, e.y / l}
		t.at = append(t.at, e.upper(), e.left().upper())
	}
	if len(t.at) == 0 {
		t.at = append(t.at, dir{1, 0}, dir{0, 1})
	}
	slices.SortFunc(t.at, func(f, g dir) int {
		switch c := f.cross(g); {
		case c > 0:
			return -1
		case c < 0:
			return 1
		}
		return 0
	})
	first := t.at[0]
	t.at = append(t.at, dir{0 - first.x, 0 - first.y})
	var caliper [4]int // the corners farthest along m, m.left() and their opposites
	for k := 0; k+1 < len(t.at); k++ {
		f0, f1 := t.at[k], t.at[k+1]
		m := dir{f0.x + f1.x, f0.y + f1.y}
		for j, g := range [4]dir{m, m.left(), {-m.x, -m.y}, m.left().left().left()} {
			if k == 0 {
				for i, p := range corners {
					if g.along(p) > g.along(corners[caliper[j]]) {
						caliper[j] = i
					}
				}
				continue
			}
			for range n { // calipers only ever go on counter-clockwise
				ahead := 0
				for k := 1; k <= lookAhead; k++ {
					if g.along(corners[(caliper[j]+k)%n]) > g.along(corners[caliper[j]]) {
						ahead = k
						break
					}
				}
				if ahead == 0 {
					break
				}
				caliper[j] = (caliper[j] + ahead) % n
			}
		}
		visit(f0, f1, corners[caliper[0]].Sub(corners[caliper[2]]), corners[caliper[1]].Sub(corners[caliper[3]]))
	}
}

// leastMax returns the f on the arc from f0 to f1 that minimises
// max(a·f − roomA, b·f − roomB), and the minimum. Both a·f and b·f must be
// extents on the arc, so not negative there.
//
// A sinusoid is concave wherever it is not negative; the greater of two
// concave functions has its least value at an end of the arc or where the two
// cross, never at a stationary point of one alone (that is a maximum). The
// crossings solve (a−b)·f = roomA − roomB, which has at most two solutions.
func leastMax(f0, f1 dir, a dir, roomA float64, b dir, roomB float64) (dir, float64) {
	worst := func(f dir) float64 { return max(a.dot(f)-roomA, b.dot(f)-roomB) }
	best, least := f0, worst(f0)
	try := func(f dir) {
		if v := worst(f); v < least {
			best, least = f, v
		}
	}
	try(f1)
	g := dir{a.x - b.x, a.y - b.y}
	l := g.norm()
	if l == 0 {
		return best, least
	}
	c := (roomA - roomB) / l
	if c < -1 || c > 1 {
		return best, least
	}
	s := math.Sqrt(1 - float64(c*c))
	g = dir{g.x / l, g.y / l}
	for _, s := range [2]float64{s, -s} {
		f := dir{float64(c*g.x) - float64(s*g.y), float64(c*g.y) + float64(s*g.x)}
		if f0.cross(f) > 0 && f.cross(f1) > 0 {
			try(f)
		}
	}
	return best, least
}

// bestTurn returns the turn of the footprint that leaves the most to spare on
// a width × depth rectangle, and what it leaves (negative: by how much even
// that turn is too large).
func (t *turns) bestTurn(corners []mesh.Vec, width, depth float64) (dir, float64) {
	var best dir
	least := math.Inf(1)
	t.each(corners, func(f0, f1 dir, a, b mesh.Vec) {
		if f, over := leastMax(f0, f1, dir{a.X, a.Y}, width, dir{b.Y, -b.X}, depth); over < least {
			best, least = f, over
		}
	})
	return best, -least
}

// leastLoad returns the turn of the footprint at which the greater of w/width
// and d/depth is least, and that least.
func (t *turns) leastLoad(corners []mesh.Vec, width, depth float64) (dir, float64) {
	var best dir
	least := math.Inf(1)
	t.each(corners, func(f0, f1 dir, a, b mesh.Vec) {
		if f, v := leastMax(f0, f1, dir{a.X / width, a.Y / width}, 0, dir{b.Y / depth, -b.X / depth}, 0); v < least {
			best, least = f, v
		}
	})
	return best, least
}

// largestTurnedScale returns the greatest factor by which the footprint can be
// scaled and, at some turn, still fit on a width × depth rectangle.
func (t *turns) largestTurnedScale(corners []mesh.Vec, width, depth float64) float64 {
	_, load := t.leastLoad(corners, width, depth)
	return 1 / load
}
