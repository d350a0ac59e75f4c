package history

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestAFaultAtOneComparisonLosesThatComparisonAlone(t *testing.T) {
	found, why, err := guardedCompare(func() (*compared, string, error) { panic("a broken invariant") })
	require.NoError(t, err)
	require.Nil(t, found)
	require.Equal(t, "a fault of the program while they were compared: a broken invariant", why)
}
