package outdir

import (
	"cardback/internal/infile"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// carry brings what is to be kept from one folder into another: each file as a second
// name of the same one, or as a copy where the file system has no such names. The old
// folder is as it was: whenever the run ends, one of the two has all.
func carry(from, into string, keep []string) error {
	for _, name := range keep {
		old := filepath.Join(from, name)
		if _, err := os.Lstat(old); errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if _, err := os.Lstat(filepath.Join(into, name)); err == nil {
			return fmt.Errorf("%q is to be kept, and is a name that build writes; take it off the list in site.yaml", name)
		}
		err := filepath.WalkDir(old, func(file string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			rel, err := filepath.Rel(from, file)
			if err != nil {
				return err
			}
			return second(file, filepath.Join(into, rel), d)
		})
		if err != nil {
			return fmt.Errorf("keep %s: %w", name, err)
		}
	}
	return nil
}

// second makes a file, folder or link again at another place.
func second(file, at string, d fs.DirEntry) error {
	info, err := d.Info()
	if err != nil {
		return err
	}
	switch {
	case d.IsDir():
		return errors.Join(os.Mkdir(at, 0o755), os.Chmod(at, info.Mode().Perm()|0o700))
	case d.Type()&fs.ModeSymlink != 0:
		to, err := os.Readlink(file)
		if err != nil {
			return err
		}
		return os.Symlink(to, at)
	case !d.Type().IsRegular():
		return fmt.Errorf("%s is no regular file, folder or link", file)
	}
	if os.Link(file, at) == nil {
		return nil
	}
	in, _, err := infile.Open(file)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(at, os.O_WRONLY|os.O_CREATE|os.O_EXCL, info.Mode().Perm())
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close(), os.Chmod(at, info.Mode().Perm()), os.Chtimes(at, info.ModTime(), info.ModTime()))
}
