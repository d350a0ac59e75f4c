package fittest

import (
	"slices"
	"testing"
	"time"
)

// Spread prints the distribution of processor times; nothing is asserted of
// them.
func Spread(t *testing.T, what string, times []time.Duration) {
	if len(times) == 0 {
		return
	}
	slices.Sort(times)
	at := func(share float64) time.Duration { return times[min(len(times)-1, int(share*float64(len(times))))] }
	t.Logf("%s: %d, median %v, 90 %% %v, 99 %% %v, worst %v", what, len(times), at(0.5), at(0.9), at(0.99), times[len(times)-1])
}
