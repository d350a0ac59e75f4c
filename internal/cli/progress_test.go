package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// What is done within a second shows nothing; what takes longer has one line,
// which is taken away before the answer.
func TestStatus(t *testing.T) {
	var out bytes.Buffer
	s := &status{w: &out, columns: func() int { return 40 }}
	s.file(1, 3, filepath.Join("parts", "torso.stl"))
	s.step("measuring 12 triangles")
	s.show(s.since.Add(999 * time.Millisecond))
	require.Empty(t, out.String())
	s.clear()
	require.Empty(t, out.String())

	s.file(1, 3, filepath.Join("parts", "torso.stl"))
	s.step("measuring")
	s.show(s.since.Add(4 * time.Second))
	require.Equal(t, "\r\x1b[K  4 s  2 of 3, torso.stl: measuring", out.String())
	s.step("measuring a great many triangles")
	out.Reset()
	s.show(s.since.Add(5 * time.Second))
	require.Equal(t, "\r\x1b[K  5 s  2 of 3, torso.stl: measuring a g", out.String()) // 39 columns: the last stays free
	out.Reset()
	s.clear()
	require.Equal(t, "\r\x1b[K", out.String())
	out.Reset()
	s.show(s.since.Add(time.Hour)) // between two files there is nothing to show
	require.Empty(t, out.String())

	done := s.counted("measuring", 3)
	s.show(s.since.Add(2 * time.Second))
	require.Equal(t, "\r\x1b[K  2 s  measuring: 0 of 3", out.String())
	out.Reset()
	done("torso\x1b[2J")
	s.show(s.since.Add(3 * time.Second))
	require.Contains(t, out.String(), "  3 s  measuring: 1 of 3, torso")
	require.Equal(t, 1, strings.Count(out.String(), "\x1b"), "a name cannot command the terminal")
}

// In a pipe, and for nil, nothing is ever written.
func TestStatusIsQuietInAPipe(t *testing.T) {
	r, w, err := os.Pipe()
	require.NoError(t, err)
	defer r.Close()
	defer w.Close()
	require.Nil(t, newStatus(w))
	s := newStatus(&bytes.Buffer{})
	require.Nil(t, s)
	s.file(0, 1, "a.stl")
	s.step("reading")
	s.counted("measuring", 3)("a.stl")
	s.clear()
	s.done()
}

// A run that was told to stop says so once, and exits with 1.
func TestStoppedRuns(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	svg := filepath.Join(t.TempDir(), "layers.svg")
	path := filepath.Join("..", "..", "testdata", "mesh", "accepted-plain.stl")
	for _, args := range [][]string{{"measure", path, path}, {"measure", "--json", path}, {"tilt", path, "--svg", svg}} {
		var stdout, stderr bytes.Buffer
		require.Equal(t, 1, Run(ctx, args, &stdout, &stderr), args)
		require.Empty(t, stdout.String())
		require.Equal(t, "cardback: stopped before the end; what was there is as it was\n", stderr.String())
		require.NoFileExists(t, svg)
	}
}
