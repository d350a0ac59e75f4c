package bore

import (
	"cmp"
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
)

// hoseBend is the cosine of the least angle, 0.5°, between the axes of two
// neighbouring facets of a hose; hoseLength, in diameters, is how long those are
// at most. Longer ones are straight stretches of a bent pipe.
const hoseBend, hoseLength = 0.99996192306, 2

// dropHoses leaves out what is no cylinder of its own but a facet of a bent one,
// such as a spring or a curved tentacle: short walls that go on at an end as thick
// as they are, but on an axis that is bent against theirs. The one they go on in is
// among the walls too, and goes as well if it is as short.
func (f *finder) dropHoses(ctx context.Context) error {
	type piece struct {
		w      *wall
		middle mesh.Vec
		half   float64
	}
	var pieces []piece
	for i := range f.walls {
		w := &f.walls[i]
		lo, hi := w.ends[0].mean, w.ends[1].mean
		if half := (hi - lo) / 2; half <= hoseLength*w.radius {
			pieces = append(pieces, piece{w, w.place((lo + hi) / 2), half})
		}
	}
	slices.SortFunc(pieces, func(a, b piece) int { return cmp.Compare(a.middle.X, b.middle.X) })
	widest := 0.0
	for i := range pieces {
		widest = max(widest, pieces[i].half)
	}
	hose := map[*wall]bool{}
	for i := range pieces {
		if i%64 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		a := &pieces[i]
		for j := i + 1; j < len(pieces) && pieces[j].middle.X-a.middle.X <= 2.5*(a.half+widest) && f.spend(1); j++ {
			b := &pieces[j]
			// Between the middles lie both halves, and at most one and a half times
			// as much of facets that were not found; and it leads along both axes, to 25°.
			d := b.middle.Sub(a.middle)
			l := d.Norm()
			if a.w.concave == b.w.concave && l <= 2.5*(a.half+b.half) && math.Abs(a.w.radius-b.w.radius) <= 4*roundness*a.w.radius &&
				math.Abs(a.w.axis.Dot(b.w.axis)) < hoseBend && math.Min(math.Abs(d.Dot(a.w.axis)), math.Abs(d.Dot(b.w.axis))) >= 0.9*l {
				hose[a.w], hose[b.w] = true, true
			}
		}
	}
	kept := f.walls[:0]
	for i := range f.walls {
		if !hose[&f.walls[i]] {
			kept = append(kept, f.walls[i])
		}
	}
	f.walls = kept
	return nil
}
