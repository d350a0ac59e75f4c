package measure

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// A mesh that is too intricate for its shadow loses that and nothing else:
// everything that can be measured still is.
func TestIntricateShadowLosesNothingElse(t *testing.T) {
	before := outlineOf
	outlineOf = func(context.Context, *mesh.Stars, shadow.View) (shadow.Outline, error) {
		return nil, shadow.ErrIntricate
	}
	defer func() { outlineOf = before }()
	heap := meshtest.Without(meshtest.Octahedron(), 1)
	got, top, err := figures(t.Context(), heap)
	require.NoError(t, err)
	require.True(t, got.Intricate[shadow.Top])
	require.Zero(t, got.Silhouette[shadow.Top])
	require.Nil(t, got.silhouette(shadow.Top))
	require.Equal(t, 7, got.Triangles)
	require.Equal(t, 3, got.OpenEdges)
	require.True(t, slices.ContainsFunc(findingsOf(got, top, false), func(f Finding) bool { return f.Code == "intricate" }))
}
