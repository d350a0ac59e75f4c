package cli

import (
	"context"
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/mesh"
)

func fitCommand() *cobra.Command {
	var (
		asJSON, round bool
		plateText     string
		margin        length
	)
	cmd := &cobra.Command{
		Use:   "fit MESH… --plate 68x120x155",
		Short: "Say whether meshes fit on a plate, and how",
		Long: `Fit says whether each mesh fits on a plate as supplied, turned about the vertical,
or tipped, and prints the rotation that shows it. "Cannot fit" is proved, to
within the tolerance printed.

A plate is width × depth × height in millimetres. The margin is kept free along
the edge of the footprint. With --round the plate is a disc: width and depth
are both its diameter.`,
		Example: `  cardback fit hull.stl --plate 68x120x155 --margin 2
  cardback fit parts/*/any.stl --plate 180x180x200 --round --json`,
		Args: needMeshes,
		RunE: func(cmd *cobra.Command, args []string) error {
			if plateText == "" {
				return usageError{fmt.Errorf("fit needs a plate: --plate WIDTHxDEPTHxHEIGHT in millimetres, as in --plate 68x120x155")}
			}
			plate, err := fit.ParsePlate(plateText)
			if err != nil {
				return usageError{err}
			}
			plate.Margin, plate.Round = float64(margin), round
			if err := checkPlate(plate); err != nil {
				return usageError{err}
			}
			return eachMesh(cmd, args, asJSON, func(ctx context.Context, path string, on *status) (answer, error) {
				return fitOne(ctx, path, on, plate)
			})
		},
	}
	f := cmd.Flags()
	f.StringVar(&plateText, "plate", "", "width × depth × height in mm, as in 68x120x155")
	f.Var(&margin, "margin", "kept free along the edge of the footprint, in mm or with a unit")
	f.BoolVar(&round, "round", false, "the plate is round; width and depth are its diameter")
	f.BoolVar(&asJSON, "json", false, "print a JSON array, one object per file")
	return cmd
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

func fitOne(ctx context.Context, path string, on *status, plate fit.Plate) (answer, error) {
	on.step("reading")
	m, _, err := mesh.ReadFile(ctx, path)
	if err != nil {
		return answer{}, err
	}
	on.step("trying the plate")
	hull, err := measure.Hull(ctx, m)
	if err != nil {
		return answer{}, err
	}
	res := fit.Fit(ctx, hull, plate)
	table := func(w io.Writer) {
		fmt.Fprintf(w, "%s on %s\n", path, plate)
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintf(t, "  verdict\t%s\n", res.Verdict)
		fmt.Fprintf(t, "  why\t%s\n", res.Reason)
		fmt.Fprintf(t, "  takes up\t%s × %s × %s mm\n", number(res.Extents.X), number(res.Extents.Y), number(res.Extents.Z))
		if res.Verdict == fit.Tipped {
			r := res.Rotation
			fmt.Fprintf(t, "  rotation\t% .6f % .6f % .6f\n\t% .6f % .6f % .6f\n\t% .6f % .6f % .6f\n", r[0], r[1], r[2], r[3], r[4], r[5], r[6], r[7], r[8])
		}
		fmt.Fprintf(t, "  largest scale\t%.1f %%, as supplied or turned\n", float64(int(res.LargestScale*1000))/10)
		t.Flush()
	}
	return answer{fit.NewContract(path, plate.String(), res), table}, nil
}
