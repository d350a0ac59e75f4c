package mesh

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// The ASCII reader is our own. hschendel/stl (v1.0.4) wants lower-case keywords
// and "solid " with a space, stops at the first endsolid, takes lines of at most
// 64 KiB and LF or CRLF only, skips what it cannot read and reports no columns;
// and it keeps 32 bits of each coordinate, where the decimals have more. A
// rewriting reader before it would have to be this parser, and would still lose
// the digits and the places.

// readSTLASCII reads all solid blocks of a text STL as one mesh. Keywords in any
// case; any white space, with LF, CRLF or CR line ends; names and normals are
// not read; an endsolid may be missing at the end, with a note.
func readSTLASCII(ctx context.Context, r io.ReadSeeker, size int64) (*Mesh, Info, error) {
	info := Info{Format: STLASCII}
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, info, err
	}
	p := &asciiParser{words: wordReader{r: bufio.NewReaderSize(&window{ctx: ctx, r: r, length: size}, 64<<10)}, welder: newWelder(0)}
	p.words.skipMark()
	if err := p.file(); err != nil {
		return nil, info, err
	}
	info.Notes = p.notes
	if len(p.welder.mesh.Triangles) == 0 {
		return nil, info, refuse("no triangles: the text STL has no facet")
	}
	return &p.welder.mesh, info, nil
}

type asciiParser struct {
	words  wordReader
	welder *welder
	notes  []string
}

// file = { "solid" name-line { facet } "endsolid" name-line }.
func (p *asciiParser) file() error {
	solids := 0
	for {
		w, err := p.words.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		if !w.is("solid") {
			if solids > 0 && !w.couldBegin() {
				rest := "Text after the last endsolid was passed over (line %d)."
				p.notes = append(p.notes, fmt.Sprintf(rest, w.line))
				break
			}
			return w.refuse(`"solid" expected, found %s`, w)
		}
		solids++
		if err := p.words.skipName(); err != nil {
			return err
		}
		if err := p.solid(); err != nil {
			return err
		}
	}
	if solids > 1 {
		p.notes = append(p.notes, fmt.Sprintf("%d solids were read as one mesh.", solids))
	}
	return nil
}

func (p *asciiParser) solid() error {
	for {
		w, err := p.words.next()
		if err == io.EOF {
			p.notes = append(p.notes, "The last solid has no endsolid.")
			return nil
		}
		if err != nil {
			return err
		}
		switch {
		case w.is("endsolid"):
			if err := p.words.skipName(); err != nil {
				return err
			}
			return nil
		case w.is("facet"):
			if err := p.facet(); err != nil {
				return err
			}
		case w.is("end"):
			// "end solid" in two words.
			s, err := p.words.next()
			if err != nil || !s.is("solid") {
				return w.refuse(`"facet" or "endsolid" expected, found %s`, w)
			}
			if err := p.words.skipName(); err != nil {
				return err
			}
			return nil
		default:
			return w.refuse(`"facet" or "endsolid" expected, found %s`, w)
		}
		if len(p.welder.mesh.Triangles) > maxTriangles {
			return w.refuse("more than %d triangles", maxTriangles)
		}
	}
}

// facet is read after its keyword. The normal, which the winding gives better,
// may be missing or nonsense: everything up to "outer" on at most eight words is
// passed over.
func (p *asciiParser) facet() error {
	w, err := p.word(`"outer loop"`)
	loopLine := w.line
	for skipped := 0; err == nil && !w.is("outer"); skipped++ {
		if skipped == 8 || w.is("vertex") || w.is("facet") || w.is("endsolid") {
			return w.refuse(`"outer loop" expected, found %s`, w)
		}
		w, err = p.word(`"outer loop"`)
		loopLine = w.line
	}
	if err != nil {
		return err
	}
	if err := p.keyword("loop"); err != nil {
		return err
	}
	var corners [3]Vec
	for n := 0; ; n++ {
		w, err := p.word(`"vertex" or "endloop"`)
		if err != nil {
			return err
		}
		switch {
		case w.is("endloop") && n == 3:
			p.welder.add(corners[0], corners[1], corners[2])
			return p.keyword("endfacet")
		case w.is("endloop"):
			return w.refuse("the loop begun on line %d has %d vertices; a triangle has 3", loopLine, n)
		case !w.is("vertex"):
			return w.refuse(`"vertex" or "endloop" expected, found %s`, w)
		case n == 3:
			return w.refuse("the loop begun on line %d has a fourth vertex; a triangle has 3", loopLine)
		}
		if corners[n], err = p.point(); err != nil {
			return err
		}
	}
}

