package cutstock

import (
	"context"
	"slices"
)

// search decides whether a number of bars is enough, by trying bars one after
// another.
//
// Of all plans with that many bars, each written as its bars in falling order
// (compared by how many of the longest size they hold, then of the next), there is
// one that comes last among all. In it no bar could take a piece of a later bar,
// since that would make it larger and the plan with it. So it is enough to look for
// plans whose bars fall and are full as far as the pieces left over go. The first
// bar then holds the longest piece that is left.
//
// At any prices, n bars are worth at most n times the best bar, and the pieces are
// worth what they are; the difference is what all bars together may fall short of
// the best. A branch that has used that up is left.
type search struct {
	p      *problem
	ctx    context.Context
	budget *int
	price  [][]int64
	worth  []int64 // of the best bar at each of the prices
	rest   []int
	now    []pattern
	dead   map[string]bool
	err    error
}

// mostDead bounds what is remembered of the positions that lead nowhere.
const mostDead = 1 << 20

// mostBars bounds the depth of the search: two calls for each bar and one for each size
// on it, of which there are at most mostLengths, some 200 bytes each, so that all of it
// stays under 200 MB of stack. With mostWorth it keeps sums of worths under 2⁶³.
const mostBars, mostWorth = 2_000, 1 << 40

// within looks for a plan of n bars. exhausted says that there is none.
func (s *search) within(n int) (found cuts, exhausted bool) {
	if n > mostBars {
		return nil, false
	}
	spare := make([]int64, len(s.price))
	for k, price := range s.price {
		spare[k] = int64(n) * s.worth[k]
		for i, w := range s.p.want {
			spare[k] -= int64(w) * price[i]
		}
		if spare[k] < 0 {
			return nil, true
		}
	}
	s.rest, s.now, s.dead = slices.Clone(s.p.want), nil, map[string]bool{}
	ok := s.bar(n, spare, nil)
	if !ok {
		return nil, *s.budget > 0
	}
	for _, a := range s.now {
		if k := len(found) - 1; k >= 0 && slices.Equal(found[k].pattern, a) {
			found[k].times++
			continue
		}
		found = append(found, cut{a, 1})
	}
	return found, false
}

// bar fills the next of n bars with no more than the one before it.
func (s *search) bar(n int, spare []int64, before pattern) bool {
	first := slices.IndexFunc(s.rest, func(k int) bool { return k > 0 })
	if first < 0 {
		return true
	}
	if n == 0 || s.p.areaBound(s.rest) > n {
		return false
	}
	if s.err = s.ctx.Err(); s.err != nil {
		*s.budget = 0
	}
	if *s.budget <= 0 {
		return false
	}
	key := s.key(n, before)
	if s.dead[key] {
		return false
	}
	a := make(pattern, len(s.rest))
	if s.fill(n, spare, before, a, first, s.p.room) {
		return true
	}
	if *s.budget > 0 && len(s.dead) < mostDead {
		s.dead[key] = true
	}
	return false
}

// key names a position: the bars and pieces that are left, and the bar that the next
// may not exceed. Spares follow from these: they are what the bars that are left
// are worth at most, less the worth of the pieces that are left.
func (s *search) key(n int, before pattern) string {
	b := make([]byte, 0, 6*len(s.rest)+3)
	b = append(b, byte(n), byte(n>>8), byte(n>>16))
	for _, list := range [][]int{s.rest, before} {
		for _, k := range list {
			b = append(b, byte(k), byte(k>>8), byte(k>>16))
		}
	}
	return string(b)
}

// fill chooses how many of size i and below go on the bar, most first.
func (s *search) fill(n int, spare []int64, before, a pattern, i int, room int64) bool {
	if *s.budget <= 0 {
		return false
	}
	*s.budget--
	for i < len(a) && (s.rest[i] == 0 || s.p.size[i] > room) {
		i++ // none of it
	}
	if i == len(a) {
		return s.close(n, spare, a, room)
	}
	most := int(min(int64(s.rest[i]), room/s.p.size[i]))
	if s.bounded(before, a, i) {
		most = min(most, before[i])
	}
	least := 0
	if !slices.ContainsFunc(a[:i], func(k int) bool { return k > 0 }) && s.rest[i] > 0 {
		least = 1 // the longest that is left
	}
	for k := most; k >= least; k-- {
		a[i] = k
		if s.fill(n, spare, before, a, i+1, room-int64(k)*s.p.size[i]) {
			return true
		}
	}
	a[i] = 0
	return false
}

// bounded reports whether a equals the bar before it up to size i, so that it may
// not have more of that size.
func (s *search) bounded(before, a pattern, i int) bool {
	return before != nil && slices.Equal(before[:i], a[:i])
}

// close cuts the bar, if it is full and worth enough, and goes on.
func (s *search) close(n int, spare []int64, a pattern, room int64) bool {
	for i, k := range a {
		if s.rest[i] > k && s.p.size[i] <= room {
			return false // one more goes in
		}
	}
	left := slices.Clone(spare)
	for k, price := range s.price {
		short := s.worth[k]
		for i, c := range a {
			short -= int64(c) * price[i]
		}
		if left[k] -= short; left[k] < 0 {
			return false
		}
	}
	for i, c := range a {
		s.rest[i] -= c
	}
	s.now = append(s.now, slices.Clone(a))
	if s.bar(n-1, left, s.now[len(s.now)-1]) {
		return true
	}
	s.now = s.now[:len(s.now)-1]
	for i, c := range a {
		s.rest[i] += c
	}
	return false
}
