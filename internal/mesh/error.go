package mesh

import (
	"fmt"

	"cardback/internal/literal"
)

// Error says why a file cannot be read as a mesh, and where.
type Error struct {
	Path string // empty when the input is not a file
	// Line and Column count from 1, the column in bytes; both 0 where lines mean
	// nothing (binary files, archives).
	Line, Column int
	Text         string
}

// Error gives path:line:column: text, leaving out what is not known.
func (e *Error) Error() string {
	path := literal.Line(e.Path)
	switch {
	case e.Path != "" && e.Line > 0:
		return fmt.Sprintf("%s:%d:%d: %s", path, e.Line, e.Column, e.Text)
	case e.Path != "":
		return path + ": " + e.Text
	case e.Line > 0:
		return fmt.Sprintf("line %d, column %d: %s", e.Line, e.Column, e.Text)
	}
	return e.Text
}

func refuse(format string, args ...any) error {
	return &Error{Text: fmt.Sprintf(format, args...)}
}

func refuseAt(line, column int, format string, args ...any) error {
	return &Error{Line: line, Column: column, Text: fmt.Sprintf(format, args...)}
}
