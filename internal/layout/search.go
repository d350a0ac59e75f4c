package layout

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"cardback/internal/parallel"
)

// budget bounds the search for some two dozen pieces, in words looked at; a word
// takes some three nanoseconds of one processor.
const budget = 300_000_000

// budgetFor is what the search for so many pieces may take: the more there are, the
// more ways to share them among plates, up to four times as much.
// Past manyPieces, of which the most are laid in full plates of one kind, it is less
// again: a word of so narrow rows takes some fifteen nanoseconds, and the whole five
// seconds.
func budgetFor(pieces int) int {
	if pieces > manyPieces {
		return budget
	}
	return budget * min(max(pieces*pieces, 600), 2400) / 600
}

// attempts is how many layouts are tried side by side before the best of them is
// taken. It does not depend on the machine, as it decides what is found.
const attempts = 8

// patience is after how many rounds of such attempts in vain the search ends: for
// few pieces, of which all orders have then been tried, it is short.
func patience(pieces int) int { return min(max(40, 4*pieces), 200) }

// plan is a layout while better ones are sought.
type plan struct{ sheets []*sheet }

// better reports whether p is to be preferred: fewer plates, or as many with
// the pieces more on some of them and less on others, so that the emptiest may
// be emptied.
func (p plan) better(q plan) bool {
	if len(p.sheets) != len(q.sheets) {
		return len(p.sheets) < len(q.sheets)
	}
	return p.uneven() > q.uneven()
}

func (p plan) uneven() float64 {
	sum := 0.0
	for _, s := range p.sheets {
		sum += float64(s.fill * s.fill)
	}
	return sum
}

type searcher struct {
	table  *table
	shapes []*shape
	bound  int
	budget int
	work   int
}

// search lays the pieces. Those of one shape are laid alike; of very many, full plates
// of one shape are set aside first, and what is left is sought.
func (s *searcher) search(ctx context.Context, all []int) (plan, error) {
	if !slices.ContainsFunc(all, func(i int) bool { return i != all[0] }) && len(all) > 2 {
		best := s.boxes(ctx, all)
		if ctx.Err() == nil && len(best.sheets) != s.bound {
			if p := s.alike(ctx, all[0], len(all)); len(p.sheets) > 0 && (len(best.sheets) == 0 || p.better(best)) {
				best = p
			}
		}
		return best, ctx.Err()
	}
	var done []*sheet
	if len(all) > manyPieces {
		if best := s.boxes(ctx, all); ctx.Err() == nil && len(best.sheets) == s.bound {
			return best, nil
		}
		done, all = s.bulk(ctx, all)
	}
	rest := *s
	rest.bound -= len(done)
	best, err := rest.seek(ctx, all)
	return plan{append(done, best.sheets...)}, err
}

// seek lays the pieces: first by the orders and rules there are, then again
// and again some of the plates anew, always with one that is poorly filled.
func (s *searcher) seek(ctx context.Context, all []int) (plan, error) {
	best := s.boxes(ctx, all)
	if ctx.Err() != nil {
		return plan{}, ctx.Err()
	}
	most := math.MaxInt
	if len(best.sheets) > 0 {
		if most = len(best.sheets); most == s.bound {
			return best, nil
		}
	}
	var tries []packing
	var orders [][]int
	for _, order := range s.orders(all) {
		for _, r := range rules {
			if r.over && s.table.round {
				continue
			}
			tries = append(tries, packing{table: s.table, shapes: s.shapes, rule: r})
			orders = append(orders, order)
		}
	}
	// Two at first, which is all that most releases need.
	for lo, hi := 0, 2; lo < len(tries) && s.work < s.budget && (lo == 0 || len(best.sheets) > s.bound); lo, hi = hi, hi+attempts {
		hi = min(hi, len(tries))
		if len(all) > manyPieces && len(best.sheets) > 0 {
			for i := lo; i < hi; i++ { // one of these alone may take seconds
				tries[i].limit = max(1, (s.budget-s.work)/(hi-lo))
			}
		}
		got, err := s.side(ctx, tries[lo:hi], orders[lo:hi], most)
		if err != nil {
			return plan{}, err
		}
		for _, p := range got {
			if len(p.sheets) > 0 && (len(best.sheets) == 0 || p.better(best)) {
				best = p
				most = len(best.sheets)
			}
		}
	}
	vain := 0
	for round := uint64(0); len(best.sheets) > s.bound && s.work < s.budget && vain < patience(len(all)); round++ {
		next, err := s.improve(ctx, best, round)
		if err != nil {
			return plan{}, err
		}
		vain++
		if next.better(best) {
			vain = 0
		}
		best = next
	}
	return best, nil
}

