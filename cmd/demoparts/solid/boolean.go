package solid

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"cardback/internal/mesh"
)

// jiggleMM and jiggleRad bound the motion that brings the second operand into
// general position. They must be far above the rounding of the predicates
// (products of three lengths below 200 mm in float64: about 1e-9 mm³, so a
// miss of 1e-6 mm beside edges of 0.1 mm is still told apart) and far below
// what a printer resolves (0.02 mm).
const (
	jiggleMM  = 4e-4
	jiggleRad = 6e-6
	attempts  = 12
)

// Union joins solids into one.
func Union(parts ...*mesh.Mesh) *mesh.Mesh { return fold(parts, false, false) }

// Subtract takes every tool away from a.
func Subtract(a *mesh.Mesh, tools ...*mesh.Mesh) *mesh.Mesh {
	return fold(append([]*mesh.Mesh{a}, tools...), false, true)
}

// Intersect keeps what all the solids share.
func Intersect(parts ...*mesh.Mesh) *mesh.Mesh { return fold(parts, true, true) }

// fold combines from left to right. keepInsideA and keepInsideB choose which
// side of each surface survives; a part of b that is kept while its inside
// belongs to nothing is turned inside out.
func fold(parts []*mesh.Mesh, keepInsideA, keepInsideB bool) *mesh.Mesh {
	out := parts[0]
	for _, b := range parts[1:] {
		var err error
		for k := range attempts {
			var m *mesh.Mesh
			m, err = combine(out, jiggle(b, len(out.Triangles)+31*k), keepInsideA, keepInsideB)
			if err == nil {
				out = simplify(m)
				break
			}
		}
		if err != nil {
			// The inputs are fixed in the program's text: failing here is a
			// broken model, found by running the program once.
			panic(fmt.Sprintf("solid: cannot combine: %v", err))
		}
	}
	return out
}

// jiggle moves m by the k-th tiny motion of a fixed sequence (multiples of the
// golden ratio and two other irrationals, modulo one).
func jiggle(m *mesh.Mesh, k int) *mesh.Mesh {
	frac := func(a float64) float64 {
		_, f := math.Modf(float64(a * float64(k+1)))
		return float64(2*f) - 1
	}
	d := mesh.Vec{X: frac(0.6180339887), Y: frac(0.7548776662), Z: frac(0.5698402910)}.Scale(jiggleMM)
	r := mesh.Vec{X: frac(0.8191725134), Y: frac(0.6710436067), Z: frac(0.5497004779)}.Scale(jiggleRad)
	out := &mesh.Mesh{Vertices: make([]mesh.Vec, len(m.Vertices)), Triangles: m.Triangles}
	for i, v := range m.Vertices {
		out.Vertices[i] = v.Add(d).Add(r.Cross(v)) // a rotation to first order
	}
	return out
}

// operand is one of the two solids being combined, with its edges numbered.
type operand struct {
	m     *mesh.Mesh
	base  int32 // number of its vertex 0 among the points of the whole
	boxes []mesh.Box
	edges [][3]int32 // of each triangle: edge i joins corners i and i+1
	ends  [][2]uint32
	on    [][]onEdge // points on each edge, in order along it
	segs  [][][2]int32
}

type onEdge struct {
	t     float64
	point int32
}

func newOperand(m *mesh.Mesh, base int32) *operand {
	o := &operand{m: m, base: base, boxes: make([]mesh.Box, len(m.Triangles)),
		edges: make([][3]int32, len(m.Triangles)), segs: make([][][2]int32, len(m.Triangles))}
	ids := make(map[[2]uint32]int32, len(m.Triangles)*3/2)
	for i, t := range m.Triangles {
		a, b, c := m.Corners(i)
		o.boxes[i] = mesh.Box{
			Min: mesh.Vec{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y), Z: min(a.Z, b.Z, c.Z)},
			Max: mesh.Vec{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y), Z: max(a.Z, b.Z, c.Z)},
		}
		for j := range 3 {
			u, v := t[j], t[(j+1)%3]
			key := [2]uint32{min(u, v), max(u, v)}
			id, ok := ids[key]
			if !ok {
				id = int32(len(o.ends))
				ids[key] = id
				o.ends = append(o.ends, key)
			}
			o.edges[i][j] = id
		}
	}
	o.on = make([][]onEdge, len(o.ends))
	return o
}

// orient is six times the signed volume of the tetrahedron a, b, c, d.
func orient(a, b, c, d mesh.Vec) float64 { return b.Sub(a).Cross(c.Sub(a)).Dot(d.Sub(a)) }

