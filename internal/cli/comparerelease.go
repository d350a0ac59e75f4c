package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"cardback/internal/fields"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
	"cardback/internal/verdict"
)

// namesMesh reports whether an argument of compare is a mesh file rather than a
// release or a revision.
func namesMesh(arg string) bool {
	switch strings.ToLower(filepath.Ext(arg)) {
	case ".stl", ".3mf":
		return true
	}
	return false
}

// compareRelease compares two states of a release: args are its number or name,
// and none to two names of revisions. With one it is held against the working
// files, with none the last one is.
func compareRelease(ctx context.Context, args []string, content, cache string, asJSON bool, stdout, stderr io.Writer) error {
	const nothing = "nothing was compared"
	if len(args) > 3 {
		return usageError{fmt.Errorf("compare takes a release and at most two of its revisions, as in compare 7 A B; found %d arguments", len(args))}
	}
	s, err := release.Load(content)
	if err != nil {
		return printProblems(stderr, err, nothing)
	}
	r, err := findRelease(s, args[0])
	if err != nil {
		return usageError{err}
	}
	if len(r.Revisions) == 0 {
		fmt.Fprintf(stderr, "%s has no sealed revision yet; %s. \"cardback seal %s\" makes the first\n", r.Title, nothing, r.Slug)
		return errInput
	}
	from := *r.LastRevision()
	var to *release.Revision
	if len(args) > 1 {
		rev, err := findRevision(r, args[1])
		if err != nil {
			return usageError{err}
		}
		from = *rev
	}
	if len(args) > 2 {
		if to, err = findRevision(r, args[2]); err != nil {
			return usageError{err}
		}
	}
	salt, err := store.ProgramSalt()
	if err != nil {
		return err
	}
	st := store.Open(cache, salt)
	one, found, err := surveyOne(ctx, s, r, st, stderr)
	if err != nil {
		return err
	}
	if to == nil {
		working := survey.Working(*r, found)
		to = &working
	}
	step, err := survey.Between(ctx, one, *r, from, *to, found, st)
	if err != nil {
		return err
	}
	if asJSON {
		return printJSON(stdout, newStepAnswer(r, step))
	}
	printStep(stdout, r, from, *to, step)
	return nil
}

func findRevision(r *release.Release, name string) (*release.Revision, error) {
	if rev := r.FindRevision(name); rev != nil {
		return rev, nil
	}
	var known []string
	for _, rev := range r.Revisions {
		known = append(known, rev.Name)
	}
	if namesMesh(name) {
		return nil, errors.New("compare takes two mesh files, or a release and its revisions; found some of each")
	}
	return nil, fmt.Errorf("there is no revision %q of %s; expected %s", name, r.Slug, fields.OneOf(known))
}

// printStep prints what changed, and what it means for those who printed the
// earlier state.
func printStep(w io.Writer, r *release.Release, from, to release.Revision, s survey.Step) {
	fmt.Fprintf(w, "%s, %s to %s\n", r.Title, stateWords(from), stateWords(to))
	if s.Same() {
		fmt.Fprintln(w, "  nothing has changed")
		return
	}
	stepTable(w, s, true)
	fmt.Fprintln(w)
	for _, line := range wrap(together.Replace(verdict.Reprint(s).Summary), sheetWidth) {
		fmt.Fprintln(w, strings.ReplaceAll(line, hard, " "))
	}
}

func stateWords(rev release.Revision) string {
	if rev.Name == "" {
		return "the working files"
	}
	return fmt.Sprintf("revision %s (%s)", rev.Name, rev.Date.Format("2006-01-02"))
}
