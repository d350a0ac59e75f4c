package pending

import (
	"cardback/internal/infile"
	"os"
	"path/filepath"
	"strings"
)

// tries bounds how often a name is taken anew: only a run that clears in the instant
// between making and locking takes one away.
const tries = 16

func prefix(name string) string { return ".pending-" + name + "-" }

// isPending reports whether entry is a hidden name for that place; for any where name
// is "".
func isPending(entry, name string) bool {
	var number string
	if name == "" {
		rest, ok := strings.CutPrefix(entry, ".pending-")
		i := strings.LastIndexByte(rest, '-')
		if !ok || i <= 0 {
			return false
		}
		number = rest[i+1:]
	} else {
		rest, ok := strings.CutPrefix(entry, prefix(name))
		if !ok {
			return false
		}
		number = rest
	}
	return number != "" && strings.Trim(number, "0123456789") == ""
}

// same reports whether the name of f still leads to f.
func same(f *os.File) bool {
	is, err := f.Stat()
	if err != nil {
		return false
	}
	named, err := os.Lstat(f.Name())
	return err == nil && os.SameFile(is, named)
}

// each calls do for what stands under a hidden name in dir and no live run has
// locked. It is locked while do runs.
func each(dir, name string, do func(path string, f *os.File, info os.FileInfo)) {
	if !locks {
		return
	}
	entries, err := infile.ReadDir(dir)
	if err != nil {
		return // there is nothing to clear
	}
	for _, e := range entries {
		if !isPending(e.Name(), name) {
			continue
		}
		if !e.IsDir() && !e.Type().IsRegular() {
			continue
		}
		path := filepath.Join(dir, e.Name())
		f, err := os.OpenFile(path, os.O_RDONLY|openFlags, 0)
		if err != nil {
			continue
		}
		if info, err := f.Stat(); err == nil && lock(f) && same(f) {
			do(path, f, info)
		}
		f.Close()
	}
}
