package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"cardback/internal/draw"
	"cardback/internal/literal"
	"cardback/internal/measure/change"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/words"
)

func compareCommand() *cobra.Command {
	var (
		asJSON    bool
		svg       string
		tolerance float64
		of        releaseCompare
	)
	cmd := &cobra.Command{
		Use:   "compare OLD NEW | compare RELEASE [REVISION [REVISION]]",
		Short: "Say how two meshes or two states of a release differ, and where",
		Long: `Compare says how a new mesh differs from an old one: unchanged; the same shape, cut
into other triangles; moved; nearly the same; mirrored; rescaled; or changed, with the
largest distance between the surfaces where the files place them, where it is, the mean
distance, and the change in volume. The largest distance is found and bounded;
that a shape is the same, or was only moved, is proved to within 0.0001 mm.

Nearly the same is what differs by no more than the printing tolerance, which is proved
too. Nobody prints such a part again. The tolerance is 0.01 mm, or what --tolerance
says for two meshes and print_tolerance in site.yaml for a release; 0 leaves it out.

Of a release, its number or name, compare takes every part and cut of two states:
two revisions, or one and the working files, or without any the last revision and
the working files. Parts that were added, removed or renamed, other quantities and
other hardware are told too, and what somebody who printed the earlier state should
print again.

With --svg a drawing is written too: the old outline dashed, the new one drawn
through, what differs hatched, the place of the largest distance ringed. Of a
release it is one for each cut that is to be printed again, into a folder.

Whatever the answer, the exit code is 0; it is 1 where a mesh cannot be read.`,
		Example: `  cardback compare old/torso.stl torso.stl
  cardback compare old/torso.stl torso.stl --svg torso.svg
  cardback compare --json old.stl new.3mf
  cardback compare 7
  cardback compare lamplighter A C --svg changed`,
		Args: checkCompared,
		RunE: func(cmd *cobra.Command, args []string) error {
			if !areMeshes(args) {
				if cmd.Flags().Changed("tolerance") {
					return usageError{errors.New("--tolerance is for two meshes; a release has the print_tolerance of its site.yaml")}
				}
				of.asJSON, of.svg = asJSON, svg
				return of.run(cmd.Context(), args, cmd.OutOrStdout(), cmd.ErrOrStderr())
			}
			defer spareMemory()()
			if !(tolerance >= 0 && tolerance <= release.MostPrintTolerance) {
				return usageError{fmt.Errorf("--tolerance %g is not a printing tolerance; expected a length from 0 to %g mm", tolerance, release.MostPrintTolerance)}
			}
			return compareMeshes(cmd, args[0], args[1], tolerance, asJSON, svg)
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.StringVar(&svg, "svg", "", "write a drawing of both to this `FILE`; of a release, drawings into this folder")
	f.Float64Var(&tolerance, "tolerance", release.DefaultPrintTolerance, "of two meshes: the printing tolerance in `MM`, below which nothing is printed again")
	f.BoolVar(&asJSON, "json", false, "print a JSON object")
	of.add(f)
	return cmd
}

// comparedMesh is one side of a comparison.
type comparedMesh struct {
	Path        string `json:"path"`
	Fingerprint string `json:"fingerprint"`
	Triangles   int    `json:"triangles"`
}

// comparison is the --json object of two compared meshes.
type comparison struct {
	Old comparedMesh `json:"old"`
	New comparedMesh `json:"new"`
	change.Contract
}

func compareMeshes(cmd *cobra.Command, oldPath, newPath string, tolerance float64, asJSON bool, svg string) error {
	ctx := cmd.Context()
	var drawing *outFile
	if svg != "" {
		var err error
		if drawing, err = newOutFile("--svg", svg, drawingFile, oldPath, newPath); err != nil {
			return err
		}
	}
	on := newStatus(cmd.ErrOrStderr())
	defer on.done()
	var meshes [2]*mesh.Mesh
	failed := false
	for i, path := range [2]string{oldPath, newPath} {
		on.file(i, 2, path)
		on.step("reading")
		m, _, err := mesh.ReadFile(ctx, path)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			failed = true
			on.clear()
			fmt.Fprintln(cmd.ErrOrStderr(), literal.Line(located(path, err)))
		}
		meshes[i] = m
	}
	if failed {
		return errInput
	}
	on.file(0, 1, newPath)
	on.step("comparing")
	c, err := change.Compare(ctx, meshes[0], meshes[1], tolerance)
	if err != nil {
		return err
	}
	if drawing != nil {
		on.step("drawing")
		picture, err := compareDrawing(ctx, meshes[0], meshes[1], &c)
		if err != nil {
			return err
		}
		if err := drawing.write(picture); err != nil {
			return err
		}
	}
	on.clear()
	side := func(path string, m *mesh.Mesh) comparedMesh {
		return comparedMesh{path, m.Fingerprint(), len(m.Triangles)}
	}
	if asJSON {
		enc := json.NewEncoder(cmd.OutOrStdout())
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		return enc.Encode(comparison{side(oldPath, meshes[0]), side(newPath, meshes[1]), change.NewContract(&c)})
	}
	compareTable(cmd.OutOrStdout(), &c)
	return nil
}

// located is the text of an error of reading a file; it begins with the path.
func located(path string, err error) string {
	if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
		return fmt.Sprintf("%s: %v", path, pe.Err) // without the system call
	}
	return err.Error()
}

func compareTable(w io.Writer, c *change.Change) {
	for _, line := range wrap(together.Replace(c.Sentence()), sheetWidth) {
		fmt.Fprintln(w, strings.ReplaceAll(line, hard, " "))
	}
	s := sheet{w}
	if c.Motion != change.Still {
		matrix(s, "matrix", c.Motion.Matrix)
		s.row("offset", "%s mm", point(c.Motion.Shift))
		if c.Motion.Scale != 1 {
			s.row("scale", "%s", words.Plain(c.Motion.Scale))
		}
	}
	if c.Kind == change.Changed || c.Kind == change.Nearly {
		distance := func(label string, d change.Distance) {
			s.row(label, "%s to %s mm at most, at %s; %s mm on average", words.Measure(d.Largest), words.Measure(d.AtMost), point(d.At), words.Measure(d.Mean))
		}
		distance("old to new", c.OldToNew)
		distance("new to old", c.NewToOld)
	}
	s.row("tolerance", "%s mm: what differs by less is not printed again", words.Plain(c.Tolerance))
	s.row("volume", "%s mm³, then %s mm³", words.Measure(c.Old.Volume), words.Measure(c.New.Volume))
	s.row("area", "%s mm², then %s mm²", words.Measure(c.Old.Area), words.Measure(c.New.Area))
}

// compareDrawing lays both meshes over each other in the view that shows the largest
// distance best, and marks where it is.
func compareDrawing(ctx context.Context, old, new *mesh.Mesh, c *change.Change) ([]byte, error) {
	o := draw.OverlayOptions{ID: "compare", Title: "The old and the new mesh over each other", Description: c.Sentence()}
	offset, d, marked := c.Shown()
	view := draw.Showing(offset)
	if marked {
		o.Marks = []draw.Mark{draw.MarkAt(view, d.At, hundredths(d.Largest)+" mm")}
	}
	before, err := draw.Lay(ctx, old, view)
	if err != nil {
		return nil, err
	}
	after, err := draw.Lay(ctx, new, view)
	if err != nil {
		return nil, err
	}
	return draw.Standalone(draw.Overlay(before, after, o)), nil
}
