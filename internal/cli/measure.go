package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/slice"
	"cardback/internal/mend"
	"cardback/internal/mesh"
	"cardback/internal/verdict"
	"cardback/internal/words"
)

func measureCommand() *cobra.Command {
	var (
		asJSON bool
		size   scale
		pose   poseFlags
		limits limitFlags
	)
	cmd := &cobra.Command{
		Use:   "measure MESH…",
		Short: "Measure meshes: size, soundness, thin places, holes, layers, amounts",
		Long: `Measure reads STL (binary or ASCII) and 3MF files and prints what it finds in
millimetres. STL files carry no unit; millimetres are assumed, and a size that
makes another unit likely is pointed out.

With --scale everything is measured at the printed scale; the fingerprint stays
that of the file. --tilt and --about lay the part over before it is cut into
layers. Given a material of your bench, or limits of your own, measure says
which places are too thin; given a rod, how it goes into each hole.

A file that cannot be read is reported, the others are measured all the same,
and the exit code is 1.`,
		Example: `  cardback measure torso.stl
  cardback measure wing.stl --tilt 40 --about x --layer 0.05
  cardback measure torso.stl --scale 110% --material rigid-resin --rod 1.5
  cardback measure torso.stl --wall 0.8 --pin 2 --rod 1.5 --allowance 0.15
  cardback measure --json parts/*/resin.stl`,
		Args: needMeshes,
		RunE: func(cmd *cobra.Command, args []string) error {
			slicing, err := pose.options(cmd.Flags())
			if err != nil {
				return usageError{err}
			}
			lim, err := limits.read(cmd)
			if err != nil {
				return err
			}
			defer spareMemory()()
			return eachMesh(cmd, args, asJSON, func(ctx context.Context, path string, on *status) (answer, error) {
				return measureOne(ctx, path, on, float64(size), slicing, lim)
			})
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.Var(&size, "scale", "measure at this printed scale: 110% or 1.1")
	pose.add(f)
	limits.add(f)
	f.BoolVar(&asJSON, "json", false, "print a JSON array, one object per file")
	return cmd
}

// measured is the --json object of a measured file: the contract, and what was
// asked beside it.
type measured struct {
	measure.Contract
	Scale *float64 `json:"scale,omitempty"` // where one was given
	// Stock is what the solid weighs in a material that is measured by mass; amounts, which
	// are of liquids and strands, are then null.
	Stock  *float64   `json:"stock_g,omitempty"`
	Judged *judgement `json:"judged,omitempty"`
}

func measureOne(ctx context.Context, path string, on *status, factor float64, slicing slice.Options, lim limits) (answer, error) {
	on.step("reading")
	m, info, err := mesh.ReadFile(ctx, path)
	if err != nil {
		return answer{}, err
	}
	printed := m
	if factor != 0 {
		printed = scaled(m, factor)
	}
	on.step("measuring " + words.Count(len(m.Triangles), "triangle", "triangles"))
	r, err := measure.Measure(measure.WithSteps(ctx, on.step), printed)
	if err != nil {
		return answer{}, fmt.Errorf("%s: %w", path, err)
	}
	if factor != 0 {
		r.Fingerprint = m.Fingerprint()
	}
	on.step("cutting layers")
	surface := printed
	if r.Closing != nil {
		if surface, _, err = mend.Surface(ctx, printed); err != nil {
			return answer{}, err
		}
	}
	l, err := slice.Cut(ctx, surface, slicing)
	if err != nil && !errors.Is(err, slice.ErrTooManyLayers) {
		return answer{}, fmt.Errorf("%s: %w", path, err)
	}
	v := measured{Contract: measure.NewContract(path, info, r, slicing, l)}
	v.Findings = append([]measure.Finding{}, verdict.InProcesses(v.Findings, lim.processes())...)
	v.Amounts = measure.NewAmounts(r, lim.stock())
	if m := lim.material; m != nil && m.Process.Measured == bench.ByMass && v.Amounts != nil {
		grams := measure.Grams(r.Volume, m.Density)
		v.Stock, v.Amounts = &grams, nil
	}
	if factor != 0 {
		v.Scale = &factor
	}
	v.Judged = lim.judge(r)
	return answer{v, func(w io.Writer) { measureTable(w, v, r, slicing.Pose, lim) }}, nil
}

// scaled is the mesh at another size.
func scaled(m *mesh.Mesh, factor float64) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: slices.Clone(m.Vertices), Triangles: m.Triangles}
	for i, p := range out.Vertices {
		out.Vertices[i] = p.Scale(factor)
	}
	return out
}
