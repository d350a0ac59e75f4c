package change

import (
	"context"
	"math"

	"cardback/internal/mesh"
)

// Compare says how the new mesh differs from the old one. Surfaces that are nowhere
// farther apart than tolerance, in mm, are nearly the same; with a tolerance of zero
// nothing is. A mesh without triangles, which no file gives, is only ever unchanged or
// changed. The error is the context's.
func Compare(ctx context.Context, old, new *mesh.Mesh, tolerance float64) (Change, error) {
	c := Change{Kind: Unchanged, Motion: Still, Tolerance: tolerance}
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

	limit := sameTo(o, n)
	same, err := sameSurface(ctx, o, n, limit)
	if same || err != nil {
		c.Kind = SameShape
		return c, err
	}
	motion, found, err := findMotion(ctx, o, n, limit)
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
		if c.Kind == Moved || float64(math.Abs(motion.Scale-1)*o.span) > tolerance {
			return c, nil
		}
	}
	// What is mirrored, or of another size, may still be nearly the same.
	apart := Change{Kind: Changed, Motion: Still, Old: c.Old, New: c.New, Tolerance: tolerance}
	if err := apart.measure(ctx, o, n); err != nil {
		return c, err
	}
	if err := apart.judge(ctx, o, n, limit); err != nil || found && apart.Kind != Nearly {
		return c, err
	}
	return apart, nil
}

// measure sets the distances between two surfaces, each way.
func (c *Change) measure(ctx context.Context, o, n *surface) (err error) {
	span := max(o.span, n.span)
	if c.OldToNew, err = directed(ctx, o, &n.target, span); err != nil {
		return err
	}
	c.NewToOld, err = directed(ctx, n, &o.target, span)
	return err
}

// judge says what distances between surfaces that are not the same come to: whether
// they are within the printing tolerance, here or once the part is moved back, or else
// what stands in the way where it is not the distance.
func (c *Change) judge(ctx context.Context, o, n *surface, limit float64) error {
	tolerance := max(c.Tolerance, limit)
	largest := max(c.OldToNew.Largest, c.NewToOld.Largest)
	if largest > tolerance {
		return c.movedNearly(ctx, o, n, limit)
	}
	cause, err := c.within(ctx, o, n, tolerance)
	if err != nil {
		return err
	}
	switch c.Cause = cause; {
	case cause == "" && c.Tolerance >= limit:
		c.Kind = Nearly
	case cause == "":
		c.Cause = ofDistance
	}
	return nil
}

// within proves that measured surfaces are nowhere farther apart than tolerance, and of
// the same solid but for that; else it gives the cause.
func (c *Change) within(ctx context.Context, o, n *surface, tolerance float64) (Cause, error) {
	for _, way := range [2]struct {
		d    *Distance
		from *surface
		to   *surface
	}{{&c.OldToNew, o, n}, {&c.NewToOld, n, o}} {
		if way.d.AtMost <= tolerance {
			continue
		}
		ok, err := within(ctx, way.from, &way.to.target, tolerance)
		if err != nil {
			return "", err
		}
		if !ok {
			return OfBudget, nil
		}
		way.d.AtMost = tolerance
	}
	return sameSolid(ctx, o, n, tolerance)
}

// movedNearly looks whether the part, moved back, is within the printing tolerance of
// what it was.
func (c *Change) movedNearly(ctx context.Context, o, n *surface, limit float64) error {
	if c.Tolerance <= limit {
		return nil
	}
	motion, found, err := findMotion(ctx, o, n, c.Tolerance)
	if !found || err != nil || motion.Mirrors() || motion.Scale != 1 {
		return err
	}
	moved, err := newSurface(ctx, motion.image(o.mesh))
	if err != nil {
		return err
	}
	nearly := *c
	nearly.Kind, nearly.Motion = Nearly, motion
	if err := nearly.measure(ctx, moved, n); err != nil {
		return err
	}
	// What the proof of the motion has shown, where it is less than was shown again.
	nearly.OldToNew.AtMost = max(nearly.OldToNew.Largest, min(nearly.OldToNew.AtMost, c.Tolerance))
	nearly.NewToOld.AtMost = max(nearly.NewToOld.Largest, min(nearly.NewToOld.AtMost, c.Tolerance))
	*c = nearly
	return nil
}

// sameSurface reports whether it is proved that two surfaces are the same, each way,
// and of the same solid: a surface turned inside out, or there twice over, is
// everywhere near and yet prints otherwise.
func sameSurface(ctx context.Context, a, b *surface, limit float64) (bool, error) {
	p, q := a.mesh.Bounds(), b.mesh.Bounds()
	if p.Min.Sub(q.Min).Norm() > 2*limit || p.Max.Sub(q.Max).Norm() > 2*limit || !sameVolume(a, b, limit) {
		return false, nil
	}
	if ok, err := within(ctx, a, &b.target, limit); !ok || err != nil {
		return false, err
	}
	if ok, err := within(ctx, b, &a.target, limit); !ok || err != nil {
		return false, err
	}
	cause, err := sameSolid(ctx, a, b, limit)
	return cause == "", err
}

// sameSolid gives the cause where surfaces that are near each other are of different
// solids, and nothing where they are of one.
func sameSolid(ctx context.Context, a, b *surface, limit float64) (Cause, error) {
	if !sameVolume(a, b, limit) {
		return OfVolume, ctx.Err()
	}
	ok, err := sameFacing(ctx, a, b, limit)
	if err != nil || ok {
		return "", err
	}
	return OfFacing, nil
}

// sameVolume reports whether volumes differ by no more than a surface sweeps that moves
// by at most limit: limit times its area.
func sameVolume(a, b *surface, limit float64) bool {
	return math.Abs(a.size.Volume-b.size.Volume) <= float64(limit*(a.size.Area+b.size.Area))
}
