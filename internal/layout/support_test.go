package layout

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
)

func testContext(t require.TestingT) context.Context {
	if h, ok := t.(testing.TB); ok {
		return h.Context()
	}
	return context.Background()
}
