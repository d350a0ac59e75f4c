package sets_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/sets"
)

// Against the slow way: labels, all of which are rewritten at each join.
func TestSetsAgreeWithLabels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "n")
		s := sets.New(n)
		labels := make([]int32, n)
		for i := range labels {
			labels[i] = int32(i)
		}
		one := rapid.Int32Range(0, int32(n-1))
		for range rapid.IntRange(0, 40).Draw(t, "joins") {
			a, b := one.Draw(t, "a"), one.Draw(t, "b")
			x, y := min(labels[a], labels[b]), max(labels[a], labels[b])
			require.Equal(t, x != y, s.Join(a, b))
			for i, l := range labels {
				if l == y {
					labels[i] = x
				}
			}
			for i := range labels {
				require.Equal(t, labels[i], s.Of(int32(i)))
			}
		}
		require.Equal(t, int32(n), s.Add())
		require.Equal(t, int32(n), s.Of(int32(n)))
		require.True(t, slices.Equal(sets.New(3), s.Alone(3)))
	})
}
