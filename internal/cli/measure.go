package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"cardback/internal/measure"
	"cardback/internal/mesh"
)

func measureCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "measure MESH…",
		Short: "Measure meshes: size, volume, area, soundness",
		Long: `Measure reads STL (binary or ASCII) and 3MF files and prints what it finds in
millimetres. STL files carry no unit; millimetres are assumed, and a size that
makes another unit likely is pointed out.

A file that cannot be read is reported, the others are measured all the same,
and the exit code is 1.`,
		Example: `  cardback measure torso.stl
  cardback measure --json parts/*/resin.stl`,
		Args: needMeshes,
		RunE: func(cmd *cobra.Command, args []string) error {
			return eachMesh(cmd, args, asJSON, measureOne)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON array, one object per file")
	return cmd
}

// answer is what a command has to say of one mesh file: a value for --json and
// a table for people.
type answer struct {
	value any
	table func(w io.Writer)
}

// unreadable is the --json object of a file that could not be read.
type unreadable struct {
	Path  string `json:"path"`
	Error string `json:"error"`
}

// eachMesh runs one over every file, prints the answers, and goes on past files
// that cannot be read.
func eachMesh(cmd *cobra.Command, paths []string, asJSON bool, one func(ctx context.Context, path string) (answer, error)) error {
	values := []any{}
	failed := false
	for i, path := range paths {
		a, err := one(cmd.Context(), path)
		if ctxErr := cmd.Context().Err(); ctxErr != nil {
			return ctxErr
		}
		if err != nil {
			failed = true
			text := err.Error() // it begins with the path
			if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
				text = fmt.Sprintf("%s: %v", path, pe.Err) // without the system call
			}
			fmt.Fprintln(cmd.ErrOrStderr(), text)
			values = append(values, unreadable{path, text})
			continue
		}
		values = append(values, a.value)
		if !asJSON {
			if i > 0 {
				fmt.Fprintln(cmd.OutOrStdout())
			}
			a.table(cmd.OutOrStdout())
		}
	}
	if asJSON {
		enc := json.NewEncoder(cmd.OutOrStdout())
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		if err := enc.Encode(values); err != nil {
			return err
		}
	}
	if failed {
		return errInput
	}
	return nil
}

func measureOne(ctx context.Context, path string) (answer, error) {
	m, info, err := mesh.ReadFile(ctx, path)
	if err != nil {
		return answer{}, err
	}
	r, err := measure.Measure(ctx, m)
	if err != nil {
		return answer{}, err
	}
	c := measure.NewContract(path, info, r)
	return answer{c, func(w io.Writer) { measureTable(w, path, info, r) }}, nil
}

func measureTable(w io.Writer, path string, info mesh.Info, r *measure.Report) {
	fmt.Fprintf(w, "%s  (%s)\n", path, info.Format)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	row := func(name, format string, args ...any) {
		fmt.Fprintf(t, "  %s\t%s\n", name, fmt.Sprintf(format, args...))
	}
	size := r.Bounds.Size()
	row("size", "%s × %s × %s mm", number(size.X), number(size.Y), number(size.Z))
	row("from, to", "%s, %s", point(r.Bounds.Min), point(r.Bounds.Max))
	row("diameter", "%s mm", number(r.Diameter))
	row("volume", "%s mm³", number(r.Volume))
	row("area", "%s mm²", number(r.Area))
	row("centroid", "%s", point(r.Centroid))
	row("convex hull", "%s mm³, %s mm²", number(r.HullVolume), number(r.HullArea))
	row("silhouette", "front %s, side %s, top %s mm²", number(r.Silhouette[measure.Front]), number(r.Silhouette[measure.Side]), number(r.Silhouette[measure.Top]))
	row("mesh", "%d triangles, %d vertices, %s", r.Triangles, r.Vertices, count(r.Shells, "shell"))
	row("surface", "%s", surface(r))
	row("fingerprint", "%s", r.Fingerprint)
	t.Flush()
	for _, f := range measure.NewContract(path, info, r).Findings {
		fmt.Fprintf(w, "  %s: %s\n", f.Level, f.Text)
	}
}

func surface(r *measure.Report) string {
	switch {
	case r.Closed && r.ConsistentlyOriented && r.Genus != nil:
		return fmt.Sprintf("closed, consistently oriented, genus %d", *r.Genus)
	case r.Closed:
		return "closed, not consistently oriented"
	default:
		return fmt.Sprintf("not closed: %s, %s", count(r.OpenEdges, "open edge"), count(r.NonManifoldEdges, "non-manifold edge"))
	}
}

// number writes a measure to a hundredth, and a small one to four digits.
func number(v float64) string {
	if v != 0 && math.Abs(v) < 1 {
		return strconv.FormatFloat(v, 'g', 4, 64)
	}
	return strconv.FormatFloat(v, 'f', 2, 64)
}

func point(p mesh.Vec) string {
	return fmt.Sprintf("(%s, %s, %s)", number(p.X), number(p.Y), number(p.Z))
}

// count writes "1 shell", "2 shells".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