func (p *asciiParser) point() (v Vec, err error) {
	for _, x := range [3]*float64{&v.X, &v.Y, &v.Z} {
		w, err := p.word("a coordinate")
		if err != nil {
			return v, err
		}
		if *x, err = w.number(len(p.welder.mesh.Triangles) + 1); err != nil {
			return v, err
		}
	}
	return v, nil
}

func (p *asciiParser) keyword(k string) error {
	w, err := p.word(strconv.Quote(k))
	if err == nil && !w.is(k) {
		err = w.refuse("%q expected, found %s", k, w)
	}
	return err
}

// word is the next word where one must be.
func (p *asciiParser) word(expected string) (word, error) {
	w, err := p.words.next()
	if err == io.EOF {
		return w, refuseAt(p.words.line+1, p.words.column+1, "the file ends where %s is expected", expected)
	}
	return w, err
}

// word is a run of bytes without white space; it is valid until the next one.
type word struct {
	text         []byte
	line, column int
}

func (w word) is(keyword string) bool {
	return len(w.text) == len(keyword) && strings.EqualFold(string(w.text), keyword)
}

// couldBegin reports whether a word at the outermost level is part of a mesh
// whose solid or endsolid went astray, and so must not be passed over.
func (w word) couldBegin() bool { return w.is("facet") || w.is("vertex") || w.is("endfacet") }

// String shows the word in a message.
func (w word) String() string {
	if len(w.text) > 32 {
		return strconv.Quote(string(w.text[:32])) + "…"
	}
	return strconv.Quote(string(w.text))
}

func (w word) refuse(format string, args ...any) error {
	return refuseAt(w.line, w.column, format, args...)
}

// number reads a coordinate of the given triangle.
func (w word) number(triangle int) (float64, error) {
	x, fault := parseDecimal(w.text)
	if fault != "" {
		return 0, w.refuse("a coordinate of triangle %d, %s: %s", triangle, w, fault)
	}
	return x, nil
}

// maxWord bounds a word; the longest keyword has 8 letters and an exact 64-bit
// number 24, but decimals may be written out at length.
const maxWord = 512

// wordReader cuts text into words and knows where it is.
type wordReader struct {
	r            *bufio.Reader
	buf          []byte
	line, column int  // line counted from 0; column of the byte read last, from 1
	last         byte // as in the file
	lineEnded    bool // the word read last ended its line
}

func (wr *wordReader) skipMark() {
	if mark, err := wr.r.Peek(3); err == nil && bytes.Equal(mark, byteOrderMark) {
		_, _ = wr.r.Discard(3) // cannot fail: the bytes were just seen
	}
}

// read returns a byte and keeps count: CR, LF and CRLF each end a line. A CR is
// returned as LF and the LF after it is swallowed.
func (wr *wordReader) read() (byte, error) {
	c, err := wr.r.ReadByte()
	if err != nil {
		return 0, err
	}
	if c == '\n' && wr.last == '\r' {
		if c, err = wr.r.ReadByte(); err != nil {
			return 0, err
		}
	}
	wr.last = c
	if c == '\n' || c == '\r' {
		wr.line++
		wr.column = 0
		return '\n', nil
	}
	wr.column++
	return c, nil
}

func isSpace(c byte) bool { return c == ' ' || '\t' <= c && c <= '\r' }

// next is the next word, or io.EOF.
func (wr *wordReader) next() (word, error) {
	wr.buf = wr.buf[:0]
	wr.lineEnded = false
	var w word
	for {
		c, err := wr.read()
		if err == io.EOF && len(wr.buf) > 0 {
			break
		}
		if err != nil {
			return word{}, err
		}
		if isSpace(c) || c == 0 { // some writers end the text with zero bytes
			if len(wr.buf) > 0 {
				wr.lineEnded = c == '\n'
				break
			}
			continue
		}
		if len(wr.buf) == 0 {
			w.line, w.column = wr.line+1, wr.column
		}
		if len(wr.buf) == maxWord {
			return word{}, w.refuse("a word of more than %d bytes", maxWord)
		}
		wr.buf = append(wr.buf, c)
	}
	w.text = wr.buf
	return w, nil
}

// skipName passes over the rest of the line that the last word began.
func (wr *wordReader) skipName() error {
	for !wr.lineEnded {
		c, err := wr.read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		wr.lineEnded = c == '\n'
	}
	return nil
}
