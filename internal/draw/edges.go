package draw

import (
	"cmp"
	"math"
	"slices"

	"cardback/internal/measure/shadow"
)

// sharp is the cosine of the least angle by which a surface must bend at an
// edge for a crease to be drawn: 30°. Round features of 12 facets or more stay
// smooth. Common practice, no source.
var sharp = math.Cos(30 * math.Pi / 180)

// steepest bounds the steepness of a face that the bias allows for: past 8 in 1
// a pixel beside the edge says little about the edge.
const steepest = 8

// edge is a candidate for a line: a side of one or more triangles.
type edge struct {
	a, b   uint32
	crease bool    // bends sharply, or is a border
	fold   bool    // all its triangles lie to one side of it in the view
	slope  float64 // least steepness of its triangles, depth over distance
}

// candidateEdges lists the edges that may be drawn, by vertex numbers.
func (s *scene) candidateEdges() []edge {
	sides, end := s.sides()
	var out []edge
	from := uint32(0)
	for a := range s.x {
		group := sides[from:end[a]]
		from = end[a]
		slices.SortFunc(group, func(p, q side) int { return cmp.Or(cmp.Compare(p.b, q.b), cmp.Compare(p.opposite, q.opposite)) })
		for len(group) > 0 {
			n := 1
			for n < len(group) && group[n].b == group[0].b {
				n++
			}
			if e := s.examine(uint32(a), group[:n]); e.crease || e.fold {
				out = append(out, e)
			}
			group = group[n:]
		}
	}
	return out
}

// side is a triangle's side, kept with its lower vertex: the upper vertex and
// the one opposite.
type side struct{ b, opposite uint32 }

// sides gathers all sides by their lower vertex; end says where each vertex's end.
func (s *scene) sides() (sides []side, end []uint32) {
	end = make([]uint32, len(s.x)+1)
	each := func(f func(a, b, opposite uint32)) {
		for _, t := range s.triangles {
			if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
				continue
			}
			for k := range 3 {
				a, b := t[k], t[(k+1)%3]
				f(min(a, b), max(a, b), t[(k+2)%3])
			}
		}
	}
	each(func(a, _, _ uint32) { end[a+1]++ })
	for v := range s.x {
		end[v+1] += end[v]
	}
	sides = make([]side, end[len(s.x)])
	each(func(a, b, opposite uint32) {
		sides[end[a]] = side{b, opposite}
		end[a]++
	})
	return sides, end
}

// examine says what an edge is, from all its triangles. An edge whose triangles
// are all seen edge-on is nothing: its neighbours draw the line.
func (s *scene) examine(a uint32, group []side) edge {
	e := edge{a: a, b: group[0].b, slope: steepest}
	left, right := 0, 0
	for _, sd := range group {
		switch t := s.turn(a, sd.b, sd.opposite); {
		case t > 0:
			left++
		case t < 0:
			right++
		}
		if n := s.normal(a, sd.b, sd.opposite); n[2] != 0 {
			e.slope = min(e.slope, math.Hypot(n[0], n[1])/math.Abs(n[2]))
		}
	}
	if left+right == 0 {
		return e
	}
	e.fold = left == 0 || right == 0
	e.crease = len(group) != 2 ||
		bends(s.normal(a, group[0].b, group[0].opposite), s.normal(a, group[1].b, group[1].opposite))
	return e
}

// turn is twice the projected area of a triangle, positive if c lies left of ab.
func (s *scene) turn(a, b, c uint32) float64 {
	return cross(s.x[b]-s.x[a], s.y[b]-s.y[a], s.x[c]-s.x[a], s.y[c]-s.y[a])
}

// normal is the normal of the triangle abc in view axes, not of unit length.
func (s *scene) normal(a, b, c uint32) [3]float64 {
	ux, uy, uz := s.x[b]-s.x[a], s.y[b]-s.y[a], s.depth[b]-s.depth[a]
	vx, vy, vz := s.x[c]-s.x[a], s.y[c]-s.y[a], s.depth[c]-s.depth[a]
	return [3]float64{cross(uy, uz, vy, vz), cross(uz, ux, vz, vx), cross(ux, uy, vx, vy)}
}

// bends reports whether the surface turns by more than 30° at an edge whose two
// triangles, both taken along it the same way, have these normals.
func bends(n, m [3]float64) bool {
	product := float64(n[0]*m[0]) + float64(n[1]*m[1]) + float64(n[2]*m[2])
	length := norm(n) * norm(m)
	return length > 0 && -product < sharp*length
}

func norm(n [3]float64) float64 {
	return math.Sqrt(float64(n[0]*n[0]) + float64(n[1]*n[1]) + float64(n[2]*n[2]))
}

// leastJump is the least depth by which one surface must pass before another for the edge to be
// drawn as such, as a part of the view's larger extent.
const leastJump = 0.012

// visibleLines returns the visible stretches of creases and of folds that pass
// before something. A stretch is two points.
func visibleLines(s *scene, edges []edge, b *depthBuffer, larger float64) (creases, depths [][2]shadow.Point) {
	for _, e := range edges {
		ax, ay, ad := s.x[e.a], s.y[e.a], s.depth[e.a]
		dx, dy, dd := s.x[e.b]-ax, s.y[e.b]-ay, s.depth[e.b]-ad
		n := int(math.Hypot(dx, dy)/b.pixel) + 1
		// A surface beside the edge is seen at a pixel at most one pixel away
		// (the nearest centre on its side), where it may be nearer to the eye by
		// its slope times that. The edge is hidden where every pixel around
		// shows something nearer still. The rounding of depths comes on top.
		bias := float64(b.pixel*e.slope) + float64(1e-6*larger)
		kinds := make([]lineKind, n)
		for i := range n {
			t := (float64(i) + 0.5) / float64(n)
			kinds[i] = b.judge(e, ax+float64(t*dx), ay+float64(t*dy), ad+float64(t*dd), bias, larger)
		}
		for i := 1; i+1 < n; i++ { // a gap of one sample is the buffer's doing
			if kinds[i-1] == kinds[i+1] {
				kinds[i] = kinds[i-1]
			}
		}
		for i := 0; i < n; {
			j := i + 1
			for j < n && kinds[j] == kinds[i] {
				j++
			}
			at := func(k int) shadow.Point {
				t := float64(k) / float64(n)
				return shadow.Point{X: ax + float64(t*dx), Y: ay + float64(t*dy)}
			}
			switch kinds[i] {
			case isCrease:
				creases = append(creases, [2]shadow.Point{at(i), at(j)})
			case isDepth:
				depths = append(depths, [2]shadow.Point{at(i), at(j)})
			}
			i = j
		}
	}
	return creases, depths
}

type lineKind uint8

const (
	isNothing lineKind = iota
	isCrease
	isDepth
)

// judge says what to draw at one place of an edge.
func (b *depthBuffer) judge(e edge, x, y, depth, bias, larger float64) lineKind {
	col, row := b.cell(x, y)
	if b.leastAround(col, row, 1) > depth+bias {
		return isNothing // hidden
	}
	wide := b.leastAround(col, row, 2)
	switch {
	case math.IsInf(wide, -1):
		return isNothing // on the outline
	case e.fold && wide < depth-float64(leastJump*larger)-float64(2*bias):
		return isDepth
	case e.crease:
		return isCrease
	}
	return isNothing
}
