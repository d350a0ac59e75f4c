// Package infile opens what people put into folders. It answers one question: is
// there a regular file, or a folder, at this path, and may it be read?
//
// A pipe without a writer would keep whoever opens it waiting for ever, and some
// devices act when they are opened. So nothing else than regular files and
// folders is opened: the kind is looked at first, the opening itself does not
// wait, and the kind of what was opened is looked at again, since names can come
// to stand for something else in between. Links are followed; those below a root
// only as far as they stay in it.
//
// All of the program's reading of files goes through here (a test of the house
// holds it to that), the files that it has just made itself excepted.
//
// Errors are those of the system, with the path, or ErrKind.
package infile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// ErrKind is told of what is neither a regular file nor a folder, and of one in
// place of the other.
var ErrKind = errors.New("not a regular file")

// errNoFolder is ErrKind where a folder was wanted.
var errNoFolder = fmt.Errorf("%w", kindError("not a folder"))

// kindError is an ErrKind in other words.
type kindError string

func (k kindError) Error() string        { return string(k) }
func (k kindError) Is(target error) bool { return target == ErrKind }

// Open opens the regular file at path for reading.
func Open(path string) (*os.File, fs.FileInfo, error) {
	return opened(path, false, os.Stat, os.OpenFile)
}

// OpenIn is Open for a path below root, with slashes.
func OpenIn(root *os.Root, rel string) (*os.File, fs.FileInfo, error) {
	return opened(filepath.FromSlash(rel), false, root.Stat, root.OpenFile)
}

// opened looks at the kind, opens without waiting, and looks again.
func opened(path string, folder bool, stat func(string) (fs.FileInfo, error), open func(string, int, fs.FileMode) (*os.File, error)) (*os.File, fs.FileInfo, error) {
	st, err := stat(path)
	if err != nil {
		return nil, nil, err
	}
	if err := kindOf(st, path, folder); err != nil {
		return nil, nil, err
	}
	f, err := open(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, nil, err
	}
	if st, err = f.Stat(); err == nil {
		err = kindOf(st, path, folder)
	}
	if err != nil {
		f.Close()
		return nil, nil, err
	}
	return f, st, nil
}

func kindOf(st fs.FileInfo, path string, folder bool) error {
	switch {
	case folder && !st.IsDir():
		return &fs.PathError{Op: "open", Path: path, Err: errNoFolder}
	case !folder && !st.Mode().IsRegular():
		return &fs.PathError{Op: "open", Path: path, Err: ErrKind}
	}
	return nil
}

// Read returns the bytes of the regular file at path, or ErrLarge where there are
// more than limit.
func Read(path string, limit int64) ([]byte, error) {
	f, st, err := Open(path)
	return read(f, st, limit, err)
}

// ReadIn is Read for a path below root, with slashes.
func ReadIn(root *os.Root, rel string, limit int64) ([]byte, error) {
	f, st, err := OpenIn(root, rel)
	return read(f, st, limit, err)
}

// ErrLarge is told by Read.
var ErrLarge = errors.New("the file is too large")

func read(f *os.File, st fs.FileInfo, limit int64, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if st.Size() > limit { // before anything is allocated
		return nil, &fs.PathError{Op: "read", Path: f.Name(), Err: ErrLarge}
	}
	data, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err == nil && int64(len(data)) > limit { // it grew
		err = &fs.PathError{Op: "read", Path: f.Name(), Err: ErrLarge}
	}
	return data, err
}

// ReadDir lists the folder at path by name.
func ReadDir(path string) ([]fs.DirEntry, error) {
	f, _, err := opened(path, true, os.Stat, os.OpenFile)
	return list(f, err)
}

// ReadDirIn is ReadDir for a path below root, with slashes.
func ReadDirIn(root *os.Root, rel string) ([]fs.DirEntry, error) {
	f, _, err := opened(filepath.FromSlash(rel), true, root.Stat, root.OpenFile)
	return list(f, err)
}

func list(f *os.File, err error) ([]fs.DirEntry, error) {
	if err != nil {
		return nil, err
	}
	defer f.Close()
	entries, err := f.ReadDir(-1)
	sortByName(entries)
	return entries, err
}

// OpenRoot opens the folder at path as a root that nothing below it leads out of.
func OpenRoot(path string) (*os.Root, error) {
	st, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if err := kindOf(st, path, true); err != nil {
		return nil, err
	}
	// Should the name come to stand for a pipe now, the separator at its end has
	// the system refuse it, which a bare name would not.
	return os.OpenRoot(strings.TrimRight(path, string(filepath.Separator)) + string(filepath.Separator))
}

// Cause is a file error without the system call and the path: pages and messages name
// the file as its owner does, and this computer's folders are nobody's business.
func Cause(err error) error {
	if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
		return pe.Err
	}
	if le := (*os.LinkError)(nil); errors.As(err, &le) {
		return le.Err
	}
	return err
}
