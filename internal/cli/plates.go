package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"

	"github.com/spf13/cobra"

	"cardback/internal/bench"
	"cardback/internal/draw"
	"cardback/internal/fields"
	"cardback/internal/pack"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey/plates"
)

type platesOptions struct {
	content, cache, plate, process string
	margin, spacing                length
	round, asJSON                  bool
	choices                        []string
	svg, out                       string
	changed                        func(flag string) bool
}

func platesCommand() *cobra.Command {
	o := platesOptions{spacing: plates.Spacing}
	cmd := &cobra.Command{
		Use:   "plates RELEASE --plate NAME",
		Short: "Lay a full print of a release on as few plates as possible",
		Long: `Plates lays every part that a print of a release takes, in its quantity and with
mirrored twins, on plates of one kind: each as the outline it casts when it
stands as its notes recommend, turned about the vertical and moved. It says how
many plates that takes, and what proves that fewer will not do, or how few might.

RELEASE is a number or a name from the content folder; NAME is a plate of its
bench, or width × depth × height in millimetres together with --process.

A part that has pieces is laid whole if it fits, and in its pieces if it does not.
Of a choice the part that the chart names first is laid, or that of --choice. A
part that does not fit as recommended but does otherwise is laid as it fits, and
the answer says so. Supports are not laid; --spacing is the room left for them.

With --svg a drawing of each plate is written to a folder, plate-1.svg and so on;
with --out a 3MF of each as well, plate-1.3mf and so on, all pieces where they
stand.`,
		Example: `  cardback plates 5 --plate small-resin
  cardback plates walking-dredger --plate large-resin --out plates
  cardback plates 2 --plate 120x68x155 --margin 2 --process resin --choice hat-tricorne`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usageError{fmt.Errorf("plates takes one release, by its number or name, as in plates 5; found %d", len(args))}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			o.changed = cmd.Flags().Changed
			return o.run(cmd, args[0])
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.StringVar(&o.plate, "plate", "", "a plate of the bench, or width × depth × height in mm, as in 120x68x155")
	f.StringVar(&o.process, "process", "", "how it prints, as `bench processes` lists them, for a plate that is not of the bench")
	f.Var(&o.margin, "margin", "kept free along the plate's edge, in mm or with a unit, for a plate that is not of the bench")
	f.BoolVar(&o.round, "round", false, "the plate is round; width and depth are its diameter")
	f.Var(&o.spacing, "spacing", "kept between pieces, in mm or with a unit")
	f.StringArrayVar(&o.choices, "choice", nil, "take this `PART` of its choice, by its folder's name; may be given again")
	f.StringVar(&o.svg, "svg", "", "draw each plate into `FOLDER`")
	f.StringVar(&o.out, "out", "", "write a drawing and a 3MF of each plate into `FOLDER`")
	f.BoolVar(&o.asJSON, "json", false, "print a JSON object")
	contentFlags(f, &o.content, &o.cache)
	return cmd
}

func (o *platesOptions) run(cmd *cobra.Command, name string) error {
	ctx, stderr := cmd.Context(), cmd.ErrOrStderr()
	if o.plate == "" {
		return usageError{errors.New("plates needs a plate: --plate NAME from the bench, or --plate 120x68x155 --process resin")}
	}
	if o.svg != "" && o.out != "" {
		return usageError{errors.New("--out writes drawings too; leave out --svg")}
	}
	into, err := o.folder()
	if err != nil {
		return err
	}
	s, err := loaded(o.content, o.cache)
	if err != nil {
		return printProblems(stderr, err, "nothing was laid")
	}
	r, err := findRelease(s, name)
	if err != nil {
		return usageError{err}
	}
	plate, err := o.findPlate(s.Bench)
	if err != nil {
		return usageError{err}
	}
	if err := o.checkChoices(*r, plate.Process); err != nil {
		return usageError{err}
	}
	found, st, err := surveyed(ctx, alone(s, r), o.cache, stderr)
	if err != nil {
		return err
	}
	set, err := plates.Lay(ctx, *r, plate, found, st, plates.Wishes{Spacing: float64(o.spacing), Choices: o.choices})
	if err != nil {
		return err
	}
	files, err := o.write(ctx, s, r, set, st, into)
	if err != nil {
		return err
	}
	v := newPlatesAnswer(r, set, files)
	if o.asJSON {
		enc := json.NewEncoder(cmd.OutOrStdout())
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		err = enc.Encode(v)
	} else {
		v.table(cmd.OutOrStdout(), r, set)
	}
	if err != nil {
		return err
	}
	if len(set.Missing)+len(set.Layout.Unplaced) > 0 {
		return errInput
	}
	return nil
}

// findRelease looks one up by number, folder or name.
func findRelease(s *release.Site, name string) (*release.Release, error) {
	var known []string
	n, notNumber := strconv.Atoi(name)
	for i, r := range s.Releases {
		if r.Slug == name || notNumber == nil && r.Number == n || filepath.Base(r.Dir) == name {
			return &s.Releases[i], nil
		}
		known = append(known, r.Slug)
	}
	return nil, fmt.Errorf("there is no release %q; %s", name, fields.Suggest(name, known))
}

// findPlate is the bench's plate of that name, or the one described.
func (o *platesOptions) findPlate(b bench.Bench) (bench.Plate, error) {
	p, ok, err := namedPlate(b, o.plate, o.changed)
	switch {
	case err != nil:
		return p, err
	case ok && o.process != "" && o.process != p.Process.ID:
		return p, fmt.Errorf("%s prints %s; --process is %q", p.ID, p.Process, o.process)
	case ok:
		return p, nil
	}
	size, err := describedPlate(b, fmt.Sprintf("the bench of %q", o.content), o.plate, o.margin, o.round)
	if err != nil {
		return bench.Plate{}, err
	}
	process := b.Process(o.process)
	if process == nil {
		return bench.Plate{}, fmt.Errorf("--process is %q; a plate given by its size needs %s", o.process, fields.OneOf(bench.ProcessIDs(b.Processes())))
	}
	return bench.Plate{
		Name: "Plate", Process: process, Width: size.Width, Depth: size.Depth, Height: size.Height,
		Margin: size.Margin, Round: size.Round,
	}, nil
}

// checkChoices refuses a wish that is none, or two for one choice.
func (o *platesOptions) checkChoices(r release.Release, proc *bench.Process) error {
	var known []string
	group := map[string]string{}
	for _, s := range printing.Of(r, proc).Slots {
		if s.Choice == "" {
			continue
		}
		for _, p := range s.Wholes() {
			known = append(known, p.Slug)
			group[p.Slug] = s.Choice
		}
	}
	taken := map[string]string{}
	for _, c := range o.choices {
		g, ok := group[c]
		if !ok {
			return fmt.Errorf("--choice %q is no part to choose; %s", c, fields.Suggest(c, known))
		}
		if other := taken[g]; other != "" && other != c {
			return fmt.Errorf("--choice %s and --choice %s are of one choice, the %s", other, c, g)
		}
		taken[g] = c
	}
	return nil
}

// folder is the one to write into; nil where none is named.
func (o *platesOptions) folder() (*outFolder, error) {
	switch {
	case o.svg != "":
		return newOutFolder("--svg", o.svg, o.content)
	case o.out != "":
		return newOutFolder("--out", o.out, o.content)
	}
	return nil, nil
}

// write puts the drawings, and the 3MFs with --out, into their folder, and
// returns their paths by plate.
func (o *platesOptions) write(ctx context.Context, s *release.Site, r *release.Release, set *plates.Set, st *store.Store, into *outFolder) ([]plateFiles, error) {
	files := make([]plateFiles, len(set.Layout.Plates))
	if into == nil {
		return files, nil
	}
	drawing := func(k int) string { return "plate-" + strconv.Itoa(k+1) + ".svg" }
	model := func(k int) string { return "plate-" + strconv.Itoa(k+1) + ".3mf" }
	for k := range files { // all before the first is written
		err := into.check(drawing(k), drawingFile)
		if err == nil && o.out != "" {
			err = into.check(model(k), plateFile)
		}
		if err != nil {
			return nil, err
		}
	}
	for k := range files {
		picture := draw.Standalone(platePicture(s, r, set, k))
		var err error
		if files[k].SVG, err = into.write(drawing(k), drawingFile, picture); err != nil {
			return nil, err
		}
		if o.out == "" {
			continue
		}
		d, err := pack.PlateFile(ctx, s, r, set, k, st)
		if err != nil {
			return nil, err
		}
		if files[k].ThreeMF, err = into.write(model(k), plateFile, d.Data); err != nil {
			return nil, err
		}
	}
	return files, nil
}

// platePicture draws plate k with its number and name.
func platePicture(s *release.Site, r *release.Release, set *plates.Set, k int) string {
	var items []draw.PlateItem
	for _, at := range set.Layout.Plates[k] {
		p := set.Pieces[at.Piece]
		items = append(items, draw.PlateItem{Number: strconv.Itoa(p.Number), Name: p.Name(), Outline: p.OutlineAt(at)})
	}
	p := set.Plate
	return draw.PlateChart(items, draw.PlateChartOptions{
		ID: "plate", Title: fmt.Sprintf("%s, %s, plate %d of %d", r.Title, p.Name, k+1, len(set.Layout.Plates)),
		PlateWidth: p.Width, PlateDepth: p.Depth, Margin: p.Margin, Round: p.Round, Inches: s.UnitsShown == "mm+in",
	})
}
