package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"cardback/internal/draw"
	"cardback/internal/literal"
	"cardback/internal/measure/slice"
	"cardback/internal/mend"
	"cardback/internal/mesh"
	"cardback/internal/words"
)

func tiltCommand() *cobra.Command {
	var (
		asJSON, all bool
		svg         string
		layers      layerFlags
	)
	cmd := &cobra.Command{
		Use:   "tilt MESH…",
		Short: "Find the tilt to print meshes at in a resin vat, and say why",
		Long: `Tilt lays each mesh over by steps about x and about y, cuts it into layers every
time, and recommends a pose for a vat printer, with the numbers that decided.

Every layer is peeled off the film at the bottom of the vat, and a large one, or
one much larger than the layer before, pulls hard: the part may tear off or come
out distorted. Lying flat makes layers large, standing upright makes many.

  peak      the largest layer, mm²
  jump      the largest growth from one layer to the next, mm²
  overhang  surface that leans out past --limit and wants support, mm²
  islands   places that begin in mid-air and need a support
  cups      hollows that open towards the plate and hold air or resin
  wells     hollows that open away from it and draw suction

Islands, cups and wells are looked for as supplied and in the poses that the
choice was made from. To see one pose in full: cardback measure MESH --tilt 40
--about x.`,
		Example: `  cardback tilt wing.stl
  cardback tilt wing.stl --layer 0.03 --svg wing-layers.svg
  cardback tilt parts/*/resin.stl --json`,
		Args: needMeshes,
		RunE: func(cmd *cobra.Command, args []string) error {
			o, err := layers.options()
			if err != nil {
				return usageError{err}
			}
			var drawing *outFile
			if cmd.Flags().Changed("svg") {
				if drawing, err = tiltDrawing(svg, args); err != nil {
					return err
				}
			}
			return eachMesh(cmd, args, asJSON, func(ctx context.Context, path string, on *status) (answer, error) {
				return tiltOne(ctx, path, on, o, drawing, all)
			})
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	layers.add(f)
	f.BoolVar(&all, "all", false, "list every pose tried")
	f.StringVar(&svg, "svg", "", "draw the areas by layer to `FILE`")
	f.BoolVar(&asJSON, "json", false, "print a JSON array, one object per file")
	return cmd
}

// tiltDrawing is where the curve of the one mesh goes.
func tiltDrawing(svg string, meshes []string) (*outFile, error) {
	if len(meshes) > 1 {
		return nil, usageError{fmt.Errorf("--svg draws one mesh; found %d", len(meshes))}
	}
	return newOutFile("--svg", svg, drawingFile, meshes...)
}

// swept is the --json object of a mesh. Lists are never null. Islands, cups and
// wells are null where they were not looked for; areas where no pose has any, as
// of a mesh that encloses nothing.
type swept struct {
	Path   string  `json:"path"`
	Layer  float64 `json:"layer_mm"`
	Limit  float64 `json:"overhang_limit_deg"`
	Flat   trial   `json:"as_supplied"`
	Best   trial   `json:"recommended"`
	Reason string  `json:"reason"`
	Trials []trial `json:"trials"` // all, as supplied first
}

type trial struct {
	Tilt     float64  `json:"tilt_deg"`
	About    *string  `json:"about"` // null as supplied
	Height   float64  `json:"height_mm"`
	Layers   int      `json:"layers"`
	Peak     *float64 `json:"peak_layer_mm2"`
	Jump     *float64 `json:"worst_jump_mm2"`
	Overhang float64  `json:"overhang_mm2"`
	Islands  *int     `json:"islands"`
	Cups     *int     `json:"cups"`
	Wells    *int     `json:"wells"`
}

func newTrial(t slice.Trial, areas bool) trial {
	out := trial{Tilt: t.Pose.Tilt, Height: t.Height, Layers: t.Layers, Overhang: t.Overhang}
	if areas {
		out.Peak, out.Jump = &t.Peak, &t.Jump
	}
	if t.Pose.Tilt != 0 {
		out.About = &t.Pose.About
	}
	if t.Looked {
		out.Islands, out.Cups, out.Wells = &t.Islands, &t.Cups, &t.Wells
	}
	return out
}

func tiltOne(ctx context.Context, path string, on *status, o slice.Options, drawing *outFile, all bool) (answer, error) {
	on.step("reading")
	m, info, err := mesh.ReadFile(ctx, path)
	if err != nil {
		return answer{}, err
	}
	on.step("trying tilts on " + words.Count(len(m.Triangles), "triangle", "triangles"))
	if m, _, err = mend.Surface(ctx, m); err != nil {
		return answer{}, err
	}
	sweep, err := slice.Tilts(ctx, m, o)
	if errors.Is(err, slice.ErrTooManyLayers) {
		return answer{}, fmt.Errorf("%s: too tall for layers of %s mm; the file may be in another unit", path, words.Plain(o.Layer))
	}
	if err != nil {
		return answer{}, fmt.Errorf("%s: %w", path, err)
	}
	areas := hasAreas(sweep)
	v := swept{Path: path, Layer: sweep.Layer, Limit: o.Limit, Flat: newTrial(sweep.Flat, areas), Best: newTrial(sweep.Best, areas), Reason: sweep.Reason, Trials: []trial{}}
	for _, t := range sweep.Trials {
		v.Trials = append(v.Trials, newTrial(t, areas))
	}
	if drawing != nil {
		on.step("drawing")
		picture, err := curves(ctx, path, m, o, sweep)
		if err != nil {
			return answer{}, fmt.Errorf("%s: %w", path, err)
		}
		if err := drawing.write(picture); err != nil {
			return answer{}, err
		}
	}
	return answer{v, func(w io.Writer) { tiltTable(w, path, info, sweep, all) }}, nil
}

// hasAreas reports whether any pose has layers with an area.
func hasAreas(sweep *slice.Sweep) bool {
	return slices.ContainsFunc(sweep.Trials, func(t slice.Trial) bool { return t.Peak > 0 })
}

func tiltTable(w io.Writer, path string, info mesh.Info, sweep *slice.Sweep, all bool) {
	fmt.Fprintf(w, "%s  (%s)\n", literal.Line(path), info.Format)
	s := sheet{w}
	s.row("advice", "%s", sweep.Reason)
	if !hasAreas(sweep) {
		return
	}
	fmt.Fprintln(w)
	rows := [][]string{{"", "layers of " + words.Plain(sweep.Layer), "peak", "jump", "overhang", "islands", "cups", "wells"}}
	passedOver := false
	seen := func(n int, t slice.Trial) string {
		if !t.Looked {
			passedOver = true
			return "–"
		}
		return fmt.Sprint(n)
	}
	for _, t := range shown(sweep, all) {
		name := t.Pose.String()
		if t.Pose == sweep.Best.Pose {
			name += " *"
		}
		rows = append(rows, []string{name, fmt.Sprint(t.Layers), tenths(t.Peak), tenths(t.Jump), tenths(t.Overhang), seen(t.Islands, t), seen(t.Cups, t), seen(t.Wells, t)})
	}
	grid(w, rows)
	key := "* advised; areas in mm²"
	if passedOver {
		key += "; – not counted, since other tilts did better"
	}
	fmt.Fprintln(w, "\n  "+key)
}

// shown lists the trials of a table: as supplied, then those the choice was made
// from, the recommended one first; or all in the order they were tried.
func shown(sweep *slice.Sweep, all bool) []slice.Trial {
	if all {
		return sweep.Trials
	}
	var out []slice.Trial
	for _, t := range sweep.Trials {
		if t.Looked || t.Pose.Tilt == 0 {
			out = append(out, t)
		}
	}
	slices.SortStableFunc(out, func(a, b slice.Trial) int { return rank(sweep, a) - rank(sweep, b) })
	return out
}

func rank(sweep *slice.Sweep, t slice.Trial) int {
	switch t.Pose {
	case slice.Pose{}:
		return 0
	case sweep.Best.Pose:
		return 1
	default:
		return 2
	}
}

// curves draws the layers' areas as supplied, and those of the recommended pose
// where it is another, as a file.
func curves(ctx context.Context, path string, m *mesh.Mesh, o slice.Options, sweep *slice.Sweep) ([]byte, error) {
	poses := []slice.Pose{{}}
	if sweep.Best.Pose != (slice.Pose{}) {
		poses = append(poses, sweep.Best.Pose)
	}
	var lines []draw.CurveLine
	for _, p := range poses {
		o.Pose = p
		l, err := slice.Cut(ctx, m, o)
		if err != nil {
			return nil, err
		}
		lines = append(lines, draw.CurveLine{Label: p.String() + ", " + words.Count(len(l.Areas), "layer", "layers"), Layer: l.Options.Layer, Areas: l.Areas})
	}
	return draw.Standalone(draw.Curve(lines, draw.CurveOptions{
		ID: "layers", Title: "Areas of the layers of " + filepath.Base(path), Description: sweep.Reason, WidthMM: 160, HeightMM: 80,
	})), nil
}
