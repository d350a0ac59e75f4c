// Package outdir replaces a folder that the program wrote by a new one, and never
// removes a file that it did not write.
//
// The folder carries a list of what was written into it: [List], a SHA-256 for each file,
// as "sha256sum -c" reads it. What is not on the list, or is not as the list says,
// is somebody's: [Check] names it, and [Replace] refuses to begin. Files that the
// caller says are to be kept, such as those that tell a server the site's name, are
// carried over to the new folder. The new folder takes the old one's place in one
// step; only then are the old one's own files removed, one by one, by the list. What
// came into it meanwhile is not removed but told.
//
// Folders and files are readable by everybody, whatever the umask: a server is to
// read them. What is kept has the modes that it had.
package outdir

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"cardback/internal/infile"
	"cardback/internal/pending"
)

// List is the name of the list in the folder.
const List = "SHA256SUMS"

// listHead is the list's first line, a comment to "sha256sum -c". A list that does not
// begin so is somebody else's.
const listHead = "# Written by cardback build. What is not listed here is never removed.\n"

// mostList bounds the list that is read: some half a million files.
const mostList = 64 << 20

// ErrForeign is in the chain of what Check returns where something stands in the
// folder that is not ours.
var ErrForeign = errors.New("not written by this program")

// Foreign names what stands in a folder and is not ours.
type Foreign struct {
	Dir     string
	Strange []string // paths in Dir, with slashes; a folder's ends in one
	Changed []string // of files that are on the list and are not as it says
	Listed  bool     // Dir has a list of ours
}

func (f *Foreign) Unwrap() error { return ErrForeign }

// mostNamed bounds the names in a sentence.
const mostNamed = 5

func (f *Foreign) Error() string {
	names := func(list []string) string {
		var quoted []string
		for _, name := range list[:min(len(list), mostNamed)] {
			quoted = append(quoted, fmt.Sprintf("%q", name))
		}
		out := strings.Join(quoted, ", ")
		if n := len(list) - mostNamed; n > 0 {
			out += fmt.Sprintf(" and %d more", n)
		}
		return out
	}
	var parts []string
	if len(f.Strange) > 0 {
		parts = append(parts, "holds what build did not write: "+names(f.Strange))
	}
	if len(f.Changed) > 0 {
		parts = append(parts, "has files that were changed since build wrote them: "+names(f.Changed))
	}
	return strings.Join(parts, "; it ")
}

// Check reports, as a *Foreign, what stands in dir and is neither on its list nor
// kept. A folder that is empty, or not there, is in order.
func Check(dir string, keep []string) error {
	var err error
	for range mostLooks {
		before, _ := os.Stat(dir) // nil where there is none
		if _, err = look(dir, keep); err == nil {
			return nil
		}
		after, _ := os.Stat(dir)
		// A folder that is gone may leave its number to the next one; not its time.
		if before == nil && after == nil || before != nil && after != nil && os.SameFile(before, after) && before.ModTime().Equal(after.ModTime()) {
			return err
		}
		// Another run put its own there meanwhile: what was seen is of both.
	}
	return err
}

// mostLooks bounds how often Check looks again because another run ended meanwhile.
const mostLooks = 16

