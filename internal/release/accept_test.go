package release

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fields"
)

func TestAcceptancesAreOfOneMesh(t *testing.T) {
	d := fields.Parse("part.yaml", []byte("accept:\n  - {finding: thin-wall, mesh: \"0123456789ABCDEF\", why: \" A fin that carries nothing. \"}\n  - finding: lies-flat\n    mesh: 12345678\n    why: It came out level.\n"))
	got := readAccepts(d.Map())
	require.Empty(t, d.Finish())
	require.Equal(t, []Accepted{
		{Finding: "thin-wall", Mesh: "0123456789abcdef", Why: "A fin that carries nothing.", Line: 2},
		{Finding: "lies-flat", Mesh: "12345678", Why: "It came out level.", Line: 3},
	}, got)
	require.True(t, got[0].Of("0123456789abcdef0000"))
	require.False(t, got[0].Of("1123456789abcdef0000"))
}
