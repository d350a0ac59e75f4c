package site

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"path"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/survey"
	"cardback/internal/survey/plates"
	"cardback/internal/words"
)

// A release's plates are drawn, and each is a file with the size and the checksum
// that the page and its data say.
func TestPlatesAreDrawnAndDownloaded(t *testing.T) {
	f := newFixture(t)
	f.in.Site.Releases = f.in.Site.Releases[:1]
	r := f.in.Site.Releases[0]
	found, err := survey.Run(t.Context(), f.in.Site, nil, nil)
	require.NoError(t, err)
	f.in.Survey, f.in.Laid = found, map[int][]*plates.Set{}
	want := 0
	for _, p := range []bench.Plate{f.in.Site.Bench.Plates[2], f.in.Site.Bench.Plates[0]} {
		set, err := plates.Lay(t.Context(), r, p, found, nil, plates.Usual)
		require.NoError(t, err)
		f.in.Laid[r.Number] = append(f.in.Laid[r.Number], set)
		want += len(set.Layout.Plates)
	}
	site := files(t, f.build())
	name := releasePath(r)
	checkPage(t, site, name, site[name])
	page := string(site[name])
	require.Equal(t, 2*want, strings.Count(page, `class="plate-chart"`), "each plate for the desk and for the phone")
	for _, set := range f.in.Laid[r.Number] {
		require.Contains(t, page, words.Capital(set.Sentence())+".")
	}

	var data struct {
		Laid []struct {
			Plates  int
			AtLeast int `json:"at_least"`
			Files   []struct {
				Path   string
				Size   int `json:"size_bytes"`
				SHA256 string
			}
		}
	}
	require.NoError(t, json.Unmarshal(site[releaseDir(r)+"release.json"], &data))
	require.Len(t, data.Laid, 2)
	for _, l := range data.Laid {
		require.Len(t, l.Files, l.Plates)
		require.LessOrEqual(t, l.AtLeast, l.Plates)
		for _, file := range l.Files {
			content, ok := site[file.Path]
			require.True(t, ok, file.Path)
			require.Equal(t, ".3mf", path.Ext(file.Path))
			require.Len(t, content, file.Size)
			sum := sha256.Sum256(content)
			require.Equal(t, hex.EncodeToString(sum[:]), file.SHA256)
			require.Contains(t, page, file.SHA256)
		}
	}
}
