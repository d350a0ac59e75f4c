package pending

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// WriteFile replaces the file at path in one step: a reader sees the old bytes or
// the new, never part of either. The folder must exist. The file may be read by
// everybody, whatever the umask. What a killed run left of the same file is cleared.
func WriteFile(path string, data []byte) error {
	return WriteFileFrom(filepath.Dir(path), path, data)
}

// WriteFileFrom is WriteFile with another folder, of the same file system, for what is
// being written. A folder for many files is cleared with ClearFiles.
func WriteFileFrom(dir, path string, data []byte) error {
	name := filepath.Base(path)
	if dir == filepath.Dir(path) {
		ClearFiles(dir, name)
	}
	tmp, err := create(dir, name)
	if err != nil {
		return err
	}
	defer tmp.Close() // which gives the lock back; closed twice does no harm
	_, err = tmp.Write(data)
	err = errors.Join(err, tmp.Chmod(0o644))
	if err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		os.Remove(tmp.Name())
		return fmt.Errorf("write %s: %w", path, err)
	}
	return nil
}

// create makes an empty file with a hidden name, locked.
func create(dir, name string) (*os.File, error) {
	for range tries {
		f, err := os.CreateTemp(dir, prefix(name)+"*")
		if err != nil {
			return nil, err
		}
		if lock(f) && same(f) {
			return f, nil
		}
		f.Close() // cleared by another run before it was locked
	}
	return nil, fmt.Errorf("no file can be made for %s in %s", name, dir)
}

// ClearFiles removes what killed runs left of WriteFile's work for files of that
// name in dir; of any name where it is "". What cannot be removed stays.
func ClearFiles(dir, name string) {
	each(dir, name, func(path string, f *os.File, info os.FileInfo) {
		if info.Mode().IsRegular() {
			os.Remove(path)
		}
	})
}
