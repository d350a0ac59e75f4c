package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"cardback/internal/draw"
	"cardback/internal/fields"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
	"cardback/internal/verdict/reprint"
	"cardback/internal/words"
)

// releaseCompare are the flags of comparing two states of a release.
type releaseCompare struct {
	content, cache string
	svg            string // a folder; none is written where it is empty
	asJSON         bool
}

func (o *releaseCompare) add(f *pflag.FlagSet) {
	f.StringVar(&o.content, "content", "content", "of a release: the folder with site.yaml, bench and releases")
	f.StringVar(&o.cache, "cache", filepath.Join("build", "cache"), "of a release: the folder that keeps measurements; safe to delete")
}

// areMeshes reports whether compare was given mesh files rather than a release and
// its revisions: by their names, or because both are files.
func areMeshes(args []string) bool {
	if slices.ContainsFunc(args, namesMesh) {
		return true
	}
	return len(args) == 2 && !slices.ContainsFunc(args, func(arg string) bool {
		st, err := os.Stat(arg)
		return err != nil || !st.Mode().IsRegular()
	})
}

func namesMesh(arg string) bool {
	switch strings.ToLower(filepath.Ext(arg)) {
	case ".stl", ".3mf":
		return true
	}
	return false
}

// checkCompared refuses what is neither two meshes nor a release.
func checkCompared(_ *cobra.Command, args []string) error {
	switch {
	case len(args) == 0:
		return usageError{errors.New("compare needs two mesh files, the old one and the new one, or a release")}
	case areMeshes(args) && len(args) != 2:
		return usageError{fmt.Errorf("compare needs two mesh files, the old one and the new one; found %d", len(args))}
	case areMeshes(args) && namesMesh(args[0]) != namesMesh(args[1]):
		for _, arg := range args {
			if st, err := os.Stat(arg); !namesMesh(arg) && (err != nil || !st.Mode().IsRegular()) {
				return usageError{fmt.Errorf("compare takes two mesh files, or a release and its revisions; %q is neither beside a mesh", arg)}
			}
		}
	case !areMeshes(args) && len(args) > 3:
		return usageError{fmt.Errorf("compare takes a release and at most two of its revisions, as in compare 7 A B; found %d", len(args)-1)}
	}
	return nil
}

// run compares: args are the release's number or name, and none to two names of
// revisions. With one it is held against the working files, with none the last
// one is.
func (o *releaseCompare) run(ctx context.Context, args []string, stdout, stderr io.Writer) error {
	const nothing = "nothing was compared"
	var into *outFolder
	if o.svg != "" {
		var err error
		if into, err = newOutFolder("--svg", o.svg, o.content); err != nil {
			return err
		}
	}
	s, err := loaded(o.content, o.cache)
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
	one := alone(s, r)
	found, st, err := surveyed(ctx, one, o.cache, stderr)
	if err != nil {
		return err
	}
	if to == nil {
		working := history.Working(*r, found)
		to = &working
	}
	step, err := history.Between(ctx, one, *r, from, *to, found, st)
	if err != nil {
		return err
	}
	var drawn []string
	if into != nil {
		if drawn, err = into.overlays(step); err != nil {
			return err
		}
	}
	if o.asJSON {
		err = printJSON(stdout, newStepAnswer(r, step))
	} else {
		printStep(stdout, r, from, *to, step)
		for i, file := range drawn {
			if i == 0 {
				fmt.Fprintln(stdout)
			}
			fmt.Fprintf(stdout, "drawn: %s\n", file)
		}
	}
	if err != nil {
		return err
	}
	if to.Name == "" {
		return unread(one, found, o.content, stderr)
	}
	return nil
}

// unread tells of the working meshes that cannot be read.
func unread(one *release.Site, found survey.Survey, content string, stderr io.Writer) error {
	var bad error
	for _, c := range one.Cuts() {
		if cs := found.Of(c); cs != nil && cs.Err != nil {
			fmt.Fprintf(stderr, "%s: %v\n", filepath.Join(content, filepath.FromSlash(c.Rel)), cs.Err)
			bad = errInput
		}
	}
	return bad
}

// overlays writes a drawing of each cut that is to be printed again, and returns the
// files' names.
func (o *outFolder) overlays(s history.Step) ([]string, error) {
	var out []string
	for _, write := range []bool{false, true} { // all names are looked at before the first is written
		for _, p := range s.Parts {
			for _, c := range p.Cuts {
				if c.Overlay == nil {
					continue
				}
				name := fmt.Sprintf("%s-%s.svg", p.Slug(), c.Is.Kind)
				if c.Was.Kind != c.Is.Kind {
					name = fmt.Sprintf("%s-%s-was-%s.svg", p.Slug(), c.Is.Kind, c.Was.Kind)
				}
				if !write {
					if err := o.check(name, drawingFile); err != nil {
						return nil, err
					}
					continue
				}
				title := fmt.Sprintf("%s, %s cut: the old and the new mesh over each other", p.Name(), c.Is.Kind)
				path, err := o.write(name, drawingFile, draw.Standalone(c.Picture(draw.OverlayOptions{ID: "compare", Title: title})))
				if err != nil {
					return nil, err
				}
				out = append(out, path)
			}
		}
	}
	return out, nil
}

func findRevision(r *release.Release, name string) (*release.Revision, error) {
	if rev := r.FindRevision(name); rev != nil {
		return rev, nil
	}
	var known []string
	for _, rev := range r.Revisions {
		known = append(known, rev.Name)
	}
	return nil, fmt.Errorf("there is no revision %q of %s; expected %s", name, r.Slug, fields.OneOf(known))
}

// printStep prints what changed, and what it means for those who printed the
// earlier state.
func printStep(w io.Writer, r *release.Release, from, to release.Revision, s history.Step) {
	fmt.Fprintf(w, "%s, %s to %s\n", r.Title, stateWords(from), stateWords(to))
	if s.Same() {
		fmt.Fprintln(w, "  nothing has changed")
		return
	}
	advice := reprint.Advise(s)
	stepTable(w, s, advice, true)
	fmt.Fprintln(w)
	for _, line := range wrap(together.Replace(advice.Summary), sheetWidth) {
		fmt.Fprintln(w, strings.ReplaceAll(line, hard, " "))
	}
}

func stateWords(rev release.Revision) string {
	if rev.Name == "" {
		return "the working files"
	}
	return fmt.Sprintf("revision %s (%s)", rev.Name, words.Date(rev.Date))
}
