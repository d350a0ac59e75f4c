package cli

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"cardback/internal/draw"
	"cardback/internal/infile"
	"cardback/internal/mesh"
	"cardback/internal/pending"
)

// fileKind is what a command writes: the endings that its name may have, and how a
// file is known that this program wrote. Only such a file is written over.
type fileKind struct {
	noun    string                // "drawing"
	endings []string              // lower case, the first for the hint
	ours    func(f *os.File) bool // reads from the start of the file
}

var (
	drawingFile = fileKind{"drawing", []string{".svg"}, func(f *os.File) bool { return draw.IsStandalone(headOf(f)) }}
	plateFile   = fileKind{"plate", []string{".3mf"}, ours3MF}
	// meshFile is of commands that write a mesh, with mesh.WriteSTL under a header
	// that begins with writtenBy, or with mesh.Write3MF and writtenBy as its Application.
	meshFile = fileKind{"mesh", []string{".stl", ".3mf"}, func(f *os.File) bool {
		return bytes.HasPrefix(headOf(f), []byte(writtenBy)) || ours3MF(f)
	}}
)

// writtenBy marks the meshes that this program writes into files.
const writtenBy = "Cardback"

// headOf is the start of a file, as much as tells its kind.
func headOf(f io.ReaderAt) []byte {
	head := make([]byte, 4096)
	n, _ := f.ReadAt(head, 0) // what cannot be read is of no kind
	return head[:n]
}

// ours3MF reports whether a 3MF names this program as what wrote it.
func ours3MF(f *os.File) bool {
	info, err := f.Stat()
	if err != nil {
		return false
	}
	z, err := zip.NewReader(f, info.Size())
	if err != nil {
		return false
	}
	model, err := z.Open(mesh.ModelName3MF)
	if err != nil {
		return false
	}
	defer model.Close()
	head, err := io.ReadAll(io.LimitReader(model, 64<<10)) // metadata comes first
	return err == nil && bytes.Contains(head, []byte(`<metadata name="Application">`+writtenBy+`</metadata>`))
}

// outFile is a file that a person told a command to write. No other file is lost
// for it: it is neither one that the command reads, nor one of another kind, nor one that
// the program did not write. It is looked at when it is named, before the work, and
// again when it is written.
type outFile struct {
	flag, path string
	kind       fileKind
	inputs     []string
}

// newOutFile checks a path that a flag names, as in "--svg", against what the command
// reads. The error is of usage, and says what to name instead.
func newOutFile(flag, path string, kind fileKind, inputs ...string) (*outFile, error) {
	o := &outFile{flag, path, kind, inputs}
	if !slices.Contains(kind.endings, strings.ToLower(filepath.Ext(path))) {
		return nil, usageError{fmt.Errorf("%s %q does not end in %s; name the file to write, as in %s new%s",
			flag, path, strings.Join(kind.endings, " or "), flag, kind.endings[0])}
	}
	if info, err := os.Stat(filepath.Dir(path)); err != nil || !info.IsDir() {
		return nil, usageError{fmt.Errorf("%s %q is in no folder that there is", flag, path)}
	}
	if err := o.check(); err != nil {
		return nil, usageError{err}
	}
	return o, nil
}

// check refuses the path where something would be lost by writing there.
func (o *outFile) check() error {
	at := fmt.Sprintf("%s %q", o.flag, o.path)
	there, err := os.Stat(o.path)
	if errors.Is(err, fs.ErrNotExist) {
		if _, err := os.Lstat(o.path); err == nil {
			return fmt.Errorf("%s is a link that leads nowhere; name a file", at)
		}
		return nil
	}
	if err != nil {
		return fmt.Errorf("%s cannot be looked at: %w", at, infile.Cause(err))
	}
	if !there.Mode().IsRegular() {
		return fmt.Errorf("%s is there and is no regular file; name another", at)
	}
	for _, input := range o.inputs {
		if in, err := os.Stat(input); err == nil && os.SameFile(in, there) {
			return fmt.Errorf("%s would overwrite %s, which is read; name another file", at, input)
		}
	}
	if there.Size() == 0 {
		return nil // nothing is lost
	}
	f, _, err := infile.Open(o.path)
	if err != nil {
		return fmt.Errorf("%s cannot be looked at: %w", at, infile.Cause(err))
	}
	defer f.Close()
	if !o.kind.ours(f) {
		return fmt.Errorf("%s is there and is no %s that cardback wrote; it is left alone: name another file, or remove it first", at, o.kind.noun)
	}
	return nil
}

// write puts the data into the file in one step; where the path is a link, into what
// it leads to.
func (o *outFile) write(data []byte) error {
	if err := o.check(); err != nil {
		return err
	}
	path := o.path
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	if err := pending.WriteFile(path, data); err != nil {
		return fmt.Errorf("%s %s cannot be written: %w", o.flag, o.path, infile.Cause(err))
	}
	return nil
}

// outFolder is a folder that a person told a command to write files into. It is made
// when the first is written.
type outFolder struct{ flag, path string }

// newOutFolder checks a folder that a flag names. content, where it is not empty, is
// the content folder: what stands in that is read as notes, and nothing is written there.
func newOutFolder(flag, path, content string) (*outFolder, error) {
	if path == "" {
		return nil, usageError{fmt.Errorf("%s is empty; name a folder", flag)}
	}
	if info, err := os.Stat(path); err == nil && !info.IsDir() {
		return nil, usageError{fmt.Errorf("%s %q is a file; name a folder", flag, path)}
	}
	if content != "" {
		inside, err := resolve(content)
		if err != nil {
			return nil, err
		}
		folder, err := resolve(path)
		if err != nil {
			return nil, err
		}
		if holds(inside, folder) {
			return nil, usageError{fmt.Errorf("%s %q is inside the content folder, %s; name a folder outside it", flag, path, inside)}
		}
	}
	return &outFolder{flag, path}, nil
}

// check refuses a name in the folder where a file stands that the program did not write.
func (o *outFolder) check(name string, kind fileKind) error {
	return o.file(name, kind).check()
}

func (o *outFolder) file(name string, kind fileKind) *outFile {
	return &outFile{flag: o.flag, path: filepath.Join(o.path, name), kind: kind}
}

// write puts a file into the folder and returns its path.
func (o *outFolder) write(name string, kind fileKind, data []byte) (string, error) {
	if err := os.MkdirAll(o.path, 0o755); err != nil {
		return "", fmt.Errorf("%s %s cannot be made: %w", o.flag, o.path, infile.Cause(err))
	}
	f := o.file(name, kind)
	return f.path, f.write(data)
}
