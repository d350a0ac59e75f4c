package hostile

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// Case is one hostile input and what the program must make of it.
type Case struct {
	// Name is its folder's name in testdata: lower case, digits and hyphens.
	Name string
	// Make writes the inputs. It is given an empty folder, in which the command
	// runs; see Content for a sound site to spoil.
	Make func(d Dir)
	// Args are those of the command, without the program's name.
	Args []string
	// Exit is the exit code: 0 done, 1 something in the input is wrong, 2 the
	// command line is.
	Exit int
	// Says are regular expressions, each of which must match what is printed on
	// standard output and standard error together; Never are those none may match.
	Says, Never []string
	// Seconds and Megabytes are the limits; where they are zero, usual ones hold.
	// Seconds are of processor time, of all cores together, so that they mean the
	// same on a busy machine.
	Seconds, Megabytes int
	// After, where there is one, looks at what is left in the folder.
	After func(t *testing.T, d Dir)
}

// The usual limits. A small site with one part is built in well under a second and
// 100 MB; what is allowed beyond that is the input's own size and slow machines.
const (
	usualSeconds   = 20
	usualMegabytes = 600
)

// Dir is the folder of a case.
type Dir struct {
	t    testing.TB
	Path string
}

// At is the path of a file in the folder, given with forward slashes.
func (d Dir) At(name string) string { return filepath.Join(d.Path, filepath.FromSlash(name)) }

// Must fails the case where its input cannot be made.
func (d Dir) Must(err error) {
	d.t.Helper()
	require.NoError(d.t, err)
}

// Write writes a file, and the folders that it needs.
func (d Dir) Write(name string, content []byte) {
	d.t.Helper()
	d.Must(os.MkdirAll(filepath.Dir(d.At(name)), 0o755))
	d.Must(os.WriteFile(d.At(name), content, 0o644))
}

// Text is Write for text.
func (d Dir) Text(name, format string, args ...any) {
	d.t.Helper()
	if len(args) > 0 {
		format = fmt.Sprintf(format, args...)
	}
	d.Write(name, []byte(format))
}

// Remove removes a file or a folder with all in it.
func (d Dir) Remove(name string) {
	d.t.Helper()
	d.Must(os.RemoveAll(d.At(name)))
}

// Read returns a file's content.
func (d Dir) Read(name string) string {
	d.t.Helper()
	data, err := os.ReadFile(d.At(name))
	d.Must(err)
	return string(data)
}

// Skip skips the case where this system cannot hold its input.
func (d Dir) Skip(why string) {
	d.t.Helper()
	d.t.Skip(why)
}

// The parts of the sound site that Content writes.
const (
	site = "title: Test Range\ndesigner: Test Workshop\naddress: https://range.example/\nlicence: CC-BY-SA-4.0\n"
	head = "---\nnumber: 1\ntitle: Peg\nscale: \"1:1\"\nreleased: 2026-01-02\nsummary: A peg.\n---\n"
	body = "\nA peg.\n\n## Assembly\n\n1. Push it in.\n"
	page = "---\ntitle: About\n---\n\nAbout this range.\n"

	notes = "content/releases/01-peg/release.md"
	peg   = "content/releases/01-peg/parts/peg"
)

// Content writes a sound site of one release with one part, a cube of 20 mm, which
// a case then spoils.
func (d Dir) Content() {
	d.t.Helper()
	d.Text("content/site.yaml", "%s", site)
	d.Text("content/pages/about.md", "%s", page)
	d.Text(notes, "%s", head+body)
	d.Write(peg+"/any.stl", STL(Cube(20)))
}

// Notes makes the release's notes: more is put into the front matter, and text
// after it.
func (d Dir) Notes(more, text string) {
	d.t.Helper()
	d.Text(notes, "%s", head[:len(head)-len("---\n")]+more+"---\n"+text)
}

// Cube is a cube with one corner at the origin.
func Cube(side float64) *mesh.Mesh { return meshtest.Box(side, side, side) }

// STL is the mesh as a binary STL file.
func STL(m *mesh.Mesh) []byte {
	var out bytes.Buffer
	if err := mesh.WriteSTL(&out, m, "corpus"); err != nil {
		panic(err)
	}
	return out.Bytes()
}

// Soup is a binary STL of triangles that need not be finite.
func Soup(triangles ...[9]float32) []byte {
	out := make([]byte, 84, 84+50*len(triangles))
	binary.LittleEndian.PutUint32(out[80:], uint32(len(triangles)))
	for _, t := range triangles {
		out = append(out, make([]byte, 12)...)
		for _, x := range t {
			out = binary.LittleEndian.AppendUint32(out, math.Float32bits(x))
		}
		out = append(out, 0, 0)
	}
	return out
}

// Zip is an archive with the given names and contents, in that order.
func Zip(files ...[2]string) []byte {
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range files {
		part, err := w.Create(f[0])
		if err != nil {
			panic(err)
		}
		if _, err := part.Write([]byte(f[1])); err != nil {
			panic(err)
		}
	}
	if err := w.Close(); err != nil {
		panic(err)
	}
	return out.Bytes()
}

// Package3MF is a 3MF file whose model part is the given text.
func Package3MF(model string) []byte {
	return package3MF(func(w io.Writer) error {
		_, err := io.WriteString(w, model)
		return err
	})
}

// package3MF is Package3MF for a model part that is written piece by piece.
func package3MF(model func(io.Writer) error) []byte {
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range [][2]string{
		{"[Content_Types].xml", `<?xml version="1.0" encoding="UTF-8"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>`},
		{"_rels/.rels", `<?xml version="1.0" encoding="UTF-8"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/3dmodel.model"/></Relationships>`},
		{"3D/3dmodel.model", ""},
	} {
		part, err := w.Create(f[0])
		if err != nil {
			panic(err)
		}
		write := model
		if f[1] != "" {
			write = func(w io.Writer) error { _, err := io.WriteString(w, f[1]); return err }
		}
		if err := write(part); err != nil {
			panic(err)
		}
	}
	if err := w.Close(); err != nil {
		panic(err)
	}
	return out.Bytes()
}
