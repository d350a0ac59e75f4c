package solid

import (
	"math"

	"cardback/internal/mesh"
)

// Grid is the step, in mm, to which finished coordinates are rounded. STL
// holds float32, whose step below 128 mm is at most 7.6e-6, so a grid of a
// micrometre survives the file and every point keeps its own coordinates.
const Grid = 1e-3

// shortest is the length below which an edge is closed up, and sliver the
// height below which a triangle is re-cut: a few steps of the grid, so that
// rounding cannot turn a triangle over.
const (
	shortest = 8 * Grid
	sliver   = 4 * Grid
	offPlane = 1.2 * Grid // how far a removed point may have lain from the new surface
)

// Tidy rests a solid on the plate, removes edges and slivers that combining
// left behind and that are too fine to print, merges what lies in one plane,
// and rounds to the grid.
func Tidy(m *mesh.Mesh) *mesh.Mesh {
	out := simplify(Rest(m))
	for i, v := range out.Vertices {
		out.Vertices[i] = V(snap(v.X), snap(v.Y), snap(v.Z))
	}
	return Rest32(out)
}

// simplify is Tidy without the rounding; it also runs after each combination,
// because a sliver cut again makes slivers that arithmetic can't order.
func simplify(m *mesh.Mesh) *mesh.Mesh {
	w := newWork(m)
	for range 6 {
		if w.collapse()+w.flip() == 0 {
			break
		}
	}
	return w.mesh()
}

// snap rounds to the grid and never returns a negative zero.
func snap(x float64) float64 { return math.Round(x/Grid)/(1/Grid) + 0 }

// Rest32 rounds coordinates to what an STL holds.
func Rest32(m *mesh.Mesh) *mesh.Mesh {
	return each(m, func(v mesh.Vec) mesh.Vec {
		return V(float64(float32(v.X)), float64(float32(v.Y)), float64(float32(v.Z)))
	})
}

// work is a mesh being simplified: triangles round each vertex, dead ones
// marked.
type work struct {
	v    []mesh.Vec
	t    [][3]uint32
	dead []bool
	of   [][]int32
}

func newWork(m *mesh.Mesh) *work {
	w := &work{v: append([]mesh.Vec(nil), m.Vertices...), t: append([][3]uint32(nil), m.Triangles...),
		dead: make([]bool, len(m.Triangles)), of: make([][]int32, len(m.Vertices))}
	for i, t := range w.t {
		for _, v := range t {
			w.of[v] = append(w.of[v], int32(i))
		}
	}
	return w
}

func (w *work) mesh() *mesh.Mesh {
	out := &mesh.Mesh{}
	index := make([]uint32, len(w.v))
	for i, t := range w.t {
		if w.dead[i] {
			continue
		}
		for j, v := range t {
			if index[v] == 0 {
				out.Vertices = append(out.Vertices, w.v[v])
				index[v] = uint32(len(out.Vertices))
			}
			t[j] = index[v] - 1
		}
		out.Triangles = append(out.Triangles, t)
	}
	return out
}

func (w *work) cross(t [3]uint32) mesh.Vec {
	return w.v[t[1]].Sub(w.v[t[0]]).Cross(w.v[t[2]].Sub(w.v[t[0]]))
}

// height is a triangle's least height.
func (w *work) height(t [3]uint32) float64 {
	l := 0.0
	for j := range 3 {
		l = max(l, w.v[t[j]].Sub(w.v[t[(j+1)%3]]).Norm())
	}
	return w.cross(t).Norm() / l
}

func has(t [3]uint32, v uint32) bool { return t[0] == v || t[1] == v || t[2] == v }

// neighbours lists the vertices round u, each once, in a fixed order.
func (w *work) neighbours(u uint32) []uint32 {
	var out []uint32
	for _, i := range w.of[u] {
	next:
		for _, v := range w.t[i] {
			if v == u {
				continue
			}
			for _, k := range out {
				if k == v {
					continue next
				}
			}
			out = append(out, v)
		}
	}
	return out
}

// collapse removes vertices whose going changes the surface by less than
// offPlane, and both ends of edges too short to print. It returns how many.
func (w *work) collapse() int {
	n := 0
	for u := range uint32(len(w.v)) {
		if len(w.of[u]) == 0 {
			continue
		}
		best, quality := uint32(0), -1.0
		for _, v := range w.neighbours(u) {
			if q := w.gain(u, v); q > quality {
				best, quality = v, q
			}
		}
		if quality > 0 {
			w.merge(u, best)
			n++
		}
	}
	return n
}

