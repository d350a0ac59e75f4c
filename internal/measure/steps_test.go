package measure

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/meshtest"
)

func TestMeasureSaysItsSteps(t *testing.T) {
	var said []string
	ctx := WithSteps(t.Context(), func(what string) { said = append(said, what) })
	_, err := Measure(ctx, meshtest.Box(3, 2, 1))
	require.NoError(t, err)
	require.Equal(t, []string{"looking for surfaces that cross", "looking for thin places", "looking for holes"}, said)
}
