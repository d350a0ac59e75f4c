package reprint

import (
	"cardback/internal/survey/history"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/release"
)

func TestChangesOfAReleaseThatWasNeverSealed(t *testing.T) {
	r := release.Release{}
	require.False(t, Of(r, nil).Any())
	require.Empty(t, Of(r, nil).Earlier())
	r.Revisions = []release.Revision{{Name: "A"}}
	require.False(t, Of(r, nil).Any(), "which revision the files are is not known")
	require.True(t, Of(r, &history.Release{}).Any())
}
