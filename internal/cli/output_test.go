package cli_test

import (
	"bytes"
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/cli"
)

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }

// An answer that cannot be written was not given.
func TestAFullOutputIsAnError(t *testing.T) {
	for _, args := range [][]string{
		{"measure", "../../testdata/mesh/accepted-plain.stl"},
		{"measure", "--json", "../../testdata/mesh/accepted-plain.stl"},
		{"fit", "--plate", "100x100x100", "../../testdata/mesh/accepted-plain.stl"},
	} {
		var stderr bytes.Buffer
		require.Equal(t, 1, cli.Run(context.Background(), args, full{}, &stderr), args)
		require.Equal(t, "cardback: the answer cannot be written: no space left on device\n", stderr.String(), args)
	}
}
