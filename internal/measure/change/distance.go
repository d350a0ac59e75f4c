package change

import (
	"container/heap"
	"context"
	"math"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// Tolerance is how far apart Largest and AtMost may be for a part of the given
// span, in mm.
func Tolerance(span float64) float64 { return max(0.002, 2e-5*span) }

// meanSamples is how many samples a mean has at least: each stands for at most such
// a share of the area.
const meanSamples = 1 << 14

// Pieces of work; the bound on what is asked of one, in distances, is so many for
// each triangle and so many more. It is work and not time, so that an answer is
// the same on every machine.
const (
	pieceSize      = 1 << 12
	workOfTriangle = 64
	workOfPiece    = 1 << 14
)

// sample is a point of the surface that is measured from.
type sample struct {
	p    mesh.Vec
	d    float64
	near int32
}

// cell is a triangle, or a part of one, with no point farther away than most.
type cell struct {
	corner [3]sample
	middle int32 // a triangle near its middle
	most   float64
}

// bound is the least of what is known: over one of the near triangles, which is
// convex, distance is greatest at a corner; and it grows no faster than the way
// from a corner.
func (g *target) bound(c *cell, most float64) float64 {
	far := max(c.corner[0].d, c.corner[1].d, c.corner[2].d)
	for k := range 3 {
		p := c.corner[k]
		way := max(p.p.Sub(c.corner[(k+1)%3].p).Norm(), p.p.Sub(c.corner[(k+2)%3].p).Norm())
		most = min(most, p.d+way)
	}
	tried := [4]int32{c.middle, c.corner[0].near, c.corner[1].near, c.corner[2].near}
next:
	for k, t := range tried {
		if most <= far {
			break
		}
		if t < 0 {
			continue
		}
		for _, o := range tried[:k] {
			if o == t {
				continue next
			}
		}
		worst := 0.0
		for _, p := range c.corner {
			d := p.d
			if p.near != t {
				d = g.gap(p.p, t)
			}
			if worst = max(worst, d); worst >= most {
				continue next
			}
		}
		most = worst
	}
	return max(most, far)
}

// mostTied is how many triangles are looked at about a cell's middle.
const mostTied = 64

// boundTied is bound over all triangles that are within reach of the cell's middle:
// where surfaces lie on each other, the nearest is not the one that fits.
func (g *target) boundTied(c *cell, reach float64) float64 {
	most, looked := c.most, 0
	g.tree.Near(middleOf(c.corner[0].p, c.corner[1].p, c.corner[2].p), reach, func(t int32) float64 {
		worst := 0.0
		for _, p := range c.corner {
			if worst = max(worst, g.gap(p.p, t)); worst >= most {
				break
			}
		}
		most = min(most, worst)
		if looked++; looked >= mostTied || most <= reach {
			return -1
		}
		return reach
	})
	return max(most, min(c.most, max(c.corner[0].d, c.corner[1].d, c.corner[2].d)))
}

// directed is how far surface s is from g.
func directed(ctx context.Context, s *surface, g *target, span float64) (Distance, error) {
	m := s.mesh
	// Corners first.
	at := make([]sample, len(m.Vertices))
	err := parallel.Pieces(ctx, len(s.used), pieceSize, func(_, lo, hi int) {
		hint := int32(-1)
		for _, v := range s.used[lo:hi] {
			p := m.Vertices[v]
			d, near := g.nearest(p, math.Inf(1), hint)
			at[v] = sample{p, d, near}
			hint = near
		}
	})
	if err != nil {
		return Distance{}, err
	}
	var best sample
	best.d = -1
	for _, v := range s.used {
		if at[v].d > best.d {
			best = at[v]
		}
	}

	// Then each triangle's middle, and more where it is large, for the mean.
	n := len(m.Triangles)
	most := make([]float64, n)
	pieces := parallel.Count(n, pieceSize)
	sums, bests := make([]float64, pieces), make([]sample, pieces)
	fine := s.size.Area / meanSamples
	err = parallel.Pieces(ctx, n, pieceSize, func(i, lo, hi int) {
		own, hint := best, int32(-1)
		for t := lo; t < hi; t++ {
			tri := m.Triangles[t]
			c := cell{corner: [3]sample{at[tri[0]], at[tri[1]], at[tri[2]]}}
			a, b, e := c.corner[0].p, c.corner[1].p, c.corner[2].p
			middle := g.sample(middleOf(a, b, e), hint)
			hint, c.middle = middle.near, middle.near
			if middle.d > own.d {
				own = middle
			}
			most[t] = g.bound(&c, math.Inf(1))
			area := b.Sub(a).Cross(e.Sub(a)).Norm() / 2
			if area == 0 {
				continue
			}
			if area <= fine || most[t] <= 1e-9*span {
				// Exact for quadratics: three quarters of the middle, a twelfth of each corner.
				sums[i] += float64(area * (float64(0.75*middle.d) + (c.corner[0].d+c.corner[1].d+c.corner[2].d)/12))
				continue
			}
			halvings, sum := 0, 0.0
			for w := area; w > fine; w /= 2 {
				halvings++
			}
			scatter(a, b, e, halvings, func(p mesh.Vec) {
				q := g.sample(p, hint)
				hint = q.near
				sum += q.d
				if q.d > own.d {
					own = q
				}
			})
			sums[i] += float64(area * math.Ldexp(sum, -halvings))
		}
		bests[i] = own
	})
	if err != nil {
		return Distance{}, err
	}
	total := 0.0
	for i := range pieces {
		total += sums[i]
		if bests[i].d > best.d {
			best = bests[i]
		}
	}

	// Then wherever more might be.
	tolerance := Tolerance(span)
	var left []int
	proved := best.d
	for t, u := range most {
		if u > best.d+tolerance {
			left = append(left, t)
		} else {
			proved = max(proved, u)
		}
	}
	pieces = parallel.Count(len(left), pieceSize/16)
	bests, tops := make([]sample, pieces), make([]float64, pieces)
	err = parallel.Pieces(ctx, len(left), pieceSize/16, func(i, lo, hi int) {
		var cells []cell
		for _, t := range left[lo:hi] {
			tri := m.Triangles[t]
			cells = append(cells, cell{corner: [3]sample{at[tri[0]], at[tri[1]], at[tri[2]]}, middle: at[tri[0]].near, most: most[t]})
		}
		bests[i], tops[i] = g.search(ctx, cells, best, aim{tolerance: tolerance, enough: math.Inf(1)}, workOfPiece+workOfTriangle*(hi-lo))
	})
	if err != nil {
		return Distance{}, err
	}
	for i := range pieces {
		proved = max(proved, tops[i])
		if bests[i].d > best.d {
			best = bests[i]
		}
	}
	d := Distance{Largest: best.d, AtMost: max(proved, best.d), At: best.p, Nearest: g.at(best.p, best.near)}
	if s.size.Area > 0 {
		d.Mean = total / s.size.Area
	}
	return d, ctx.Err()
}

func middleOf(a, b, c mesh.Vec) mesh.Vec { return a.Add(b).Add(c).Scale(1. / 3) }

func (g *target) sample(p mesh.Vec, hint int32) sample {
	d, near := g.nearest(p, math.Inf(1), hint)
	return sample{p, d, near}
}

// scatter visits the middles of the 2^halvings triangles of equal area that abc comes
// to when each is cut at the middle of its longest side.
func scatter(a, b, c mesh.Vec, halvings int, visit func(mesh.Vec)) {
	if halvings == 0 {
		visit(middleOf(a, b, c))
		return
	}
	ab, bc, ca := b.Sub(a), c.Sub(b), a.Sub(c)
	switch p, q, r := ab.Dot(ab), bc.Dot(bc), ca.Dot(ca); {
	case q > p && q >= r:
		a, b, c = b, c, a
	case r > p && r > q:
		a, b, c = c, a, b
	}
	m := a.Add(b).Scale(0.5)
	scatter(a, m, c, halvings-1, visit)
	scatter(m, b, c, halvings-1, visit)
}

// aim says how far a search goes: until no cell can be farther than what was found
// by more than the tolerance, nor farther than floor; or until a point is farther
// than enough.
type aim struct{ floor, tolerance, enough float64 }

// search divides the cell that might be farthest until its aim is met or the work
// is done. It returns the farthest point, and what no point is farther than.
func (g *target) search(ctx context.Context, cells []cell, best sample, to aim, work int) (sample, float64) {
	h := cellHeap(cells)
	heap.Init(&h)
	top := best.d
	for len(h) > 0 {
		near := max(to.floor, best.d+to.tolerance)
		c := h[0]
		if c.most <= near || best.d > to.enough || work <= 0 || work%256 == 0 && ctx.Err() != nil {
			return best, max(top, c.most)
		}
		heap.Pop(&h)
		if tied := g.boundTied(&c, near); tied <= near {
			top = max(top, tied)
			work--
			continue
		}
		done, took := g.covered([3]mesh.Vec{c.corner[0].p, c.corner[1].p, c.corner[2].p}, near, best.d)
		work -= took
		if done {
			top = max(top, near)
			continue
		}
		halves := g.halve(&c)
		for k := range halves {
			half := &halves[k]
			if p := half.corner[0]; p.d > best.d {
				best = p
			}
			if half.most > near {
				heap.Push(&h, *half)
			} else {
				top = max(top, half.most)
			}
		}
	}
	return best, top
}

// halve cuts a cell at the middle of its longest side, which is the first corner
// of both halves.
func (g *target) halve(c *cell) [2]cell {
	long, k := -1.0, 0
	for i := range 3 {
		if l := c.corner[i].p.Sub(c.corner[(i+1)%3].p).Norm(); l > long {
			long, k = l, i
		}
	}
	p, q, r := c.corner[k], c.corner[(k+1)%3], c.corner[(k+2)%3]
	m := g.sample(p.p.Add(q.p).Scale(0.5), p.near)
	out := [2]cell{{corner: [3]sample{m, q, r}, middle: c.middle}, {corner: [3]sample{m, r, p}, middle: c.middle}}
	for i := range out {
		out[i].most = g.bound(&out[i], c.most)
	}
	return out
}

// cellHeap has the cell that might be farthest first; of equal ones, that whose
// first corner is.
type cellHeap []cell

func (h cellHeap) Len() int { return len(h) }
func (h cellHeap) Less(i, j int) bool {
	if h[i].most != h[j].most {
		return h[i].most > h[j].most
	}
	return h[i].corner[0].d > h[j].corner[0].d
}
func (h cellHeap) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *cellHeap) Push(x any)   { *h = append(*h, x.(cell)) }
func (h *cellHeap) Pop() any {
	old := *h
	c := old[len(old)-1]
	*h = old[:len(old)-1]
	return c
}
