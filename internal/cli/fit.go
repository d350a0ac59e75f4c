package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"cardback/internal/fit"
	"cardback/internal/fit/frontier"
	"cardback/internal/literal"
	"cardback/internal/measure/hull"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// fitQuestion is what fit is asked of each mesh.
type fitQuestion struct {
	plate    fit.Plate
	declared *[9]float64 // the recommended orientation, where one is given
	tilt     string      // the same in words
}

func fitCommand() *cobra.Command {
	var (
		asJSON, round, frontier, smallParts bool
		plateText, about, content           string
		margin                              length
		tilt                                angle
	)
	cmd := &cobra.Command{
		Use:   "fit MESH… --plate 68x120x155",
		Short: "Say whether meshes fit on a plate, and how",
		Long: `Fit says whether each mesh fits on a plate as supplied, turned about the vertical,
or tipped into any other orientation, and prints the rotation that shows it: apply
it to the mesh's points as column vectors, and they go on. "Cannot fit" is
proved, to within the tolerance printed. The largest scale is told as supplied or
turned, and in any orientation, found to within 0.1 % and proved.

A plate is width × depth × height in millimetres, or the name of one on the bench,
which has its own margin and shape; "cardback bench plates" lists them. The margin
is kept free along the edge of the footprint. With --round the plate is a disc:
width and depth are both its diameter.

With --tilt and --about the orientation that the part should print in is tried
first, turned about the vertical if need be; the answer says whether a fit
keeps it.

With --frontier no plate is needed: fit prints, as one line of JSON of at most
32 KB for each mesh, the least boxes and cylinders that the part goes into. It
never claims a fit that is none, and misses no plate with 1 mm to spare (with
within_mm to spare, where the part is so large or so smooth that 1 mm would
take more).

With --small-parts the mesh is tried, in any orientation, in the small-parts
cylinder of 16 CFR 1501.4 instead: 31.75 mm wide, with a slanted floor 25.4 to
57.15 mm deep. Where the whole does not fit and the mesh comes apart into
pieces, each is tried by itself: a loose bead beside a block is a small part.`,
		Example: `  cardback fit hull.stl --plate 68x120x155 --margin 2
  cardback fit hull.stl --plate small-resin
  cardback fit wing.stl --plate 120x68x155 --tilt 40 --about x
  cardback fit parts/*/any.stl --plate 180x180x200 --round --json
  cardback fit hull.stl --frontier
  cardback fit cap.stl --small-parts`,
		Args: needMeshes,
		RunE: func(cmd *cobra.Command, args []string) error {
			f := cmd.Flags()
			if smallParts {
				if err := refuseBeside(f, "small-parts", "plate", "margin", "round", "tilt", "about", "frontier"); err != nil {
					return usageError{err}
				}
				return eachMesh(cmd, args, asJSON, gaugeOne)
			}
			if frontier {
				if err := refuseBeside(f, "frontier", "plate", "margin", "round", "tilt", "about"); err != nil {
					return usageError{err}
				}
				return eachMesh(cmd, args, asJSON, frontierOne)
			}
			if plateText == "" {
				return usageError{fmt.Errorf("fit needs a plate: --plate WIDTHxDEPTHxHEIGHT in millimetres, as in --plate 68x120x155, or the name of one on the bench")}
			}
			// Problems of the bench do not matter to a plate that is there.
			b, name, problems, err := benchOf(content, f.Changed("content"))
			if err != nil {
				return usageError{err}
			}
			named, ok, err := namedPlate(b, plateText, f.Changed)
			plate := survey.FitPlate(named)
			if !ok {
				plate, err = describedPlate(b, name, plateText, margin, round)
			}
			if err != nil && problems != nil {
				_ = printProblems(cmd.ErrOrStderr(), problems, "the bench was read as far as it could be")
			}
			if err != nil {
				return usageError{err}
			}
			q := fitQuestion{plate: plate}
			if f.Changed("tilt") || f.Changed("about") {
				pose := poseFlags{tilt: tilt, about: about}
				pose.layer, pose.limit = 1, 1 // not asked here
				o, err := pose.options(f)
				if err != nil {
					return usageError{err}
				}
				m := rotation.Tilted(o.Pose.Tilt, o.Pose.About == "y")
				q.declared, q.tilt = &m, o.Pose.String()
			}
			return eachMesh(cmd, args, asJSON, func(ctx context.Context, path string, on *status) (answer, error) {
				return fitOne(ctx, path, on, q)
			})
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.StringVar(&plateText, "plate", "", "width × depth × height in mm, as in 68x120x155, or a plate of the bench")
	f.StringVar(&content, "content", "content", "content folder `DIR` with the bench")
	f.Var(&margin, "margin", "kept free along the edge of the footprint, in mm or with a unit")
	f.BoolVar(&round, "round", false, "the plate is round; width and depth are its diameter")
	f.Var(&tilt, "tilt", "try it laid over by this angle first, with --about")
	f.StringVar(&about, "about", "", "tilt about this `AXIS`, x or y, by the right-hand rule")
	f.BoolVar(&frontier, "frontier", false, "print the least boxes that each mesh goes into")
	f.BoolVar(&smallParts, "small-parts", false, "try the small-parts cylinder instead of a plate")
	f.BoolVar(&asJSON, "json", false, "print a JSON array, one object per file")
	return cmd
}

// refuseBeside is the error of flags that have no meaning beside another.
func refuseBeside(f *pflag.FlagSet, flag string, others ...string) error {
	for _, o := range others {
		if f.Changed(o) {
			return fmt.Errorf("--%s and --%s cannot be asked together", flag, o)
		}
	}
	return nil
}

func checkPlate(p fit.Plate) error {
	switch {
	case 2*p.Margin >= min(p.Width, p.Depth):
		return fmt.Errorf("--margin %v leaves nothing of a plate %v × %v mm", p.Margin, p.Width, p.Depth)
	case p.Round && p.Width != p.Depth:
		return fmt.Errorf("a round plate has one diameter, given twice, as in 180x180x200; found %v and %v", p.Width, p.Depth)
	}
	return nil
}

// hullOf reads a mesh down to what fits depend on.
func hullOf(ctx context.Context, path string, on *status) ([]mesh.Vec, error) {
	on.step("reading")
	m, _, err := mesh.ReadFile(ctx, path)
	if err != nil {
		return nil, err
	}
	h, err := hull.Of(ctx, m)
	return h.Vertices, err
}

func fitOne(ctx context.Context, path string, on *status, q fitQuestion) (answer, error) {
	hull, err := hullOf(ctx, path, on)
	if err != nil {
		return answer{}, err
	}
	on.step("trying the plate")
	var res fit.Result
	if q.declared != nil {
		res = fit.FitDeclared(ctx, hull, q.plate, *q.declared)
	} else {
		res = fit.Fit(ctx, hull, q.plate)
	}
	on.step("looking for the largest scale")
	scale, err := fit.LargestScale(ctx, hull, q.plate)
	if err != nil {
		return answer{}, fmt.Errorf("%s: %w", path, err)
	}
	table := func(w io.Writer) { fitTable(w, path, q, res, scale) }
	return answer{fit.NewContract(path, q.plate.String(), res).WithScale(scale), table}, nil
}

func fitTable(w io.Writer, path string, q fitQuestion, res fit.Result, scale fit.Scale) {
	fmt.Fprintf(w, "%s on %s\n", literal.Line(path), q.plate)
	s := sheet{w}
	s.row("verdict", "%s", res.Verdict)
	s.row("why", "%s", res.Reason)
	if q.declared != nil {
		s.row("recommended", "%s; %s so", q.tilt, largest(res.LargestKept))
	}
	s.row("takes up", "%s × %s × %s mm", words.Measure(res.Extents.X), words.Measure(res.Extents.Y), words.Measure(res.Extents.Z))
	if v := res.Verdict; v == fit.Tipped || v == fit.Recommended || v == fit.RecommendedTurned {
		matrix(s, "rotation", res.Rotation)
	}
	s.row("scale", "%s as supplied or turned", largest(res.LargestScale))
	most := largest(scale.Largest) + " in any orientation"
	switch {
	case scale.Largest > mostTold:
	case scale.Certified():
		most += ", proved to within 0.1 %"
	default:
		most = "at least " + percentDown(scale.Largest) + " in some orientation, and proved to be at most " + words.AtMost(100*scale.AtMost, 1) + " %"
	}
	s.row("", "%s", most)
	if scale.Largest > res.LargestScale*(1+fit.ScaleGap) && scale.Rotation != res.Rotation {
		matrix(s, "so turned", scale.Rotation)
	}
}

// matrix prints a rotation, a row to a line.
func matrix(s sheet, label string, r [9]float64) {
	for k := 0; k < 9; k += 3 {
		s.line(label, fmt.Sprintf("% .6f % .6f % .6f", r[k], r[k+1], r[k+2]))
		label = ""
	}
}

// mostTold is the scale from which a figure says nothing: nobody prints a part a
// hundred times its size.
const mostTold = 100

// largest says how much a part may be scaled up to.
func largest(scale float64) string {
	if scale > mostTold {
		return "more than " + percentDown(mostTold)
	}
	return "at most " + percentDown(scale)
}

// percentDown writes a scale, rounded down, so that what is said to fit does.
func percentDown(scale float64) string { return words.AtLeast(100*scale, 1) + " %" }

// frontierAnswer is the --json object of a mesh's frontier.
type frontierAnswer struct {
	Path     string          `json:"path"`
	Frontier json.RawMessage `json:"frontier"`
}

func frontierOne(ctx context.Context, path string, on *status) (answer, error) {
	hull, err := hullOf(ctx, path, on)
	if err != nil {
		return answer{}, err
	}
	on.step("looking for the least boxes")
	f, err := frontier.New(ctx, hull)
	if err != nil {
		return answer{}, fmt.Errorf("%s: %w", path, err)
	}
	text := f.Text()
	return answer{frontierAnswer{path, text}, func(w io.Writer) { fmt.Fprintf(w, "%s\n", text) }}, nil
}
