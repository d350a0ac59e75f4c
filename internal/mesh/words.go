package mesh

import (
	"bytes"
	"io"
	"strconv"
	"strings"
)

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

// maxZeros bounds a run of zero bytes, with which some writers fill the last block of
// a text: no block is as large. A file of nothing else is not read to its end.
const maxZeros = 1 << 20

// wordReader cuts text into words and knows where it is.
type wordReader struct {
	r            io.Reader
	block        []byte // read from r, of which the first at bytes are used
	at           int
	buf          []byte // the word
	line, column int    // line counted from 0; column of the byte read last, from 1
	last         byte   // as in the file
	lineEnded    bool   // the word read last ended its line
}

// newWordReader begins after a byte order mark, if there is one.
func newWordReader(r io.Reader) (*wordReader, error) {
	wr := &wordReader{r: r, block: make([]byte, 0, 64<<10)}
	if err := wr.fill(); err != nil {
		return nil, err
	}
	if bytes.HasPrefix(wr.block, byteOrderMark) {
		wr.at = len(byteOrderMark)
	}
	return wr, nil
}

// fill reads the next block; io.EOF means there is none.
func (wr *wordReader) fill() error {
	n, err := io.ReadFull(wr.r, wr.block[:cap(wr.block)])
	wr.block, wr.at = wr.block[:n], 0
	if n > 0 && (err == io.EOF || err == io.ErrUnexpectedEOF) {
		return nil
	}
	return err
}

// read returns a byte and keeps count: CR, LF and CRLF each end a line. A CR is
// returned as LF and the LF after it is swallowed.
func (wr *wordReader) read() (byte, error) {
	for {
		if wr.at == len(wr.block) {
			if err := wr.fill(); err != nil {
				return 0, err
			}
		}
		c, before := wr.block[wr.at], wr.last
		wr.at++
		wr.last = c
		if c > '\r' {
			wr.column++
			return c, nil
		}
		if c == '\n' && before == '\r' {
			continue
		}
		if c == '\n' || c == '\r' {
			wr.line++
			wr.column = 0
			return '\n', nil
		}
		wr.column++
		return c, nil
	}
}

func isSpace(c byte) bool { return c == ' ' || '\t' <= c && c <= '\r' }

// next is the next word, or io.EOF.
func (wr *wordReader) next() (word, error) {
	wr.buf = wr.buf[:0]
	wr.lineEnded = false
	var w word
	zeros := 0
	for {
		c, err := wr.read()
		if err == io.EOF && len(wr.buf) > 0 {
			break
		}
		if err != nil {
			return word{}, err
		}
		if c == 0 {
			if zeros++; zeros > maxZeros {
				return word{}, refuseAt(wr.line+1, wr.column, "more than %d zero bytes in a row, where text is expected", maxZeros)
			}
		} else {
			zeros = 0
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
