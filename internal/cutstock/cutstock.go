// Package cutstock says how to cut pieces of given lengths from bars of one stock
// length, so that as few bars as possible are bought: one-dimensional cutting stock.
//
// Its central type is [Plan]; [Solve] makes one. A saw takes a kerf from each cut,
// so n pieces on a bar use the sum of their lengths and n − 1 kerfs; the cut behind
// the last piece is free where the piece ends at the bar's end. Adding a kerf to
// every piece and one to the bar makes of that a problem without kerf.
//
// Lengths are whole micrometres inside: pieces and kerfs are rounded up to the next,
// bars down, so that nothing fits by a rounding. All comparisons of lengths are of
// whole numbers.
//
// The number of bars is the least there is, with proof, where Count and Least of the
// plan are equal; where the budget of work ran out, Count is the best found and Least
// is what no plan can be under. It is never more than first-fit decreasing takes. The
// same pieces in any order give the same plan, on every machine.
//
// Method: bounds by linear programming over patterns, made one after another by a
// knapsack (Gilmore and Gomory, 1961 and 1963, from memory); the bound is taken from
// prices rounded to whole numbers, so that it holds exactly whatever the rounding of
// the simplex steps was (any prices give a bound: Farley, 1990, from memory). Plans
// come from first-fit decreasing and from rounding the linear programme down, again
// and again for what is left. What gap remains is searched whole: see search.go.
package cutstock

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
)

// Piece is a length in mm that is wanted Count times.
type Piece struct {
	Length float64
	Count  int
}

// Stock is what is bought: bars of Length mm, of which each cut takes Kerf mm.
type Stock struct{ Length, Kerf float64 }

// Bar is one way of cutting, used for Times bars.
type Bar struct {
	Times  int
	Pieces []Piece // longest first
	// Offcut is what is left in mm when the last piece is cut off, the kerf of that
	// cut taken away.
	Offcut float64
}

// Plan is how to cut.
type Plan struct {
	Bars    []Bar // the fullest first
	Count   int   // of bars in all
	Least   int   // no plan takes fewer
	TooLong []Piece
}

// Optimal reports whether no plan takes fewer bars.
func (p *Plan) Optimal() bool { return p.Count == p.Least }

// Bounds of what is asked. A hundred metres are more than any coil of cord; beyond
// mostLengths the tables of the linear programme no longer pay.
const (
	micrometres = 1000
	mostMM      = 100_000
	mostCount   = 1_000_000
	mostLengths = 400
)

// usualBudget is the usual budget of work, in steps of the searches inside. It takes
// about a second.
const usualBudget = 4_000_000

// Solve makes a plan. Pieces of equal length, to the micrometre, are put together; those longer than
// the bar are listed in the plan and left out of it. Lengths and counts that are
// not above zero, or beyond what a workshop has, are errors. budget is in steps;
// zero means usualBudget, four million.
func Solve(ctx context.Context, pieces []Piece, stock Stock, budget int) (*Plan, error) {
	if !(stock.Length > 0) || stock.Length > mostMM || !(stock.Kerf >= 0) || stock.Kerf > stock.Length {
		return nil, fmt.Errorf("stock of %g mm with a kerf of %g mm; expected a length above zero, at most %d mm, and a kerf from zero to the length", stock.Length, stock.Kerf, mostMM)
	}
	p := problem{kerf: up(stock.Kerf)}
	bar := int64(math.Floor(stock.Length*micrometres + rounding))
	p.room = bar + p.kerf
	plan := &Plan{}
	sorted := slices.Clone(pieces)
	slices.SortFunc(sorted, func(a, b Piece) int { return cmp.Compare(b.Length, a.Length) })
	total := 0
	for _, w := range sorted {
		if !(w.Length > 0) || w.Length > mostMM || w.Count < 1 || w.Count > mostCount {
			return nil, fmt.Errorf("%d pieces of %g mm; expected a length above zero, at most %d mm, and a count from 1 to %d", w.Count, w.Length, mostMM, mostCount)
		}
		if total += w.Count; total > mostCount {
			return nil, fmt.Errorf("more than %d pieces", mostCount)
		}
		l := max(up(w.Length), 1)
		n := len(p.size) - 1
		switch {
		case l > bar:
			if k := len(plan.TooLong) - 1; k >= 0 && plan.TooLong[k].Length == w.Length {
				plan.TooLong[k].Count += w.Count
			} else {
				plan.TooLong = append(plan.TooLong, w)
			}
		case n >= 0 && p.size[n] == l+p.kerf:
			p.want[n] += w.Count
		default:
			p.size, p.want, p.length = append(p.size, l+p.kerf), append(p.want, w.Count), append(p.length, w.Length)
		}
	}
	if len(p.size) > mostLengths {
		return nil, fmt.Errorf("%d different lengths; expected at most %d", len(p.size), mostLengths)
	}
	if budget <= 0 {
		budget = usualBudget
	}
	best, least, err := p.solve(ctx, &budget)
	if err != nil {
		return nil, err
	}
	plan.Count, plan.Least = best.bars(), least
	p.describe(plan, best)
	return plan, nil
}

