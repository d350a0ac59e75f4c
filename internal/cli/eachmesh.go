package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"

	"cardback/internal/literal"

	"github.com/spf13/cobra"
)

// answer is what a command has to say of one mesh file: a value for --json and
// a table for people.
type answer struct {
	value any
	table func(w io.Writer)
}

// unreadable is the --json object of a file that could not be read.
type unreadable struct {
	Path  string `json:"path"`
	Error string `json:"error"`
}

// eachMesh runs one over every file, prints the answers, and goes on past files
// that cannot be read. While one works it may say on at what it is.
func eachMesh(cmd *cobra.Command, paths []string, asJSON bool, one func(ctx context.Context, path string, on *status) (answer, error)) error {
	values := []any{}
	failed := false
	on := newStatus(cmd.ErrOrStderr())
	defer on.done()
	for i, path := range paths {
		on.file(i, len(paths), path)
		a, err := one(cmd.Context(), path, on)
		on.clear()
		if ctxErr := cmd.Context().Err(); ctxErr != nil {
			return ctxErr
		}
		if err != nil {
			failed = true
			text := err.Error() // it begins with the path
			if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
				text = fmt.Sprintf("%s: %v", path, pe.Err) // without the system call
			}
			fmt.Fprintln(cmd.ErrOrStderr(), literal.Line(text)) // a name may hold line ends
			values = append(values, unreadable{path, text})
			continue
		}
		values = append(values, a.value)
		if !asJSON {
			if i > 0 {
				fmt.Fprintln(cmd.OutOrStdout())
			}
			a.table(cmd.OutOrStdout())
		}
	}
	if asJSON {
		enc := json.NewEncoder(cmd.OutOrStdout())
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		if err := enc.Encode(values); err != nil {
			return err
		}
	}
	if failed {
		return errInput
	}
	return nil
}
