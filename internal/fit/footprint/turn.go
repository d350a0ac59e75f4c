package footprint

import (
	"math"
	"slices"

	"cardback/internal/mesh"
)

// Dir is a unit vector in the plane of the footprint.
type Dir struct{ X, Y float64 }

func (f Dir) dot(g Dir) float64   { return float64(f.X*g.X) + float64(f.Y*g.Y) }
func (f Dir) cross(g Dir) float64 { return float64(f.X*g.Y) - float64(f.Y*g.X) }
func (f Dir) Left() Dir           { return Dir{X: -f.Y, Y: f.X} }
func (f Dir) Norm() float64       { return math.Sqrt(f.dot(f)) }
func (f Dir) Along(v mesh.Vec) float64 {
	return float64(f.X*v.X) + float64(f.Y*v.Y)
}

// Upper returns f or −f, whichever has its angle in [0, π).
func (f Dir) Upper() Dir {
	if f.Y < 0 || f.Y == 0 && f.X < 0 {
		return Dir{X: 0 - f.X, Y: 0 - f.Y}
	}
	return f
}

// lookAhead is how many corners ahead a caliper looks for a better one. In
// exact arithmetic one would do; but along the shortest edges that footprint
// leaves, some ten units of rounding long, the rounding of two products may
// hide the gain, and a caliper would stop there for good. Three such edges in
// a row are beyond it.
const lookAhead = 3

// Turns goes through all turns of a footprint about the vertical.
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
type Turns struct {
	at []Dir // room for the directions where a chord changes
}

// Each calls visit for each arc of directions from f0 counter-clockwise to f1
// on which the chords a and b are fixed. The arcs cover half a circle, which
// is all turns, as half a turn changes no extent. No arc exceeds a right
// angle. Corners must come from footprint; a and b carry the difference in Z.
func (t *Turns) Each(corners []mesh.Vec, visit func(f0, f1 Dir, a, b mesh.Vec)) {
	t.at = t.at[:0]
	n := len(corners)
	for i, p := range corners {
		q := corners[(i+1)%n]
		e := Dir{X: q.X - p.X, Y: q.Y - p.Y}
		l := e.Norm()
		if l == 0 {
			continue
		}
		e = Dir{X: e.X / l, Y: e.Y / l}
		t.at = append(t.at, e.Upper(), e.Left().Upper())
	}
	if len(t.at) == 0 {
		t.at = append(t.at, Dir{X: 1, Y: 0}, Dir{X: 0, Y: 1})
	}
	slices.SortFunc(t.at, func(f, g Dir) int {
		switch c := f.cross(g); {
		case c > 0:
			return -1
		case c < 0:
			return 1
		}
		return 0
	})
	first := t.at[0]
	t.at = append(t.at, Dir{X: 0 - first.X, Y: 0 - first.Y})
	var caliper [4]int // the corners farthest along m, m.left() and their opposites
	for k := 0; k+1 < len(t.at); k++ {
		f0, f1 := t.at[k], t.at[k+1]
		m := Dir{X: f0.X + f1.X, Y: f0.Y + f1.Y}
		for j, g := range [4]Dir{m, m.Left(), {-m.X, -m.Y}, m.Left().Left().Left()} {
			if k == 0 {
				for i, p := range corners {
					if g.Along(p) > g.Along(corners[caliper[j]]) {
						caliper[j] = i
					}
				}
				continue
			}
			for range n { // calipers only ever go on counter-clockwise
				ahead := 0
				for k := 1; k <= lookAhead; k++ {
					if g.Along(corners[(caliper[j]+k)%n]) > g.Along(corners[caliper[j]]) {
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

// LeastMax returns the f on the arc from f0 to f1 that minimises
// max(a·f − roomA, b·f − roomB), and the minimum. Both a·f and b·f must be
// extents on the arc, so not negative there.
//
// A sinusoid is concave wherever it is not negative; the greater of two
// concave functions has its least value at an end of the arc or where the two
// cross, never at a stationary point of one alone (that is a maximum). The
// crossings solve (a−b)·f = roomA − roomB, which has at most two solutions.
func LeastMax(f0, f1 Dir, a Dir, roomA float64, b Dir, roomB float64) (Dir, float64) {
	worst := func(f Dir) float64 { return max(a.dot(f)-roomA, b.dot(f)-roomB) }
	best, least := f0, worst(f0)
	try := func(f Dir) {
		if v := worst(f); v < least {
			best, least = f, v
		}
	}
	try(f1)
	g := Dir{X: a.X - b.X, Y: a.Y - b.Y}
	l := g.Norm()
	if l == 0 {
		return best, least
	}
	c := (roomA - roomB) / l
	if c < -1 || c > 1 {
		return best, least
	}
	s := math.Sqrt(1 - float64(c*c))
	g = Dir{X: g.X / l, Y: g.Y / l}
	for _, s := range [2]float64{s, -s} {
		f := Dir{X: float64(c*g.X) - float64(s*g.Y), Y: float64(c*g.Y) + float64(s*g.X)}
		if f0.cross(f) > 0 && f.cross(f1) > 0 {
			try(f)
		}
	}
	return best, least
}

// BestTurn returns the turn of the footprint that leaves the most to spare on
// a width × depth rectangle, and what it leaves (negative: by how much even
// that turn is too large).
func (t *Turns) BestTurn(corners []mesh.Vec, width, depth float64) (Dir, float64) {
	var best Dir
	least := math.Inf(1)
	t.Each(corners, func(f0, f1 Dir, a, b mesh.Vec) {
		if f, over := LeastMax(f0, f1, Dir{X: a.X, Y: a.Y}, width, Dir{X: b.Y, Y: -b.X}, depth); over < least {
			best, least = f, over
		}
	})
	return best, -least
}

// LeastLoad returns the turn of the footprint at which the greater of w/width
// and d/depth is least, and that least.
func (t *Turns) LeastLoad(corners []mesh.Vec, width, depth float64) (Dir, float64) {
	var best Dir
	least := math.Inf(1)
	t.Each(corners, func(f0, f1 Dir, a, b mesh.Vec) {
		if f, v := LeastMax(f0, f1, Dir{X: a.X / width, Y: a.Y / width}, 0, Dir{X: b.Y / depth, Y: -b.X / depth}, 0); v < least {
			best, least = f, v
		}
	})
	return best, least
}

// LargestTurnedScale returns the greatest factor by which the footprint can be
// scaled and, at some turn, still fit on a width × depth rectangle.
func (t *Turns) LargestTurnedScale(corners []mesh.Vec, width, depth float64) float64 {
	_, load := t.LeastLoad(corners, width, depth)
	return 1 / load
}
