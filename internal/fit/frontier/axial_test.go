package frontier

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit/fittest"
	"cardback/internal/fit/footprint"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
)

// leastRotation is x turned by the least rotation that brings v to w, unit vectors.
func leastRotation(v, w, x mesh.Vec) mesh.Vec {
	axis := v.Cross(w)
	// Rodrigues' formula with sin = |axis| and cos = v·w.
	return x.Scale(v.Dot(w)).Add(axis.Cross(x)).Add(axis.Scale(axis.Dot(x) / (1 + v.Dot(w))))
}

// within is a random orientation of r: the images of the part's three axes on the
// plate, with the longest chord's last.
func (r *rolled) within(rng *rand.Rand) (images [3]mesh.Vec) {
	var w mesh.Vec
	for _, k := range r.ends {
		w = w.Add(k.Scale(rng.ExpFloat64()))
	}
	w = w.Scale(1 / w.Norm())
	sin, cos := math.Sincos(r.angle + r.half*(2*rng.Float64()-1))
	a := r.p.Scale(cos).Add(r.q.Scale(sin))
	b := r.q.Scale(cos).Sub(r.p.Scale(sin))
	if r.mirrored {
		b = b.Scale(-1)
	}
	return [3]mesh.Vec{leastRotation(r.v, w, a), leastRotation(r.v, w, b), w}
}

// somewhere is a random cell of orientations.
func somewhere(rng *rand.Rand) *rolled {
	c := posture.Cell{Face: 2, S: math.Pi / 8, T: math.Pi / 8, Half: math.Pi / 8}
	for range 2 + rng.IntN(3) {
		c = c.Quarters()[rng.IntN(4)]
	}
	p := fittest.RandomRotation(rng)
	return &rolled{patch: newPatch(c, mesh.Vec{X: p[0], Y: p[1], Z: p[2]}), mirrored: rng.IntN(2) == 0,
		angle: 7 * rng.Float64(), half: math.Exp(-3 * rng.Float64()), reaches: &reaches{angle: math.Inf(1)}}
}

// No orientation of a cell has extents below the bound, whatever chords it is made
// of; and the bound is that of the middle where the cell is small.
func TestNoOrientationOfACellIsBelowItsBound(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 1))
	for range 3000 {
		pts := make([]mesh.Vec, 4+rng.IntN(12))
		long := math.Exp(3 * rng.Float64())
		for i := range pts {
			pts[i] = mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: long * rng.NormFloat64()}
		}
		s := axialSearch{points: pts}
		r := somewhere(rng)
		for i := range 3 {
			r.along[i], r.against[i] = pts, pts
		}
		m := r.rows()
		s.look(r, m)
		if rng.IntN(3) == 0 { // chords of an orientation nearby
			other := *r
			other.angle += rng.NormFloat64()
			s.look(&other, other.rows())
			r.chords = other.chords
		}
		l, _, _ := s.least(r, m)
		for range 20 {
			images := r.within(rng)
			turned := make([]mesh.Vec, len(pts))
			for i, p := range pts {
				turned[i] = images[0].Scale(p.X).Add(images[1].Scale(p.Y)).Add(images[2].Scale(p.Z))
			}
			e := footprint.Extents(turned)
			for i, x := range [3]float64{e.X, e.Y, e.Z} {
				require.GreaterOrEqual(t, x, l[i]-1e-9*long)
			}
		}
		r.patch = newPatch(posture.Cell{Face: 2, S: r.S, T: r.T, Half: 1e-6}, r.p)
		r.half = 1e-6
		s.look(r, m)
		l, _, _ = s.least(r, m)
		for i := range l {
			require.InDelta(t, r.chords[i].Dot(m[i]), l[i], 1e-4*long)
		}
	}
}

// Every orientation of a cell is one of the cells that it is split into, and every
// point that reaches farthest in a cell stays among those looked at.
func TestSplitCellsLeaveNothingOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 2))
	for range 3000 {
		r := somewhere(rng)
		pts := make([]mesh.Vec, 40)
		for i := range pts {
			pts[i] = mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: 3 * rng.NormFloat64()}
		}
		for i := range 3 {
			r.along[i], r.against[i] = pts, pts
		}
		s := axialSearch{points: pts}
		s.look(r, r.rows())
		parts := r.split(nil, rng.IntN(2) == 0)
		images := r.within(rng)
		if images[2].X > images[2].Y { // the other half of a patch on the diagonal
			continue
		}
		found := false
		for _, k := range parts {
			// Brought back to the middle of the part's patch.
			a := leastRotation(images[2], k.v, images[0])
			angle := math.Atan2(a.Dot(k.q), a.Dot(k.p))
			found = found || holds(k.Cell, images[2]) && math.Abs(math.Remainder(angle-k.angle, 2*math.Pi)) <= k.half+1e-9
			m := k.rows()
			for i, row := range m {
				require.Equal(t, farthestAlong(pts, row), farthestAlong(k.along[i], row))
				require.Equal(t, farthestAlong(pts, row.Scale(-1)), farthestAlong(k.against[i], row.Scale(-1)))
			}
		}
		require.True(t, found)
	}
}

// holds reports whether the direction lies in the cell.
func holds(c posture.Cell, v mesh.Vec) bool {
	s, t := math.Atan2(v.X, v.Z), math.Atan2(v.Y, v.Z)
	return max(math.Abs(s-c.S), math.Abs(t-c.T)) <= c.Half+1e-9
}
