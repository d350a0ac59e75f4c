package stack

import (
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
	"cardback/internal/sets"
)

// region is a connected part of a layer, solid or empty.
type region struct {
	area   float64 // mm²
	x, y   float64 // a point of it: the middle of its longest stretch
	length float64 // mm, of that stretch
	lo, hi int32   // its first and last row
}

// link joins a region to one of the layer above.
type link struct{ below, above int32 }

// level is what is kept of a layer. Region 0 of the empty ones is the outside;
// its area is not known.
type level struct {
	solid, empty         []region
	solidLinks, linksOut []link // to the layer below
}

// stack looks through all layers, block by block. Each block begins with the last
// layer of the one before, so that blocks need nothing of each other.
func (g *grid) stack(ctx context.Context) ([]level, error) {
	levels := make([]level, g.layers())
	err := parallel.Tasks(ctx, g.blocks(), func(b int) {
		s := newSampler(g)
		s.active = slices.Clone(g.carried[g.carriedFrom[b]:g.carriedFrom[b+1]])
		var below, here tracer
		first := g.opening(b)
		for k := first; k < min((b+1)*g.block, g.layers()); k++ {
			if ctx.Err() != nil {
				return
			}
			below, here = here, below
			s.at(k, &here.section)
			here.trace(g)
			if k > first {
				levels[k].solidLinks, levels[k].linksOut = here.over(&below)
			}
			if k > first || b == 0 {
				levels[k].solid, levels[k].empty = slices.Clone(here.solid), slices.Clone(here.empty)
			}
		}
	})
	return levels, err
}

// tracer finds the regions of a section.
type tracer struct {
	section
	joined       sets.Sets // of stretches, by number; what is joined to the outside is in set 0
	region       []int32   // of each stretch
	solid, empty []region
}

// stretch is the number of the i-th stretch of the row that has its ends at
// [from, to).
func stretch(i, from, to int32) int32 {
	if i == 0 || i == to-from {
		return 0
	}
	return from + i
}

// overlaps calls f with the numbers of each two stretches of row j of a and row h
// of b, both solid or both empty, that share more than a point.
func overlaps(a, b *section, j, h int, f func(p, q int32)) {
	a0, a1, b0, b1 := a.rows[j], a.rows[j+1], b.rows[h], b.rows[h+1]
	p, q := a0, b0
	for {
		if (p-a0)&1 == (q-b0)&1 {
			f(stretch(p-a0, a0, a1), stretch(q-b0, b0, b1))
		}
		switch {
		case p == a1 && q == b1:
			return
		case q == b1 || p < a1 && a.ends[p] < b.ends[q]:
			p++
		case p == a1 || a.ends[p] > b.ends[q]:
			q++
		default:
			p, q = p+1, q+1
		}
	}
}

// trace joins the stretches of neighbouring rows and sums up the regions. What is
// empty in the first or last row is open to the side.
func (t *tracer) trace(g *grid) {
	t.joined = t.joined.Alone(max(len(t.ends), 1))
	rows := len(t.rows) - 1
	for j := max(t.lo-1, 0); j < min(t.hi, rows-1); j++ {
		overlaps(&t.section, &t.section, j, j+1, func(p, q int32) { t.joined.Join(p, q) })
	}
	for _, j := range []int{0, rows - 1} {
		for i := t.rows[j] + 2; i < t.rows[j+1]; i += 2 {
			t.joined.Join(0, i)
		}
	}
	t.solid, t.empty = t.solid[:0], append(t.empty[:0], region{})
	t.region = append(t.region[:0], make([]int32, len(t.joined))...)
	for j := t.lo; j < t.hi; j++ {
		from, to := t.rows[j], t.rows[j+1]
		for i := from + 1; i < to; i++ {
			kind := &t.solid
			if (i-from)&1 == 0 {
				kind = &t.empty
			}
			root := t.joined.Of(i)
			if root == i {
				t.region[i] = int32(len(*kind))
				*kind = append(*kind, region{length: -1, lo: int32(j)})
			}
			t.region[i] = t.region[root]
			length := t.ends[i] - t.ends[i-1]
			r := &(*kind)[t.region[i]]
			r.area += float64(length * g.pitch)
			r.hi = int32(j)
			if length > r.length {
				r.length, r.x, r.y = length, t.ends[i-1]+length/2, g.ys[j]
			}
		}
	}
}

// over finds what of the layer below t's regions lie over.
func (t *tracer) over(below *tracer) (solid, empty []link) {
	lastSolid, lastEmpty := make([]int32, len(t.solid)), make([]int32, len(t.empty))
	for i := range lastSolid {
		lastSolid[i] = -1
	}
	for i := range lastEmpty {
		lastEmpty[i] = -1
	}
	for j := min(t.lo, below.lo); j < max(t.hi, below.hi); j++ {
		overlaps(&below.section, &t.section, j, j, func(p, q int32) {
			// A stretch's number and its row's first tell its kind; of 0 it is empty.
			l := link{below.region[p], t.region[q]}
			if q == 0 || p == 0 || (q-t.rows[j])&1 == 0 {
				if l != (link{}) && lastEmpty[l.above] != l.below {
					lastEmpty[l.above] = l.below
					empty = append(empty, l)
				}
			} else if lastSolid[l.above] != l.below {
				lastSolid[l.above] = l.below
				solid = append(solid, l)
			}
		})
	}
	return distinct(solid), distinct(empty)
}

// distinct puts links in order, each once.
func distinct(links []link) []link {
	slices.SortFunc(links, func(a, b link) int {
		if a.above != b.above {
			return int(a.above) - int(b.above)
		}
		return int(a.below) - int(b.below)
	})
	return slices.Clip(slices.Compact(links))
}

// place is a point of a region at the given height, within the bounds.
func (g *grid) place(r region, z float64) mesh.Vec {
	return mesh.Vec{X: r.x, Y: r.y, Z: math.Min(z, g.bounds.Max.Z)}
}
