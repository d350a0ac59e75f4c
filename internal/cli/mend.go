package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"cardback/internal/bench"
	"cardback/internal/infile"
	"cardback/internal/measure"
	"cardback/internal/mend"
	"cardback/internal/mesh"
	"cardback/internal/verdict"
	"cardback/internal/words"
)

// widestWithin is the most that corners may be moved by, in mm: what is wider apart
// is a hole to fill or a wall to draw, and no crack.
const widestWithin = 1

func mendCommand() *cobra.Command {
	var (
		out    string
		within length
		asJSON bool
	)
	cmd := &cobra.Command{
		Use:   "mend MESH --out FILE",
		Short: "Close cracks in a mesh and turn its shells the right way, into a new file",
		Long: `Mend writes a mended copy of a mesh and says what it did:

  triangles without area, and doubles of others, are left out;
  cracks are closed: corners along open edges that lie within a distance of each
  other become one, and sides are cut where corners of the other side lie on them;
  shells that are inside out are turned over, and the hollows in them with them.

The distance is 0.001 mm, or a ten-thousandth of the part where that is less;
--within sets another. Nothing is moved by more. Mend fills no hole, unites no
shells and takes away no crossings: what is left is said, and both files are
measured, so that you see which findings went and which stay.

The mesh that is read is never changed. The ending of --out says what is written,
.stl or .3mf. A file that is there is written over only if mend wrote it.
The exit code is 1 where a fault is left.`,
		Example: `  cardback mend torso.stl --out torso-mended.stl
  cardback mend torso.stl --within 0.01 --out mended.3mf
  cardback mend torso.stl --out mended.stl --json`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usageError{fmt.Errorf("mend takes one mesh file; found %d", len(args))}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if out == "" {
				return usageError{errors.New("mend needs --out, the file to write; the mesh that is read stays as it is")}
			}
			if cmd.Flags().Changed("within") && !(within > 0 && within <= widestWithin) {
				return usageError{fmt.Errorf("--within %s is out of range; expected a distance above 0 and up to %d mm, such as 0.01", within.String(), widestWithin)}
			}
			to, err := newOutFile("--out", out, meshFile, args[0])
			if err != nil {
				return err
			}
			defer spareMemory()()
			v, faults, err := mendOne(cmd, args[0], to, float64(within))
			if err != nil {
				return err
			}
			if asJSON {
				enc := json.NewEncoder(cmd.OutOrStdout())
				enc.SetIndent("", "  ")
				enc.SetEscapeHTML(false)
				if err := enc.Encode(v); err != nil {
					return err
				}
			} else {
				mendTable(cmd.OutOrStdout(), v)
			}
			if faults > 0 {
				fmt.Fprintf(cmd.ErrOrStderr(), "%s is written, and still has %s\n", out, words.Count(faults, "fault", "faults"))
				return errInput
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.StringVar(&out, "out", "", "write the mended mesh to `FILE`, .stl or .3mf")
	f.Var(&within, "within", "close cracks up to this wide")
	f.BoolVar(&asJSON, "json", false, "print what was done as JSON")
	return cmd
}

// mended is the --json object. Lengths are mm.
type mended struct {
	Path    string      `json:"path"`
	Out     string      `json:"out"`
	Within  float64     `json:"within_mm"`
	Changed bool        `json:"changed"`
	Did     mendedDid   `json:"did"`
	Left    mendedLeft  `json:"left"`
	Before  mendedState `json:"before"`
	After   mendedState `json:"after"` // of the file as written
}

type mendedDid struct {
	Repeated  int     `json:"triangles_with_a_corner_twice_left_out"`
	NoArea    int     `json:"triangles_without_area_left_out"`
	Doubled   int     `json:"doubled_triangles_left_out"`
	Backs     int     `json:"pairs_back_to_back_left_out"`
	Joined    int     `json:"corners_joined"`
	Cut       int     `json:"sides_cut"`
	Flattened int     `json:"narrow_triangles_left_out"`
	Farthest  float64 `json:"farthest_mm"` // the most that anything moved
	Turned    int     `json:"triangles_turned"`
	Shells    int     `json:"shells_turned"`
}

type mendedLeft struct {
	OpenEdges  int  `json:"open_edges"`
	NoArea     int  `json:"triangles_without_area"`
	OneSided   int  `json:"one_sided_surfaces"`
	Facing     int  `json:"edges_facing_opposite_ways"`
	NotAllSeen bool `json:"cracks_not_looked_for"` // the work that is allowed was spent
}

type mendedState struct {
	Fingerprint string            `json:"fingerprint"`
	Triangles   int               `json:"triangles"`
	Shells      int               `json:"shells"`
	Closed      bool              `json:"closed"`     // without cracks
	OpenEdges   int               `json:"open_edges"` // of the file
	Volume      float64           `json:"volume_mm3"`
	Findings    []measure.Finding `json:"findings"` // never null
}

func newMendedState(r *measure.Report) mendedState {
	s := mendedState{r.Fingerprint, r.Triangles, r.Shells, r.Closed, r.OpenEdges, r.Volume, append([]measure.Finding{}, verdict.InProcesses(r.Findings, bench.Shipped().Processes())...)}
	if r.Closing != nil {
		s.Closed, s.OpenEdges = false, r.Closing.OpenEdges
	}
	return s
}

// mendOne mends a file into another, and counts the faults that are left. Both are
// measured; the mended one as it is read back.
func mendOne(cmd *cobra.Command, path string, to *outFile, within float64) (mended, int, error) {
	ctx := cmd.Context()
	on := newStatus(cmd.ErrOrStderr())
	defer on.done()
	on.file(0, 1, path)
	on.step("reading")
	m, _, err := mesh.ReadFile(ctx, path)
	if err != nil {
		if !errors.As(err, new(*mesh.Error)) { // which begins with the path
			err = fmt.Errorf("%s: %w", path, infile.Cause(err))
		}
		return mended{}, 0, err
	}
	measured := func(what string, m *mesh.Mesh) (*measure.Report, error) {
		on.step("measuring " + what)
		r, err := measure.Measure(measure.WithSteps(ctx, on.step), m)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		return r, nil
	}
	before, err := measured("the mesh as it is", m)
	if err != nil {
		return mended{}, 0, err
	}
	if within == 0 {
		within = mend.Within(m)
	}
	stl := strings.EqualFold(filepath.Ext(to.path), ".stl")
	if stl {
		m = mend.Rounded(m)
	}
	on.step("mending")
	fixed, did, err := mend.Mend(ctx, m, within)
	if err != nil {
		return mended{}, 0, err
	}
	if len(fixed.Triangles) == 0 {
		return mended{}, 0, fmt.Errorf("%s: nothing would be left of it: its triangles have no area, or cancel each other; nothing was written", path)
	}
	data, err := encoded(fixed, stl, path)
	if err != nil {
		return mended{}, 0, fmt.Errorf("%s: %w", path, err)
	}
	back, _, err := mesh.Read(ctx, bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return mended{}, 0, fmt.Errorf("%s: the mended mesh cannot be read back: %w", path, err)
	}
	after, err := measured("the mended mesh", back)
	if err != nil {
		return mended{}, 0, err
	}
	on.step("writing")
	if err := to.write(data); err != nil {
		return mended{}, 0, err
	}
	faults := 0
	for _, f := range after.Findings {
		if f.Level == measure.Fault {
			faults++
		}
	}
	return mended{
		Path: path, Out: to.path, Within: within, Changed: did.Changed(),
		Did:    mendedDid{did.Repeated, did.NoArea, did.Doubled, did.Backs, did.Joined, did.Cut, did.Flattened, did.Farthest, did.Turned, did.Shells},
		Left:   mendedLeft{did.OpenLeft, did.NoAreaIn, did.OneSided, did.Facing, did.Unwelded},
		Before: newMendedState(before), After: newMendedState(after),
	}, faults, nil
}

// encoded is a mesh in the bytes of a file of this program's.
func encoded(m *mesh.Mesh, stl bool, path string) ([]byte, error) {
	var out bytes.Buffer
	if stl {
		err := mesh.WriteSTL(&out, m, writtenBy+" mend")
		return out.Bytes(), err
	}
	name := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	err := mesh.Write3MF(&out, []mesh.Object3MF{{Name: name, Mesh: m}}, []mesh.Metadata{{Name: "Application", Value: writtenBy}})
	return out.Bytes(), err
}

func mendTable(w io.Writer, v mended) {
	fmt.Fprintf(w, "%s\n", v.Path)
	s := sheet{w}
	label := "mended"
	did := func(n int, one, many string, args ...any) {
		if n > 0 {
			text := fmt.Sprintf("%d "+many, append([]any{n}, args...)...)
			if n == 1 {
				text = fmt.Sprintf("1 "+one, args...)
			}
			s.row(label, "%s", text)
			label = ""
		}
	}
	did(v.Did.Repeated, "triangle with a corner given twice left out", "triangles with a corner given twice left out")
	did(v.Did.NoArea, "triangle without area left out", "triangles without area left out")
	did(v.Did.Doubled, "double of another triangle left out", "doubles of other triangles left out")
	did(v.Did.Backs, "pair of triangles back to back left out", "pairs of triangles back to back left out")
	did(v.Did.Joined, "corner joined with another", "corners joined with others")
	did(v.Did.Cut, "side cut where a corner lies on it", "sides cut where corners lie on them")
	did(v.Did.Flattened, "triangle narrower than %s mm left out", "triangles narrower than %s mm left out", words.Slight(v.Within))
	did(v.Did.Turned, "triangle turned over", "triangles turned over")
	if !v.Changed {
		s.row(label, "nothing: the copy is the mesh as it was")
	} else if v.Did.Joined+v.Did.Cut+v.Did.Flattened > 0 {
		s.row("moved by", "up to %s mm, of the %s mm allowed", words.Slight(v.Did.Farthest), words.Slight(v.Within))
	}
	label = "not mended"
	did(v.Left.OpenEdges, "edge is still open: a hole, or a crack wider than %s mm", "edges are still open: holes, or cracks wider than %s mm", words.Slight(v.Within))
	did(v.Left.NoArea, "triangle without area stays: without it the surface would be open", "triangles without area stay: without them the surface would be open")
	did(v.Left.OneSided, "stretch of surface has one side alone, as a band with half a twist: no turning helps", "stretches of surface have one side alone, as a band with half a twist: no turning helps")
	did(v.Left.Facing, "edge has neighbours that face opposite ways", "edges have neighbours that face opposite ways")
	if v.Left.NotAllSeen {
		s.row(label, "cracks: so many edges lie by each other that looking for them was given up")
	}
	state := func(label string, m mendedState) {
		closed := "closed"
		switch {
		case m.OpenEdges > 0:
			closed = words.Count(m.OpenEdges, "open edge", "open edges")
		case !m.Closed:
			closed = "not closed"
		}
		s.row(label, "%s, %s, %s, %s mm³", words.Count(m.Triangles, "triangle", "triangles"), words.Count(m.Shells, "shell", "shells"), closed, words.Measure(m.Volume))
		if len(m.Findings) == 0 {
			s.row("", "nothing found")
		}
		findingRows(s, m.Findings)
	}
	state("before", v.Before)
	state("after", v.After)
	s.row("written", "%s", v.Out)
}
