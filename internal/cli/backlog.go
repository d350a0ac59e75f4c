package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/verdict"
	"cardback/internal/verdict/backlog"
	"cardback/internal/verdict/standing"
	"cardback/internal/words"
)

type backlogOptions struct {
	content, cache string
	asJSON         bool
}

func backlogCommand() *cobra.Command {
	var o backlogOptions
	cmd := &cobra.Command{
		Use:   "backlog [RELEASE…]",
		Short: "List what is left to do, least effort first",
		Long: `Backlog reads the content folder, measures every mesh as build does, and lists
what is left to do: which releases lack a cut, do not fit the design standard, have
no logged print or need a reprint, have a fault, or were never sealed. One thing to
do is one entry, however many words of the material table it would change. They
are sorted by effort, a ranking of ours, and then by release.

Below stands how far the releases have come, from one sealed revision to the next:
what a revision and the print log keep, and nothing else of the past.

RELEASE is a number or a name from the content folder; without one all are listed.
Nothing is written but the cache of measurements. "cardback build --backlog" makes
a page of it, for the designer alone.`,
		Example: `  cardback backlog
  cardback backlog 5
  cardback backlog lamplighter --json`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return o.run(cmd.Context(), args, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.BoolVar(&o.asJSON, "json", false, "print a JSON object")
	contentFlags(f, &o.content, &o.cache)
	return cmd
}

func (o *backlogOptions) run(ctx context.Context, args []string, stdout, stderr io.Writer) error {
	if err := checkCache(o.content, o.cache); err != nil {
		return usageError{err}
	}
	s, err := loaded(o.content, o.cache)
	if err != nil {
		return printProblems(stderr, err, "nothing was measured")
	}
	some, err := askedFor(s, args)
	if err != nil {
		return usageError{err}
	}
	c, st, err := checked(ctx, some, o.cache, stderr)
	if err != nil {
		return err
	}
	j, err := judged(ctx, c, st, nil)
	if err != nil {
		return err
	}
	l := newBacklogList(j)
	if o.asJSON {
		enc := json.NewEncoder(stdout)
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		return enc.Encode(l)
	}
	l.print(stdout)
	return nil
}

// backlogList is the --json object, and what the table is printed from.
type backlogList struct {
	Tasks    []backlogTask   `json:"tasks"`
	Proven   int             `json:"proven"`   // releases' cells of the material table
	Unproven int             `json:"unproven"` // the rest of them
	Progress backlogProgress `json:"progress"`
}

type backlogTask struct {
	Release   int              `json:"release"`
	Title     string           `json:"title"`
	Kind      string           `json:"kind"`
	Effort    int              `json:"effort"` // from 1, least
	Class     string           `json:"effort_class"`
	What      string           `json:"what"`
	Parts     []string         `json:"parts"`
	Cut       string           `json:"cut,omitempty"`
	Processes []*bench.Process `json:"processes"`
	Materials []string         `json:"materials"`
	Missing   []string         `json:"missing"`
	Settles   string           `json:"settles"`
	Command   string           `json:"command,omitempty"`
	Needed    bool             `json:"needed"`
	Print     *backlogPrint    `json:"print,omitempty"`
	Cells     []backlogCell    `json:"cells"`

	takes string
	rule  string
}

type backlogPrint struct {
	Plate   string   `json:"plate"`
	Pieces  int      `json:"pieces"`
	Used    float64  `json:"used_mm3"`
	Grams   float64  `json:"grams"` // of the finished prints
	Seconds float64  `json:"seconds,omitempty"`
	Assumed []string `json:"assumed"`
}

type backlogCell struct {
	Part     string `json:"part,omitempty"` // empty for the release
	Material string `json:"material"`
	Standing string `json:"standing"`
}

type backlogProgress struct {
	Points   []backlogPoint `json:"points"`
	Now      backlogPoint   `json:"now"`
	Unsealed int            `json:"never_sealed"`
	NotKnown []string       `json:"not_known"`
}

type backlogPoint struct {
	Date     string          `json:"date,omitempty"`
	Sealed   []backlogSealed `json:"sealed"`
	Releases int             `json:"releases"`
	By       []backlogCount  `json:"by_process"`
}

type backlogSealed struct {
	Release  int    `json:"release"`
	Revision string `json:"revision"`
	Parts    int    `json:"parts"`
	Changed  int    `json:"changed"`
}

type backlogCount struct {
	Process         string `json:"process"`
	Parts           int    `json:"parts"`
	Cut             int    `json:"with_a_cut"`
	Printed         int    `json:"with_a_good_print"`
	Complete        int    `json:"complete_releases"`
	CompletePrinted int    `json:"complete_releases_with_good_prints"`
}

func newBacklogList(j *verdict.Judged) backlogList {
	l := backlogList{Tasks: []backlogTask{}}
	for _, c := range j.Cells {
		if c.Standing == standing.Proven {
			l.Proven++
		} else {
			l.Unproven++
		}
	}
	for _, t := range backlog.Of(j) {
		out := backlogTask{
			Release: t.Release, Kind: string(t.Kind), Effort: int(t.Effort), Class: t.Effort.String(), What: t.What,
			Parts: orEmpty(t.Parts), Cut: string(t.Cut), Processes: orEmpty(t.Processes), Materials: orEmpty(t.Materials),
			Missing: orEmpty(t.Missing), Settles: t.Settles, Command: t.Command, Needed: t.Needed, Cells: []backlogCell{},
			takes: t.Takes(), rule: t.Effort.Rule(),
		}
		if i := slices.IndexFunc(j.Site.Releases, func(r release.Release) bool { return r.Number == t.Release }); i >= 0 {
			out.Title = j.Site.Releases[i].Title
		}
		if n := t.Need; n != nil {
			out.Print = &backlogPrint{n.Plate.ID, n.Pieces, n.Used, n.Grams, n.Seconds, orEmpty(n.Assumed)}
		}
		for _, c := range t.Cells {
			out.Cells = append(out.Cells, backlogCell{c.Part, c.Material, string(c.Standing)})
		}
		l.Tasks = append(l.Tasks, out)
	}
	p := backlog.ProgressOf(j.Site, j.Survey)
	l.Progress = backlogProgress{Points: []backlogPoint{}, Now: newBacklogPoint(p.Now), Unsealed: p.Unsealed, NotKnown: orEmpty(p.NotKnown)}
	for _, pt := range p.Points {
		l.Progress.Points = append(l.Progress.Points, newBacklogPoint(pt))
	}
	return l
}

func newBacklogPoint(pt backlog.ProgressPoint) backlogPoint {
	out := backlogPoint{Sealed: []backlogSealed{}, Releases: pt.Releases}
	if !pt.Date.IsZero() {
		out.Date = words.Date(pt.Date)
	}
	for _, s := range pt.Sealed {
		out.Sealed = append(out.Sealed, backlogSealed{s.Release, s.Revision, s.Parts, s.Changed})
	}
	for _, c := range pt.By {
		out.By = append(out.By, backlogCount{c.Process.ID, c.Parts, c.Cut, c.Printed, c.Complete, c.CompletePrinted})
	}
	return out
}

// orEmpty is v, and an empty list rather than none in JSON.
func orEmpty[T any](v []T) []T {
	if v == nil {
		return []T{}
	}
	return v
}

// print writes the tasks of each class of effort under its name, and the progress
// as a table.
func (l backlogList) print(w io.Writer) {
	const indent = 6
	say := func(text string) {
		for _, line := range wrap(together.Replace(text), sheetWidth-indent) {
			fmt.Fprintln(w, strings.Repeat(" ", indent)+strings.ReplaceAll(line, hard, " "))
		}
	}
	class := 0
	for _, t := range l.Tasks {
		if t.Effort != class {
			class = t.Effort
			for _, line := range wrap(fmt.Sprintf("%s: %s", t.Class, words.Inside(t.rule)), sheetWidth) {
				fmt.Fprintln(w, line)
			}
			fmt.Fprintln(w)
		}
		head := fmt.Sprintf("%s: %s", t.Title, words.Inside(t.What))
		for i, line := range wrap(head, sheetWidth-indent) {
			if i == 0 {
				fmt.Fprintf(w, "%4d  %s\n", t.Release, line)
			} else {
				fmt.Fprintln(w, strings.Repeat(" ", indent)+line)
			}
		}
		if t.takes != "" {
			say("Takes " + t.takes + ".")
		}
		shown := t.Missing
		const most = 4
		if len(shown) > most+1 {
			shown = shown[:most]
		}
		say(strings.Join(shown, " "))
		if n := len(t.Missing) - len(shown); n > 0 {
			say(fmt.Sprintf("%d further reasons: see --json.", n))
		}
		if len(t.Parts) > 3 && t.Kind == string(backlog.TaskPrint) {
			say("Parts: " + strings.Join(t.Parts, ", ") + ".")
		}
		say(t.Settles)
		if t.Command != "" {
			fmt.Fprintln(w, strings.Repeat(" ", indent)+t.Command) // in one line, to be copied
		}
		if !t.Needed {
			say("The release does without it.")
		}
		fmt.Fprintln(w)
	}
	l.Progress.print(w)
	left := 0
	for _, t := range l.Tasks {
		if t.Kind != string(backlog.TaskStays) {
			left++
		}
	}
	fmt.Fprintf(w, "%s to do; of the releases in each material %d proven, %d not\n", words.Count(left, "thing", "things"), l.Proven, l.Unproven)
}

func (p backlogProgress) print(w io.Writer) {
	if len(p.Points) > 0 {
		rows := [][]string{{"sealed", "releases"}, {"", ""}}
		for _, c := range p.Now.By {
			rows[0] = append(rows[0], c.Process+":", "with", "printed")
			rows[1] = append(rows[1], "parts", "a cut", "well")
		}
		row := func(when string, pt backlogPoint) {
			cells := []string{when, fmt.Sprint(pt.Releases)}
			for _, c := range pt.By {
				cells = append(cells, fmt.Sprint(c.Parts), fmt.Sprint(c.Cut), fmt.Sprint(c.Printed))
			}
			rows = append(rows, cells)
		}
		for _, pt := range p.Points {
			var names []string
			for _, s := range pt.Sealed {
				names = append(names, fmt.Sprintf("%d%s", s.Release, s.Revision))
			}
			if len(names) > 3 {
				names = []string{fmt.Sprintf("%d revisions", len(names))}
			}
			if len(names) > 0 { // days of prints alone are in the JSON
				row(pt.Date+" "+strings.Join(names, " "), pt)
			}
		}
		row("now", p.Now)
		fmt.Fprintln(w, "progress of the sealed revisions")
		fmt.Fprintln(w)
		grid(w, rows)
		fmt.Fprintln(w)
	}
	for _, text := range p.NotKnown {
		for _, line := range wrap(text, sheetWidth-2) {
			fmt.Fprintln(w, "  "+line)
		}
	}
	fmt.Fprintln(w)
}
