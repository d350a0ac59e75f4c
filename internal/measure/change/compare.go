package change

import (
	"context"
	"math"

	"cardback/internal/mesh"
)

// Compare says how the new mesh differs from the old one. A mesh without triangles,
// which no file gives, is only ever unchanged or changed. The error is the context's.
func Compare(ctx context.Context, old, new *mesh.Mesh) (Change, error) {
	c := Change{Kind: Unchanged, Motion: Still}
	if len(old.Triangles) == 0 || len(new.Triangles) == 0 {
		if len(old.Triangles) != len(new.Triangles) {
			c.Kind = Changed
		}
		return c, ctx.Err()
	}
	o, err := newSurface(ctx, old)
	if err != nil {
		return c, err
	}
	c.Old, c.New = o.size, o.size
	if old.Fingerprint() == new.Fingerprint() {
		return c, ctx.Err()
	}
	n, err := newSurface(ctx, new)
	if err != nil {
		return c, err
	}
	c.New = n.size

	same, err := sameSurface(ctx, o, n)
	if same || err != nil {
		c.Kind = SameShape
		return c, err
	}
	motion, found, err := findMotion(ctx, o, n)
	if err != nil {
		return c, err
	}
	if found {
		c.Motion = motion
		switch {
		case motion.Scale != 1:
			c.Kind = Rescaled
		case motion.Mirrors():
			c.Kind = Mirrored
		default:
			c.Kind = Moved
		}
		return c, nil
	}
	c.Kind = Changed
	span := max(o.span, n.span)
	if c.OldToNew, err = directed(ctx, o, &n.target, span); err != nil {
		return c, err
	}
	c.NewToOld, err = directed(ctx, n, &o.target, span)
	return c, err
}

// sameSurface reports whether it is proved that two surfaces are the same, each way,
// and enclose the same volume: a surface turned inside out, or there twice over,
// is everywhere near and yet prints otherwise.
func sameSurface(ctx context.Context, a, b *surface) (bool, error) {
	limit := sameTo(a, b)
	p, q := a.mesh.Bounds(), b.mesh.Bounds()
	if p.Min.Sub(q.Min).Norm() > 2*limit || p.Max.Sub(q.Max).Norm() > 2*limit {
		return false, nil
	}
	// A surface that moves by at most limit sweeps at most limit times its area.
	if math.Abs(a.size.Volume-b.size.Volume) > float64(limit*(a.size.Area+b.size.Area)) {
		return false, nil
	}
	if ok, err := within(ctx, a, &b.target, limit); !ok || err != nil {
		return false, err
	}
	return within(ctx, b, &a.target, limit)
}
