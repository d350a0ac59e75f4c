package parallel

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A panic in a goroutine ends the program unless that goroutine recovers; here the
// caller can.
func TestAPanicInALoopIsThatOfItsCaller(t *testing.T) {
	caught := func() (p any) {
		defer func() { p = recover() }()
		_ = Tasks(t.Context(), 100, func(i int) {
			_ = Pieces(t.Context(), 10, 3, func(k, _, _ int) {
				if i == 50 && k == 2 {
					panic("a broken invariant")
				}
			})
		})
		return nil
	}()
	f, ok := caught.(*Fault)
	require.True(t, ok)
	require.Equal(t, "a broken invariant", f.String())
	require.Contains(t, string(f.Stack), "TestAPanicInALoopIsThatOfItsCaller")
}