// look finds the files of dir that are ours.
func look(dir string, keep []string) (ours []string, err error) {
	list, listed, err := readList(dir)
	if err != nil {
		return nil, err
	}
	folders := map[string]bool{".": true}
	for name := range list {
		for at := path.Dir(name); !folders[at]; at = path.Dir(at) {
			folders[at] = true
		}
	}
	found := Foreign{Dir: dir, Listed: listed}
	err = filepath.WalkDir(dir, func(file string, d fs.DirEntry, err error) error {
		rel, relErr := filepath.Rel(dir, file)
		switch name := filepath.ToSlash(rel); {
		case relErr != nil:
			return relErr
		case err != nil && name == "." && errors.Is(err, fs.ErrNotExist):
			return nil
		case err != nil:
			return err
		case name == "." && !d.IsDir():
			return fmt.Errorf("%s is not a folder", dir)
		case slices.Contains(keep, name):
			if d.IsDir() {
				return fs.SkipDir
			}
		case d.IsDir():
			if !folders[name] {
				found.Strange = append(found.Strange, name+"/")
				return fs.SkipDir
			}
		case name == List && listed:
			ours = append(ours, name)
		case list[name] == "":
			found.Strange = append(found.Strange, name)
		default:
			if sum, err := sumOf(file, d); err != nil || sum != list[name] {
				found.Changed = append(found.Changed, name)
				return nil
			}
			ours = append(ours, name)
		}
		return nil
	})
	if err == nil && len(found.Strange)+len(found.Changed) > 0 {
		err = &found
	}
	return ours, err
}

// sumOf is the SHA-256 of a regular file.
func sumOf(file string, d fs.DirEntry) (string, error) {
	if !d.Type().IsRegular() {
		return "", errors.New("it is no regular file")
	}
	f, _, err := infile.Open(file)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// readList reads the list of dir: SHA-256 by path. listed is false where there is none of
// ours.
func readList(dir string) (list map[string]string, listed bool, err error) {
	file := filepath.Join(dir, List)
	if info, err := os.Lstat(file); err != nil || !info.Mode().IsRegular() {
		return nil, false, nil // whatever it is, it is not ours
	}
	data, err := infile.Read(file, mostList)
	if errors.Is(err, infile.ErrLarge) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, err
	}
	data, listed = bytes.CutPrefix(data, []byte(listHead))
	if !listed {
		return nil, false, nil
	}
	list = map[string]string{}
	lines := bufio.NewScanner(bytes.NewReader(data))
	lines.Buffer(nil, len(data)+1)
	for lines.Scan() {
		sum, name, ok := strings.Cut(lines.Text(), " *")
		if ok && len(sum) == 2*sha256.Size && fs.ValidPath(name) { // a path that leads out names nothing of ours
			list[name] = sum
		}
	}
	return list, true, lines.Err()
}

// Written says what Replace did.
type Written struct {
	Files int   // the list included, what is kept not
	Bytes int64 // of those files
	// Left are paths of what stood in the old folder, or in that of a killed run, and is
	// not ours: it came while the new folder was made.
	Left []string
}

// Replace makes the folder at target hold what fill writes, and what of keep it held:
// fill gets an empty folder beside the target, and only when it succeeds does that
// folder take the target's place. When fill fails, or something in target is not
// ours, the old folder is untouched. What killed runs left of the same is cleared.
func Replace(target string, keep []string, fill func(dir string) error) (w Written, err error) {
	if err := Check(target, keep); err != nil {
		return w, err
	}
	if err := makeAll(filepath.Dir(target)); err != nil {
		return w, err
	}
	empty := func(dir string) { remove(dir, keep, target) }
	w.Left = pending.ClearDirs(target, empty)
	fresh, err := pending.MakeDir(target)
	if err != nil {
		return w, err
	}
	defer func() {
		if left := fresh.Close(); left != "" {
			w.Left = append(w.Left, left)
		}
	}()
	if err := fill(fresh.New()); err != nil {
		return w, err
	}
	if w.Files, w.Bytes, err = seal(fresh.New()); err != nil {
		return w, err
	}
	if err := Check(target, keep); err != nil { // it may have come while fill worked
		return w, err
	}
	if err := carry(target, fresh.New(), keep); err != nil {
		return w, err
	}
	if err := fresh.Ready(); err != nil {
		return w, err
	}
	err = fresh.Swap()
	empty(fresh.Whole()) // the old folder; the new one where that could not take its place
	return w, err
}

