package memory_test

import (
	"context"
	"runtime/debug"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/memory"
)

// Whatever is asked for, what is held together never exceeds what there is, unless
// one that needs more is alone; and all get their turn.
func TestWorkGoesSideBySideAsFarAsThereIsMemory(t *testing.T) {
	const size = 100
	rooms := memory.RoomsOf(size)
	var lock sync.Mutex
	held, most, count := int64(0), int64(0), 0
	var all sync.WaitGroup
	for i := range 200 {
		need := int64(i*37%130) + 1
		all.Go(func() {
			leave, err := rooms.Take(context.Background(), need)
			if err != nil {
				return
			}
			lock.Lock()
			held += min(need, size)
			most = max(most, held)
			count++
			lock.Unlock()
			lock.Lock()
			held -= min(need, size)
			lock.Unlock()
			leave()
		})
	}
	all.Wait()
	require.LessOrEqual(t, most, int64(size))
	require.Equal(t, 200, count)
}

func TestWaitingForMemoryEndsWithTheContext(t *testing.T) {
	rooms := memory.RoomsOf(10)
	leave, err := rooms.Take(t.Context(), 1000)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = rooms.Take(ctx, 1)
	require.ErrorIs(t, err, context.Canceled)
	leave()
	leave, err = rooms.Take(t.Context(), 1)
	require.NoError(t, err)
	leave()
}

func TestTheProcessIsHeldUnderItsCeiling(t *testing.T) {
	was := debug.SetMemoryLimit(-1)
	t.Cleanup(func() { debug.SetMemoryLimit(was) })
	t.Setenv("GOMEMLIMIT", "")
	memory.Hold()
	require.EqualValues(t, memory.Ceiling, debug.SetMemoryLimit(-1))

	debug.SetMemoryLimit(was)
	t.Setenv("GOMEMLIMIT", "9GiB")
	memory.Hold()
	require.Equal(t, was, debug.SetMemoryLimit(-1), "the person's own limit stands")
}
