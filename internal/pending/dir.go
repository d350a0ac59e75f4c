package pending

import (
	"cardback/internal/infile"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Dir is a folder that is being made beside the place that it will take. It is filled
// in New; Ready says that it is whole.
type Dir struct {
	Target string // the place
	path   string
	locked *os.File
}

// A pending folder holds the mark and one of these.
const (
	mark     = "written-by-cardback"
	markText = "A run of cardback makes a folder here. When no run is at work, this may be removed.\n"
	filling  = "new"   // being filled: only the run that locked it ever wrote there
	whole    = "whole" // ready, or what it took the place of
	aside    = "aside" // what stood at the place, where two folders cannot be exchanged
)

// MakeDir makes a folder beside target. The caller ends with Close.
func MakeDir(target string) (*Dir, error) {
	parent, name := filepath.Split(filepath.Clean(target))
	if parent == "" {
		parent = "."
	}
	for range tries {
		path, err := os.MkdirTemp(parent, prefix(name)+"*")
		if err != nil {
			return nil, err
		}
		f, err := os.OpenFile(path, os.O_RDONLY, 0)
		if err != nil || !lock(f) || !same(f) {
			f.Close() // cleared by another run before it was locked
			continue
		}
		d := &Dir{Target: target, path: path, locked: f}
		err = errors.Join(os.WriteFile(filepath.Join(path, mark), []byte(markText), 0o644), os.Mkdir(d.New(), 0o755))
		if err != nil {
			os.RemoveAll(path)
			f.Close()
			return nil, err
		}
		return d, nil
	}
	return nil, fmt.Errorf("no folder can be made beside %s", target)
}

// New is the folder to fill.
func (d *Dir) New() string { return filepath.Join(d.path, filling) }

// Whole is the folder once it is Ready, and what it took the place of after Swap.
func (d *Dir) Whole() string { return filepath.Join(d.path, whole) }

// Ready says that New is filled; it is Whole from now on.
func (d *Dir) Ready() error { return os.Rename(d.New(), d.Whole()) }

// swaps bounds how often Swap gives way to runs that end in the same instant.
const swaps = 8

// Swap puts Whole in the target's place. What stood there is Whole then; it is for
// the caller to say what of it may go. Where the system can exchange two folders there is
// no instant without one.
func (d *Dir) Swap() (err error) {
	for range swaps {
		if err = exchange(d.Whole(), d.Target); err == nil {
			return nil
		}
		there := !errors.Is(err, fs.ErrNotExist)
		if there && !errors.Is(err, errors.ErrUnsupported) {
			return err
		}
		old := filepath.Join(d.path, aside)
		if there {
			if err = os.Rename(d.Target, old); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
			there = err == nil
		}
		if err = os.Rename(d.Whole(), d.Target); err == nil {
			if there {
				return os.Rename(old, d.Whole())
			}
			return nil
		}
		if there {
			if back := os.Rename(old, d.Target); back != nil {
				return errors.Join(err, back)
			}
		}
		if !errors.Is(err, fs.ErrExist) {
			return err
		}
	}
	return err
}

// Close removes what is left of the pending folder but for Whole: that is the
// caller's to empty, and where it is not empty it stays, and its path is returned.
func (d *Dir) Close() (left string) {
	defer d.locked.Close()
	return tidy(d.path)
}

// tidy removes a pending folder's own things, and returns the path where something
// else is left.
func tidy(path string) (left string) {
	os.RemoveAll(filepath.Join(path, filling))
	for _, name := range []string{whole, aside} {
		if err := os.Remove(filepath.Join(path, name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return filepath.Join(path, name)
		}
	}
	os.Remove(filepath.Join(path, mark))
	os.Remove(path)
	return ""
}

// ClearDirs clears what killed runs left of making target. empty is asked to empty a
// folder that stood, or was to stand, at the place; what it leaves stays, and the
// paths are returned. Where such a run had taken the target away and not yet put another
// there, the target is put back.
func ClearDirs(target string, empty func(dir string)) (left []string) {
	parent, name := filepath.Split(filepath.Clean(target))
	if parent == "" {
		parent = "."
	}
	each(parent, name, func(path string, f *os.File, info os.FileInfo) {
		if !info.IsDir() {
			return
		}
		entries, err := infile.ReadDir(path)
		if err != nil || len(entries) == 0 {
			os.Remove(path) // an empty folder, and nothing else
			return
		}
		text, err := infile.Read(filepath.Join(path, mark), int64(len(markText)))
		if err != nil || !strings.HasPrefix(markText, string(text)) { // it may have been killed while it wrote that
			return // somebody else's
		}
		for _, e := range entries {
			switch e.Name() {
			case mark, filling, whole, aside:
			default:
				left = append(left, path)
				return
			}
		}
		old := filepath.Join(path, aside)
		if _, err := os.Lstat(target); errors.Is(err, fs.ErrNotExist) {
			_ = os.Rename(old, target) // where there is none, nothing was taken away
		}
		for _, name := range []string{whole, aside} {
			if at := filepath.Join(path, name); isDir(at) {
				empty(at)
			}
		}
		if at := tidy(path); at != "" {
			left = append(left, at)
		}
	})
	return left
}

func isDir(path string) bool {
	info, err := os.Lstat(path)
	return err == nil && info.IsDir()
}
