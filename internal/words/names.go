package words

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Inside sets a name into the middle of a sentence: its first letter becomes small,
// unless its first word has another capital or a digit, as an abbreviation does, or
// begins with a letter that stands by itself.
func Inside(name string) string {
	first, n := utf8.DecodeRuneInString(name)
	word := name[n:]
	if i := strings.IndexFunc(word, unicode.IsSpace); i >= 0 {
		word = word[:i]
	}
	if second, _ := utf8.DecodeRuneInString(word); !unicode.IsLetter(second) || strings.ContainsFunc(word, func(r rune) bool { return unicode.IsUpper(r) || unicode.IsDigit(r) }) {
		return name
	}
	return string(unicode.ToLower(first)) + name[n:]
}

// Capital begins a sentence. A name that is not written with a capital, such as a
// number or a mark, stays.
func Capital(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(first)) + s[n:]
}

// List joins names as a sentence does: "a, b and c".
func List(names []string) string { return join(names, " and ") }

// Or joins names of which one is meant: "a, b or c".
func Or(names []string) string { return join(names, " or ") }

func join(names []string, last string) string {
	n := len(names)
	if n < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:n-1], ", ") + last + names[n-1]
}

// Sentence makes a message one of its own: with a capital, and with a full stop unless
// it ends as a sentence does.
func Sentence(s string) string {
	if s = Capital(s); s != "" && !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
		s += "."
	}
	return s
}

// Count writes how many there are: "1 shell", "2 shells".
func Count(n int, one, many string) string { return strconv.Itoa(n) + " " + Noun(n, one, many) }

// Noun is the form of a noun for so many.
func Noun(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
