package release

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestStepsAreTheNumberedItemsOfTheAssembly(t *testing.T) {
	r := Release{Sections: Sections("Before.\n\n## Story\n\n1. Not a step.\n\n## Assembly\n\nRead first.\n\n1. **Cut** the *rod*\n   with care.\n2. Glue.\n   - Not before it is dry.\n\n- no step\n\n5. Fifth.\n\n## Painting\n\n1. No.\n")}
	got := r.Steps()
	require.Equal(t, []Step{{1, "Cut the rod with care."}, {2, "Glue. Not before it is dry."}, {5, "Fifth."}}, got)
	require.Empty(t, Release{Sections: Sections("## Assembly\n\nPress it together.\n")}.Steps())
}
