package cutstock

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The bound stands on one claim: at the prices, no bar is worth more than most. Here
// that is held against a table of every length of bar, filled by dynamic programming
// over whole millimetres, which shares nothing with the knapsack's search.
func TestNoBarIsWorthMoreThanTheBoundSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problem{room: int64(rapid.IntRange(20, 300).Draw(t, "bar")) * micrometres}
		length := int(p.room / micrometres)
		for range rapid.IntRange(1, 12).Draw(t, "lengths") {
			l := int64(rapid.IntRange(max(length/10, 1), length).Draw(t, "length")) * micrometres
			if len(p.size) == 0 || l < p.size[len(p.size)-1] {
				p.size, p.want = append(p.size, l), append(p.want, rapid.IntRange(1, 20).Draw(t, "count"))
			}
		}
		budget := rapid.SampledFrom([]int{1, 50, 500, 1_000_000}).Draw(t, "budget")
		r := p.relax(p.want, &budget)

		best := make([]int64, length+1)
		for i, size := range p.size {
			for range p.want[i] { // each piece once: longest bars first
				for at := length; at >= int(size/micrometres); at-- {
					best[at] = max(best[at], best[at-int(size/micrometres)]+r.price[i])
				}
			}
		}
		require.LessOrEqual(t, best[length], r.most)
		if budget > 0 {
			require.Equal(t, best[length], r.most, "and with work to spare it is exact")
		}
		require.LessOrEqual(t, r.bound(p.want), p.greedy(p.want).bars())
	})
}

// Check values 1.10: the linear programmes of the two published instances come to
// 72.9167 and 452.25 bars, so that 73 and 453 are needed.
func TestPricesOfThePublishedInstances(t *testing.T) {
	for _, c := range []struct {
		pieces []Piece
		stock  float64
		lp     float64
		least  int
	}{{paperRoll, 5600, 72.9167, 73}, {chvatal, 100, 452.25, 453}} {
		p := problem{room: int64(c.stock) * micrometres}
		for i := len(c.pieces) - 1; i >= 0; i-- { // the lists rise, but for Chvátal's
			p.size = append(p.size, int64(c.pieces[i].Length)*micrometres)
			p.want = append(p.want, c.pieces[i].Count)
		}
		budget := usualBudget
		r := p.relax(p.want, &budget)
		require.InDelta(t, c.lp, r.value(p.want), 1e-4)
		require.Equal(t, c.least, r.bound(p.want))
		bars := 0.0
		for _, f := range r.cuts {
			bars += f.bars
		}
		require.InDelta(t, c.lp, bars, 1e-4, "and as many fractions of bars do it")
	}
}
