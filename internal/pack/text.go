package pack

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// measure is the longest line of the plain text files, in characters; list
// entries are two characters wider.
const measure = 72

// oneLine makes text safe for a line of its own.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// wrap breaks text at spaces; a word longer than a line stands alone.
func wrap(s string) string {
	var b strings.Builder
	width := 0
	for _, w := range strings.Fields(s) {
		n := utf8.RuneCountInString(w)
		switch {
		case width == 0:
		case width+1+n > measure:
			b.WriteByte('\n')
			width = 0
		default:
			b.WriteByte(' ')
			width++
		}
		b.WriteString(w)
		width += n
	}
	return b.String()
}

// bullet is a wrapped entry of a list, its further lines set in.
func bullet(s string) string { return "- " + strings.ReplaceAll(wrap(s), "\n", "\n  ") + "\n" }

func indent(s string) string { return "  " + strings.ReplaceAll(s, "\n", "\n  ") }

// plainName makes a file name of a name for people: lower-case ASCII letters
// and digits, accents dropped, anything else a hyphen, at most about forty letters.
// What leaves nothing gives otherwise.
func plainName(s, otherwise string) string {
	var b strings.Builder
	gap := false
	for _, r := range norm.NFKD.String(s) {
		r = unicode.ToLower(r)
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			if gap && b.Len() > 0 {
				b.WriteByte('-')
			}
			gap = false
			b.WriteRune(r)
		case unicode.Is(unicode.Mn, r): // an accent, now apart from its letter
		case unicode.IsLetter(r): // a letter with no ASCII form: the name would be maimed
			return otherwise
		default:
			gap = true
		}
		if b.Len() >= 40 {
			break
		}
	}
	if b.Len() == 0 {
		return otherwise
	}
	return b.String()
}