// crossing meets edge e of o with face f of q: the point's number, or −1.
// Signs are always taken on points in one fixed order, so that two triangles
// sharing an edge never disagree about it.
func (o *operand) crossing(e int32, q *operand, f int, pts *[]mesh.Vec, seen map[[3]int32]int32) int32 {
	key := [3]int32{o.base, e, int32(f)}
	if p, ok := seen[key]; ok {
		return p
	}
	seen[key] = -1
	t := q.m.Triangles[f]
	p0, p1 := o.m.Vertices[o.ends[e][0]], o.m.Vertices[o.ends[e][1]]
	a, b, c := q.m.Corners(f)
	s0, s1 := orient(a, b, c, p0), orient(a, b, c, p1)
	if (s0 > 0) == (s1 > 0) {
		return -1
	}
	side := func(i int) bool {
		u, v, flip := t[i], t[(i+1)%3], false
		if u > v {
			u, v, flip = v, u, true
		}
		x, y := q.m.Vertices[u], q.m.Vertices[v]
		var s float64
		if o.base < q.base {
			s = orient(p0, p1, x, y)
		} else {
			s = orient(x, y, p0, p1)
		}
		return (s > 0) != flip
	}
	if s := side(0); s != side(1) || s != side(2) {
		return -1
	}
	k := s0 / (s0 - s1)
	id := int32(len(*pts))
	*pts = append(*pts, p0.Add(p1.Sub(p0).Scale(k)))
	o.on[e] = append(o.on[e], onEdge{k, id})
	seen[key] = id
	return id
}

func apart(a, b mesh.Box) bool {
	return a.Max.X < b.Min.X || b.Max.X < a.Min.X || a.Max.Y < b.Min.Y || b.Max.Y < a.Min.Y || a.Max.Z < b.Min.Z || b.Max.Z < a.Min.Z
}

// piece is a triangle of one operand or a part of one.
type piece struct{ v [3]int32 }

// combine is the boolean of two solids in general position; an error says that
// they are not.
func combine(ma, mb *mesh.Mesh, keepInsideA, keepInsideB bool) (*mesh.Mesh, error) {
	a, b := newOperand(ma, 0), newOperand(mb, int32(len(ma.Vertices)))
	pts := slices.Concat(ma.Vertices, mb.Vertices)
	seen := map[[3]int32]int32{}
	bb := mb.Bounds()
	for i := range a.boxes {
		if apart(a.boxes[i], bb) {
			continue
		}
		for j := range b.boxes {
			if apart(a.boxes[i], b.boxes[j]) {
				continue
			}
			var hit []int32
			for k := range 3 {
				if p := a.crossing(a.edges[i][k], b, j, &pts, seen); p >= 0 {
					hit = append(hit, p)
				}
				if p := b.crossing(b.edges[j][k], a, i, &pts, seen); p >= 0 {
					hit = append(hit, p)
				}
			}
			switch len(hit) {
			case 0:
			case 2:
				a.segs[i] = append(a.segs[i], [2]int32{hit[0], hit[1]})
				b.segs[j] = append(b.segs[j], [2]int32{hit[0], hit[1]})
			default:
				return nil, fmt.Errorf("faces %d and %d meet in %d points", i, j, len(hit))
			}
		}
	}
	pa, err := a.pieces(pts)
	if err != nil {
		return nil, err
	}
	pb, err := b.pieces(pts)
	if err != nil {
		return nil, err
	}
	barrier := map[[2]int32]bool{}
	for _, segs := range a.segs {
		for _, s := range segs {
			barrier[[2]int32{min(s[0], s[1]), max(s[0], s[1])}] = true
		}
	}
	ka, err := keep(pa, pts, barrier, mb, keepInsideA)
	if err != nil {
		return nil, err
	}
	kb, err := keep(pb, pts, barrier, ma, keepInsideB)
	if err != nil {
		return nil, err
	}
	if keepInsideB && !keepInsideA { // a difference: b's surface bounds from outside
		for i := range kb {
			kb[i].v[1], kb[i].v[2] = kb[i].v[2], kb[i].v[1]
		}
	}
	out := &mesh.Mesh{}
	index := make([]int32, len(pts))
	for _, p := range slices.Concat(ka, kb) {
		var t [3]uint32
		for j, v := range p.v {
			if index[v] == 0 {
				out.Vertices = append(out.Vertices, pts[v])
				index[v] = int32(len(out.Vertices))
			}
			t[j] = uint32(index[v] - 1)
		}
		out.Triangles = append(out.Triangles, t)
	}
	if !closed(out) {
		return nil, errors.New("the pieces do not close up")
	}
	return out, nil
}

