package survey

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/store"
)

func steadyOf(t *testing.T, data []byte) (*steady, *os.File, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(path, data, 0o644))
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	s, sum, err := newSteady(f)
	require.NoError(t, err)
	want := sha256.Sum256(data)
	require.Equal(t, hex.EncodeToString(want[:]), sum)
	return s, f, sum
}

// The standard library's test of readers reads, seeks and reads at places in every
// way, at and across the blocks' ends.
func TestASteadyFileReadsAsTheFileDoes(t *testing.T) {
	random := rand.NewChaCha8([32]byte{1})
	for _, size := range []int{0, 1, steadyBlock - 1, steadyBlock, steadyBlock + 1, 3*steadyBlock + 17} {
		data := make([]byte, size)
		random.Read(data)
		s, _, _ := steadyOf(t, data)
		require.NoError(t, iotest.TestReader(s, data), "%d bytes", size)
	}
}

func TestASteadyFileGivesNoByteThatWasNotHashed(t *testing.T) {
	data := bytes.Repeat([]byte("0123456789abcdef"), 3*steadyBlock/16)
	for name, change := range map[string]func(f *os.File) error{
		"one bit":   func(f *os.File) error { _, err := f.WriteAt([]byte{'1'}, steadyBlock); return err },
		"shortened": func(f *os.File) error { return f.Truncate(steadyBlock + 5) },
	} {
		t.Run(name, func(t *testing.T) {
			s, f, _ := steadyOf(t, data)
			require.NoError(t, change(f))
			got, err := io.ReadAll(s)
			require.ErrorIs(t, err, errChanged)
			require.Equal(t, data[:len(got)], got)
			require.Len(t, got, steadyBlock, "what is before the change is the file")
		})
	}
	s, f, _ := steadyOf(t, data) // longer: what was hashed is there still
	_, err := f.WriteAt([]byte("more"), int64(len(data)))
	require.NoError(t, err)
	got, err := io.ReadAll(s)
	require.NoError(t, err)
	require.Equal(t, data, got)
}

func cubeSTL(t *testing.T, side float64) []byte {
	t.Helper()
	m := &mesh.Mesh{}
	for i := range 8 {
		m.Vertices = append(m.Vertices, mesh.Vec{X: side * float64(i&1), Y: side * float64(i>>1&1), Z: side * float64(i>>2)})
	}
	for _, q := range [][4]uint32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Triangles = append(m.Triangles, [3]uint32{q[0], q[1], q[2]}, [3]uint32{q[0], q[2], q[3]})
	}
	var out bytes.Buffer
	require.NoError(t, mesh.WriteSTL(&out, m, ""))
	return out.Bytes()
}

// A cube of 20 mm that is rewritten as one of 10 mm between its hash and its reading
// must not be kept under the hash of the first: that would be published for ever.
func TestTheCacheKeepsNoAnswerForBytesThatWereNotHashed(t *testing.T) {
	dir := t.TempDir()
	c := release.Cut{Kind: release.CutAny, File: filepath.Join(dir, "any.stl"), Rel: "any.stl"}
	require.NoError(t, os.WriteFile(c.File, cubeSTL(t, 20), 0o644))
	st := store.Open(filepath.Join(dir, "cache"), "salt")
	cs, read := opened(c)
	require.NoError(t, cs.Err)
	defer read.file.Close()
	require.NoError(t, os.WriteFile(c.File, cubeSTL(t, 10), 0o644))
	_, err := measureFile(t.Context(), read)
	require.ErrorIs(t, err, errChanged)

	// The next run measures what is there.
	got, err := cut(t.Context(), job{cut: c}, nil, st)
	require.NoError(t, err)
	require.NoError(t, got.Err)
	require.InDelta(t, 1000, got.Report.Volume, 1e-9) // 10 mm cubed
	require.NotEqual(t, cs.SHA256, got.SHA256)
}
