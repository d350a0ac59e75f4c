package survey

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"cardback/internal/draw"
	"cardback/internal/fit/gauge"
	"cardback/internal/infile"
	"cardback/internal/measure/hull"
	"cardback/internal/measure/loose"
	"cardback/internal/measure/shadow"
	"cardback/internal/measure/stand"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/store"
)

// mostPieces bounds how many loose pieces of one mesh are tried in the gauge by
// themselves, the smallest first.
const mostPieces = 200

// InGauge is a mesh in the small-parts cylinder.
type InGauge struct {
	gauge.Result
	// Loose says that the answer is that of one of the mesh's Pieces, about At, and not of
	// all of it: it comes off the plate by itself.
	Loose  bool
	Pieces int
	At     mesh.Vec // the middle of that piece's bounds
}

// TryGauge tries a mesh in the small-parts cylinder, given its hull: all of it, and where
// that does not fit, each piece that comes apart from the rest, since a bead beside a
// block is a small part whatever the block. Where it is not decided which shells hang
// together, a shell that fits alone makes the answer undecided: the caution stays.
func TryGauge(ctx context.Context, extreme []mesh.Vec, load func() (*mesh.Mesh, error)) (InGauge, error) {
	out := InGauge{Result: gauge.Decide(ctx, inOrder(extreme)), Pieces: 1}
	if out.Verdict == gauge.Inside || len(extreme) == 0 || load == nil || ctx.Err() != nil {
		return out, ctx.Err()
	}
	m, err := load()
	if err != nil {
		return out, err
	}
	t, err := tree.New(ctx, m)
	if err != nil {
		return out, err
	}
	pieces, err := loose.Of(ctx, t)
	if err != nil {
		return out, err
	}
	if out.Pieces = len(pieces.All); out.Pieces < 2 {
		return out, nil
	}
	for i, p := range pieces.All {
		if i == mostPieces {
			if out.Verdict == gauge.Outside {
				out.Result = undecided(fmt.Sprintf("Of its %d loose pieces only the %d smallest were tried.", out.Pieces, mostPieces))
			}
			break
		}
		h, err := hull.Of(ctx, part(m, p.Triangles))
		if err != nil {
			return out, err
		}
		g := gauge.Decide(ctx, inOrder(h.Vertices))
		if err := ctx.Err(); err != nil {
			return out, err
		}
		switch {
		case g.Verdict == gauge.Outside:
			if !out.Loose {
				out.Result = g // what keeps a piece out keeps the whole out
			}
			continue
		case pieces.Undecided && g.Verdict == gauge.Inside:
			g = undecided("Which of its shells hang together could not be decided; one of them fits by itself.")
		}
		if out.Loose && g.Verdict != gauge.Inside {
			continue // the first of those that are undecided
		}
		out = InGauge{Result: g, Loose: true, Pieces: out.Pieces, At: p.Bounds.Centre()}
		if g.Verdict == gauge.Inside {
			break
		}
	}
	return out, nil
}

func undecided(reason string) gauge.Result {
	return gauge.Result{Verdict: gauge.Undecided, Rotation: [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}, Reason: reason}
}

// part is a mesh of some of m's triangles and of the corners that they have.
func part(m *mesh.Mesh, triangles []int32) *mesh.Mesh {
	out := &mesh.Mesh{}
	number := map[uint32]uint32{}
	for _, i := range triangles {
		t := m.Triangles[i]
		for k, v := range t {
			n, seen := number[v]
			if !seen {
				n = uint32(len(out.Vertices))
				number[v] = n
				out.Vertices = append(out.Vertices, m.Vertices[v])
			}
			t[k] = n
		}
		out.Triangles = append(out.Triangles, t)
	}
	return out
}

// gauge tries the part in the small-parts cylinder. The answer is kept by the
// fingerprint.
func (cs *CutSurvey) gauge(ctx context.Context, load func() (*mesh.Mesh, error), st *store.Store) error {
	shape := cs.Report.Fingerprint
	var got gauged
	if st.Get(&got, "gauge", shape) {
		cs.Gauge, cs.Loose = got.Gauge, got.Loose
		return nil
	}
	if cs.Report.Shells < 2 {
		load = nil
	}
	in, err := TryGauge(ctx, cs.Report.Hull, load)
	if err != nil {
		return err
	}
	cs.Gauge, cs.Loose = in.Result, in.Loose
	return st.Put(gauged{cs.Gauge, cs.Loose}, "gauge", shape)
}

// gauged is what the store keeps of a shape in the gauge.
type gauged struct {
	Gauge gauge.Result
	Loose bool
}

// inOrder is the hull in an order of its own, so that the answer is that of the
// shape.
func inOrder(hull []mesh.Vec) []mesh.Vec {
	out := slices.Clone(hull)
	slices.SortFunc(out, func(a, b mesh.Vec) int {
		return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y), cmp.Compare(a.Z, b.Z))
	})
	return out
}

// standing is what the store keeps of how a mesh stands; Encloses is false for one
// that has no centre of mass.
type standing struct {
	Encloses bool
	Report   stand.Report
}

// standingOf looks how the mesh of a file stands, as it lies in the file. It is nil for
// a mesh that encloses nothing.
func standingOf(ctx context.Context, sha string, load func() (*mesh.Mesh, error), st *store.Store) (*stand.Report, error) {
	var got standing
	if !st.Get(&got, "stands", sha) {
		m, err := load()
		if err != nil {
			return nil, err
		}
		got.Report, err = stand.Of(ctx, m)
		if err != nil && !errors.Is(err, stand.ErrOpen) {
			return nil, err
		}
		got.Encloses = err == nil
		if err := st.Put(got, "stands", sha); err != nil {
			return nil, err
		}
	}
	if !got.Encloses {
		return nil, nil
	}
	return &got.Report, nil
}

// posed surveys the mesh of a release's standing pose: how it stands and what it
// looks like, and no more, since nobody prints it.
func posed(ctx context.Context, c release.Cut, st *store.Store) (*CutSurvey, error) {
	cs, read := opened(c, st)
	if cs.Err != nil {
		return cs, nil
	}
	defer read.file.Close()
	var err error
	load := func() (*mesh.Mesh, error) { return read.surface(ctx) }
	if cs.Stands, err = standingOf(ctx, cs.SHA256, load, st); err == nil {
		cs.Drawing, err = drawingsOf(ctx, cs.SHA256, load, st)
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	cs.Err = infile.Cause(err)
	return cs, nil
}

// drawingsOf draws the mesh of a file.
func drawingsOf(ctx context.Context, sha string, load func() (*mesh.Mesh, error), st *store.Store) (out [3]*draw.Drawing, err error) {
	if st.Get(&out, "drawn", sha) {
		return out, nil
	}
	m, err := load()
	if err != nil {
		return out, err
	}
	for _, v := range shadow.Views {
		if out[v], err = draw.Draw(ctx, m, v); err != nil {
			return out, err
		}
	}
	return out, st.Put(out, "drawn", sha)
}