// makeAll makes the folders that are missing down to dir, readable by everybody.
func makeAll(dir string) error {
	var missing []string // the deepest first
	for at := dir; ; at = filepath.Dir(at) {
		info, err := os.Stat(at)
		if err == nil && !info.IsDir() {
			return fmt.Errorf("%s is a file; a folder is wanted there", at)
		}
		if err == nil {
			break
		}
		if !errors.Is(err, fs.ErrNotExist) || at == filepath.Dir(at) {
			return err
		}
		missing = append(missing, at)
	}
	for _, at := range slices.Backward(missing) {
		if err := os.Mkdir(at, 0o755); err != nil {
			if errors.Is(err, fs.ErrExist) {
				continue // another run made it
			}
			return err
		}
		if err := os.Chmod(at, 0o755); err != nil {
			return err
		}
	}
	return nil
}

// seal sets the modes of all that is in dir and writes the list.
func seal(dir string) (files int, size int64, err error) {
	var list bytes.Buffer
	list.WriteString(listHead)
	err = filepath.WalkDir(dir, func(file string, d fs.DirEntry, err error) error { // in the order of names
		if err != nil {
			return err
		}
		if d.IsDir() {
			return os.Chmod(file, 0o755)
		}
		rel, err := filepath.Rel(dir, file)
		if err != nil {
			return err
		}
		name := filepath.ToSlash(rel)
		if name == List || strings.ContainsAny(name, "\\\n\r") {
			return fmt.Errorf("%q cannot be listed in %s", name, List)
		}
		sum, err := sumOf(file, d)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		files++
		size += info.Size()
		fmt.Fprintf(&list, "%s *%s\n", sum, name)
		return os.Chmod(file, 0o644)
	})
	if err != nil {
		return 0, 0, err
	}
	at := filepath.Join(dir, List)
	err = errors.Join(os.WriteFile(at, list.Bytes(), 0o644), os.Chmod(at, 0o644))
	return files + 1, size + int64(list.Len()), err
}

// remove takes the files out of dir that are ours, and those of keep that stand in
// target too; then the folders that are empty. Where anything is left, dir is there still.
func remove(dir string, keep []string, target string) {
	ours, err := look(dir, keep)
	if err != nil && !errors.Is(err, ErrForeign) {
		return
	}
	folders := map[string]bool{dir: true}
	drop := func(file string) {
		os.Remove(file)
		for at := filepath.Dir(file); at != dir && !folders[at]; at = filepath.Dir(at) {
			folders[at] = true
		}
	}
	for _, name := range ours {
		drop(filepath.Join(dir, filepath.FromSlash(name)))
	}
	for _, name := range keep {
		// The walk's errors are files that stay.
		_ = filepath.WalkDir(filepath.Join(dir, name), func(file string, d fs.DirEntry, err error) error {
			if err != nil {
				return nil
			}
			if d.IsDir() {
				folders[file] = true
				return nil
			}
			if rel, err := filepath.Rel(dir, file); err == nil && alike(file, filepath.Join(target, rel)) {
				drop(file)
			}
			return nil
		})
	}
	var all []string
	for at := range folders {
		all = append(all, at)
	}
	slices.SortFunc(all, func(a, b string) int { return len(b) - len(a) }) // what is inside first
	for _, at := range all {
		if at != dir {
			os.Remove(at) // only what is empty goes
		}
	}
}

// alike reports whether two paths are the same file, or links or files of one content.
func alike(a, b string) bool {
	ia, err := os.Lstat(a)
	if err != nil {
		return false
	}
	ib, err := os.Lstat(b)
	if err != nil || ia.Mode().Type() != ib.Mode().Type() {
		return false
	}
	if os.SameFile(ia, ib) {
		return true
	}
	if ia.Mode()&fs.ModeSymlink != 0 {
		la, errA := os.Readlink(a)
		lb, errB := os.Readlink(b)
		return errA == nil && errB == nil && la == lb
	}
	sa, errA := sumOf(a, fs.FileInfoToDirEntry(ia))
	sb, errB := sumOf(b, fs.FileInfoToDirEntry(ib))
	return errA == nil && errB == nil && sa == sb
}
