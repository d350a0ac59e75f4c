package store_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

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
	s.PutBytes([]byte("x"), "k")
	_, ok := s.GetBytes("k")
	require.False(t, ok)
	require.False(t, s.Has("k"))
}

// Bytes come back as they were, whatever they are: line feeds, or nothing.
func TestBytesComeBackAsTheyWere(t *testing.T) {
	s := store.Open(t.TempDir(), "salt")
	for _, value := range []string{"", "\n", "a\nb\x00\xff", "{}"} {
		require.False(t, s.Has("bytes", value))
		s.PutBytes([]byte(value), "bytes", value)
		require.True(t, s.Has("bytes", value))
		got, ok := s.GetBytes("bytes", value)
		require.True(t, ok)
		require.Equal(t, value, string(got))
	}
}

// Entries that changed places, as a careless copy or a hostile hand may do it, are
// misses: an entry answers only the key that it was written for.
func TestAnEntryUnderAnothersKeyIsAMiss(t *testing.T) {
	dir := t.TempDir()
	s := store.Open(dir, "salt")
	require.NoError(t, s.Put(map[string]float64{"volume": 1}, "a"))
	first, err := filepath.Glob(filepath.Join(dir, "*", "*"))
	require.NoError(t, err)
	require.Len(t, first, 1)
	require.NoError(t, s.Put(map[string]float64{"volume": 2}, "b"))
	all, err := filepath.Glob(filepath.Join(dir, "*", "*"))
	require.NoError(t, err)
	require.Len(t, all, 2)
	one, err := os.ReadFile(all[0])
	require.NoError(t, err)
	two, err := os.ReadFile(all[1])
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(all[0], two, 0o644))
	require.NoError(t, os.WriteFile(all[1], one, 0o644))
	for _, key := range []string{"a", "b"} {
		var v map[string]float64
		require.False(t, s.Get(&v, key), key)
		require.Nil(t, v)
	}
}

// A folder that cannot be written is told of once, and done without.
func TestACacheThatCannotBeWrittenIsDoneWithout(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o644))
	var told []error
	s := store.Open(filepath.Join(file, "cache"), "salt").Warning(func(err error) { told = append(told, err) })
	for range 3 {
		require.NoError(t, s.Put("v", "k"))
		var v string
		require.False(t, s.Get(&v, "k"))
	}
	require.Len(t, told, 1)
	require.NoError(t, store.Open(filepath.Join(file, "cache"), "salt").Put("v", "k"), "nobody to tell")
}

// What a killed run left is cleared by the next that writes; what has another name is not.
func TestTheCacheClearsWhatAKilledRunLeft(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{".pending-abc-123", ".pending-note", "mine"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("half"), 0o644))
	}
	require.NoError(t, store.Open(dir, "salt").Put("v", "k"))
	require.NoFileExists(t, filepath.Join(dir, ".pending-abc-123"))
	require.FileExists(t, filepath.Join(dir, ".pending-note"))
	require.FileExists(t, filepath.Join(dir, "mine"))
}