// rounding, in µm, is what a length in float64 may be off by after its decimals
// were read: 10⁵ mm have units in the last place of 1.5e-11 mm.
const rounding = 1e-4

func up(mm float64) int64 { return int64(math.Ceil(mm*micrometres - rounding)) }

// problem is the instance in micrometres: sizes are lengths and a kerf each, the
// longest first and all different; room is the bar and a kerf.
type problem struct {
	room, kerf int64
	size       []int64
	want       []int
	length     []float64 // as asked, mm
}

// pattern is what one bar holds: how many of each size.
type pattern []int

// cut is a pattern used several times.
type cut struct {
	pattern pattern
	times   int
}

type cuts []cut

func (c cuts) bars() int {
	n := 0
	for _, u := range c {
		n += u.times
	}
	return n
}

func (p *problem) used(a pattern) int64 {
	var s int64
	for i, n := range a {
		s += int64(n) * p.size[i]
	}
	return s
}

// describe writes the bars of a solution, the fullest first; equal ones together.
func (p *problem) describe(plan *Plan, c cuts) {
	c = slices.Clone(c)
	slices.SortStableFunc(c, func(a, b cut) int {
		return cmp.Or(cmp.Compare(p.used(b.pattern), p.used(a.pattern)), slices.Compare(b.pattern, a.pattern))
	})
	for i, u := range c {
		if i > 0 && slices.Equal(u.pattern, c[i-1].pattern) {
			plan.Bars[len(plan.Bars)-1].Times += u.times
			continue
		}
		b := Bar{Times: u.times}
		for k, n := range u.pattern {
			if n > 0 {
				b.Pieces = append(b.Pieces, Piece{p.length[k], n})
			}
		}
		b.Offcut = float64(max(p.room-p.used(u.pattern)-p.kerf, 0)) / micrometres
		plan.Bars = append(plan.Bars, b)
	}
}

// solve finds a plan and a bound. It ends when they meet or when the budget is
// used up; the plan is then the best found.
func (p *problem) solve(ctx context.Context, budget *int) (cuts, int, error) {
	if len(p.size) == 0 {
		return nil, 0, nil
	}
	best := p.greedy(p.want)
	least := p.areaBound(p.want)
	if best.bars() == least {
		return best, least, nil
	}
	prices := [][]int64{p.size} // waste of length is a price too
	worth := []int64{p.room}
	rest := slices.Clone(p.want)
	var done cuts
	for first := true; ; first = false { // round down, and again for what is left
		if err := ctx.Err(); err != nil {
			return nil, 0, err
		}
		r := p.relax(rest, budget)
		if first {
			least = max(least, r.bound(p.want))
			if r.most < mostWorth {
				prices, worth = append(prices, r.price), append(worth, r.most)
			}
		}
		done = append(done, p.roundDown(r.cuts, rest)...)
		tail := p.greedy(rest)
		if done.bars()+tail.bars() < best.bars() {
			best = append(slices.Clone(done), tail...)
		}
		if best.bars() == least || len(tail) == 0 {
			break
		}
	}
	s := search{p: p, ctx: ctx, budget: budget, price: prices, worth: worth}
	for best.bars() > least {
		found, exhausted := s.within(least)
		if s.err != nil {
			return nil, 0, s.err
		}
		if found != nil {
			best = found
		} else if !exhausted {
			break
		} else {
			least++
		}
	}
	return best, least, nil
}

// areaBound is the total length over the bar's.
func (p *problem) areaBound(want []int) int {
	var s int64
	for i, n := range want {
		s += int64(n) * p.size[i]
	}
	return int((s + p.room - 1) / p.room)
}

// greedy fills one bar after another, with the longest that still goes in each
// time. That is first-fit decreasing: a bar there holds, of all pieces that no
// earlier bar had room for, the longest that fits beside what it has.
func (p *problem) greedy(want []int) cuts {
	rest := slices.Clone(want)
	var out cuts
	for {
		a, room := make(pattern, len(rest)), p.room
		for i, n := range rest {
			a[i] = int(min(int64(n), room/p.size[i]))
			room -= int64(a[i]) * p.size[i]
		}
		n := take(rest, a, math.MaxInt)
		if n == 0 {
			return out
		}
		out = append(out, cut{a, n})
	}
}

// take uses a pattern as often as what is wanted allows, at most times, and says
// how often that was.
func take(rest []int, a pattern, times int) int {
	n, any := times, false
	for i, k := range a {
		if k > 0 {
			n, any = min(n, rest[i]/k), true
		}
	}
	if !any {
		return 0
	}
	for i, k := range a {
		rest[i] -= n * k
	}
	return n
}
