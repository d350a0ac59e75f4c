package layout

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"cardback/internal/words"
)

// item is one copy of a piece as the bounds see it.
type item struct {
	name string
	area float64 // at least that of the outline grown by half the spacing
	disc float64 // radius of a disc inside the outline
}

// bound is a number of plates that any layout needs, and why. Three arguments
// are tried and the strongest is given:
//
// Area. Grown by half the spacing all round, the outlines of a plate still do
// not overlap, and all lie in the usable room grown as much. The grown area is
// taken from below by bands (see grownArea); by the Brunn-Minkowski inequality a
// region of area A grown by r has an area of at least (√A + √π·r)², whatever its
// shape, and the larger of the two is taken.
//
// Pairs. Two pieces are on different plates if their grown areas together are
// more than one plate's; or if two discs, one inside each outline, cannot lie on
// a plate: the centres of discs of radii r and q lie in the room less r and q at
// each side, so they are at most √((w−r−q)² + (d−r−q)²) apart, on a round plate
// of diameter w at most w−r−q, and must be at least r+q+spacing apart. Pieces of
// which each pair is kept apart need a plate each.
//
// Numbers. Pieces with discs of radius r have points, the centres, at least
// 2r+spacing apart in the room less r at each side. N points at least a apart in
// a convex region of area A and perimeter P obey N ≤ 2A/(√3·a²) + P/(2a) + 1
// (N. Oler, An inequality in the geometry of numbers, 1961).
func bound(pieces []Piece, shapes []*shape, all []int, o Options) (int, string) {
	if len(all) == 0 {
		return 0, "There is nothing to lay."
	}
	room := newRoom(o)
	items := make([]item, len(all))
	for i, k := range all {
		s := shapes[k]
		items[i] = item{pieces[k].Name, s.grown, s.disc}
	}
	n, why := 1, "There is something to lay."
	if k, text := room.byArea(items); k > n {
		n, why = k, text
	}
	if k, text := room.byNumbers(items); k > n {
		n, why = k, text
	}
	if k, text := room.byPairs(items); k > n {
		n, why = k, text
	}
	return n, why
}

// sure is the share by which sums and roots may be wrong; every bound is taken
// that much in favour of fewer plates.
const sure = 1e-9

type room struct {
	w, d    float64 // usable
	spacing float64
	round   bool
	area    float64 // usable, grown by half the spacing
}

func newRoom(o Options) room {
	r := room{w: o.Plate.Width - 2*o.Plate.Margin, d: o.Plate.Depth - 2*o.Plate.Margin, spacing: o.Spacing, round: o.Plate.Round}
	h := o.Spacing / 2
	if r.round {
		r.area = math.Pi * (r.w/2 + h) * (r.w/2 + h)
	} else {
		r.area = r.w*r.d + 2*h*(r.w+r.d) + math.Pi*h*h
	}
	return r
}

func (r room) byArea(items []item) (int, string) {
	sum := 0.0
	for _, it := range items {
		sum += it.area
	}
	need := sum / r.area * (1 - sure)
	half := ""
	if r.spacing > 0 {
		half = ", with half the spacing around each,"
	}
	return int(math.Ceil(need)), fmt.Sprintf("The outlines%s cover %s times the room of a plate.", half, words.AtLeast(need, 2))
}

// apart reports whether two pieces cannot be on one plate.
func (r room) apart(a, b item) bool {
	if a.area+b.area > r.area*(1+sure) {
		return true
	}
	t := a.disc + b.disc
	most := r.w - t
	if !r.round {
		most = math.Hypot(r.w-t, r.d-t)
	}
	return most*(1+sure) < t+r.spacing
}

// byPairs collects pieces that are all apart, the largest first: by area and by
// disc. Apart is a matter of the sum alone in each, so taking the largest while
// they are apart from the last one finds the most there are by one of the two.
func (r room) byPairs(items []item) (int, string) {
	var best []item
	for _, key := range []func(item) float64{
		func(it item) float64 { return it.area },
		func(it item) float64 { return it.disc },
	} {
		order := slices.Clone(items)
		slices.SortStableFunc(order, func(a, b item) int { return compare(key(b), key(a)) })
		var kept []item
		for _, it := range order {
			if !slices.ContainsFunc(kept, func(k item) bool { return !r.apart(k, it) }) {
				kept = append(kept, it)
			}
		}
		if len(kept) > len(best) {
			best = kept
		}
	}
	return len(best), "No two of these go on one plate: " + list(best) + "."
}

// list names pieces with their numbers of copies, in the order of their sizes.
func list(items []item) string {
	var names []string
	count := map[string]int{}
	for _, it := range items {
		if count[it.name]++; count[it.name] == 1 {
			names = append(names, it.name)
		}
	}
	const most = 6
	more := 0
	for i, name := range names {
		if i >= most {
			more += count[name]
		} else if count[name] > 1 {
			names[i] = fmt.Sprintf("%d × %s", count[name], name)
		}
	}
	if more > 0 {
		names = append(names[:most], fmt.Sprintf("%d more", more))
	}
	return strings.Join(names, ", ")
}

func (r room) byNumbers(items []item) (int, string) {
	order := slices.Clone(items)
	slices.SortStableFunc(order, func(a, b item) int { return compare(b.disc, a.disc) })
	best, text := 0, ""
	for i, it := range order {
		if it.disc <= 0 {
			break
		}
		w, d, a := r.w-2*it.disc, r.d-2*it.disc, (2*it.disc+r.spacing)*(1-sure)
		area, perimeter := w*d, 2*(w+d)
		if r.round {
			area, perimeter = math.Pi*w*w/4, math.Pi*w
		}
		if min(w, d) < 0 {
			area, perimeter = 0, 0
		}
		most := int(math.Floor(2*area/(math.Sqrt(3)*a*a)*(1+sure) + perimeter/(2*a) + 1 + sure))
		if n := (i + most) / most; n > best { // ⌈(i+1)/most⌉
			best = n
			text = fmt.Sprintf("No more than %d of the pieces that hold a disc of %s mm lie on one plate, and there are %d.", most, words.AtLeast(2*it.disc, 1), i+1)
		}
	}
	return best, text
}