// side tries layouts side by side. One that needs more than most plates is
// given up and comes back empty.
func (s *searcher) side(ctx context.Context, tries []packing, orders [][]int, most int) ([]plan, error) {
	out := make([]plan, len(tries))
	err := parallel.Tasks(ctx, len(tries), func(i int) {
		if got, ok := tries[i].pack(ctx, orders[i], most); ok {
			out[i] = plan{got}
		}
	})
	for i := range tries {
		s.work += tries[i].work
	}
	return out, err
}

// orders are the orders in which pieces are laid at first: the largest first, by
// area, by the longest side of the least box, by its area, and by its shorter side.
func (s *searcher) orders(all []int) [][]int {
	sizes := []func(*shape) float64{
		func(sh *shape) float64 { return sh.area },
		func(sh *shape) float64 { return max(sh.least.X, sh.least.Y) },
		func(sh *shape) float64 { return sh.least.X * sh.least.Y },
		func(sh *shape) float64 { return min(sh.least.X, sh.least.Y) },
	}
	var out [][]int
	for _, size := range sizes {
		out = append(out, s.largestFirst(all, size))
	}
	return out
}

func (s *searcher) largestFirst(all []int, size func(*shape) float64) []int {
	key := make([]float64, len(s.shapes))
	for i, sh := range s.shapes {
		if sh != nil {
			key[i] = size(sh)
		}
	}
	order := slices.Clone(all)
	slices.SortStableFunc(order, func(a, b int) int { return compare(key[b], key[a]) })
	return order
}

// improve lays two to five plates anew, in several ways, and keeps the best
// layout that is no worse than the one there is. The emptiest plate or the one
// after it is always among them.
func (s *searcher) improve(ctx context.Context, best plan, round uint64) (plan, error) {
	byFill := slices.Clone(best.sheets)
	slices.SortStableFunc(byFill, func(a, b *sheet) int { return compare(a.fill, b.fill) })
	tries := make([]packing, attempts)
	orders := make([][]int, attempts)
	kept := make([][]*sheet, attempts)
	chosen := make([]plan, attempts)
	for i := range tries {
		rng := rand.New(rand.NewPCG(round, uint64(i)))
		n := min(2+rng.IntN(4), len(byFill))
		perm := append([]int{0}, rng.Perm(len(byFill))...)
		var again []*sheet
		for _, k := range perm {
			if !slices.Contains(again, byFill[k]) && len(again) < n {
				again = append(again, byFill[k])
			}
		}
		for _, sh := range best.sheets {
			if !slices.Contains(again, sh) {
				kept[i] = append(kept[i], sh)
			}
		}
		chosen[i] = plan{again}
		var pieces []int
		for _, sh := range again {
			for _, l := range sh.laid {
				pieces = append(pieces, l.shape)
			}
		}
		r := rules[rng.IntN(len(rules))]
		r.over = r.over && !s.table.round
		tries[i] = packing{table: s.table, shapes: s.shapes, rule: r}
		orders[i] = s.shaken(pieces, rng)
	}
	got := make([]plan, attempts)
	err := parallel.Tasks(ctx, attempts, func(i int) {
		if sheets, ok := tries[i].pack(ctx, orders[i], len(chosen[i].sheets)); ok {
			got[i] = plan{sheets}
		}
	})
	if err != nil {
		return plan{}, err
	}
	for i := range tries {
		s.work += tries[i].work
		if len(got[i].sheets) == 0 || chosen[i].better(got[i]) {
			continue
		}
		p := plan{append(slices.Clone(kept[i]), got[i].sheets...)}
		if !best.better(p) {
			best = p
		}
	}
	return best, nil
}

// shaken is the pieces with the larger ones first, more or less: each one's size
// is taken to be up to some factor larger or smaller than it is.
func (s *searcher) shaken(pieces []int, rng *rand.Rand) []int {
	shake := rng.Float64() * 1.2
	byBox := rng.IntN(2) == 0
	type keyed struct {
		key   float64
		shape int
	}
	keys := make([]keyed, len(pieces))
	for i, k := range pieces {
		size := s.shapes[k].area
		if byBox {
			l := s.shapes[k].least
			size = float64(l.X*l.X) + float64(l.Y*l.Y)
		}
		keys[i] = keyed{size * math.Exp(shake*(2*rng.Float64()-1)), k}
	}
	slices.SortStableFunc(keys, func(a, b keyed) int { return compare(b.key, a.key) })
	out := make([]int, len(keys))
	for i, k := range keys {
		out[i] = k.shape
	}
	return out
}
