package cli

import (
	"flag"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/longrun"
)

var update = flag.Bool("update", false, "rewrite the README's pictures from the demo")

// readmePictures are the README's pictures and the files of the demo site that
// they are.
var readmePictures = map[string]string{
	"lamplighter-parts.svg": "releases/01-lamplighter/parts.svg",
	"dredger-parts.svg":     "releases/05-walking-dredger/parts.svg",
}

// demoDay is after the last release of the demo.
var demoDay = time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC)

// TestDemo builds the demo cold and warm: all builds must give the same bytes, and
// the README's pictures must be the demo's own. The cold build opens each mesh file once:
// cuts, poses and sealed meshes; the warm one opens none. Between them is a build that
// opens once again what was written too short a time before it was first hashed: here the
// demo is a copy, since other programs and tests read the demo itself meanwhile.
func TestDemo(t *testing.T) {
	dir := t.TempDir()
	content := filepath.Join(dir, "content")
	require.NoError(t, os.CopyFS(content, os.DirFS(filepath.Join("..", "..", "content"))))
	if !longrun.Asked() { // two releases of six, which take an eighth of the time
		for _, other := range []string{"01-lamplighter", "02-tide-clerk", "05-walking-dredger", "08-quayside-props"} {
			require.NoError(t, os.RemoveAll(filepath.Join(content, "releases", other)))
		}
	}
	var trees [3]map[string]string
	var opened [3]map[string]int
	for i, name := range []string{"cold", "again", "warm"} {
		o := buildOptions{content: content, out: filepath.Join(dir, name), cache: DemoCache()}
		stop := watch(t, content)
		require.NoError(t, build(t.Context(), o, demoDay, io.Discard, os.Stderr))
		opened[i] = stop()
		trees[i] = tree(t, o.out)
	}
	if opened[0] != nil {
		require.Equal(t, meshFiles(t, content), opened[0], "how often a cold build opens each mesh file")
		for path, times := range opened[1] {
			require.Equal(t, 1, times, path)
		}
		require.Empty(t, opened[2], "what a warm build opens")
	}
	require.NotEmpty(t, trees[0])
	for _, warm := range trees[1:] {
		for path, content := range trees[0] {
			require.True(t, content == warm[path], "%s differs between a cold and a warm build", path)
		}
		require.Len(t, warm, len(trees[0]))
	}

	if !longrun.Asked() {
		return // the pictures are of the others
	}
	pictures := filepath.Join("..", "..", "testdata", "pictures")
	for name, source := range readmePictures {
		path := filepath.Join(pictures, name)
		if *update {
			require.NoError(t, os.MkdirAll(pictures, 0o755))
			require.NoError(t, os.WriteFile(path, []byte(trees[0][source]), 0o644))
		}
		got, err := os.ReadFile(path)
		require.NoError(t, err)
		require.True(t, string(got) == trees[0][source], "%s is no longer the demo's %s; run go test ./internal/cli -run TestDemo -update and look at it", path, source)
	}
}

// meshFiles is every mesh file below dir, once.
func meshFiles(t *testing.T, dir string) map[string]int {
	t.Helper()
	out := map[string]int{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if isMeshFile(path) {
			out[path] = 1
		}
		return err
	}))
	require.Greater(t, len(out), longrun.Of(15, 100))
	return out
}

func isMeshFile(name string) bool {
	return slices.Contains([]string{".stl", ".3mf", ".mesh"}, filepath.Ext(name))
}

// tree is every file below dir with its content.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		content, err := os.ReadFile(path)
		rel, _ := filepath.Rel(dir, path)
		out[filepath.ToSlash(rel)] = string(content)
		return err
	}))
	return out
}
