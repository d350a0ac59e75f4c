// Package store keeps what was measured once, so that it is never measured
// again: a content-addressed cache of small values in a folder that is safe to
// delete.
//
// A key is made from everything the value depends on, the salt first; callers
// use a hash of the running program as the salt, so that a changed algorithm
// never meets its predecessor's answers. Each entry carries the SHA-256 of its
// value and is checked when read: a damaged entry is a miss, and is removed.
// Entries are written whole, by rename, so that a reader never sees half of one
// and two runs may share a folder.
package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"

	"cardback/internal/infile"
)

// Store is a folder of entries. A nil *Store never holds anything and keeps
// nothing.
type Store struct {
	dir, salt string
}

// Open returns the store in dir, which is made when first needed. Entries made
// under another salt are never found.
func Open(dir, salt string) *Store { return &Store{dir: dir, salt: salt} }

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

// path hashes the salt and the key's parts, each preceded by its length so that
// no two keys run together.
func (s *Store) path(key []string) string {
	h := sha256.New()
	for _, part := range append([]string{s.salt}, key...) {
		fmt.Fprintf(h, "%d:%s", len(part), part)
	}
	name := hex.EncodeToString(h.Sum(nil))
	return filepath.Join(s.dir, name[:2], name[2:])
}

// Get decodes the entry for key into v and reports whether there was a sound
// one.
func (s *Store) Get(v any, key ...string) bool {
	if s == nil {
		return false
	}
	path := s.path(key)
	data, err := infile.Read(path, math.MaxInt64-1)
	if err != nil {
		return false
	}
	sum, value, ok := bytes.Cut(data, []byte{'\n'})
	actual := sha256.Sum256(value)
	if !ok || string(sum) != hex.EncodeToString(actual[:]) || json.Unmarshal(value, v) != nil {
		os.Remove(path) // damaged: measured again, and written whole
		return false
	}
	return true
}

// Put keeps v for key. v must survive a round trip through encoding/json.
func (s *Store) Put(v any, key ...string) error {
	if s == nil {
		return nil
	}
	value, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("keep in the cache: %w", err)
	}
	path := s.path(key)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return fmt.Errorf("keep in the cache: %w", err)
	}
	sum := sha256.Sum256(value)
	entry := append([]byte(hex.EncodeToString(sum[:])+"\n"), value...)
	return WriteFile(path, entry)
}

// WriteFile replaces the file at path in one step: a reader sees the old bytes
// or the new, never part of either. The folder must exist.
func WriteFile(path string, data []byte) error {
	tmp, err := os.CreateTemp(filepath.Dir(path), ".pending-*")
	if err != nil {
		return err
	}
	_, err = tmp.Write(data)
	err = errors.Join(err, tmp.Chmod(0o644), tmp.Close())
	if err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		os.Remove(tmp.Name())
		return fmt.Errorf("write %s: %w", path, err)
	}
	return nil
}

// maxSwaps bounds how often ReplaceDir gives way to runs that end in the same
// instant.
const maxSwaps = 8

// ReplaceDir makes the folder at target hold what fill writes: fill gets an
// empty folder beside the target, and only when it succeeds does that folder
// take the target's place. When fill fails the old folder is untouched. The old
// folder steps aside for the instant between two renames; where another run puts
// its own there in that instant, that one steps aside too.
func ReplaceDir(target string, fill func(dir string) error) (err error) {
	parent := filepath.Dir(target)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	fresh, err := os.MkdirTemp(parent, ".pending-"+filepath.Base(target)+"-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(fresh) // after success the name is gone and this does nothing
	if err := os.Chmod(fresh, 0o755); err != nil {
		return err
	}
	if err := fill(fresh); err != nil {
		return err
	}
	old := fresh + "-old"
	for range maxSwaps {
		moved := os.Rename(target, old)
		if moved != nil && !errors.Is(moved, fs.ErrNotExist) {
			return moved
		}
		err = os.Rename(fresh, target)
		if err != nil && !errors.Is(err, fs.ErrExist) {
			if moved == nil {
				err = errors.Join(err, os.Rename(old, target))
			}
			return err
		}
		if gone := os.RemoveAll(old); err == nil || gone != nil {
			return gone
		}
	}
	return err
}
