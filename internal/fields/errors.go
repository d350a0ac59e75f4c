package fields

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"cardback/internal/literal"
)

// Error is one problem in one place. Line and Column count from 1; a Line of 0
// speaks about the file as a whole.
type Error struct {
	File         string
	Line, Column int
	Message      string // what is wrong and what was expected, in one sentence
	Source       string // the line it stands on, where known
}

// Error is "file:line:col: message".
func (e Error) Error() string {
	file, message := literal.Line(e.File), literal.Line(e.Message)
	if e.Line == 0 {
		return file + ": " + message
	}
	return fmt.Sprintf("%s:%d:%d: %s", file, e.Line, e.Column, message)
}

// Excerpt is Error followed by the source line with a caret under the column,
// where the line is known.
func (e Error) Excerpt() string {
	if e.Line == 0 || e.Source == "" {
		return e.Error()
	}
	line, column := window([]rune(e.Source), e.Column)
	gutter := fmt.Sprintf("%5d | ", e.Line)
	var pad strings.Builder
	for i, r := range line {
		if i >= column-1 {
			break
		}
		if r == '\t' { // so that the caret stays under its character
			pad.WriteRune('\t')
		} else {
			pad.WriteByte(' ')
		}
	}
	source := strings.Map(func(r rune) rune { // nothing that a terminal obeys
		if r != '\t' && literal.Obeyed(r) {
			return '\ufffd'
		}
		return r
	}, string(line))
	return e.Error() + "\n" + gutter + source + "\n      | " + pad.String() + "^"
}

// window cuts a long line to what surrounds the column, and counts the column
// from its new beginning.
func window(line []rune, column int) ([]rune, int) {
	const most, before = 110, 60
	if len(line) <= most {
		return line, column
	}
	from := min(max(0, column-1-before), len(line)-most)
	out := slices.Clone(line[from : from+most])
	if from > 0 {
		out[0] = '…'
	}
	if from+most < len(line) {
		out[most-1] = '…'
	}
	return out, column - from
}

// Errors are the problems of a run.
type Errors []Error

// Error is one line for each problem.
func (es Errors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Excerpts is Error with the source lines and carets.
func (es Errors) Excerpts() string {
	blocks := make([]string, len(es))
	for i, e := range es {
		blocks[i] = e.Excerpt()
	}
	return strings.Join(blocks, "\n")
}

// Sort is a copy in the order of file, line, column and message, without repeats.
func (es Errors) Sort() Errors {
	es = slices.Clone(es)
	slices.SortFunc(es, func(a, b Error) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line),
			cmp.Compare(a.Column, b.Column), cmp.Compare(a.Message, b.Message))
	})
	return slices.Compact(es)
}

// Err is the sorted list as an error, nil where it is empty.
func (es Errors) Err() error {
	if len(es) == 0 {
		return nil
	}
	return es.Sort()
}
