package bench_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
)

func TestMaterialsAreNamedTogether(t *testing.T) {
	stocks := []bench.Material{{Name: "Rigid filament"}, {Name: "Flexible filament"}, {Name: "Rigid resin"}, {Name: "Tough resin"}}
	require.Equal(t, "rigid and tough resin", bench.Named(stocks[2:]))
	require.Equal(t, "rigid filament and rigid resin", bench.Named([]bench.Material{stocks[0], stocks[2]}))
	require.Equal(t, "rigid filament", bench.Named(stocks[:1]))
	require.Equal(t, "rigid and flexible filament, rigid and tough resin", bench.Named(stocks))
	require.Empty(t, bench.Named(nil))
	require.Equal(t, "resin and resin", bench.Named([]bench.Material{{Name: "Resin"}, {Name: "Resin"}}))
}
