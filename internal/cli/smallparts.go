package cli

import (
	"context"
	"fmt"
	"io"

	"cardback/internal/fit/gauge"
	"cardback/internal/literal"
	"cardback/internal/measure/hull"
	"cardback/internal/mesh"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// gaugeAnswer is the --json object of a mesh in the small-parts cylinder.
type gaugeAnswer struct {
	Path    string `json:"path"`
	Verdict string `json:"verdict"`
	// Pieces is how many pieces the mesh comes apart into. Loose says that the answer is
	// that of one of them by itself, the one about LooseAt.
	Pieces    int         `json:"pieces"`
	Loose     bool        `json:"loose"`
	LooseAt   *[3]float64 `json:"loose_at_mm,omitempty"`
	Rotation  *[9]float64 `json:"rotation,omitempty"` // row-major; then Offset is added
	Offset    *[3]float64 `json:"offset_mm,omitempty"`
	Spare     *float64    `json:"spare_mm,omitempty"` // free all round
	Tolerance float64     `json:"tolerance_mm"`       // of a proof that it does not fit
	Reason    string      `json:"reason"`
}

func gaugeOne(ctx context.Context, path string, on *status) (answer, error) {
	on.step("reading")
	m, _, err := mesh.ReadFile(ctx, path)
	if err != nil {
		return answer{}, err
	}
	h, err := hull.Of(ctx, m)
	if err != nil {
		return answer{}, err
	}
	on.step("trying the small-parts cylinder")
	res, err := survey.TryGauge(ctx, h.Vertices, func() (*mesh.Mesh, error) { return m, nil })
	if err != nil {
		return answer{}, fmt.Errorf("%s: %w", path, err)
	}
	if err := ctx.Err(); err != nil {
		return answer{}, fmt.Errorf("%s: %w", path, err)
	}
	a := gaugeAnswer{Path: path, Verdict: string(res.Verdict), Tolerance: res.Tolerance, Reason: res.Reason, Pieces: res.Pieces, Loose: res.Loose}
	if res.Loose {
		a.LooseAt = &[3]float64{res.At.X, res.At.Y, res.At.Z}
	}
	if res.Verdict == gauge.Inside {
		a.Rotation, a.Offset, a.Spare = &res.Rotation, &[3]float64{res.Offset.X, res.Offset.Y, res.Offset.Z}, &res.Clearance
	}
	return answer{a, func(w io.Writer) { gaugeTable(w, path, res) }}, nil
}

func gaugeTable(w io.Writer, path string, res survey.InGauge) {
	fmt.Fprintf(w, "%s in the small-parts cylinder of 16 CFR 1501.4\n", literal.Line(path))
	s := sheet{w}
	s.row("verdict", "%s", res.Verdict)
	s.row("why", "%s", res.Reason)
	if res.Pieces > 1 {
		s.row("pieces", "the mesh comes apart into %d", res.Pieces)
	}
	if res.Loose {
		s.row("which", "this is one of them by itself, the one about %s; not all of the mesh", words.Place(res.At.X, res.At.Y, res.At.Z))
	}
	if res.Verdict == gauge.Inside {
		matrix(s, "rotation", res.Rotation)
		s.line("then moved", fmt.Sprintf("% .6f % .6f % .6f", res.Offset.X, res.Offset.Y, res.Offset.Z))
		s.row("", "where the rim lies at z = 0, its middle at the origin, and the deep side at +x")
	}
	s.row("mind", "this is a matter of size: what does not fit is not safe for that")
}
