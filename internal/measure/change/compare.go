package change

import (
	"context"

	"cardback/internal/mesh"
)

// Compare says how the new mesh differs from the old one. Each must have a
// triangle. The error is the context's.
func Compare(ctx context.Context, old, new *mesh.Mesh) (Change, error) {
	c := Change{Kind: Changed, Motion: Still}
	if old.Fingerprint() == new.Fingerprint() {
		c.Kind = Unchanged
	}
	return c, ctx.Err()
}
