// Package cli is the command line: it parses flags, calls the packages that do
// the work, and prints. Wording of errors and exit codes are decided here.
//
// Exit codes: 0, done; 1, something in the input is wrong (each problem is on
// standard error, everything else was done); 2, the command line itself is
// wrong.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"cardback/internal/fields"
	"cardback/internal/literal"
	"cardback/internal/memory"
)

// errInput says that problems in the input were already printed.
var errInput = errors.New("the input has problems")

// usageError marks a wrong command line.
type usageError struct{ error }

// Run runs the program with the given arguments and returns its exit code.
func Run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	memory.Hold()
	root := &cobra.Command{
		Use:   "cardback",
		Short: "Publish printable figures: measured, not remembered",
		Long: `Cardback reads a designer's notes and part folders, measures every mesh, decides
on which plates each part fits and in which materials it is offered, and writes
the release site.

In a fresh checkout, "cardback build" builds the demo into build/site.`,
		SilenceErrors: true,
		SilenceUsage:  true,
		RunE: func(cmd *cobra.Command, args []string) error {
			return cmd.Help()
		},
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return usageError{fmt.Errorf("there is no command %q; %s", args[0], fields.Suggest(args[0], commandNames(cmd)))}
		},
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	shown, said := literal.NewWriter(stdout), literal.NewWriter(stderr)
	stderr = said
	out := &output{w: shown}
	root.SetOut(out)
	root.SetErr(stderr)
	root.SetArgs(args)
	root.Version = version()
	root.SetVersionTemplate("cardback {{.Version}}\n")
	root.AddCommand(benchCommand(), buildCommand(), measureCommand(), tiltCommand(), fitCommand(), platesCommand(), proofCommand(), recordCommand(), sealCommand(), startCommand(), compareCommand(), mendCommand(), backlogCommand())
	root.AddCommand(topics()...)

	cmd, err := root.ExecuteContextC(ctx)
	defer said.Close() // half a character at the end: nobody misses it where it cannot be written
	if held := shown.Close(); held != nil && out.err == nil {
		out.err = fmt.Errorf("the answer cannot be written: %w", held)
	}
	if out.err != nil {
		err = out.err
	}
	var usage usageError
	switch {
	case err == nil:
		return 0
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "cardback: %v\nRun \"%s --help\" to see how it is used.\n", err, cmd.CommandPath())
		return 2
	case errors.Is(err, errInput):
		return 1
	case ctx.Err() != nil:
		fmt.Fprintln(stderr, "cardback: stopped before the end; what was there is as it was")
		return 1
	default:
		fmt.Fprintf(stderr, "cardback: %v\n", err)
		return 1
	}
}

// output remembers the first error of writing to w, so that an answer that went
// nowhere does not count as given.
type output struct {
	w   io.Writer
	err error
}

func (o *output) Write(p []byte) (int, error) {
	n, err := o.w.Write(p)
	if err != nil && o.err == nil {
		o.err = fmt.Errorf("the answer cannot be written: %w", err)
	}
	return n, err
}

func commandNames(cmd *cobra.Command) []string {
	var names []string
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	return names
}

// needMeshes refuses a call without mesh files.
func needMeshes(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return usageError{fmt.Errorf("%s needs at least one mesh file, .stl or .3mf", cmd.Name())}
	}
	return nil
}

// noArguments refuses stray words.
func noArguments(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usageError{fmt.Errorf("%s takes no arguments, only flags; found %q", cmd.Name(), args[0])}
	}
	return nil
}
