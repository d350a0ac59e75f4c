package stack

import (
	"cmp"
	"slices"

	"cardback/internal/sets"
)

// followed are regions that are followed from layer to layer. Set 0 is what is held:
// joined to the plate, or to the outside.
type followed struct{ sets.Sets }

// meet takes the links between two layers and the sets of the first one's regions,
// and fills in those of the second's: −1 stays where nothing leads to a region.
func (s *followed) meet(first, second []int32, links []link, dir direction) {
	for _, l := range links {
		from, to := l.below, l.above
		if dir == down {
			from, to = to, from
		}
		if second[to] < 0 {
			second[to] = first[from]
		} else {
			s.Join(second[to], first[from])
		}
	}
}

// unknown is a set of −1 for each of n regions.
func unknown(n int) []int32 { return slices.Repeat([]int32{-1}, n) }

// direction is the way in which layers are followed.
type direction int

const (
	up   direction = 1
	down direction = -1
)

// filling is an empty region that has not met the outside yet, as one pours into
// it from the layer in which it begins.
type filling struct {
	set         int32
	first, last int // layers
	begin       region
	area        float64 // mm², over its layers
}

// fill follows the empty regions in one direction. Those that meet the outside at
// some layer, after they have filled, are opened; those that never do are closed.
func fill(levels []level, dir direction) (opened, closed []filling) {
	s := &followed{}
	s.Add()
	var open []filling
	// settle ends the fillings that have met the outside and joins those that have
	// met each other. Two that meet the outside at once are still two.
	settle := func() {
		slices.SortFunc(open, func(a, b filling) int {
			return cmp.Or(int(dir)*cmp.Compare(a.first, b.first), -cmp.Compare(a.begin.area, b.begin.area), cmp.Compare(a.set, b.set))
		})
		still := open[:0]
		at := map[int32]int{}
		for _, f := range open {
			root := s.Of(f.set)
			if root == 0 {
				opened = append(opened, f)
				continue
			}
			if i, met := at[root]; met {
				still[i].area += f.area
				continue
			}
			at[root] = len(still)
			f.set = root
			still = append(still, f)
		}
		open = still
	}
	var here []int32
	n := len(levels)
	for step := range n {
		k, links := step, levels[step].linksOut
		if dir == down {
			k = n - 1 - step
			if step > 0 {
				links = levels[k+1].linksOut
			}
		}
		lv := levels[k]
		if step == 0 {
			here = make([]int32, len(lv.empty)) // all open to the outside
			continue
		}
		before := here
		here = unknown(len(lv.empty))
		here[0] = 0
		s.meet(before, here, links, dir)
		settle()
		for c, set := range here {
			if set < 0 {
				here[c] = s.Add()
				open = append(open, filling{set: here[c], first: k, begin: lv.empty[c]})
			}
		}
		if len(open) == 0 {
			continue
		}
		area := map[int32]float64{}
		for c := range here {
			here[c] = s.Of(here[c])
			area[here[c]] += lv.empty[c].area
		}
		still := open[:0]
		for _, f := range open {
			a, seen := area[f.set]
			if !seen {
				closed = append(closed, f)
				continue
			}
			f.last = k
			f.area += a
			still = append(still, f)
		}
		open = still
	}
	for _, set := range here {
		s.Join(0, set)
	}
	settle()
	return opened, append(closed, open...)
}

// hollows are the fillings that are large enough to report, in mm; how many are not
// is added to small.
func (g *grid) hollows(fillings []filling, dir direction, small *int) []Hollow {
	var out []Hollow
	for _, f := range fillings {
		volume := f.area * g.layer
		if f.last*int(dir)-f.first*int(dir)+1 < leastDepth || volume < leastVolume {
			*small++
			continue
		}
		bottom, top := min(f.first, f.last), max(f.first, f.last)+1
		low, high := g.bounds.Min.Z+float64(float64(bottom)*g.layer), g.bounds.Min.Z+float64(float64(top)*g.layer)
		h := Hollow{At: g.place(f.begin, low), Rim: min(high, g.bounds.Max.Z), Volume: volume}
		if dir == down {
			h = Hollow{At: g.place(f.begin, high), Rim: low, Volume: volume}
		}
		out = append(out, h)
	}
	slices.SortFunc(out, func(a, b Hollow) int {
		return cmp.Or(-cmp.Compare(a.Volume, b.Volume), cmp.Compare(a.At.Z, b.At.Z), cmp.Compare(a.At.X, b.At.X), cmp.Compare(a.At.Y, b.At.Y))
	})
	return out
}
