// Package store keeps what was measured once, so that it is never measured
// again: a content-addressed cache in a folder that is safe to delete.
//
// A key is made from everything the value depends on, the salt first; callers
// use a hash of the running program as the salt, so that a changed algorithm
// never meets its predecessor's answers. Each entry carries the SHA-256 of its key
// and value together and is checked when read: a damaged entry is a miss, and is
// removed, and so is one that was written for another key. Entries are written
// whole, by rename, so that a reader never sees half of one and two runs may share a
// folder. What a killed run left is cleared by the next that writes.
//
// A folder that cannot be written is done without: what is measured is not kept,
// and nothing else changes.
package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"

	"cardback/internal/infile"
	"cardback/internal/pending"
)

// Store is a folder of entries. A nil *Store never holds anything and keeps
// nothing.
type Store struct {
	dir, salt string

	clear  sync.Once
	failed atomic.Bool // writing failed once and is not tried again
	warn   func(error)
}

// Open returns the store in dir, which is made when first needed. Entries made
// under another salt are never found.
func Open(dir, salt string) *Store { return &Store{dir: dir, salt: salt} }

// Warning has the store call f, once, when it cannot be written. Without it
// nobody is told.
func (s *Store) Warning(f func(error)) *Store {
	s.warn = f
	return s
}

// ProgramSalt hashes the running program's file, so that entries outlive a run
// but not a change of the program.
func ProgramSalt() (string, error) {
	exe, err := os.Executable()
	if err != nil {
		return "", fmt.Errorf("find the running program: %w", err)
	}
	f, _, err := infile.Open(exe)
	if err != nil {
		return "", fmt.Errorf("read the running program: %w", err)
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", fmt.Errorf("read the running program: %w", err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// name hashes the salt and the key's parts, each preceded by its length so that
// no two keys run together.
func (s *Store) name(key []string) string {
	h := sha256.New()
	for _, part := range append([]string{s.salt}, key...) {
		fmt.Fprintf(h, "%d:%s", len(part), part)
	}
	return hex.EncodeToString(h.Sum(nil))
}

func (s *Store) path(name string) string { return filepath.Join(s.dir, name[:2], name[2:]) }

// sumOf binds a value to the name of its key: an entry that stands under another's
// name does not have that name's sum.
func sumOf(name string, value []byte) string {
	h := sha256.New()
	io.WriteString(h, name) // a hash's Write returns no error
	h.Write(value)
	return hex.EncodeToString(h.Sum(nil))
}

// Get decodes the entry for key into v and reports whether there was a sound
// one.
func (s *Store) Get(v any, key ...string) bool {
	value, ok := s.GetBytes(key...)
	if !ok {
		return false
	}
	if json.Unmarshal(value, v) != nil {
		os.Remove(s.path(s.name(key)))
		return false
	}
	return true
}

// GetBytes is the entry for key, where there is a sound one.
func (s *Store) GetBytes(key ...string) (value []byte, ok bool) {
	if s == nil {
		return nil, false
	}
	name := s.name(key)
	path := s.path(name)
	data, err := infile.Read(path, math.MaxInt64-1)
	if err != nil {
		return nil, false
	}
	sum, value, ok := bytes.Cut(data, []byte{'\n'})
	if !ok || string(sum) != sumOf(name, value) {
		os.Remove(path) // damaged: made again, and written whole
		return nil, false
	}
	return value, true
}

// Has reports whether there is an entry for key. It does not read the entry: what Has
// finds may still be damaged, and be a miss when it is read.
func (s *Store) Has(key ...string) bool {
	if s == nil {
		return false
	}
	st, err := os.Stat(s.path(s.name(key)))
	return err == nil && st.Mode().IsRegular()
}

// Put keeps v for key. v must survive a round trip through encoding/json; one that
// cannot be encoded is the only error. Where the folder cannot be written v is not kept.
func (s *Store) Put(v any, key ...string) error {
	if s == nil {
		return nil
	}
	value, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("keep in the cache: %w", err)
	}
	s.PutBytes(value, key...)
	return nil
}

// PutBytes keeps value for key; where the folder cannot be written it does not.
func (s *Store) PutBytes(value []byte, key ...string) {
	if s == nil || s.failed.Load() {
		return
	}
	name := s.name(key)
	path := s.path(name)
	s.clear.Do(func() { pending.ClearFiles(s.dir, "") })
	err := os.MkdirAll(filepath.Dir(path), 0o755)
	if err == nil {
		err = pending.WriteFileFrom(s.dir, path, append([]byte(sumOf(name, value)+"\n"), value...))
	}
	if err != nil && !s.failed.Swap(true) && s.warn != nil {
		s.warn(err)
	}
}
