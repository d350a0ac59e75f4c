package stack

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// slimRows is the number of rows from which on an island is not slim: solid so wide
// is missed by no row, and by no layer unless it lies flatter than one in four.
const slimRows = 4

// islands are what rises with nothing under it, each tip once.
func (g *grid) islands(ctx context.Context, levels []level) ([]Island, error) {
	found := rise(levels)
	if len(found) == 0 {
		return nil, ctx.Err()
	}
	tips, err := g.tips(ctx, found)
	if err != nil {
		return nil, err
	}
	var out []Island
	taken := map[int32]bool{}
	for i, r := range found {
		if slim := r.begin.hi-r.begin.lo < slimRows; slim && (taken[tips[i]] || g.mesh.Vertices[tips[i]].Z <= g.zs[0]) {
			continue
		}
		taken[tips[i]] = true
		out = append(out, Island{At: g.place(r.begin, g.zs[r.layer]), Area: r.begin.area, Layer: r.layer})
	}
	return out, nil
}

// tips are the vertices at which one arrives by going down the mesh's edges from
// where each island's border is first seen, always to the lowest neighbour.
//
// All along such a way there is solid beside the border, so islands with one tip
// are one, and one whose way leads to the plate is none: they only seem apart
// where the solid is so thin, hardly more than a pitch, that it slips through
// between rows. This is believed of islands that begin slim: a wider one was not
// hidden, and the way may lead through a mere point of contact.
func (g *grid) tips(ctx context.Context, found []rising) ([]int32, error) {
	m := g.mesh
	below := func(a, b int32) bool {
		p, q := m.Vertices[a].Z, m.Vertices[b].Z
		return p < q || p == q && a < b
	}
	lowest := make([]int32, len(m.Vertices)) // of each vertex and its neighbours
	for i := range lowest {
		lowest[i] = int32(i)
	}
	for t, tri := range m.Triangles {
		if t%(1<<16) == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		low := int32(tri[0])
		for _, v := range tri[1:] {
			if below(int32(v), low) {
				low = int32(v)
			}
		}
		for _, v := range tri {
			if below(low, lowest[v]) {
				lowest[v] = low
			}
		}
	}
	tips := make([]int32, len(found))
	for i := 0; i < len(found); {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		j := i
		for j < len(found) && found[j].layer == found[i].layer {
			j++
		}
		g.borders(found[i:j], tips[i:j])
		i = j
	}
	for i, v := range tips {
		tip := v
		for lowest[tip] != tip {
			tip = lowest[tip]
		}
		for lowest[v] != tip { // so that no way is long twice
			v, lowest[v] = lowest[v], tip
		}
		tips[i] = tip
	}
	return tips, nil
}

// borders gives, for islands that begin in one layer, the lowest corner of the
// triangle that each one's longest stretch begins at.
func (g *grid) borders(found []rising, corner []int32) {
	k := found[0].layer
	b := k / g.block
	byRow := make([]int, len(found))
	off := make([]float64, len(found))
	for i := range byRow {
		byRow[i], off[i] = i, math.Inf(1)
	}
	slices.SortFunc(byRow, func(i, j int) int { return cmp.Or(cmp.Compare(found[i].begin.y, found[j].begin.y), cmp.Compare(i, j)) })
	look := func(t int32) {
		s, ok := g.cut(int(t), g.zs[k])
		if !ok {
			return
		}
		from, _ := slices.BinarySearchFunc(byRow, s.p.Y, func(i int, y float64) int { return cmp.Compare(found[i].begin.y, y) })
		for _, i := range byRow[from:] {
			r := found[i].begin
			if r.y >= s.q.Y {
				break
			}
			if d := math.Abs(s.at(r.y) - (r.x - r.length/2)); d < off[i] {
				off[i], corner[i] = d, g.lowestCorner(t)
			}
		}
	}
	for _, t := range g.carried[g.carriedFrom[b]:g.carriedFrom[b+1]] {
		look(t)
	}
	for _, t := range g.order[g.starts[g.opening(b)]:g.starts[k+1]] {
		look(t)
	}
}

func (g *grid) lowestCorner(t int32) int32 {
	return int32(slices.MinFunc(g.mesh.Triangles[t][:], func(a, b uint32) int {
		return cmp.Compare(g.mesh.Vertices[a].Z, g.mesh.Vertices[b].Z)
	}))
}

// rising is an island while it is followed.
type rising struct {
	set     int32
	layer   int // in which it began
	last    int // seen
	begin   region
	largest float64 // mm²
}

// rise follows the solid upwards, and returns what began in mid-air and is large
// enough to report.
func rise(levels []level) []rising {
	s := &followed{}
	s.Add()
	var open []rising
	var done []rising
	end := func(r rising, last int) {
		r.last = last
		if r.last-r.layer >= leastDepth-1 && r.largest >= leastIsland {
			done = append(done, r)
		}
	}
	var here []int32
	for k, lv := range levels {
		if k == 0 {
			here = make([]int32, len(lv.solid)) // all on the plate
			continue
		}
		before := here
		here = unknown(len(lv.solid))
		s.meet(before, here, lv.solidLinks, up)
		// Those that met what is held end, as do the younger of those that met
		// each other; of the same age, the lesser.
		slices.SortFunc(open, func(a, b rising) int {
			return cmp.Or(cmp.Compare(a.layer, b.layer), -cmp.Compare(a.begin.area, b.begin.area), cmp.Compare(a.set, b.set))
		})
		still := open[:0]
		taken := map[int32]bool{0: true}
		for _, r := range open {
			root := s.Of(r.set)
			if taken[root] {
				end(r, k-1)
				continue
			}
			taken[root] = true
			r.set = root
			still = append(still, r)
		}
		open = still
		for c, set := range here {
			if set < 0 {
				here[c] = s.Add()
				open = append(open, rising{set: here[c], layer: k, begin: lv.solid[c]})
			}
		}
		if len(open) == 0 {
			continue
		}
		largest := map[int32]float64{}
		for c := range here {
			here[c] = s.Of(here[c])
			largest[here[c]] = max(largest[here[c]], lv.solid[c].area)
		}
		still = open[:0]
		for _, r := range open {
			a, seen := largest[r.set]
			if !seen { // it hangs in the air and has ended
				end(r, r.last)
				continue
			}
			r.last, r.largest = k, max(r.largest, a)
			still = append(still, r)
		}
		open = still
	}
	for _, r := range open {
		end(r, r.last)
	}
	slices.SortFunc(done, func(a, b rising) int {
		return cmp.Or(cmp.Compare(a.layer, b.layer), cmp.Compare(a.begin.x, b.begin.x), cmp.Compare(a.begin.y, b.begin.y))
	})
	return done
}
