package cli

import (
	"bytes"
	"io"
	"math"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"os"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure"
	"cardback/internal/mesh"
	"cardback/internal/release"
)

func TestWhatStartMakesIsContentWithoutAProblem(t *testing.T) {
	root := filepath.Join(t.TempDir(), "content")
	o := startOptions{content: root}
	require.NoError(t, o.run("tide-clerk", io.Discard))
	s, err := release.Load(root)
	require.NoError(t, err)
	r := s.Releases[0]
	require.Equal(t, "Tide Clerk", r.Title)
	require.True(t, r.IsDraft(recordDay.AddDate(100, 0, 0)), "until the designer says otherwise")
	require.Equal(t, "CC-BY-4.0", r.Licence)
	require.Len(t, r.Parts, 1)
	require.NotEmpty(t, s.Bench.Plates)
	require.NotEmpty(t, s.Bench.Materials)
	require.Len(t, s.Pages, 1)
}

// The comments are examples to use: with their marks taken away the files are
// still content, except for what names things that are not there.
func TestTheExamplesInStartsCommentsAreContent(t *testing.T) {
	root := filepath.Join(t.TempDir(), "content")
	o := startOptions{content: root}
	require.NoError(t, o.run("tide-clerk", io.Discard))
	field := regexp.MustCompile(`(?m)^# ((?:  +(?:- )?)?(?:[a-z_]+: ?|- )[^\n]*)$`)
	seen := 0
	for _, name := range []string{"site.yaml", "bench/plates.yaml", "bench/materials.yaml", "bench/hardware.yaml", "releases/01-tide-clerk/release.md", "releases/01-tide-clerk/parts/block/part.yaml"} {
		file := filepath.Join(root, filepath.FromSlash(name))
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		var out []string
		for _, line := range strings.Split(string(data), "\n") {
			m := field.FindStringSubmatch(line)
			switch {
			case m == nil || strings.Contains(line, "or mm+in") || strings.HasPrefix(line, "# comment:"):
			case strings.Contains(line, "photos") || strings.Contains(line, "choice:") || strings.Contains(line, "replaces:"): // these name what is not there
			default:
				line, seen = m[1], seen+1
			}
			out = append(out, line)
		}
		require.NoError(t, os.WriteFile(file, []byte(strings.Join(out, "\n")), 0o644))
	}
	s, err := release.Load(root)
	require.NoError(t, err)
	require.Greater(t, seen, 40)
	require.Len(t, s.Releases[0].Credits, 1)
	require.Len(t, s.Releases[0].Print[1].Shares, 2)
	require.Equal(t, "x", s.Releases[0].Parts[0].TiltAbout)
}

// A cube less a prism: the area of a polygon of n sides round a circle of radius r
// is n r² tan(π/n).
func TestThePlaceholderIsASolidBlock(t *testing.T) {
	m := block()
	closed, err := m.Closed(t.Context())
	require.NoError(t, err)
	require.True(t, closed)
	// Each of the four sides and 24 of the hole is two triangles; each face is 24 and four.
	require.Len(t, m.Triangles, 2*(4+24)+2*(24+4))
	const r, n = blockHole / 2, blockSides
	want := blockSide * (blockSide*blockSide - n*r*r*math.Tan(math.Pi/n))
	report, err := measure.Measure(t.Context(), m)
	require.NoError(t, err)
	require.InDelta(t, want, report.Volume, 1e-9*want)
	require.NotNil(t, report.Genus)
	require.Equal(t, 1, *report.Genus)
}

// The block is known again by its mesh, whatever becomes of its folder.
func TestTheBlockOfANewReleaseIsAPlaceholder(t *testing.T) {
	data, err := placeholderMesh()
	require.NoError(t, err)
	m, _, err := mesh.Read(t.Context(), bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	require.Equal(t, release.PlaceholderBlock, m.Fingerprint())
}
