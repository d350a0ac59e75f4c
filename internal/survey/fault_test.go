package survey

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/parallel"
	"cardback/internal/release"
)

func TestAFaultAtOneMeshLosesThatMeshAlone(t *testing.T) {
	c := release.Cut{Kind: release.CutAny, Rel: "any.stl"}
	cs, err := guarded(c, func() (*CutSurvey, error) {
		return nil, parallel.Tasks(t.Context(), 4, func(i int) {
			var none []int
			_ = none[i]
		})
	})
	require.NoError(t, err)
	require.Equal(t, c, cs.Cut)
	require.ErrorContains(t, cs.Err, "a fault of the program while this mesh was measured: runtime error: index out of range")
	_, ok := Survey{"any.stl": cs}.Measured(c)
	require.False(t, ok)
}
