package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"cardback/internal/fields"
	"cardback/internal/infile"
	"cardback/internal/measure"
	"cardback/internal/mesh"
	"cardback/internal/pending"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
	"cardback/internal/verdict"
	"cardback/internal/verdict/reprint"
	"cardback/internal/words"
)

type sealOptions struct {
	content, cache, note, date, withFaults string
	asJSON                                 bool
	faultsGiven                            bool
}

func sealCommand() *cobra.Command {
	var o sealOptions
	cmd := &cobra.Command{
		Use:   "seal RELEASE --note TEXT",
		Short: "Freeze the parts of a release as its next revision",
		Long: `Seal adds a revision to a release's revisions.yaml: the date, what changed, every
part with its quantity and the fingerprint, size and volume of its meshes, and the
hardware. The meshes themselves are kept beside it, in the folder sealed, packed
into about a tenth of their size, so that later ones can be compared with them and
people who printed this revision learn which parts to print again.

RELEASE is a number or a name from the content folder. What is already in
revisions.yaml is never changed; the new revision is added at the end.

A release is not sealed while one of its meshes has a fault, unless --with-faults
says why; that reason is published. Nor is it sealed when nothing has changed
since the last revision.`,
		Example: `  cardback seal 7 --note "First revision."
  cardback seal lamplighter --note "The hip's pivot is 0.4 mm further back."
  cardback seal 7 --note "New lamp." --with-faults "The crack in the base prints closed on all three test plates."`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usageError{fmt.Errorf("seal takes one release, by its number or name, as in seal 7; found %d", len(args))}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			o.faultsGiven = cmd.Flags().Changed("with-faults")
			return o.run(cmd.Context(), args[0], time.Now(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.StringVar(&o.note, "note", "", "what changed, for the people who print it")
	f.StringVar(&o.date, "date", "", "the revision's day, as in 2026-03-14 (default today, or that of SOURCE_DATE_EPOCH)")
	f.StringVar(&o.withFaults, "with-faults", "", "seal although a fault stands, for this `REASON`, which is published")
	f.BoolVar(&o.asJSON, "json", false, "print a JSON object")
	contentFlags(f, &o.content, &o.cache)
	return cmd
}

const notSealed = "nothing was sealed"

func (o *sealOptions) run(ctx context.Context, name string, now time.Time, stdout, stderr io.Writer) error {
	day, err := o.day(now)
	if err != nil {
		return usageError{err}
	}
	if strings.TrimSpace(o.note) == "" {
		return usageError{errors.New("seal needs a note: --note \"what changed\"")}
	}
	if o.faultsGiven && strings.TrimSpace(o.withFaults) == "" {
		return usageError{errors.New("--with-faults needs the reason, which is published")}
	}
	s, err := loaded(o.content, o.cache)
	if err != nil {
		return printProblems(stderr, err, notSealed)
	}
	r, err := findRelease(s, name)
	if err != nil {
		return usageError{err}
	}
	if last := r.LastRevision(); last != nil && day.Before(last.Date) {
		return usageError{fmt.Errorf("the date %s is before that of revision %s, %s; give a later one with --date", words.Date(day), last.Name, words.Date(last.Date))}
	}
	one := alone(s, r)
	c, st, err := checked(ctx, one, o.cache, stderr)
	if err != nil {
		return err
	}
	found := c.Survey
	faults, err := o.judge(c, stderr)
	if err != nil {
		return err
	}
	past, err := history.Of(ctx, one, found, st, nil)
	if err != nil {
		return err
	}
	h := past[r.Number]
	step := h.Unsealed()
	last := r.LastRevision()
	if last != nil && step == nil {
		if err := keepAgain(ctx, s, r, found, *last, stdout); err != nil {
			return err
		}
		fmt.Fprintf(stderr, "%s: nothing has changed since revision %s of %s; there is nothing to seal\n", r.Title, last.Name, words.Date(last.Date))
		return errInput
	}

	rev := h.Working
	rev.Name, rev.Date = release.RevisionName(len(r.Revisions)), day
	rev.Note, rev.Faults = o.note, o.withFaults
	rev = rev.Tidy()
	file := filepath.Join(r.Dir, release.RevisionsFile)
	if real, err := filepath.EvalSymlinks(file); err == nil {
		file = real // a link inside the content folder stays one
	}
	before, err := infile.Read(file, release.MostRevisions)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s cannot be read: %w; %s", file, infile.Cause(err), notSealed)
	}
	shown := path.Join(filepath.ToSlash(o.content), path.Dir(r.SourceFile), release.RevisionsFile)
	after, err := release.AppendRevision(s.Bench, shown, before, rev)
	if err != nil {
		var bad fields.Errors
		if errors.As(err, &bad) {
			return printProblems(stderr, bad, notSealed)
		}
		return fmt.Errorf("%w; %s", err, notSealed)
	}
	kept, err := keepGeometry(ctx, s, r, found, rev)
	if err != nil {
		return fmt.Errorf("%w; %s", err, notSealed)
	}
	if err := pending.WriteFile(file, after); err != nil {
		return fmt.Errorf("%s cannot be written: %w; %s", shown, infile.Cause(err), notSealed)
	}
	if o.asJSON {
		return printJSON(stdout, newSealAnswer(r, rev, shown, faults, kept, step))
	}
	printSealed(stdout, r, rev, shown, kept, step)
	return nil
}

// day is the revision's: the flag's, or today's where the program runs.
func (o *sealOptions) day(now time.Time) (time.Time, error) {
	if o.date != "" {
		day, err := fields.ParseDate(o.date)
		if err != nil {
			return day, fmt.Errorf("--date: %w", err)
		}
		return day, nil
	}
	return today(now)
}

// judge refuses a release with a fault, unless there is a reason to seal it all
// the same, and one whose meshes cannot be read in any case. It returns the
// faults that stand.
func (o *sealOptions) judge(c *verdict.Checked, stderr io.Writer) ([]verdict.Finding, error) {
	var faults []verdict.Finding
	unread := 0
	for _, f := range c.Findings {
		if f.Release != 0 && f.Level == measure.Fault {
			faults = append(faults, f)
		}
	}
	for _, cut := range c.Site.Cuts() {
		if _, ok := c.Survey.Measured(cut); !ok {
			unread++
		}
	}
	tell := func() {
		for _, f := range faults {
			where := f.File
			if where == "" {
				where = c.Site.Releases[0].SourceFile
			}
			fmt.Fprintf(stderr, "%s: %s\n", path.Join(filepath.ToSlash(o.content), where), f.Text)
		}
	}
	switch {
	case unread > 0:
		tell()
		fmt.Fprintf(stderr, "%s cannot be read; %s\n", words.Count(unread, "mesh file", "mesh files"), notSealed)
		return nil, errInput
	case len(faults) > 0 && !o.faultsGiven:
		tell()
		stands := "faults stand"
		if len(faults) == 1 {
			stands = "fault stands"
		}
		fmt.Fprintf(stderr, "%d %s; %s. Mend the meshes, or say why it is sealed all the same with --with-faults \"why\", which is published\n", len(faults), stands, notSealed)
		return nil, errInput
	case len(faults) == 0 && o.faultsGiven:
		return nil, usageError{errors.New("no fault stands; leave --with-faults out, since its reason would be published")}
	}
	return faults, nil
}

// keptGeometry is one mesh that a revision keeps.
type keptGeometry struct {
	File      string `json:"file"` // relative to the release's folder
	Bytes     int    `json:"bytes"`
	Triangles int    `json:"triangles"`
	New       bool   `json:"new"` // an earlier revision did not keep it, or its file was lost
}

// keepGeometry writes the meshes of rev that are not kept yet. A file that holds
// anything else than its mesh is replaced.
func keepGeometry(ctx context.Context, s *release.Site, r *release.Release, found survey.Survey, rev release.Revision) ([]keptGeometry, error) {
	folder, err := resolve(filepath.Join(r.Dir, release.SealedFolder))
	if err != nil {
		return nil, err
	}
	if root, err := resolve(s.Root); err != nil || !holds(root, folder) {
		return nil, fmt.Errorf("the folder %s of %q leads out of the content folder", release.SealedFolder, r.Slug)
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, fmt.Errorf("the folder %s cannot be made: %w", folder, infile.Cause(err))
	}
	geometry := map[string]string{} // fingerprint -> file
	for _, p := range rev.Parts {
		for _, c := range p.Cuts {
			geometry[c.Fingerprint] = c.Geometry
		}
	}
	var out []keptGeometry
	done := map[string]string{} // file -> fingerprint
	for _, p := range r.Parts {
		for _, c := range p.Cuts {
			cs, ok := found.Measured(c)
			if !ok {
				return nil, fmt.Errorf("%s cannot be read", c.Rel)
			}
			fp := cs.Report.Fingerprint
			file := geometry[fp]
			if other, ok := done[file]; ok {
				if other != fp {
					return nil, fmt.Errorf("%s: two meshes would be kept in %s", c.Rel, file)
				}
				continue
			}
			done[file] = fp
			data, err := packCut(ctx, c, fp)
			if err != nil {
				return nil, err
			}
			k := keptGeometry{File: file, Bytes: len(data), Triangles: cs.Report.Triangles}
			at := filepath.Join(folder, path.Base(file))
			if there, err := infile.Read(at, int64(len(data))); err != nil || !bytes.Equal(there, data) {
				k.New = true
				if err := pending.WriteFile(at, data); err != nil {
					return nil, fmt.Errorf("%s cannot be written: %w", file, infile.Cause(err))
				}
			}
			out = append(out, k)
		}
	}
	return out, nil
}

// keepAgain writes the meshes of the last revision that are lost, while the working
// files still have them.
func keepAgain(ctx context.Context, s *release.Site, r *release.Release, found survey.Survey, last release.Revision, stdout io.Writer) error {
	for _, p := range last.Parts {
		for _, c := range p.Cuts {
			if path.Dir(c.Geometry) != release.SealedFolder {
				return nil // kept elsewhere by a person, who looks after it
			}
		}
	}
	kept, err := keepGeometry(ctx, s, r, found, last)
	if err != nil {
		return err
	}
	for _, k := range kept {
		if k.New {
			fmt.Fprintf(stdout, "%s was lost or spoilt and is kept again\n", k.File)
		}
	}
	return nil
}

// packCut packs a mesh and makes sure that it can be had again.
func packCut(ctx context.Context, c release.Cut, fingerprint string) ([]byte, error) {
	m, _, err := mesh.ReadFile(ctx, c.File)
	if err != nil {
		return nil, err
	}
	data := mesh.Pack(m)
	again, err := mesh.Unpack(data)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be kept: %w", c.Rel, err)
	}
	if again.Fingerprint() != fingerprint {
		return nil, fmt.Errorf("%s was changed while it was being sealed; seal again", c.Rel)
	}
	return data, nil
}

// binarySTL is the size of a binary STL file of n triangles.
func binarySTL(n int) int { return 84 + 50*n }

type sealAnswer struct {
	Release   int            `json:"release"`
	Name      string         `json:"name"`
	Revision  string         `json:"revision"`
	Date      string         `json:"date"`
	Note      string         `json:"note"`
	File      string         `json:"file"`
	WhyFaults string         `json:"with_faults,omitempty"`
	Faults    []faultAnswer  `json:"faults"`
	Geometry  []keptGeometry `json:"geometry"`
	Changes   *stepAnswer    `json:"changes"` // since the revision before; null for the first
}

type faultAnswer struct {
	Part string `json:"part"`
	File string `json:"file"`
	Code string `json:"code"`
	Text string `json:"text"`
}

func newSealAnswer(r *release.Release, rev release.Revision, file string, faults []verdict.Finding, kept []keptGeometry, step *history.Step) sealAnswer {
	a := sealAnswer{
		Release: r.Number, Name: r.Slug, Revision: rev.Name, Date: words.Date(rev.Date), Note: rev.Note,
		File: file, WhyFaults: rev.Faults, Faults: []faultAnswer{}, Geometry: kept,
	}
	for _, f := range faults {
		a.Faults = append(a.Faults, faultAnswer{f.Part, f.File, f.Code, f.Text})
	}
	if step != nil {
		to := *step
		to.To = rev.Name
		changes := newStepAnswer(r, to)
		a.Changes = &changes
	}
	return a
}

// printSealed says what was sealed, what changed and how much room it takes.
func printSealed(w io.Writer, r *release.Release, rev release.Revision, file string, kept []keptGeometry, step *history.Step) {
	fmt.Fprintf(w, "%s: revision %s of %s, %s: %s\n", file, rev.Name, r.Title, words.Date(rev.Date), words.Count(len(rev.Parts), "part", "parts"))
	if rev.Faults != "" {
		fmt.Fprintf(w, "  sealed with faults: %s\n", rev.Faults)
	}
	if step != nil {
		to := *step
		to.To = rev.Name
		stepTable(w, to, reprint.Advise(to), false)
	}
	bytes, whole, fresh := 0, 0, 0
	for _, k := range kept {
		if k.New {
			fresh++
			bytes += k.Bytes
			whole += binarySTL(k.Triangles)
		}
	}
	if fresh == 0 {
		fmt.Fprintf(w, "  all meshes were kept already\n")
		return
	}
	fmt.Fprintf(w, "  %s kept in %s, %s: %s of a binary STL\n",
		words.Count(fresh, "mesh", "meshes"), release.SealedFolder, words.Bytes(int64(bytes)), words.Percent(float64(bytes)/float64(whole), 0))
}

// printJSON prints v for another program.
func printJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
