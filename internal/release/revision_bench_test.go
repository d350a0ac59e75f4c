package release

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
)

// A revision of 24 meshes, as the demo's figure has, read ten times over.
func BenchmarkReadRevisions(b *testing.B) {
	rev := someRevision("A", 1)
	for i := range 11 {
		p := rev.Parts[0]
		p.Slug = fmt.Sprintf("part-%d", i)
		rev.Parts = append(rev.Parts, p)
	}
	var text []byte
	for i := range 10 {
		rev.Name = RevisionName(i)
		var err error
		text, err = AppendRevision(bench.Bench{}, "r", text, rev)
		require.NoError(b, err)
	}
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		got, _ := new(loader).readRevisions("r", text)
		require.Len(b, got, 10)
	}
}
