package draw

import (
	"math"
	"slices"

	"cardback/internal/measure"
)

// sharp is the cosine of the least angle by which a surface must bend at an
// edge for a crease to be drawn: 30°. Round features of 12 facets or more stay
// smooth. Common practice, no source.
var sharp = math.Cos(30 * math.Pi / 180)

// slope limit: faces seen at a smaller angle than 1 in 8 give no better bias,
// as a buffer's pixel beside them says little.
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
	type side struct {
		a, b, opposite uint32
	}
	sides := make([]side, 0, 3*len(s.triangles))
	for _, t := range s.triangles {
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
			continue
		}
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			sides = append(sides, side{min(a, b), max(a, b), t[(k+2)%3]})
		}
	}
	slices.SortFunc(sides, func(p, q side) int {
		switch {
		case p.a != q.a:
			return int(int64(p.a) - int64(q.a))
		case p.b != q.b:
			return int(int64(p.b) - int64(q.b))
		}
		return int(int64(p.opposite) - int64(q.opposite))
	})
	var out []edge
	for i := 0; i < len(sides); {
		j := i + 1
		for j < len(sides) && sides[j].a == sides[i].a && sides[j].b == sides[i].b {
			j++
		}
		e := edge{a: sides[i].a, b: sides[i].b, slope: math.Inf(1)}
		left, right, flat := 0, 0, 0
		var first, second [3]float64
		for k, sd := range sides[i:j] {
			side := s.turn(sd.a, sd.b, sd.opposite)
			switch {
			case side > 0:
				left++
			case side < 0:
				right++
			default:
				flat++
			}
			n := s.normal(sd.a, sd.b, sd.opposite)
			if n[2] != 0 {
				e.slope = min(e.slope, math.Hypot(n[0], n[1])/math.Abs(n[2]))
			}
			if k == 0 {
				first = n
			} else {
				second = n
			}
		}
		e.fold = (left == 0 || right == 0) && left+right > 0
		switch j - i {
		case 2:
			// The two normals as seen from the edge point opposite ways where the surface is flat.
			e.crease = bends(first, second)
		default:
			e.crease = true
		}
		e.slope = min(e.slope, steepest)
		if left+right > 0 && (e.crease || e.fold) {
			out = append(out, e)
		}
		i = j
	}
	return out
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

// least depth by which one surface must pass before another for the edge to be
// drawn as such, as a part of the view's larger extent.
const leastJump = 0.012

// visibleLines returns the visible stretches of creases and of folds that pass
// before something. A stretch is two points.
func visibleLines(s *scene, b *depthBuffer, larger float64) (creases, depths [][2]measure.Point) {
	for _, e := range s.candidateEdges() {
		ax, ay, ad := s.x[e.a], s.y[e.a], s.depth[e.a]
		dx, dy, dd := s.x[e.b]-ax, s.y[e.b]-ay, s.depth[e.b]-ad
		n := int(math.Hypot(dx, dy)/b.pixel) + 1
		// A surface beside the edge is seen at a pixel at most one pixel away
		// (the nearest centre on its side), where it may be nearer to the eye by
		// its slope times that. The edge is hidden where every pixel around
		// shows something nearer still. The rounding of depths comes on top.
		bias := float64(b.pixel*e.slope) + 1e-6*larger
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
			at := func(k int) measure.Point {
				t := float64(k) / float64(n)
				return measure.Point{X: ax + float64(t*dx), Y: ay + float64(t*dy)}
			}
			switch kinds[i] {
			case isCrease:
				creases = append(creases, [2]measure.Point{at(i), at(j)})
			case isDepth:
				depths = append(depths, [2]measure.Point{at(i), at(j)})
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
	least, _ := b.around(col, row, 1)
	if least > depth+bias {
		return isNothing // hidden
	}
	wide, _ := b.around(col, row, 2)
	switch {
	case math.IsInf(wide, -1):
		return isNothing // on the outline
	case e.fold && wide < depth-leastJump*larger-2*bias:
		return isDepth
	case e.crease:
		return isCrease
	}
	return isNothing
}