// gain is how well shaped the triangles round u would be if u moved to v: the
// least height among them; −1 where the move is not allowed. The normals of
// needles say nothing, so beside the plane of each sound triangle the total
// area is watched: a fold or a spike cannot be made without changing it.
func (w *work) gain(u, v uint32) float64 {
	common := 0
	for _, k := range w.neighbours(u) {
		for _, i := range w.of[k] {
			if has(w.t[i], v) && k != v {
				common++
				break
			}
		}
	}
	if common != 2 { // closing the edge would pinch the surface
		return -1
	}
	short := w.v[u].Sub(w.v[v]).Norm() < shortest
	least, before := math.Inf(1), math.Inf(1)
	change, reach := 0.0, 0.0
	for _, i := range w.of[u] {
		t := w.t[i]
		old := w.cross(t)
		before = min(before, w.height(t))
		change -= old.Norm() / 2
		for _, k := range t {
			reach = max(reach, w.v[k].Sub(w.v[u]).Norm(), w.v[k].Sub(w.v[v]).Norm())
		}
		thin := w.height(t) < sliver
		if !thin && !short && math.Abs(normal(old).Dot(w.v[v].Sub(w.v[u]))) > offPlane {
			return -1
		}
		if has(t, v) {
			continue
		}
		for j := range t {
			if t[j] == u {
				t[j] = v
			}
		}
		now := w.cross(t)
		change += now.Norm() / 2
		if !thin && now.Dot(old) < float64(0.9*now.Norm())*old.Norm() {
			return -1
		}
		least = min(least, w.height(t))
	}
	allowed := offPlane
	if short {
		allowed = shortest
	}
	if math.IsInf(least, 1) || least <= 0 || math.Abs(change) > float64(allowed*reach) {
		return -1
	}
	if least < sliver && least <= before && !short {
		return -1
	}
	return least
}

func (w *work) merge(u, v uint32) {
	for _, i := range w.of[u] {
		if has(w.t[i], v) {
			w.kill(i, u)
			continue
		}
		for j := range w.t[i] {
			if w.t[i][j] == u {
				w.t[i][j] = v
			}
		}
		w.of[v] = append(w.of[v], i)
	}
	w.of[u] = nil
}

// kill removes triangle i from the lists of its vertices, but for skip's.
func (w *work) kill(i int32, skip uint32) {
	w.dead[i] = true
	for _, v := range w.t[i] {
		if v != skip {
			w.drop(v, i)
		}
	}
}

func (w *work) drop(v uint32, i int32) {
	keep := w.of[v][:0]
	for _, k := range w.of[v] {
		if k != i {
			keep = append(keep, k)
		}
	}
	w.of[v] = keep
}

// flip re-cuts needle triangles along the other diagonal of the quadrilateral
// that they make with the neighbour on their longest side.
func (w *work) flip() int {
	n := 0
	for i := range w.t {
		if w.dead[i] || w.height(w.t[i]) >= sliver {
			continue
		}
		t := w.t[i]
		k, l := 0, 0.0
		for j := range 3 {
			if d := w.v[t[j]].Sub(w.v[t[(j+1)%3]]).Norm(); d > l {
				k, l = j, d
			}
		}
		a, b, c := t[k], t[(k+1)%3], t[(k+2)%3]
		other := int32(-1)
		for _, j := range w.of[a] {
			if int(j) != i && has(w.t[j], b) {
				other = j
			}
		}
		if other < 0 {
			continue
		}
		var d uint32
		for _, v := range w.t[other] {
			if v != a && v != b {
				d = v
			}
		}
		joined := false
		for _, v := range w.neighbours(c) {
			joined = joined || v == d
		}
		one, two := [3]uint32{c, a, d}, [3]uint32{d, b, c}
		old := w.cross(w.t[other])
		grown := w.cross(one).Norm() + w.cross(two).Norm() - w.cross(t).Norm() - old.Norm()
		if joined || grown > float64(2*offPlane*l) || min(w.height(one), w.height(two)) <= w.height(t) || w.cross(one).Dot(old) <= 0 || w.cross(two).Dot(old) <= 0 {
			continue
		}
		w.drop(b, int32(i))
		w.drop(a, other)
		w.of[c] = append(w.of[c], other)
		w.of[d] = append(w.of[d], int32(i))
		w.t[i], w.t[other] = one, two
		n++
	}
	return n
}
