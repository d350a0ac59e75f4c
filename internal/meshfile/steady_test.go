package meshfile

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
