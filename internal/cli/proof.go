package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"cardback/internal/fields"
	"cardback/internal/measure"
	"cardback/internal/release"
	"cardback/internal/verdict"
	"cardback/internal/verdict/standing"
	"cardback/internal/words"
)

type proofOptions struct {
	content, cache string
	asJSON, accept bool
}

func proofCommand() *cobra.Command {
	var o proofOptions
	cmd := &cobra.Command{
		Use:   "proof [RELEASE…]",
		Short: "List what every check finds; write nothing",
		Long: `Proof reads the content folder and measures every mesh as build does, and lists
what the checks find: by release and part, faults first, then cautions and notes,
each with its place. Nothing is written but the cache of measurements.

RELEASE is a number or a name from the content folder; without one all are
proofed. Problems of the notes are listed with their file, line and column, and
what could be read is measured all the same.

A finding that you know of and accept, of the mesh as it is now, goes into the
part's notes with your reason, which is published; --accept shows the line to
paste under each. Faults, and resin that stays in a part, cannot be accepted.

The exit code is 1 where there is a fault, or a problem of the notes.`,
		Example: `  cardback proof
  cardback proof 5
  cardback proof 5 --accept
  cardback proof lamplighter --json`,
		RunE: func(cmd *cobra.Command, args []string) error { return o.run(cmd, args) },
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.BoolVar(&o.asJSON, "json", false, "print a JSON object")
	f.BoolVar(&o.accept, "accept", false, "show the line of part.yaml that accepts each finding")
	contentFlags(f, &o.content, &o.cache)
	return cmd
}

// proof is the --json object, and what the table is printed from.
type proof struct {
	Problems []proofProblem `json:"problems"` // of the notes
	Site     []proofFinding `json:"site"`     // of the site as a whole
	Releases []proofRelease `json:"releases"`
	findingTally
	meshes int
}

// findingTally counts findings by level.
type findingTally struct {
	Faults   int `json:"faults"`
	Cautions int `json:"cautions"`
	Notes    int `json:"notes"`
}

type proofProblem struct {
	File   string `json:"file"`
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Text   string `json:"text"`
}

type proofRelease struct {
	Number int    `json:"number"`
	Slug   string `json:"slug"`
	Title  string `json:"title"`
	findingTally
	Findings []proofFinding `json:"findings"` // by part and cut, faults first
}

type proofFinding struct {
	Level string      `json:"level"`
	Code  string      `json:"code"`
	Part  string      `json:"part,omitempty"`
	Cut   string      `json:"cut,omitempty"`
	File  string      `json:"file,omitempty"`
	Text  string      `json:"text"`
	At    *[3]float64 `json:"at_mm,omitempty"`
	// Mesh is the fingerprint of the cut; Accepted why the designer accepts the finding
	// of it, and Accept the line of part.yaml that would.
	Mesh     string `json:"mesh,omitempty"`
	Accepted string `json:"accepted,omitempty"`
	Accept   string `json:"accept,omitempty"`

	name string // the part's
}

func (o *proofOptions) run(cmd *cobra.Command, args []string) error {
	ctx, stderr := cmd.Context(), cmd.ErrOrStderr()
	if err := checkCache(o.content, o.cache); err != nil {
		return usageError{err}
	}
	s, err := loaded(o.content, o.cache)
	var problems fields.Errors
	if err != nil && (s == nil || !errors.As(err, &problems)) {
		return printProblems(stderr, err, "nothing was measured")
	}
	if len(problems) > 0 {
		_ = printProblems(stderr, problems, "what could be read is measured all the same")
	}
	day, dayErr := today(time.Now())
	if dayErr != nil {
		return usageError{dayErr}
	}
	if s != nil {
		s = s.WithDrafts(day)
	}
	some, err := askedFor(s, args)
	switch {
	case err != nil && len(problems) > 0: // its notes may be what cannot be read
		fmt.Fprintf(stderr, "cardback: %v\n", err)
		return errInput
	case err != nil:
		return usageError{err}
	}
	c, _, err := checked(ctx, some, o.cache, stderr)
	if err != nil {
		return err
	}
	findings := c.Findings
	if len(args) > 0 { // the site as a whole was not asked for
		findings = slices.DeleteFunc(slices.Clone(findings), func(f verdict.Finding) bool { return f.Release == 0 })
	}
	p := newProof(o.content, some, problems, findings)
	if o.asJSON {
		enc := json.NewEncoder(cmd.OutOrStdout())
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		if err := enc.Encode(p); err != nil {
			return err
		}
	} else {
		p.print(cmd.OutOrStdout(), o.accept)
	}
	if p.Faults+len(p.Problems) > 0 {
		return errInput
	}
	return nil
}

func newProof(content string, s *release.Site, problems fields.Errors, found []verdict.Finding) proof {
	p := proof{Problems: []proofProblem{}, Releases: []proofRelease{}, meshes: len(s.Cuts())}
	for _, e := range problems {
		p.Problems = append(p.Problems, proofProblem{e.File, e.Line, e.Column, e.Message})
	}
	shown := func(f verdict.Finding) proofFinding {
		one := proofFinding{Level: string(f.Level), Code: f.Code, Part: f.Part, Cut: string(f.Cut), Text: f.Text, At: f.At, Mesh: f.Mesh, Accepted: f.Accepted}
		one.Accept, _ = f.AcceptLine()
		if f.File != "" {
			one.File = filepath.ToSlash(filepath.Join(content, filepath.FromSlash(f.File)))
		}
		return one
	}
	for _, f := range found {
		if f.Release == 0 {
			p.Site = append(p.Site, shown(f))
			p.count(f.Level)
		}
	}
	for _, r := range s.Releases {
		out := proofRelease{Number: r.Number, Slug: r.Slug, Title: r.Title, Findings: []proofFinding{}}
		for _, f := range found {
			if f.Release != r.Number {
				continue
			}
			one := shown(f)
			if i := slices.IndexFunc(r.Parts, func(q release.Part) bool { return q.Slug == f.Part }); i >= 0 {
				one.name = r.Parts[i].Name
			}
			out.Findings = append(out.Findings, one)
			out.count(f.Level)
			p.count(f.Level)
		}
		p.Releases = append(p.Releases, out)
	}
	return p
}

func (t *findingTally) count(l measure.Level) {
	switch l {
	case measure.Fault:
		t.Faults++
	case measure.Caution:
		t.Cautions++
	default:
		t.Notes++
	}
}

// String says how many there are of each: "1 fault, 2 cautions and 3 notes".
func (t findingTally) String() string {
	if t == (findingTally{}) {
		return "nothing found"
	}
	var out []string
	for _, c := range []struct {
		n    int
		what string
	}{{t.Faults, "fault"}, {t.Cautions, "caution"}, {t.Notes, "note"}} {
		if c.n > 0 {
			out = append(out, words.Count(c.n, c.what, c.what+"s"))
		}
	}
	return words.List(out)
}

// print writes a paragraph for each release: its parts, each under the name of
// its file, and what was found in them.
func (p proof) print(w io.Writer, accept bool) {
	if len(p.Site) > 0 {
		fmt.Fprintln(w, "The site as a whole")
		printFindings(w, "", p.Site, accept)
		fmt.Fprintln(w)
	}
	for _, r := range p.Releases {
		fmt.Fprintf(w, "%d  %s: %s\n", r.Number, r.Title, r.findingTally)
		printFindings(w, "the release", r.Findings, accept)
		fmt.Fprintln(w)
	}
	all := "no problems in the content's files"
	if n := len(p.Problems); n > 0 {
		all = words.Count(n, "problem", "problems") + " in the content's files"
	}
	fmt.Fprintf(w, "%s, %s: %s; %s\n", words.Count(len(p.Releases), "release", "releases"), words.Count(p.meshes, "mesh file", "mesh files"), p.findingTally, all)
}

// printFindings writes findings under the names of their files, and of whole where
// they are of no part.
func printFindings(w io.Writer, whole string, list []proofFinding, accept bool) {
	last := ""
	for _, f := range list {
		head := whole
		if f.name != "" {
			head = fmt.Sprintf("%s, %s cut", f.name, f.Cut)
		}
		if f.File != "" {
			head = strings.TrimPrefix(head+"  "+f.File, "  ")
		}
		if head != last {
			fmt.Fprintf(w, "\n  %s\n", head)
			last = head
		}
		text := f.placed()
		if f.Accepted != "" {
			text += " " + standing.AcceptedText(f.Accepted)
		}
		sheet{w}.row("  "+f.Level, "%s", text)
		if accept && f.Accept != "" {
			fmt.Fprintf(w, "%s%s\n", strings.Repeat(" ", 15), f.Accept) // whole, to be pasted
		}
	}
}

// placed is the finding's sentence with its place, unless it names it itself.
func (f proofFinding) placed() string {
	if f.At == nil {
		return f.Text
	}
	at := words.Place(f.At[0], f.At[1], f.At[2])
	if strings.Contains(f.Text, at) {
		return f.Text
	}
	return f.Text + " At" + hard + strings.ReplaceAll(at, " ", hard) + "."
}
