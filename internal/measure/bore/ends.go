package bore

import (
	"math"

	"cardback/internal/mesh"
	"cardback/internal/sets"
)

// end is where a wall ends. Places along the axis are measured from the cylinder's
// point.
type end struct {
	mean         float64 // averaged over the turn about the axis
	least, most  float64
	turn         float64 // mean bend into what comes next: positive towards the axis
	softness     float64 // mean of the bend's size
	border       bool    // more than half of it has no neighbour
	beyond       float64 // how far what comes next goes on as flat as it begins, mm
	open         bool
	neighbouring []int32
}

// rim is an edge of a wall's border.
type rim struct {
	v, w   uint32
	t0, t1 float64
	turn   float64 // about the axis, signed
	bend   float64
	next   int32 // the triangle beyond, or −1
}

// soft is the mean bend at an end below which wall and neighbour may be facets of
// one curved surface. A countersink of 82° bends by 41°.
const soft = 40 * math.Pi / 180

// findEnds measures both ends from the wall's border. Loops of the border that go
// once round the axis are ends; others are windows, cut by what crosses. f.region
// must be the wall's and stamped.
func (f *finder) findEnds(w *wall) bool {
	u, v := frame(w.axis)
	angle := func(id uint32) (t, a float64) {
		t, x, y := w.across(f.Vertices[id], u, v)
		return t, math.Atan2(y, x)
	}
	var rims []rim
	at := map[uint32]int32{} // a rim that starts or ends in a vertex
	for _, e := range w.region {
		i, turned := e>>1, e&1
		for k := range 3 {
			over := f.across[3*int(i)+k]
			if over >= 0 && f.stamp[over>>1] == f.mark {
				continue
			}
			t := &f.Triangles[i]
			r := rim{v: t[k], w: t[(k+1)%3], next: -1}
			if r.v == r.w {
				continue
			}
			if turned == 1 {
				r.v, r.w = r.w, r.v
			}
			var a0, a1 float64
			r.t0, a0 = angle(r.v)
			r.t1, a1 = angle(r.w)
			r.turn = math.Remainder(a1-a0, 2*math.Pi)
			if over >= 0 {
				r.next = over >> 1
				n, m := f.normalOf(i), f.normalOf(r.next)
				if over&1 == 1 {
					m = m.Scale(-1)
				}
				r.bend = f.bend(i, k, n, m)
				if turned == 1 {
					r.bend = -f.bend(i, k, n.Scale(-1), m.Scale(-1))
				}
			}
			rims = append(rims, r)
		}
	}
	runs := sets.New(len(rims)) // rims that hang together
	for i := range rims {
		for _, id := range [2]uint32{rims[i].v, rims[i].w} {
			if other, ok := at[id]; ok {
				runs.Join(other, int32(i))
			}
			at[id] = int32(i)
		}
	}
	winding := make([]float64, len(rims))
	for i := range rims {
		winding[runs.Of(int32(i))] += rims[i].turn
	}
	// Seen against the normal, a ridged wall's border runs forwards about the axis
	// at its lower end; a valleyed one's backwards.
	ways := [2]float64{-w.sign, w.sign}
	for side := range 2 {
		whole := false
		for i := range rims {
			whole = whole || runs.Of(int32(i)) == int32(i) && winding[i]*ways[side] > math.Pi
		}
		e := &w.ends[side]
		e.least, e.most = math.Inf(1), math.Inf(-1)
		weight, border := 0.0, 0.0
		for i := range rims {
			r := &rims[i]
			if whole && !(winding[runs.Of(int32(i))]*ways[side] > math.Pi) || !whole && !(r.turn*ways[side] > 0) {
				continue
			}
			turn := r.turn * ways[side]
			e.mean += turn * (r.t0 + r.t1) / 2
			weight += turn
			e.least, e.most = min(e.least, r.t0, r.t1), max(e.most, r.t0, r.t1)
			e.turn += math.Abs(turn) * r.bend * w.sign
			e.softness += math.Abs(turn) * math.Abs(r.bend)
			if r.next < 0 {
				border += math.Abs(turn)
			} else if math.Abs(r.bend) < soft {
				e.neighbouring = append(e.neighbouring, r.next)
			}
		}
		if !(weight > 1) { // radian: some border is there
			return false
		}
		e.mean /= weight
		e.turn /= weight
		e.softness /= weight
		e.border = border > weight/2
	}
	return w.ends[0].mean < w.ends[1].mean
}

// leastDeep is the depth of the shallowest wall, in radii: 0.03 of the diameter.
const leastDeep = 0.06

// unlikely says why a closed, round wall is yet no cylinder of its own, or "".
func (f *finder) unlikely(w *wall) string {
	depth := w.ends[1].mean - w.ends[0].mean
	// What is shallower than leastDeep is an edge, not a wall; so is what noise
	// could make.
	if depth < leastDeep*w.radius || depth < 8*f.noise {
		return "shallow"
	}
	// A strip between gentle bends is a facet of a curved surface, such as a
	// sphere's equator or a hose, if what lies beyond is about as wide. Where the
	// strip is short that is not asked: between two gentle ends half a diameter is
	// wanted, and 0.15 of one before a single gentle end.
	facets, gentle := 0, 0
	region := f.mark
	for side := range w.ends {
		e := &w.ends[side]
		if e.border || e.softness >= soft {
			continue
		}
		gentle++
		e.beyond = f.flatBeyond(w, side, region)
		if e.beyond > 0.35*depth && e.beyond < 3*depth {
			facets++
		}
	}
	switch {
	case gentle == 2 && depth < w.radius, gentle == 1 && depth < 0.3*w.radius:
		return "short and gentle"
	case facets == 2:
		return "facets of a curve"
	case facets == 1 && depth < 2*w.radius:
		return "end facets of a curve"
	}
	return ""
}

// flatBeyond is how far beyond an end the neighbours go on along the axis without
// a bend of a third of the end's.
func (f *finder) flatBeyond(w *wall, side int, region int32) float64 {
	e := &w.ends[side]
	f.mark++
	most := 4*len(w.region) + 1000
	queue := make([]int32, 0, len(e.neighbouring))
	for _, i := range e.neighbouring {
		if f.stamp[i] < region {
			f.stamp[i] = f.mark
			queue = append(queue, i)
		}
	}
	far := 0.0
	for at := 0; at < len(queue) && at < most; at++ {
		i := queue[at]
		for _, id := range f.Triangles[i] {
			t := f.Vertices[id].Sub(w.at).Dot(w.axis) - e.mean
			if side == 0 {
				t = -t
			}
			far = max(far, t)
		}
		n, sure := f.normalOf(i), f.sure(i)
		for k := range 3 {
			over := f.across[3*int(i)+k]
			if over < 0 || f.stamp[over>>1] >= region {
				continue
			}
			m := f.normalOf(over >> 1)
			if over&1 == 1 {
				m = m.Scale(-1)
			}
			if math.Abs(f.bend(i, k, n, m)) < e.softness/3 || !sure {
				f.stamp[over>>1] = f.mark
				queue = append(queue, over>>1)
			}
		}
	}
	return far
}

// place is the point of the axis at t.
func (w *wall) place(t float64) mesh.Vec { return w.at.Add(w.axis.Scale(t)) }
