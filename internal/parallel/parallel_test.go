package parallel_test

import (
	"context"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/parallel"
)

func TestPiecesCoverTheRangeOnce(t *testing.T) {
	for _, n := range []int{0, 1, 7, 8, 9, 1000} {
		seen := make([]atomic.Int32, n)
		require.NoError(t, parallel.Pieces(context.Background(), n, 8, func(i, lo, hi int) {
			require.Equal(t, i*8, lo)
			require.LessOrEqual(t, hi-lo, 8)
			for k := lo; k < hi; k++ {
				seen[k].Add(1)
			}
		}))
		for k := range seen {
			require.EqualValues(t, 1, seen[k].Load(), "%d of %d", k, n)
		}
	}
}

func TestACancelledLoopStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	var ran atomic.Int32
	err := parallel.Tasks(ctx, 1_000_000, func(int) {
		if ran.Add(1) == 10 {
			cancel()
		}
	})
	require.ErrorIs(t, err, context.Canceled)
	require.Less(t, ran.Load(), int32(1000))
}
