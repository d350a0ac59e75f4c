// Package literal keeps a terminal from obeying what it is shown. Names of files and
// folders, and texts in them, come from strangers: an escape sequence in one could
// clear the screen, hide a line or type for the person who reads.
//
// Line is for a name or a value within a line; Writer is what all of a command's
// output goes through. Both write a character that a terminal, or the layout of
// text in two directions, would obey as \u and four hexadecimal digits, and a byte
// that is no UTF-8 as \x and two. The former is also how JSON writes them, so a
// JSON object that went through a Writer holds what it held before.
package literal

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// Obeyed reports whether a terminal acts on r in place of showing it: the controls
// C0 and C1 and DEL (ISO/IEC 6429), the marks, embeddings, overrides and isolates
// that turn the direction of text (Unicode Standard Annex 9), the line and paragraph
// separators, and the byte order mark.
func Obeyed(r rune) bool {
	switch {
	case r < ' ', r >= 0x7f && r <= 0x9f:
		return true
	case r == 0x061c, r == 0x200e, r == 0x200f, r >= 0x2028 && r <= 0x202e, r >= 0x2066 && r <= 0x2069, r == 0xfeff:
		return true
	}
	return false
}

// Line is s as it may stand within a line: line ends and tabs are written out too.
func Line(s string) string {
	if utf8.ValidString(s) && !strings.ContainsFunc(s, Obeyed) {
		return s
	}
	var b strings.Builder
	for len(s) > 0 {
		r, n := utf8.DecodeRuneInString(s)
		b.WriteString(written(s[:n], r, n))
		s = s[n:]
	}
	return b.String()
}

// written is one character, or one byte that is none, as it is shown.
func written(raw string, r rune, n int) string {
	switch {
	case r == utf8.RuneError && n == 1:
		return fmt.Sprintf(`\x%02x`, raw[0])
	case Obeyed(r):
		return fmt.Sprintf(`\u%04x`, r)
	}
	return raw
}

// Writer hands text on to another writer, with what a terminal would obey written
// out; line ends and tabs pass. Close hands on what is left of a character that was
// cut in two; it does not close the other writer.
type Writer struct {
	to   io.Writer
	held []byte // the beginning of a character whose end is still to come
}

// NewWriter makes a Writer to w.
func NewWriter(w io.Writer) *Writer { return &Writer{to: w} }

// Unwrap is the writer that text is handed on to.
func (w *Writer) Unwrap() io.Writer { return w.to }

// Write writes all of p or reports an error; then it may have written some.
func (w *Writer) Write(p []byte) (int, error) {
	text := p
	if len(w.held) > 0 {
		text = append(w.held, p...)
		w.held = nil
	}
	text, rest := whole(text)
	w.held = bytes.Clone(rest)
	if len(text) == 0 {
		return len(p), nil
	}
	if _, err := w.to.Write(shown(text)); err != nil {
		return 0, err
	}
	return len(p), nil
}

// Close hands on what Write still holds.
func (w *Writer) Close() error {
	if len(w.held) == 0 {
		return nil
	}
	_, err := w.to.Write(shown(w.held))
	w.held = nil
	return err
}

// whole cuts off the beginning of a character that the text ends with.
func whole(text []byte) (all, rest []byte) {
	for i := len(text) - 1; i >= max(0, len(text)-utf8.UTFMax); i-- {
		if utf8.RuneStart(text[i]) {
			if !utf8.FullRune(text[i:]) {
				return text[:i], text[i:]
			}
			break
		}
	}
	return text, nil
}

func shown(text []byte) []byte {
	if utf8.Valid(text) && !bytes.ContainsFunc(text, notLayout) {
		return text
	}
	out := make([]byte, 0, len(text)+len(text)/8)
	for len(text) > 0 {
		r, n := utf8.DecodeRune(text)
		if r == '\n' || r == '\t' {
			out = append(out, byte(r))
		} else {
			out = append(out, written(string(text[:n]), r, n)...)
		}
		text = text[n:]
	}
	return out
}

func notLayout(r rune) bool { return Obeyed(r) && r != '\n' && r != '\t' }
