package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"cardback/internal/words"
)

// question is one thing that record must know, or would like to. The same take
// checks a flag and what is typed.
type question struct {
	flags    []string // the names of the flags that answer it
	given    func() (text string, ok bool)
	prompt   string
	choices  []string // shown under the prompt; take decides what is right
	preset   string   // taken when Enter is pressed; empty for none
	usual    bool     // the preset is taken where nobody can be asked
	required string   // for a sentence, what to give: "--outcome good, usable or failed"; empty where it may stay open
	take     func(text string) error
}

// asker asks in a terminal, or in a test.
type asker struct {
	lines chan string // closed at the end of the input
	out   io.Writer
	begun bool
}

// longestAnswer bounds what is taken for a line, in bytes.
const longestAnswer = 1 << 16

// newAsker reads lines from in as they are asked for, so that a person who presses
// Ctrl-C at a question is not held by it.
func newAsker(in io.Reader, out io.Writer) *asker {
	a := &asker{lines: make(chan string), out: out}
	go func() {
		defer close(a.lines)
		s := bufio.NewScanner(in)
		s.Buffer(nil, longestAnswer)
		for s.Scan() {
			a.lines <- s.Text()
		}
	}()
	return a
}

// errEndOfAnswers is told when the input ends before the last question.
var errEndOfAnswers = errors.New("the answers ended before the last question; nothing was recorded")

// ask puts q until the answer is right. Enter takes the preset, or leaves the
// question open where it may be; a single hyphen always leaves it open.
func (a *asker) ask(ctx context.Context, q question) error {
	if !a.begun {
		fmt.Fprintln(a.out, "Enter takes what stands in brackets. A hyphen leaves a question open.")
		a.begun = true
	}
	for {
		if len(q.choices) > 0 {
			fmt.Fprintf(a.out, "  (%s)\n", strings.Join(q.choices, ", "))
		}
		fmt.Fprint(a.out, q.prompt)
		switch {
		case q.preset != "":
			fmt.Fprintf(a.out, " [%s]", q.preset)
		case q.required == "":
			fmt.Fprint(a.out, " [none]")
		}
		fmt.Fprint(a.out, ": ")
		var text string
		var ok bool
		select {
		case <-ctx.Done():
			fmt.Fprintln(a.out)
			return ctx.Err()
		case text, ok = <-a.lines:
			if !ok {
				fmt.Fprintln(a.out)
				return errEndOfAnswers
			}
		}
		text = strings.TrimSpace(text)
		switch {
		case text == "" && q.preset != "":
			text = q.preset
		case (text == "" || text == "-") && q.required == "":
			return nil
		case text == "" || text == "-":
			fmt.Fprintln(a.out, "This one needs an answer.")
			continue
		}
		err := q.take(text)
		if err == nil {
			return nil
		}
		fmt.Fprintf(a.out, "%s\n", words.Sentence(err.Error()))
	}
}