// closed reports whether every edge is run along once each way.
func closed(m *mesh.Mesh) bool {
	run := make(map[[2]uint32]bool, 3*len(m.Triangles))
	for _, t := range m.Triangles {
		for j := range t {
			key := [2]uint32{t[j], t[(j+1)%3]}
			if run[key] {
				return false
			}
			run[key] = true
		}
	}
	for _, t := range m.Triangles {
		for j := range t {
			if !run[[2]uint32{t[(j+1)%3], t[j]}] {
				return false
			}
		}
	}
	return true
}

// pieces lists o's triangles, those that are crossed cut into parts.
func (o *operand) pieces(pts []mesh.Vec) ([]piece, error) {
	for _, on := range o.on {
		slices.SortFunc(on, func(x, y onEdge) int {
			if x.t < y.t {
				return -1
			}
			if x.t > y.t {
				return 1
			}
			return int(x.point - y.point)
		})
	}
	var out []piece
	for i, t := range o.m.Triangles {
		corners := [3]int32{int32(t[0]) + o.base, int32(t[1]) + o.base, int32(t[2]) + o.base}
		var border []int32
		at := map[int32]flat{}
		for j := range 3 {
			from, to := unitTriangle[j], unitTriangle[(j+1)%3]
			border = append(border, corners[j])
			at[corners[j]] = from
			e := o.edges[i][j]
			on := o.on[e]
			for k := range on {
				p := on[k]
				if o.ends[e][0] != t[j] {
					p = on[len(on)-1-k]
					p.t = 1 - p.t
				}
				border = append(border, p.point)
				at[p.point] = flat{from.x + float64(p.t*(to.x-from.x)), from.y + float64(p.t*(to.y-from.y))}
			}
		}
		if len(border) == 3 && len(o.segs[i]) == 0 {
			out = append(out, piece{corners})
			continue
		}
		ps, err := split(pts, at, corners, border, o.segs[i])
		if err != nil {
			return nil, fmt.Errorf("face %d: %w", i, err)
		}
		out = append(out, ps...)
	}
	return out, nil
}

// keep returns the pieces on the wanted side of other. Pieces joined by an
// edge that is not an intersection lie on the same side, so one question of
// each connected patch is enough: it is asked at the patch's largest piece.
func keep(ps []piece, pts []mesh.Vec, barrier map[[2]int32]bool, other *mesh.Mesh, inside bool) ([]piece, error) {
	parent := make([]int, len(ps))
	for i := range parent {
		parent[i] = i
	}
	find := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	owner := map[[2]int32]int{}
	for i, p := range ps {
		for j := range 3 {
			u, v := p.v[j], p.v[(j+1)%3]
			key := [2]int32{min(u, v), max(u, v)}
			if barrier[key] {
				continue
			}
			if k, ok := owner[key]; ok {
				parent[find(i)] = find(k)
			} else {
				owner[key] = i
			}
		}
	}
	best, area := make([]int, len(ps)), make([]float64, len(ps))
	for i, p := range ps {
		r := find(i)
		a := pts[p.v[1]].Sub(pts[p.v[0]]).Cross(pts[p.v[2]].Sub(pts[p.v[0]])).Norm()
		if a > area[r] {
			best[r], area[r] = i, a
		}
	}
	wanted := make([]bool, len(ps))
	for i := range ps {
		if find(i) != i {
			continue
		}
		p := ps[best[i]]
		c := pts[p.v[0]].Add(pts[p.v[1]]).Add(pts[p.v[2]]).Scale(1.0 / 3)
		w := Winding(other, c)
		if d := math.Abs(w - math.Round(w)); d > 0.2 {
			return nil, fmt.Errorf("a patch lies on the other surface (winding %.2f)", w)
		}
		wanted[i] = (w > 0.5) == inside
	}
	var out []piece
	for i, p := range ps {
		if wanted[find(i)] {
			out = append(out, p)
		}
	}
	return out, nil
}

// Winding is how many times m's surface winds round p: 1 inside a solid, 0
// outside; the sum of the triangles' signed solid angles over 4π (Van Oosterom
// and Strackee's formula).
func Winding(m *mesh.Mesh, p mesh.Vec) float64 {
	var sum float64
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		a, b, c = a.Sub(p), b.Sub(p), c.Sub(p)
		la, lb, lc := a.Norm(), b.Norm(), c.Norm()
		num := a.Dot(b.Cross(c))
		den := float64(float64(la*lb)*lc) + float64(a.Dot(b)*lc) + float64(b.Dot(c)*la) + float64(c.Dot(a)*lb)
		sum += math.Atan2(num, den)
	}
	return sum / (2 * math.Pi)
}
