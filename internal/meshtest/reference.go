package meshtest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/reference"
)

// Of the 159 files, 18 are refused, which package mesh tests by name, and one is
// out of step, so that its numbers are noise, as its numbers_note says.
const refusedFiles, noisyFiles = 18, 1

// EachReference runs f on every file that can be compared, as a subtest.
func EachReference(t *testing.T, f func(t *testing.T, ref reference.File, m *mesh.Mesh)) {
	refused, noisy := 0, 0
	for _, ref := range reference.Files(t) {
		m, _, err := mesh.ReadFile(t.Context(), ref.Path())
		switch {
		case err != nil:
			refused++
		case ref.NumbersNote != "":
			noisy++
		default:
			t.Run(ref.File, func(t *testing.T) { f(t, ref, m) })
		}
	}
	require.Equal(t, [2]int{refusedFiles, noisyFiles}, [2]int{refused, noisy})
}
