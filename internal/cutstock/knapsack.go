package cutstock

import (
	"cmp"
	"math/bits"
	"slices"
)

// knapsack finds the pattern that is worth the most at given prices, by branch and
// bound over sizes in the order of price for length.
type knapsack struct {
	p      *problem
	price  []int64
	limit  []int
	budget *int
	order  []int // sizes that have a price and are wanted
	now    pattern
	best   pattern
	value  int64 // of best
	most   int64 // that any pattern is worth: value, or a bound where the budget ended
}

func (k *knapsack) solve() pattern {
	for i, v := range k.price {
		if v > 0 && k.limit[i] > 0 {
			k.order = append(k.order, i)
		}
	}
	slices.SortStableFunc(k.order, func(a, b int) int { // price for length, falling: exact
		hi, lo := bits.Mul64(uint64(k.price[a]), uint64(k.p.size[b]))
		hj, lj := bits.Mul64(uint64(k.price[b]), uint64(k.p.size[a]))
		return cmp.Or(cmp.Compare(hj, hi), cmp.Compare(lj, lo))
	})
	k.now, k.best = make(pattern, len(k.price)), make(pattern, len(k.price))
	ceiling := k.ceiling(0, k.p.room)
	k.most = ceiling
	if k.try(0, k.p.room, 0) {
		k.most = k.value
	}
	return k.best
}

// ceiling is a bound on what sizes from the at-th of the order on can add in room:
// all of it at the best price for length.
func (k *knapsack) ceiling(at int, room int64) int64 {
	if at == len(k.order) {
		return 0
	}
	i := k.order[at]
	hi, lo := bits.Mul64(uint64(k.price[i]), uint64(room))
	q, _ := bits.Div64(hi, lo, uint64(k.p.size[i])) // price ≤ 2³⁰, room ≤ 2·10⁸: hi is 0
	return int64(q)
}

// try searches; false means that the budget ended.
func (k *knapsack) try(at int, room, value int64) bool {
	if value > k.value {
		k.value = value
		copy(k.best, k.now)
	}
	if value+k.ceiling(at, room) <= k.value {
		return true
	}
	if *k.budget <= 0 {
		return false
	}
	*k.budget--
	i := k.order[at]
	n := int(min(int64(k.limit[i]), room/k.p.size[i]))
	whole := true
	for ; n >= 0 && whole; n-- {
		k.now[i] = n
		whole = k.try(at+1, room-int64(n)*k.p.size[i], value+int64(n)*k.price[i])
	}
	k.now[i] = 0
	return whole
}
