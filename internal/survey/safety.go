package survey

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"cardback/internal/draw"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/measure/sound"
	"cardback/internal/measure/stand"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/store"
)

// mostPieces bounds how many loose pieces of one mesh are tried in the gauge by
// themselves, the smallest first.
const mostPieces = 40

// gauge tries the part in the small-parts cylinder. The answer is kept by the
// fingerprint. A mesh of several pieces that do not meet prints as several parts, of which
// each may be a small one: where they do not fit together, each is tried.
func (cs *CutSurvey) gauge(ctx context.Context, load func() (*mesh.Mesh, error), st *store.Store) error {
	shape := cs.Report.Fingerprint
	var got gauged
	if st.Get(&got, "gauge", shape) {
		cs.Gauge, cs.Loose = got.Gauge, got.Loose
		return nil
	}
	cs.Gauge = fit.SmallPart(ctx, inOrder(cs.Report.Hull))
	if cs.Gauge.Verdict == fit.NotInGauge && apart(cs.Report) {
		m, err := load()
		if err != nil {
			return err
		}
		hulls, err := pieces(ctx, m, cs.Report)
		if err != nil {
			return err
		}
		for i, h := range hulls {
			if i == mostPieces {
				break
			}
			if g := fit.SmallPart(ctx, h); g.Verdict != fit.NotInGauge {
				cs.Gauge, cs.Loose = g, true
				break
			}
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return st.Put(gauged{cs.Gauge, cs.Loose}, "gauge", shape)
}

// gauged is what the store keeps of a shape in the gauge.
type gauged struct {
	Gauge fit.Gauged
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

// apart reports whether a mesh is surely in several pieces: closed shells that
// nowhere meet.
func apart(r *measure.Report) bool {
	return r.Shells > 1 && r.Closed && r.Crossings.Count == 0 && !r.Crossings.Partial && r.Nesting.CoincidentCount == 0
}

// pieces are the hulls of the shells that print by themselves: all but hollows
// and what is buried in another. The smallest come first, by the size of their bounds.
func pieces(ctx context.Context, m *mesh.Mesh, r *measure.Report) ([][]mesh.Vec, error) {
	not := map[int]bool{}
	for _, list := range [][]sound.Shell{r.Nesting.Cavities, r.Nesting.Buried, r.Nesting.Reversed, r.Nesting.Breaking} {
		for _, s := range list {
			not[s.Number] = true
		}
	}
	top := m.Topology()
	of := make([][][3]uint32, top.Shells)
	for i, t := range m.Triangles {
		if s := int(top.ShellOf[i]); s >= 0 && !not[s] {
			of[s] = append(of[s], t)
		}
	}
	var out [][]mesh.Vec
	for _, triangles := range of {
		if len(triangles) == 0 {
			continue
		}
		h, err := measure.Hull(ctx, &mesh.Mesh{Vertices: m.Vertices, Triangles: triangles})
		if err != nil {
			return nil, err
		}
		out = append(out, h)
	}
	size := func(h []mesh.Vec) float64 { return (&mesh.Mesh{Vertices: h}).Bounds().Size().Norm() }
	slices.SortStableFunc(out, func(a, b []mesh.Vec) int { return cmp.Compare(size(a), size(b)) })
	return out, nil
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
	cs, read := opened(c)
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
	cs.Err = withoutPath(err)
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
	for _, v := range measure.Views {
		if out[v], err = draw.Draw(ctx, m, v); err != nil {
			return out, err
		}
	}
	return out, st.Put(out, "drawn", sha)
}

// OnePiece returns the part of a release that is printed in one piece and
// nothing else: how its mesh stands is how the figure stands.
func OnePiece(r release.Release) (release.Part, bool) {
	if len(r.Parts) == 1 && r.Parts[0].Printed() == 1 {
		return r.Parts[0], true
	}
	return release.Part{}, false
}
