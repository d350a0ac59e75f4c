package fields

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

const (
	// MaxYAML is the largest YAML text read, in bytes.
	MaxYAML = 128 << 10
	// MaxLine and MaxLines bound a line's bytes and the lines of a table: the
	// parser's time grows with the square of each. Text may go over several
	// lines, and no table of the schema comes near so many.
	MaxLine  = 4 << 10
	MaxLines = 4000
	// MaxDepth is how deep lists and tables may nest. The schema needs four
	// levels; the parser recurses once or more a level and keeps each node's
	// path, so that depth must be bounded before it runs.
	MaxDepth = 32
)

// guard looks over text that no parser has seen yet. It returns a problem and
// its place (0-based line, 1-based column) where the text is not fit to parse.
func guard(lines []string) (line, column int, problem string) {
	size, depth := 0, 0
	var indents []int // of the lines above, each deeper than the one before
	for i, l := range lines {
		size += len(l) + 1
		if size > MaxYAML {
			return i, 1, fmt.Sprintf("the text is longer than %d KiB; expected a short table", MaxYAML>>10)
		}
		if i >= MaxLines {
			return i, 1, fmt.Sprintf("the text has more than %d lines; expected a short table", MaxLines)
		}
		if len(l) > MaxLine {
			return i, 1, fmt.Sprintf("this line is longer than %d bytes; break it into several", MaxLine)
		}
		if !utf8.ValidString(l) {
			at := strings.IndexFunc(strings.ToValidUTF8(l, "\x00"), func(r rune) bool { return r == 0 })
			return i, utf8.RuneCountInString(l[:max(at, 0)]) + 1, "this is not UTF-8 text; save the file as UTF-8"
		}
		if c := strings.IndexFunc(l, control); c >= 0 {
			return i, utf8.RuneCountInString(l[:c]) + 1, "there is a control character here; expected plain text"
		}
		// Every nested block begins further in, on the same line or a later
		// one; every nested flow opens a bracket. Text in quotes is counted
		// too: a table has no use for that many either.
		indent, start := 0, true
		for j, r := range l {
			switch r {
			case '[', '{':
				depth++
			case ']', '}':
				depth = max(0, depth-1)
			}
			if start && r != ' ' {
				start, indent = false, j
			}
			if depth > MaxDepth {
				return i, utf8.RuneCountInString(l[:j]) + 1, fmt.Sprintf("brackets nest deeper than %d levels here; expected a simple table", MaxDepth)
			}
		}
		if longestRun(l) > MaxDepth {
			return i, 1, fmt.Sprintf("this line nests deeper than %d levels; expected a simple table", MaxDepth)
		}
		if start {
			continue // blank
		}
		for len(indents) > 0 && indents[len(indents)-1] >= indent {
			indents = indents[:len(indents)-1]
		}
		indents = append(indents, indent)
		if len(indents) > 2*MaxDepth {
			return i, indent + 1, fmt.Sprintf("this is indented deeper than %d levels; expected a simple table", 2*MaxDepth)
		}
	}
	return 0, 0, ""
}

// longestRun is the longest row of nesting marks on a line: "- - ? -" is 4.
func longestRun(l string) int {
	longest, n := 0, 0
	for w := range strings.FieldsSeq(l) {
		switch {
		case w == "-", w == "?", w == ":", strings.ContainsAny(w[:1], "!&*"):
			n++
			longest = max(longest, n)
		default:
			n = 0
		}
	}
	return longest
}

// control reports characters that have no business in a table: C0 controls but
// the tab (line ends are gone by now), DEL, and the stray byte order mark.
func control(r rune) bool {
	return r < ' ' && r != '\t' || r == 0x7f || r == '\ufeff'
}
