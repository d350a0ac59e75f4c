package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/cli"
)

// obeyed is what a terminal would act on: no command may send it, whatever files
// and folders are named and whatever stands in them.
var obeyed = regexp.MustCompile("[\x00-\x08\x0b-\x1f\x7f\u0080-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]")

const nasty = "a\x1b]0;owned\x07\x1b[2J\u202egpj.\u009b31m"

func TestNoCommandSendsEscapesToTheTerminal(t *testing.T) {
	mesh, err := os.ReadFile("../../testdata/mesh/accepted-plain.stl")
	require.NoError(t, err)
	dir := t.TempDir()
	good, bad := filepath.Join(dir, nasty+"\n.stl"), filepath.Join(dir, nasty+"\nbad.stl")
	require.NoError(t, os.WriteFile(good, mesh, 0o600))
	require.NoError(t, os.WriteFile(bad, []byte("solid "+nasty+"\n"+nasty+"\n"), 0o600))
	content := filepath.Join(dir, nasty)
	require.NoError(t, os.CopyFS(content, os.DirFS("../../testdata/content")))
	for _, folder := range []string{"pages", "releases", "releases/01-harbour-gull/parts"} {
		require.NoError(t, os.MkdirAll(filepath.Join(content, folder, nasty), 0o700))
	}
	require.NoError(t, os.WriteFile(filepath.Join(content, "pages", nasty+".md"), nil, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(content, "releases/01-harbour-gull/parts/body", nasty+".stl"), nil, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(content, "pages/notes.md"), []byte("---\ntitle: \""+nasty+"\"\n"+nasty+": 1\n---\n"+nasty+"\n"), 0o600))
	cache := filepath.Join(dir, "cache")
	t.Chdir(dir) // for what goes to build/cache
	for _, args := range [][]string{
		{"measure", good, bad}, {"measure", "--json", good, bad}, {"tilt", good, bad}, {"fit", "--plate", "100x100x100", good, bad},
		{"fit", "--small-parts", good, bad}, {"fit", "--frontier", good, bad}, {"compare", good, good}, {"compare", good, bad}, {"compare", "--json", good, bad},
		{nasty}, {"measure", "--" + nasty, good}, {"measure", filepath.Join(dir, nasty+"-none.stl")}, {"start", nasty}, {"fit", "--plate", nasty, good},
		{"build", "--content", content, "--cache", cache, "--out", filepath.Join(dir, "out"+nasty)}, {"proof", "--json", "--content", content, "--cache", cache},
		{"proof", nasty, "--content", content, "--cache", cache}, {"seal", nasty, "--note", nasty, "--content", content, "--cache", cache},
		{"record", nasty, "--content", content}, {"backlog", nasty, "--content", content, "--cache", cache}, {"plates", nasty, "--plate", nasty, "--content", content},
	} {
		var stdout, stderr bytes.Buffer
		cli.Run(context.Background(), args, &stdout, &stderr)
		require.NotEmpty(t, stdout.String()+stderr.String(), args)
		for _, out := range []string{stdout.String(), stderr.String()} {
			require.NotRegexp(t, obeyed, out, "%q", args)
			require.NotContains(t, out, "\n.stl", "a line end in a name began a line")
		}
	}
	var stdout, stderr bytes.Buffer
	require.Equal(t, 0, cli.Run(context.Background(), []string{"measure", "--json", good}, &stdout, &stderr))
	var got []struct {
		Path string `json:"path"`
	}
	require.NoError(t, json.Unmarshal(stdout.Bytes(), &got))
	require.Equal(t, good, got[0].Path, "JSON holds the name as it is")
}
