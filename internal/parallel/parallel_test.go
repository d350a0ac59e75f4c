package parallel_test

import (
	"context"
	"errors"
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

// The error is that of the first to fail; the others hear that their work is in vain.
func TestTheFirstFailureEndsTheRest(t *testing.T) {
	wrong := errors.New("wrong")
	var ran atomic.Int32
	err := parallel.Each(t.Context(), 1_000_000, func(ctx context.Context, i int) error {
		ran.Add(1)
		if i > 10 {
			<-ctx.Done()
			return ctx.Err()
		}
		if i == 5 {
			return wrong
		}
		return nil
	})
	require.ErrorIs(t, err, wrong)
	require.Less(t, ran.Load(), int32(1000))

	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, parallel.Each(ctx, 3, func(context.Context, int) error { return wrong }), context.Canceled)
	require.NoError(t, parallel.Each(t.Context(), 0, nil))
}
