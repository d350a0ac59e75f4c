//go:build unix

package infile

import (
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/require"
)

// within fails where f does not come back: a pipe without a writer would keep it
// for ever. The bound is for a machine with much else to do; the call takes
// microseconds.
func within(t *testing.T, f func()) {
	t.Helper()
	done := make(chan struct{})
	go func() { defer close(done); f() }()
	select {
	case <-done:
	case <-time.After(20 * time.Second):
		t.Fatal("still waiting")
	}
}

func TestAPipeIsRefusedWithoutWaiting(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	require.NoError(t, os.Symlink("pipe", filepath.Join(dir, "link")))
	root, err := OpenRoot(dir)
	require.NoError(t, err)
	defer root.Close()
	for _, name := range []string{"pipe", "link"} {
		within(t, func() {
			for what, call := range map[string]func() error{
				"Open":      func() error { _, _, err := Open(filepath.Join(dir, name)); return err },
				"OpenIn":    func() error { _, _, err := OpenIn(root, name); return err },
				"Read":      func() error { _, err := Read(filepath.Join(dir, name), 1); return err },
				"ReadIn":    func() error { _, err := ReadIn(root, name, 1); return err },
				"ReadDir":   func() error { _, err := ReadDir(filepath.Join(dir, name)); return err },
				"ReadDirIn": func() error { _, err := ReadDirIn(root, name); return err },
				"OpenRoot":  func() error { _, err := OpenRoot(filepath.Join(dir, name)); return err },
				"FS":        func() error { _, err := FS(root).Open(name); return err },
				"FS, all":   func() error { _, err := fs.ReadFile(FS(root), name); return err },
			} {
				require.ErrorIs(t, call(), ErrKind, what)
			}
		})
	}
}

// The name may come to stand for a pipe after it was looked at: the opening does
// not wait then either.
func TestWhatBecomesAPipeIsRefusedToo(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	for _, folder := range []bool{false, true} {
		look := filepath.Join(dir, "file")
		if folder {
			look = dir
		} else {
			require.NoError(t, os.WriteFile(look, nil, 0o600))
		}
		within(t, func() {
			_, _, err := opened(pipe, folder, func(string) (fs.FileInfo, error) { return os.Stat(look) }, os.OpenFile)
			require.ErrorIs(t, err, ErrKind)
		})
	}
}

func TestDevicesAndTheOtherKindAreRefused(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, []byte("abc"), 0o600))
	_, _, err := Open("/dev/zero")
	require.ErrorIs(t, err, ErrKind)
	_, _, err = Open(dir)
	require.ErrorIs(t, err, ErrKind)
	require.ErrorContains(t, err, "not a regular file")
	_, err = ReadDir(file)
	require.ErrorIs(t, err, ErrKind)
	require.ErrorContains(t, err, "not a folder")
	_, err = OpenRoot(file)
	require.ErrorIs(t, err, ErrKind)
	_, err = Read(file, 2)
	require.ErrorIs(t, err, ErrLarge)
	data, err := Read(file, 3)
	require.NoError(t, err)
	require.Equal(t, "abc", string(data))
	_, _, err = Open(filepath.Join(dir, "none"))
	require.ErrorIs(t, err, fs.ErrNotExist)
}

func TestNothingBelowARootLeadsOut(t *testing.T) {
	dir, outside := t.TempDir(), t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(outside, "a"), []byte("x"), 0o600))
	require.NoError(t, os.Symlink(outside, filepath.Join(dir, "out")))
	root, err := OpenRoot(dir + "/")
	require.NoError(t, err)
	defer root.Close()
	_, err = ReadIn(root, "out/a", 10)
	require.ErrorContains(t, err, "escapes")
	_, err = ReadDirIn(root, "out")
	require.ErrorContains(t, err, "escapes")
	_, err = fs.ReadFile(FS(root), "out/a")
	require.ErrorContains(t, err, "escapes")
}

func TestFSIsAFileSystem(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "b", "c"), 0o700))
	for _, f := range []string{"a", "b/x", "b/c/y"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, f), []byte(f), 0o600))
	}
	root, err := OpenRoot(dir)
	require.NoError(t, err)
	defer root.Close()
	require.NoError(t, fstest.TestFS(FS(root), "a", "b/x", "b/c/y"))
}
