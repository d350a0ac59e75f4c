package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"cardback/internal/fields"
	"cardback/internal/infile"
	"cardback/internal/mesh"
	"cardback/internal/pending"
	"cardback/internal/release"
	"cardback/internal/words"
)

// recordOptions are record's flags as they were typed; a question checks each
// just as it checks what is typed in the terminal.
type recordOptions struct {
	content, date, material, plate, layer, tilt, about string
	supports, outcome, remark, photo                   string
	blend, parts, choices                              []string
	whole, asJSON                                      bool
	changed                                            func(flag string) bool
}

func recordCommand() *cobra.Command {
	var o recordOptions
	cmd := &cobra.Command{
		Use:   "record RELEASE",
		Short: "Add a test print to a release's log",
		Long: `Record adds an entry to a release's print log, prints.yaml: what was printed, in
which material, and what came of it. The meshes are measured as they are now and
their fingerprints kept with the entry, so that a later redesign does not borrow
its success. Record a print before you change its parts.

RELEASE is a number or a name from the content folder. In a terminal, record asks
for what no flag gives; a flag with an empty value, as in --photo "", answers that
there is none. Where there is no terminal it asks nothing: a material or blend,
the parts or --whole, and the outcome must be given.

The entry is added at the end. What stands in the file stays as it is, with its
comments; and nothing is written that could not be read again.`,
		Example: `  cardback record 7
  cardback record lamplighter --parts torso,torso-back --material rigid-resin --outcome good
  cardback record 7 --whole --blend rigid-resin=80,tough-resin=20 --plate small-resin --layer 0.05 --tilt 30 --about x --outcome usable --remark "One elbow stiff."`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usageError{fmt.Errorf("record takes one release, by its number or name, as in record 7; found %d", len(args))}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			o.changed = cmd.Flags().Changed
			var ask *asker
			if f, ok := cmd.InOrStdin().(*os.File); ok && term.IsTerminal(int(f.Fd())) {
				ask = newAsker(f, cmd.ErrOrStderr())
			}
			return o.run(cmd.Context(), args[0], ask, time.Now(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.StringVar(&o.date, "date", "", "the day of the print, as in 2026-03-14 (default today)")
	f.StringVar(&o.material, "material", "", "a material of the bench, by its `ID`")
	f.StringSliceVar(&o.blend, "blend", nil, "in place of a material: `SHARES` in per cent, as in rigid-resin=80,tough-resin=20")
	f.StringSliceVar(&o.parts, "parts", nil, "what was printed, by the `FOLDERS` of the parts, as in torso,torso-back")
	f.BoolVar(&o.whole, "whole", false, "in place of parts: all that a print of the release needs")
	f.StringArrayVar(&o.choices, "choice", nil, "with --whole: this `PART` of a choice, or a piece where a part may be printed in pieces; may be given again")
	f.StringVar(&o.plate, "plate", "", "a plate of the bench, by its `ID`")
	f.StringVar(&o.layer, "layer", "", "layer height, in mm or with a unit")
	f.StringVar(&o.tilt, "tilt", "", "how far it was laid over from how it is supplied, in degrees, with --about")
	f.StringVar(&o.about, "about", "", "the `AXIS` of the tilt, x or y, by the right-hand rule")
	f.StringVar(&o.supports, "supports", "", "where supports stood")
	f.StringVar(&o.outcome, "outcome", "", "good, usable or failed")
	f.StringVar(&o.remark, "remark", "", "what happened")
	f.StringVar(&o.photo, "photo", "", "a JPEG or PNG `FILE` inside the release's folder")
	f.BoolVar(&o.asJSON, "json", false, "print the entry as a JSON object")
	f.StringVar(&o.content, "content", "content", "the folder with site.yaml, bench and releases")
	return cmd
}

// run records a print. ask is nil where nobody can be asked.
func (o *recordOptions) run(ctx context.Context, name string, ask *asker, now time.Time, stdout, stderr io.Writer) error {
	const nothing = "nothing was recorded"
	s, r, err := o.load(name, stderr)
	if err != nil {
		return err
	}
	draft := &printDraft{site: s, release: r, today: now}
	if err := draft.fill(ctx, o, ask); err != nil {
		return err
	}
	p := draft.print
	for _, cut := range draft.cuts {
		m, _, err := mesh.ReadFile(ctx, cut.cut.File)
		if err != nil {
			return fmt.Errorf("%w; %s", err, nothing)
		}
		p.Meshes = append(p.Meshes, release.MeshUsed{Part: cut.part, Cut: cut.cut.Kind, Fingerprint: m.Fingerprint()})
	}
	file := filepath.Join(r.Dir, release.LogFile)
	if real, err := filepath.EvalSymlinks(file); err == nil {
		file = real // a link inside the content folder stays one
	}
	before, err := infile.Read(file, release.MostLog)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s cannot be read: %w; %s", file, infile.Cause(err), nothing)
	}
	shown := path.Join(filepath.ToSlash(o.content), path.Dir(r.SourceFile), release.LogFile)
	after, err := release.AppendPrint(before, p)
	if bad := (fields.Errors)(nil); errors.As(err, &bad) {
		for i := range bad {
			bad[i].File = shown
		}
		return printProblems(stderr, bad, nothing)
	}
	if err != nil {
		return fmt.Errorf("%s: %w; %s", shown, err, nothing)
	}
	if err := checkRecorded(s, *r, after, &p); err != nil {
		if bad := (fields.Errors)(nil); errors.As(err, &bad) {
			for i := range bad {
				bad[i].File = shown
			}
		}
		return printProblems(stderr, err, nothing)
	}
	if err := pending.WriteFile(file, after); err != nil {
		return fmt.Errorf("%s cannot be written: %w; %s", shown, infile.Cause(err), nothing)
	}
	if o.asJSON {
		enc := json.NewEncoder(stdout)
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		return enc.Encode(newRecordAnswer(r, shown, p))
	}
	fmt.Fprintf(stdout, "%s:%d: %s\n", shown, p.Line, sentenceOf(p))
	for _, m := range p.Meshes {
		fmt.Fprintf(stdout, "  %s %s\n", m.Fingerprint[:16], m.Part+"/"+string(m.Cut))
	}
	return nil
}

// load reads the content. Problems elsewhere than in the release and the bench do
// not stand in the way of its log.
func (o *recordOptions) load(name string, stderr io.Writer) (*release.Site, *release.Release, error) {
	s, err := release.Load(o.content)
	var problems fields.Errors
	if err != nil && (!errors.As(err, &problems) || s == nil) {
		return nil, nil, printProblems(stderr, err, "nothing was recorded")
	}
	r, unknown := findRelease(s, name)
	if unknown != nil && len(problems) == 0 {
		return nil, nil, usageError{unknown}
	}
	here := problems
	if unknown == nil {
		here = nil
		for _, p := range problems {
			file := filepath.ToSlash(p.File)
			if strings.Contains(file, path.Dir(r.SourceFile)+"/") || strings.Contains(file, "/bench/") || strings.HasPrefix(file, "bench/") {
				here = append(here, p)
			}
		}
	}
	if len(here) > 0 {
		return nil, nil, printProblems(stderr, here, "nothing was recorded")
	}
	return s, r, nil
}

// checkRecorded makes sure that the new log is the old one and p, and fills in p's
// line.
func checkRecorded(s *release.Site, r release.Release, after []byte, p *release.Print) error {
	log, err := release.CheckLog(s, r, after)
	if err != nil {
		return err
	}
	if len(log) == 0 || len(log) != len(r.Log)+1 {
		return errors.New("the log was changed meanwhile; run record again")
	}
	last := log[len(log)-1]
	p.Line = last.Line
	if !reflect.DeepEqual(last, *p) {
		return errors.New("the entry would not be read back as it was given; please report it")
	}
	for i, q := range r.Log {
		q.Line = log[i].Line
		if !reflect.DeepEqual(q, log[i]) {
			return errors.New("the log was changed meanwhile; run record again")
		}
	}
	return nil
}

// sentenceOf tells an entry in a line.
func sentenceOf(p release.Print) string {
	what := "everything"
	if !p.Whole {
		what = words.List(p.Parts)
	}
	return fmt.Sprintf("recorded %s in %s on %s: %s", what, release.BlendText(p.Stock), words.Date(p.Date), p.Outcome)
}

// recordAnswer is the --json object of an entry.
type recordAnswer struct {
	Release  int           `json:"release"`
	File     string        `json:"file"`
	Line     int           `json:"line"`
	Date     string        `json:"date"`
	Whole    bool          `json:"whole"`
	Parts    []string      `json:"parts"`
	Stock    []recordStock `json:"stock"`
	Plate    string        `json:"plate,omitempty"`
	Layer    float64       `json:"layer_mm,omitempty"`
	Tilt     *float64      `json:"tilt_degrees,omitempty"`
	About    string        `json:"about,omitempty"`
	Supports string        `json:"supports,omitempty"`
	Outcome  string        `json:"outcome"`
	Remark   string        `json:"remark,omitempty"`
	Photo    string        `json:"photo,omitempty"`
	Meshes   []recordMesh  `json:"meshes"`
}

type recordStock struct {
	Material string      `json:"material"`
	Percent  json.Number `json:"share_percent"`
}

type recordMesh struct {
	Part        string `json:"part"`
	Cut         string `json:"cut"`
	Fingerprint string `json:"fingerprint"`
}

func newRecordAnswer(r *release.Release, file string, p release.Print) recordAnswer {
	a := recordAnswer{
		Release: r.Number, File: file, Line: p.Line, Date: words.Date(p.Date), Whole: p.Whole, Parts: append([]string{}, p.Parts...),
		Plate: p.Plate, Layer: p.Layer, About: p.TiltAbout, Supports: p.Supports, Outcome: string(p.Outcome), Remark: p.Remark, Photo: p.Photo,
		Meshes: []recordMesh{},
	}
	if p.TiltAbout != "" {
		a.Tilt = &p.Tilt
	}
	for _, s := range p.Stock {
		a.Stock = append(a.Stock, recordStock{s.Material.ID, json.Number(s.Percent())})
	}
	for _, m := range p.Meshes {
		a.Meshes = append(a.Meshes, recordMesh{m.Part, string(m.Cut), m.Fingerprint})
	}
	return a
}
