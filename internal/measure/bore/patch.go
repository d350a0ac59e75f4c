package bore

import (
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
)

const (
	// patch is how many triangles a search on an irregular wall begins with.
	patch = 40

	// widestPatch is how many it is widened to where they turn too little: 1280 facets of
	// two triangles, which are a quarter of a wall of 5,000 sides.
	widestPatch = 2560

	// A triangle with three corners on a cylinder leans against the axis by the
	// sagitta of its turn over its height: for one as high as wide and a turn of
	// 2π/16, 0.05; irregular is the lean of one a tenth as high.
	irregular = 0.5

	// Corners of an irregular wall that lie on chords are within those of a 14-gon;
	// their root mean square is half a percent of the radius at most.
	chord, uneven = 0.025, 0.005

	// A wall that was cut ends at an edge. Without regular facets, a surface that
	// leaves the cylinder little by little cannot be told from a sculpted limb.
	cutEdge = 25 * math.Pi / 180
)

// patches searches for walls of irregular triangles in what is left: from patches
// whose normals lie nearly in a plane.
func (f *finder) patches(ctx context.Context, lo, hi int32) {
	for i := range f.trials {
		if f.trials[i] != taken {
			f.trials[i] = 0
		}
	}
	for i := lo; i < hi; i++ {
		if i%64 == 0 && ctx.Err() != nil || f.spent() {
			return
		}
		if f.trials[i] != 0 || !f.sure(i) {
			continue
		}
		for _, sign := range [2]float64{1, -1} {
			if f.trials[i] != taken {
				f.tryPatch(i, sign)
			}
		}
	}
}

func (f *finder) tryPatch(first int32, sign float64) {
	var axis mesh.Vec
	var flat, ok bool
	// Where a wall has many sides, each a strip from end to end, a patch turns one way,
	// but too little to tell; a larger one does.
	for most := patch; most <= widestPatch; most *= 4 {
		f.growPatch(first, sign, most)
		if len(f.region) < patch/2 {
			f.fail("small patch")
			return
		}
		var bent bool
		if axis, flat, bent, ok = f.patchAxis(); ok || !flat || !bent || len(f.region) < most || !f.ofStrips(axis) {
			break
		}
	}
	if !ok || !flat {
		f.fail("patch is no cylinder")
		return
	}
	tried := slices.Clone(f.region)
	if f.tryAxis(first, axis, sign) || f.trials[first] == taken {
		return
	}
	f.region = tried
	c, ok := fitCircle(f.allCorners(), axis)
	if !ok {
		f.fail("patch has no circle")
		return
	}
	c, rms, _, ok := fitRoughly(f.near, c)
	if !ok || rms > uneven*c.radius+f.noise {
		f.fail("patch is not round")
		return
	}
	size := len(f.region)
	for range 8 {
		f.grow(first, c.axis, sign, irregular, &c, chord*c.radius+4*f.noise)
		if len(f.region) < patch/2 {
			f.fail("patch shrinks")
			return
		}
		better, r, _, ok := fitRoughly(f.allCorners(), c)
		if !ok || r > uneven*better.radius+f.noise {
			f.fail("patch grows uneven")
			return
		}
		c, rms = better, r
		if len(f.region) == size {
			break
		}
		size = len(f.region)
	}
	if angle, gap := f.covers(&c); angle < leastRound || gap > widestGap {
		f.fail("patch not closed")
		return
	}
	// If the wall turns out to be made of facets, its corners are those between
	// facets; else all are.
	if some := f.cornersOfRegion(c.axis, sign); len(some) >= fewest {
		if better, r, worst, ok := fitCylinder(some, c); ok && worst <= roundness*better.radius+4*f.noise {
			f.keep(wall{cylinder: better, sign: sign, rms: r, corners: slices.Clone(some)}, cutEdge)
			return
		}
	}
	c, rms, _, ok = fitCylinder(f.allCorners(), c)
	if !ok {
		f.fail("patch lost")
		return
	}
	f.keep(wall{cylinder: c, sign: sign, rms: rms, corners: slices.Clone(f.near)}, cutEdge)
}

// growPatch collects the triangles next to the first that bend the same way, up to most.
func (f *finder) growPatch(first int32, sign float64, most int) {
	f.mark++
	f.stamp[first] = f.mark
	f.region = append(f.region[:0], first<<1)
	for at := 0; at < len(f.region) && len(f.region) < most && f.spend(1); at++ {
		i, turned := f.region[at]>>1, f.region[at]&1
		n := f.normalOf(i)
		for k := range 3 {
			over := f.across[3*int(i)+k]
			if over < 0 {
				continue
			}
			j := over >> 1
			if f.stamp[j] == f.mark || f.trials[j] == taken || !f.sure(j) {
				continue
			}
			m := f.normalOf(j)
			if over&1 == 1 {
				m = m.Scale(-1)
			}
			if !f.follows(i, k, j, n, m, sign) {
				continue
			}
			f.stamp[j] = f.mark
			f.region = append(f.region, j<<1|(turned^over&1))
		}
	}
}

// patchAxis is axisOfRegion for a patch: flat says that the normals lie in a plane
// as those of a cylinder do, those along the axis turning by a fifth at most of
// what those about it do. bent says that they turn at all, by a ten-thousandth, and ok
// that they turn enough to tell the axis by.
func (f *finder) patchAxis() (axis mesh.Vec, flat, bent, ok bool) {
	m := f.normalMoments()
	axis, values := leastAxis(m)
	return axis, values[0] < 0.04*values[1], values[1] > 1e-8*values[2], values[1] > 0.002*values[2]
}

// ofStrips says whether the region is four times as long along the axis as across it,
// as a patch is whose triangles run from end to end of a wall.
func (f *finder) ofStrips(axis mesh.Vec) bool {
	u, v := frame(axis)
	c := cylinder{axis: axis, at: f.Vertices[f.Triangles[f.region[0]>>1][0]]}
	long, wide := 0.0, 0.0
	for _, e := range f.region {
		for _, id := range f.Triangles[e>>1] {
			t, x, y := c.across(f.Vertices[id], u, v)
			long, wide = max(long, math.Abs(t)), max(wide, math.Hypot(x, y))
		}
	}
	return long > 4*wide
}

// allCorners are the corners of the region's triangles, each once, in f.near.
func (f *finder) allCorners() []mesh.Vec {
	ids := make([]uint32, 0, 3*len(f.region))
	for _, e := range f.region {
		if f.sure(e >> 1) {
			t := f.Triangles[e>>1]
			ids = append(ids, t[0], t[1], t[2])
		}
	}
	slices.Sort(ids)
	f.near = f.near[:0]
	for _, v := range slices.Compact(ids) {
		f.near = append(f.near, f.Vertices[v])
	}
	return f.near
}
