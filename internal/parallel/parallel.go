// Package parallel runs a loop on all processors: the one place where work is
// split among goroutines. What is computed must not depend on how many there
// are, so the pieces are fixed by the caller and never by the machine; results
// are kept by piece and joined in their order.
package parallel

import (
	"cmp"
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
)

// Pieces runs f over [0, n) in pieces of the given size, the last one shorter,
// on as many goroutines as there are processors. f gets the piece's number and
// its range. No further piece begins once the context has ended; the error is
// the context's. A panic of f comes back as a panic of the caller: see Fault.
func Pieces(ctx context.Context, n, size int, f func(i, lo, hi int)) error {
	return Tasks(ctx, Count(n, size), func(i int) { f(i, i*size, min((i+1)*size, n)) })
}

// Count is the number of pieces of the given size that n things come to.
func Count(n, size int) int { return (n + size - 1) / size }

// Tasks runs f for each i in [0, n), as Pieces does. Low numbers begin first.
func Tasks(ctx context.Context, n int, f func(i int)) error {
	var (
		group sync.WaitGroup
		next  atomic.Int64
		fault atomic.Pointer[Fault]
	)
	for range min(n, runtime.GOMAXPROCS(0)) {
		group.Go(func() {
			defer func() {
				if p := recover(); p != nil {
					f, ok := p.(*Fault) // of a loop within this one
					if !ok {
						f = &Fault{p, debug.Stack()}
					}
					fault.CompareAndSwap(nil, f)
					next.Store(int64(n)) // nothing further begins
				}
			}()
			for ctx.Err() == nil {
				i := int(next.Add(1) - 1)
				if i >= n {
					break
				}
				f(i)
			}
		})
	}
	group.Wait()
	if f := fault.Load(); f != nil {
		panic(f)
	}
	return ctx.Err()
}

// Each runs f for each i in [0, n), as Tasks does, until one fails: then the context
// that the others got ends, nothing further begins, and the error is that of the first
// to fail. Otherwise it is the context's.
func Each(ctx context.Context, n int, f func(ctx context.Context, i int) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var (
		once  sync.Once
		first error
	)
	ended := Tasks(ctx, n, func(i int) {
		if err := f(ctx, i); err != nil {
			once.Do(func() {
				first = err
				cancel()
			})
		}
	})
	return cmp.Or(first, ended)
}

// Fault is what a caller panics with after a panic in one of its goroutines, which
// nobody but that goroutine could have recovered: so whoever guards a mesh or a
// drawing against faults guards its loops as well.
type Fault struct {
	Value any
	Stack []byte // of the goroutine
}

func (f *Fault) String() string { return fmt.Sprint(f.Value) }
