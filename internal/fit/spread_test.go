package fit

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit/fittest"
)

// No part of the demo and no shared mesh is left undecided on any plate of the
// bench. The times are told, after the hull (run with -v).
func TestNothingRealIsUndecidedOnTheBench(t *testing.T) {
	demo, shared := fittest.RealParts(t)
	for _, set := range []struct {
		name  string
		parts []fittest.RealPart
	}{{"demo", demo}, {"shared", shared}} {
		var times []time.Duration
		count := map[Verdict]int{}
		for _, part := range set.parts {
			for _, p := range benchPlates(t) {
				start := fittest.ProcessorTime()
				res := Fit(context.Background(), part.Hull, p)
				times = append(times, fittest.ProcessorTime()-start)
				if d := times[len(times)-1]; d > 50*time.Millisecond {
					t.Logf("%v: %s on %v, %d points: %s", d, part.Name, p, len(part.Hull), res.Reason)
				}
				require.NotEqual(t, Undecided, res.Verdict, "%s on %v: %s", part.Name, p, res.Reason)
				if res.Verdict.Fits() {
					requireCertificate(t, part.Hull, p, res)
				}
				count[res.Verdict]++
			}
		}
		fittest.Spread(t, set.name, times)
		t.Log(count)
	}
}

// benchPlates are the plates of this repository's bench.
func benchPlates(t testing.TB) []Plate {
	b, err := bench.Load(os.DirFS("../../content"), "content")
	require.NoError(t, err)
	require.NotEmpty(t, b.Plates)
	var out []Plate
	for _, p := range b.Plates {
		out = append(out, Plate{Width: p.Width, Depth: p.Depth, Height: p.Height, Margin: p.Margin, Round: p.Round})
	}
	return out
}
