package mesh

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"cardback/internal/infile"
)

// MaxTriangles bounds a mesh: 500 MB of binary STL, what a download takes of one. Measuring
// takes up to 130 bytes a triangle, so this is 1.3 GB; parts of figures have a few million
// triangles at most.
const MaxTriangles = 10_000_000

// ReadFile reads the mesh in the file at path; see Read. Errors about the
// content are of type *Error and carry the path.
func ReadFile(ctx context.Context, path string) (*Mesh, Info, error) {
	f, st, err := infile.Open(path)
	if errors.Is(err, infile.ErrKind) {
		return nil, Info{}, &Error{Path: path, Text: "not a regular file"}
	}
	if err != nil {
		return nil, Info{}, err
	}
	defer f.Close()
	m, info, err := Read(ctx, f, st.Size())
	var located *Error
	if errors.As(err, &located) {
		at := *located
		at.Path = path
		return nil, info, &at
	}
	if err != nil {
		return nil, info, fmt.Errorf("%s: %w", path, err)
	}
	return m, info, nil
}

// Read reads a mesh of the given size in bytes from the start of r. The content
// decides how:
//
//   - an archive (it begins with "PK") is read as 3MF;
//   - a file of exactly 84 + 50n bytes, n being the count at byte 80, is a
//     binary STL, even where its header begins with "solid";
//   - otherwise a file that begins with "solid" in any case, after white space
//     or a byte order mark, and has hardly a control byte near its start, is ASCII;
//   - other text is refused, and what is left is a binary STL of the wrong
//     length: longer is accepted with a note, shorter refused.
//
// Errors are *Error unless reading itself failed or ctx ended. There is no mesh
// without triangles.
func Read(ctx context.Context, r io.ReadSeeker, size int64) (*Mesh, Info, error) {
	if err := ctx.Err(); err != nil {
		return nil, Info{}, err
	}
	if size <= 0 {
		return nil, Info{}, refuse("the file is empty")
	}
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, Info{}, err
	}
	head, err := headOf(r, size)
	if err != nil {
		return nil, Info{}, err
	}
	if bytes.HasPrefix(head, []byte("PK\x03\x04")) || bytes.HasPrefix(head, []byte("PK\x05\x06")) {
		return read3MF(ctx, r, size)
	}
	count := countOf(head)
	switch {
	case count >= 0 && size == stlHeader+stlRecord*count:
		return readSTLBinary(ctx, r, size, count)
	case isText(head):
		if err := judgeText(head, size); err != nil {
			return nil, Info{}, err
		}
		return readSTLASCII(ctx, r, size)
	case count < 0:
		return nil, Info{}, refuse("neither STL nor 3MF: %d bytes are too few for a binary STL, which has a header of %d", size, stlHeader)
	}
	return readSTLBinary(ctx, r, size, count)
}

// Judge refuses a file of the given size as Read would, by its first bytes alone:
// for whoever would otherwise read all of it for another purpose first. What it lets
// pass may still be refused.
func Judge(r io.ReaderAt, size int64) error {
	head, err := headOf(io.NewSectionReader(r, 0, size), size)
	count := countOf(head)
	switch {
	case err != nil:
		return err
	case bytes.HasPrefix(head, []byte("PK")) || count < 0:
		return nil
	case size != stlHeader+stlRecord*count && isText(head):
		return judgeText(head, size)
	}
	return judgeSTL(size, count)
}

// headOf is the beginning of a file, by which its kind is told.
func headOf(r io.Reader, size int64) ([]byte, error) {
	head := make([]byte, min(max(size, 0), 1024))
	n, err := io.ReadFull(r, head)
	if err == io.ErrUnexpectedEOF || err == io.EOF {
		err = nil
	}
	return head[:n], err
}

// countOf is the number of triangles that the header of a binary STL gives, −1 where
// there is no header.
func countOf(head []byte) int64 {
	if len(head) < stlHeader {
		return -1
	}
	return int64(binary.LittleEndian.Uint32(head[80:]))
}

// maxText is the largest text STL: MaxTriangles of 400 bytes each, more than
// writers that indent and give nine digits make of them.
const maxText = 4_000_000_000

// judgeText refuses text that is no STL, or too much of it.
func judgeText(head []byte, size int64) error {
	if !beginsSolid(head) {
		return refuse("neither STL nor 3MF: this is text that begins %q%s", opening(head), whatTextIs(head))
	}
	if size > maxText {
		return refuse("a text STL of %d bytes; at most %d are read", size, maxText)
	}
	return nil
}

// isText reports whether a file that begins with head is text: no more than one
// byte in 64 is a control byte other than white space. A binary STL has far
// more: its count has a zero byte below 16.7 million triangles, its attributes
// are usually zero, and of arbitrary bytes every tenth is one.
func isText(head []byte) bool {
	head = bytes.TrimRight(head, "\x00") // some writers fill the last block
	controls := 0
	for _, c := range head {
		if c < ' ' && !isSpace(c) {
			controls++
		}
	}
	return controls <= len(head)/64
}

var byteOrderMark = []byte("\xEF\xBB\xBF")

func beginsSolid(head []byte) bool {
	head = bytes.TrimLeft(bytes.TrimPrefix(head, byteOrderMark), " \t\r\n\f\v")
	return len(head) >= 5 && bytes.EqualFold(head[:5], []byte("solid"))
}

// opening is the first line of a text, cut short for showing.
func opening(head []byte) string {
	line, _, _ := bytes.Cut(bytes.TrimSpace(bytes.TrimPrefix(head, byteOrderMark)), []byte("\n"))
	line = bytes.TrimSpace(line)
	if len(line) > 40 {
		return string(bytes.ToValidUTF8(line[:40], nil)) + "…"
	}
	return string(bytes.ToValidUTF8(line, nil))
}

// whatTextIs names the usual things found in place of a mesh.
func whatTextIs(head []byte) string {
	head = bytes.TrimSpace(bytes.TrimPrefix(head, byteOrderMark))
	switch {
	case bytes.HasPrefix(head, []byte("version https://")) && bytes.Contains(head, []byte("oid sha256:")):
		return "; it is a version-control pointer, fetch the large file it stands for"
	case bytes.HasPrefix(head, []byte("<")):
		return "; it is a web page or other markup, download the mesh itself"
	case bytes.HasPrefix(head, []byte("{")), bytes.HasPrefix(head, []byte("[")):
		return "; it looks like JSON"
	}
	return ""
}

// inRange reports whether a coordinate is a finite number that a 32-bit number
// can hold, the range of STL.
func inRange(x float64) bool { return math.Abs(x) <= math.MaxFloat32 }

func finite(p Vec) bool { return inRange(p.X) && inRange(p.Y) && inRange(p.Z) }
