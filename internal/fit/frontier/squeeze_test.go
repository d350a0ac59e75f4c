package frontier

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What is squeezed comes out again, boxes that hold others left out.
func TestSqueezedListsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pitch := rapid.IntRange(1, 7).Draw(t, "pitch")
		side := rapid.IntRange(0, rapid.SampledFrom([]int{3, 20, 120}).Draw(t, "most"))
		three := rapid.Bool().Draw(t, "three")
		ascending := three || rapid.Bool().Draw(t, "ascending")
		var boxes [][3]int
		for range rapid.IntRange(0, 60).Draw(t, "boxes") {
			b := [3]int{0, side.Draw(t, "b"), side.Draw(t, "c")}
			if three {
				b[0] = min(side.Draw(t, "a"), b[1])
			}
			if ascending {
				slices.Sort(b[:])
			}
			boxes = append(boxes, [3]int{pitch * b[0], pitch * b[1], pitch * b[2]})
		}
		got, err := squeezed(boxes, ascending).unsqueezed(ascending)
		require.NoError(t, err)
		var want [][3]int
		for _, b := range boxes {
			if !slices.ContainsFunc(boxes, func(o [3]int) bool { return o != b && atMost(o, b) }) {
				want = append(want, b)
			}
		}
		slices.SortFunc(want, func(a, b [3]int) int { return slices.Compare(a[:], b[:]) })
		require.Equal(t, slices.Compact(want), got)
	})
}

// Decisions that mostly go one way take little more than the bits that they must
// (C. E. Shannon, 1948: −Σ p log₂ p each).
func TestSqueezedDecisionsTakeNoMoreThanTheyMust(t *testing.T) {
	s := newSqueezer()
	yes := func(i int) bool { return i*i%101%20 != 0 }
	n, no := 20_000, 0
	for i := range n {
		s.code(0, yes(i))
		if !yes(i) {
			no++
		}
	}
	p := float64(no) / float64(n)
	require.InDelta(t, 0.06, p, 0.02)
	text := s.text()
	must := -float64(n) * (p*math.Log2(p) + (1-p)*math.Log2(1-p))
	require.Less(t, 6*float64(len(text)), 1.05*must)
	require.Greater(t, 6*float64(len(text)), 0.98*must)
	u := newUnsqueezer(text)
	for i := range n {
		require.Equal(t, yes(i), u.code(0, false))
	}
	require.LessOrEqual(t, u.past, squeezeDigits)
}
