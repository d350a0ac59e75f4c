package cutstock

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// relaxed is the linear programme's answer: patterns with fractions of bars, and
// prices that prove a bound.
type relaxed struct {
	cuts []fraction
	// price of each size in whole units, and most, the most that one bar can be
	// worth at these prices. Whatever the prices are, a plan takes at least
	// Σ want·price / most bars.
	price []int64
	most  int64
}

type fraction struct {
	pattern pattern
	bars    float64
}

// unit is what a whole bar is worth, about: prices are shares of it. It is small
// enough for the product of a price and a room (10⁸ µm) to stay under 2⁶³.
const unit = 1 << 30

// bound is the least number of bars by the prices.
func (r *relaxed) bound(want []int) int {
	var hi, lo uint64 // 10⁶ pieces of at most 2³⁰ each fit one word, but who knows who calls
	for i, n := range want {
		h, l := bits.Mul64(uint64(n), uint64(r.price[i]))
		var carry uint64
		lo, carry = bits.Add64(lo, l, 0)
		hi, _ = bits.Add64(hi, h, carry)
	}
	if r.most <= 0 || hi >= uint64(r.most) {
		return 0
	}
	q, rem := bits.Div64(hi, lo, uint64(r.most))
	if rem > 0 {
		q++
	}
	return int(q)
}

// slack is what a price may be over a bar's worth and still count as none: the
// simplex method has then come to its end. It steers when to stop and nothing else.
const slack = 1e-7

// relax solves min Σx over patterns with Σ a·x ≥ want by the simplex method with
// columns made when they are asked for. Prices are a bound at any step, so it may
// stop wherever the budget ends. Rows are the sizes that are still wanted.
func (p *problem) relax(want []int, budget *int) relaxed {
	var rows []int
	for i, n := range want {
		if n > 0 {
			rows = append(rows, i)
		}
	}
	m := len(rows)
	// The first basis cuts each size by itself. inverse is of the basis's matrix;
	// column k of the basis is col[k], nil for a surplus of row own[k].
	inverse := make([][]float64, m)
	x, cost := make([]float64, m), make([]float64, m)
	col := make([]pattern, m)
	for k, i := range rows {
		a := make(pattern, len(want))
		a[i] = int(min(p.room/p.size[i], int64(want[i])))
		col[k] = a
		inverse[k] = make([]float64, m)
		inverse[k][k] = 1 / float64(a[i])
		x[k], cost[k] = float64(want[i])/float64(a[i]), 1
	}
	best := relaxed{price: make([]int64, len(want))}
	var bestBound float64
	entering := make([]float64, m)
	for range 50*m + 100 {
		y := make([]float64, m)
		for k := range m {
			if cost[k] != 0 {
				for j := range m {
					y[j] += inverse[k][j]
				}
			}
		}
		*budget -= m * m
		price := make([]int64, len(want))
		worst := -1 // a row whose price is negative: its surplus enters
		for j, i := range rows {
			price[i] = int64(math.Floor(float64(min(max(y[j], 0), 1) * unit)))
			if y[j] < -slack && (worst < 0 || y[j] < y[worst]) {
				worst = j
			}
		}
		var a pattern
		if worst < 0 {
			k := knapsack{p: p, price: price, limit: want, budget: budget}
			a = k.solve()
			now := relaxed{price: price, most: k.most}
			if b := now.value(want); b > bestBound {
				bestBound = b
				best.price, best.most = price, k.most
			}
			worth := 0.0
			for j, i := range rows {
				worth += float64(y[j] * float64(a[i]))
			}
			if worth <= 1+slack || *budget <= 0 {
				break
			}
		}
		for k := range m {
			entering[k] = 0
			if worst >= 0 {
				entering[k] = -inverse[k][worst]
				continue
			}
			for j, i := range rows {
				if a[i] != 0 {
					entering[k] += float64(inverse[k][j] * float64(a[i]))
				}
			}
		}
		out := leaving(x, entering)
		if out < 0 {
			break // only by rounding: every pattern is bounded
		}
		pivot(inverse, x, entering, out)
		col[out], cost[out] = a, 1
		if worst >= 0 {
			col[out], cost[out] = nil, 0
		}
	}
	for k, a := range col {
		if a != nil && x[k] > slack {
			best.cuts = append(best.cuts, fraction{a, x[k]})
		}
	}
	return best
}

func (r *relaxed) value(want []int) float64 {
	s := 0.0
	for i, n := range want {
		s += float64(float64(n) * float64(r.price[i]))
	}
	return s / float64(max(r.most, 1))
}

// leaving is the row that the ratio test picks: the least x/u, the first of those
// that are equal.
func leaving(x, u []float64) int {
	out, least := -1, math.Inf(1)
	for k := range u {
		if u[k] > 1e-9 {
			if r := x[k] / u[k]; r < least-1e-12 {
				out, least = k, r
			}
		}
	}
	return out
}

// pivot takes the entering column into row out.
func pivot(inverse [][]float64, x, u []float64, out int) {
	d := u[out]
	for j := range inverse[out] {
		inverse[out][j] /= d
	}
	x[out] /= d
	for k := range inverse {
		if k == out || u[k] == 0 {
			continue
		}
		for j := range inverse[k] {
			inverse[k][j] -= float64(u[k] * inverse[out][j])
		}
		x[k] = max(x[k]-float64(u[k]*x[out]), 0)
	}
}

// roundDown uses each pattern for its whole bars, as far as what is wanted allows.
// Where none has a whole one, the largest fraction counts as one, cut down to what
// is wanted, so that each round does something.
func (p *problem) roundDown(r []fraction, rest []int) cuts {
	r = slices.Clone(r)
	slices.SortStableFunc(r, func(a, b fraction) int {
		return cmp.Or(cmp.Compare(b.bars, a.bars), slices.Compare(b.pattern, a.pattern))
	})
	var out cuts
	for _, f := range r {
		if n := take(rest, f.pattern, int(math.Floor(f.bars+slack))); n > 0 {
			out = append(out, cut{f.pattern, n})
		}
	}
	if len(out) > 0 || len(r) == 0 {
		return out
	}
	a, room := make(pattern, len(rest)), p.room
	for i, k := range r[0].pattern {
		a[i] = min(k, rest[i])
		room -= int64(a[i]) * p.size[i]
	}
	for i := range a { // what the rounding leaves free
		more := int(min(int64(rest[i]-a[i]), room/p.size[i]))
		a[i] += more
		room -= int64(more) * p.size[i]
	}
	if n := take(rest, a, 1); n > 0 {
		out = append(out, cut{a, n})
	}
	return out
}
