package measure

import (
	"context"

	"cardback/internal/measure/bore"
	"cardback/internal/measure/sound"
	"cardback/internal/measure/thin"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// inspect finds what has a place: crossings, shells in each other, cracks, thin
// stretches, holes and pins. All but the cracks need the tree, which goes when it
// is done.
func inspect(ctx context.Context, m *mesh.Mesh, top *mesh.Topology, r *Report) error {
	if len(m.Triangles) == 0 {
		return ctx.Err()
	}
	t, err := tree.New(ctx, m)
	if err != nil {
		return err
	}
	if err := inspectSurface(ctx, t, top, r); err != nil {
		return err
	}
	step(ctx, "looking for thin places")
	if r.Thin, err = thin.Measure(ctx, t); err != nil {
		return err
	}
	step(ctx, "looking for holes")
	r.Bores, err = bore.Find(ctx, t)
	return err
}

// inspectSurface looks for what is wrong with the surface. It is the last to ask
// for the triangles' shells, and lets them go.
func inspectSurface(ctx context.Context, t *tree.Tree, top *mesh.Topology, r *Report) (err error) {
	step(ctx, "looking for surfaces that cross")
	if r.Crossings, err = sound.Cross(ctx, t, top.ShellOf); err != nil {
		return err
	}
	if r.Nesting, err = sound.Nest(ctx, t, *top, r.Crossings); err != nil {
		return err
	}
	top.ShellOf = nil
	if r.OpenEdges > 0 {
		if r.Cracks, err = sound.Crack(ctx, t.Mesh); err != nil {
			return err
		}
	}
	if r.OpenEdges+r.NonManifoldEdges+top.InconsistentEdges+r.DegenerateTriangles+r.DuplicateTriangles > 0 {
		if r.Spots, err = sound.Spot(ctx, t.Mesh); err != nil {
			return err
		}
	}
	return nil
}
