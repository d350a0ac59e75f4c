package verdict_test

import (
	"cardback/internal/survey/history"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/release"
	"cardback/internal/site"
	"cardback/internal/verdict"
)

// Everything that a build of the demo shows, its pages, archives, feed and data, is
// judged once for each release, whatever was measured: here nothing is, as in the first
// moment of a build.
func TestADemoBuildJudgesEachReleaseOnce(t *testing.T) {
	type one struct {
		answer  string
		release int
	}
	var mu sync.Mutex
	times := map[one]int{}
	verdict.Counting(t, func(answer string, release int) {
		mu.Lock()
		defer mu.Unlock()
		times[one{answer, release}]++
	})
	demo, err := release.Load(filepath.Join("..", "..", "content"))
	require.NoError(t, err)
	require.NotEmpty(t, demo.Releases)
	checked, err := verdict.Check(t.Context(), demo, nil, nil)
	require.NoError(t, err)
	judged := checked.Judge(history.History{}, nil)
	require.NoError(t, site.Build(t.Context(), site.Input{Judged: judged, ShowBacklog: true}, t.TempDir()))
	want := map[one]int{}
	for _, r := range demo.Releases {
		for _, answer := range []string{"hardware", "cut lists", "small parts", "cautions", "stance", "credits", "scaled", "plates", "findings", "standings", "needs", "changes"} {
			want[one{answer, r.Number}] = 1
		}
	}
	require.Equal(t, want, times)
}
