package verdict_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/thin"
	"cardback/internal/mesh"
	"cardback/internal/verdict"
)

func TestTooThinAtTheScaleItIsPrinted(t *testing.T) {
	r := thin.Report{Limit: 3, Places: []thin.Place{
		{Kind: thin.Pin, Thickness: .3, At: mesh.Vec{X: 1, Y: -2.04, Z: -.04}, Extent: 6.2},
		{Kind: thin.Wall, Thickness: .55, Extent: 9},
		{Kind: thin.Wall, Thickness: .6, Extent: 9},
	}}
	at := func(scale float64) []verdict.ThinPlace { return verdict.TooThin(r, .6, .8, scale) }
	got := at(1)
	require.Len(t, got, 2, "0.6 mm is not below 0.6 mm")
	require.Equal(t, "The pin at (1.0, -2.0, 0.0) is 0.30 mm thick over 6.2 mm, under the limit of 0.8 mm for pins: it may not form, or break off.", got[0].Sentence)
	require.Equal(t, "The wall at (0.0, 0.0, 0.0) is 0.55 mm thick over 9.0 mm, under the limit of 0.6 mm for walls: it may come out with holes, or not at all.", got[1].Sentence)
	require.Len(t, at(2), 1, "the walls are thick enough at twice the size")
	require.InDelta(t, .6, at(2)[0].Thickness, 1e-12)
	require.Len(t, at(.9), 3)
	require.Empty(t, at(3))
	require.True(t, verdict.ThinKnown(r, 3, 1))
	require.False(t, verdict.ThinKnown(r, 3, .9), "2.7 mm is all that was looked for")
}
