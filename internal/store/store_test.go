package store_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	"cardback/internal/store"
)

func TestEntriesComeBackUnderTheSameKeyAndSaltOnly(t *testing.T) {
	dir := t.TempDir()
	s := store.Open(dir, "one")
	require.NoError(t, s.Put(map[string]float64{"volume": 0.1}, "part", "a"))

	var got map[string]float64
	require.True(t, s.Get(&got, "part", "a"))
	require.Equal(t, map[string]float64{"volume": 0.1}, got)

	require.False(t, s.Get(&got, "part", "b"), "another key")
	require.False(t, s.Get(&got, "parta"), "parts of a key do not run together")
	require.False(t, store.Open(dir, "two").Get(&got, "part", "a"), "another program")
}

func TestDamagedEntriesAreMissesAndAreRemoved(t *testing.T) {
	dir := t.TempDir()
	s := store.Open(dir, "salt")
	require.NoError(t, s.Put("whole", "k"))
	files, err := filepath.Glob(filepath.Join(dir, "*", "*"))
	require.NoError(t, err)
	require.Len(t, files, 1)
	data, err := os.ReadFile(files[0])
	require.NoError(t, err)
	for name, bad := range map[string][]byte{
		"cut off": data[:len(data)-3],
		"changed": append(append([]byte{}, data[:len(data)-2]...), "x\""...),
		"no sum":  []byte("\"whole\""),
		"empty":   nil,
	} {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, os.WriteFile(files[0], bad, 0o644))
			var v string
			require.False(t, s.Get(&v, "k"))
			require.NoFileExists(t, files[0])
		})
	}
}

func TestNilStoreKeepsNothing(t *testing.T) {
	var s *store.Store
	require.NoError(t, s.Put(1, "k"))
	var v int
	require.False(t, s.Get(&v, "k"))
}

func TestRunsThatEndTogetherBothSucceed(t *testing.T) {
	target := filepath.Join(t.TempDir(), "site")
	for range 20 {
		var g errgroup.Group
		start := make(chan struct{})
		for i := range 4 {
			g.Go(func() error {
				return store.ReplaceDir(target, func(dir string) error {
					err := os.WriteFile(filepath.Join(dir, "run"), []byte{byte(i)}, 0o644)
					if i == 3 {
						close(start)
					}
					<-start
					return err
				})
			})
		}
		require.NoError(t, g.Wait())
		require.FileExists(t, filepath.Join(target, "run"), "one of them whole")
		left, err := os.ReadDir(filepath.Dir(target))
		require.NoError(t, err)
		require.Len(t, left, 1, "nothing is left beside the target")
	}
}

func TestReplaceDirIsAllOrNothing(t *testing.T) {
	target := filepath.Join(t.TempDir(), "site")
	write := func(text string, fail error) error {
		return store.ReplaceDir(target, func(dir string) error {
			if err := os.WriteFile(filepath.Join(dir, text), nil, 0o644); err != nil {
				return err
			}
			return fail
		})
	}
	require.NoError(t, write("first", nil))
	require.NoError(t, write("second", nil))
	require.FileExists(t, filepath.Join(target, "second"))
	require.NoFileExists(t, filepath.Join(target, "first"))

	boom := errors.New("boom")
	require.ErrorIs(t, write("third", boom), boom)
	require.FileExists(t, filepath.Join(target, "second"), "the old folder stays")

	left, err := os.ReadDir(filepath.Dir(target))
	require.NoError(t, err)
	require.Len(t, left, 1, "nothing is left beside the target")
}
