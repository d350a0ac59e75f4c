package infile

import (
	"cmp"
	"io/fs"
	"os"
	"slices"
)

// FS is what lies below root as a file system that opens regular files and
// folders alone.
func FS(root *os.Root) fs.FS { return system{root} }

type system struct{ root *os.Root }

func (s system) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	st, err := s.Stat(name)
	if err != nil {
		return nil, err
	}
	f, _, err := opened(name, st.IsDir(), s.root.Stat, s.root.OpenFile)
	if err != nil {
		return nil, err
	}
	return f, nil
}

func (s system) Stat(name string) (fs.FileInfo, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "stat", Path: name, Err: fs.ErrInvalid}
	}
	return s.root.Stat(name)
}

func (s system) ReadDir(name string) ([]fs.DirEntry, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	return ReadDirIn(s.root, name)
}

func sortByName(entries []fs.DirEntry) {
	slices.SortFunc(entries, func(a, b fs.DirEntry) int { return cmp.Compare(a.Name(), b.Name()) })
}
