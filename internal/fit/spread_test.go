package fit

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// spread prints the distribution of processor times; nothing is asserted of
// them.
func spread(t *testing.T, what string, times []time.Duration) {
	if len(times) == 0 {
		return
	}
	slices.Sort(times)
	at := func(share float64) time.Duration { return times[min(len(times)-1, int(share*float64(len(times))))] }
	t.Logf("%s: %d, median %v, 90 %% %v, 99 %% %v, worst %v", what, len(times), at(0.5), at(0.9), at(0.99), times[len(times)-1])
}

// No part of the demo and no shared mesh is left undecided on any plate of the
// bench. The times are told, after the hull (run with -v).
func TestNothingRealIsUndecidedOnTheBench(t *testing.T) {
	demo, shared := realParts(t)
	for _, set := range []struct {
		name  string
		parts []realPart
	}{{"demo", demo}, {"shared", shared}} {
		var times []time.Duration
		count := map[Verdict]int{}
		for _, part := range set.parts {
			for _, p := range benchPlates(t) {
				start := processorTime()
				res := Fit(context.Background(), part.hull, p)
				times = append(times, processorTime()-start)
				if d := times[len(times)-1]; d > 50*time.Millisecond {
					t.Logf("%v: %s on %v, %d points: %s", d, part.name, p, len(part.hull), res.Reason)
				}
				require.NotEqual(t, Undecided, res.Verdict, "%s on %v: %s", part.name, p, res.Reason)
				if res.Verdict.Fits() {
					requireCertificate(t, part.hull, p, res)
				}
				count[res.Verdict]++
			}
		}
		spread(t, set.name, times)
		t.Log(count)
	}
}
