package bore

import (
	"math"
	"math/bits"
	"slices"

	"cardback/internal/measure/inside"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

const (
	// sharpest is the greatest bend between two facets of one wall: a heptagon's,
	// 360°/7, and rounding. A hexagon is a nut's or a key's, and no round hole.
	sharpest    = 52 * math.Pi / 180
	fewest      = 7
	cosSharpest = 0.6156614753256583

	// gentlest is the least bend at which a search begins: less than between the
	// facets of a 720-gon.
	gentlest = 0.4 * math.Pi / 180

	// tilt is by how much, in radians, a facet of a prism may lean against the
	// axis, beyond its doubt: 1.1°. Walls with the common draft of a degree and
	// more do not pass the test of the radius, whatever tilt is.
	tilt = 0.02

	// unsure is the doubt above which a triangle's normal says nothing. Such
	// slivers are passed over in growing, and not measured.
	unsure = 0.3

	// A wall's corners must lie within roundness of the radius from the fitted
	// cylinder, and 4 times the noise (4 deviations, were it normal and its
	// deviation the noise). 0.5 % is a tenth of a millimetre on 40 mm, and what a
	// 32-gon's flats are within: polygons with fewer sides do not pass when turned
	// corner to flat.
	roundness = 0.005

	// A hole goes round its axis: leastRound and more of it, with no gap above
	// widestGap. A clip or socket that is open at one side by more is no hole, for
	// a rod leaves it sideways.
	leastRound, widestGap = 300 * math.Pi / 180, 60 * math.Pi / 180

	// leastPart is what a part of a wall must cover to be put together with others:
	// more than a fillet between two faces at right angles.
	leastPart = 100 * math.Pi / 180

	// steepest is the lean of a triangle with all corners on the cylinder that still
	// counts as wall and not as a slanting floor: 44°.
	steepest = 0.7

	// A search that fails costs its triangles 1 if it was small, else 3; at their
	// limit no search begins at them any more. The limit is what keeps the time in
	// bounds: visits triangles in all may be looked at in vain, but each at least
	// for two large searches.
	visits, leastLimit, mostLimit = 600_000, 6, 60
	taken, inPart                 = 255, 254
)

// finder looks for walls, one after another.
type finder struct {
	*surface
	tree    *tree.Tree
	ruler   *inside.Ruler
	stamp   []int32 // the last region a triangle was in
	mark    int32
	trials  []uint8 // what failed searches cost, inPart or taken
	limit   uint8
	left    int     // of the budget of work; see budget.go
	partial bool    // it was spent before all was looked for
	region  []int32 // 2·triangle + turned over against the first
	near    []mesh.Vec
	walls   []wall
	parts   []wall         // round, but not all the way
	verdict map[string]int // how often a search ended how, for tests
}

// wall is a piece of a cylinder's surface.
type wall struct {
	cylinder
	region  []int32
	concave bool
	sign    float64 // bends between its facets, as the region is turned: 1 valleys, −1 ridges
	rms     float64
	corners []mesh.Vec
	ends    [2]end // towards −axis and towards +axis
}

// grow collects into f.region the triangles that hang together with the first,
// bend the same way, and are parallel to the axis. Where c is given, corners must
// lie within reach of its surface.
func (f *finder) grow(first int32, axis mesh.Vec, sign float64, lean float64, c *cylinder, reach float64) {
	f.mark++
	f.stamp[first] = f.mark
	f.region = append(f.region[:0], first<<1)
	for at := 0; at < len(f.region) && f.spend(1); at++ {
		i, turned := f.region[at]>>1, f.region[at]&1
		n, sure := f.normalOf(i), f.sure(i)
		if turned == 1 {
			n = n.Scale(-1)
		}
		for k := range 3 {
			over := f.across[3*int(i)+k]
			if over < 0 {
				continue
			}
			j := over >> 1
			if f.stamp[j] == f.mark || f.trials[j] == taken {
				continue
			}
			itsDoubt := float64(f.doubt[j])
			jTurned := turned ^ over&1
			if itsDoubt <= unsure {
				m := f.normalOf(j)
				if jTurned == 1 {
					m = m.Scale(-1)
				}
				if math.Abs(m.Dot(axis)) > lean+itsDoubt {
					continue
				}
				way := sign
				if turned == 1 {
					way = -sign
				}
				if sure && !f.follows(i, k, j, n, m, way) {
					continue
				}
			}
			if c != nil && !f.within(j, c, reach) {
				continue
			}
			f.stamp[j] = f.mark
			f.region = append(f.region, j<<1|jTurned)
		}
	}
}

// extend adds to the region what leans more than a facet may but has all three
// corners on the cylinder, as triangles of an irregular wall have. Some of their
// edges bend against the wall, where the diagonal is the wrong one.
func (f *finder) extend(c *cylinder) (added bool) {
	before := len(f.region)
	for at := 0; at < len(f.region); at++ {
		i, turned := f.region[at]>>1, f.region[at]&1
		n := f.normalOf(i)
		if turned == 1 {
			n = n.Scale(-1)
		}
		for k := range 3 {
			over := f.across[3*int(i)+k]
			if over < 0 {
				continue
			}
			j, jTurned := over>>1, turned^over&1
			if f.stamp[j] == f.mark || f.trials[j] == taken || !f.sure(i) || !f.sure(j) {
				continue
			}
			m := f.normalOf(j)
			if jTurned == 1 {
				m = m.Scale(-1)
			}
			if math.Abs(m.Dot(c.axis)) <= steepest && n.Dot(m) >= cosSharpest && f.within(j, c, roundness*c.radius+4*f.noise) {
				f.stamp[j] = f.mark
				f.region = append(f.region, j<<1|jTurned)
			}
		}
	}
	return len(f.region) > before
}

// trim leaves out of the region what has a corner outside the cylinder, or further
// within than the flats of a heptagon: faces parallel to the axis that a wall runs
// into, and slivers that lead away.
func (f *finder) trim(c *cylinder) {
	slack := roundness*c.radius + 4*f.noise
	most, least := c.radius+slack, c.radius*math.Cos(sharpest/2)-slack
	f.mark++
	kept := f.region[:0]
	for _, e := range f.region {
		on := true
		for _, v := range f.Triangles[e>>1] {
			d := f.Vertices[v].Sub(c.at)
			rho := d.Sub(c.axis.Scale(d.Dot(c.axis))).Norm()
			on = on && rho <= most && rho >= least
		}
		if on {
			kept = append(kept, e)
			f.stamp[e>>1] = f.mark
		}
	}
	f.region = kept
}

// within says whether a triangle's corners lie within reach of the cylinder.
func (f *finder) within(i int32, c *cylinder, reach float64) bool {
	for _, v := range f.Triangles[i] {
		d := f.Vertices[v].Sub(c.at)
		along := d.Dot(c.axis)
		rho := math.Sqrt(max(0, d.Dot(d)-float64(along*along)))
		if !(math.Abs(rho-c.radius) <= reach) {
			return false
		}
	}
	return true
}

// sixths counts the sixths of the turn about the axis in which some normal of the
// region lies: a quick look at what covers finds out. A wall with a gap of 60°
// misses at most two.
func (f *finder) sixths(axis mesh.Vec) int {
	u, v := frame(axis)
	seen := 0
	for _, e := range f.region {
		n := f.normalOf(e >> 1)
		if e&1 == 1 {
			n = n.Scale(-1)
		}
		x, y := n.Dot(u), n.Dot(v)
		bin := 0
		if y < 0 {
			bin, x, y = 3, -x, -y
		}
		// 60° and 120° by their tangents.
		if y > 1.7320508*math.Abs(x) {
			bin++
		} else if x < 0 {
			bin += 2
		}
		seen |= 1 << bin
	}
	return bits.OnesCount(uint(seen))
}

// axisOfRegion is the direction across which the region's normals lie, weighted by
// area; false where the normals turn too little to tell.
func (f *finder) axisOfRegion() (mesh.Vec, bool) {
	axis, values := leastAxis(f.normalMoments())
	// Over an arc of 2φ the middle eigenvalue is to the largest about φ²/3: 0.01
	// is an arc of 20°, three facets of a 64-gon and more of rounder ones.
	return axis, values[1] > 0.01*values[2] && values[0] < 0.1*values[1]
}

// normalMoments is the sum of area·n·nᵀ over the region.
func (f *finder) normalMoments() (m [3][3]float64) {
	for _, e := range f.region {
		i := e >> 1
		if !f.sure(i) {
			continue
		}
		a, b, c := f.Corners(int(i))
		w := b.Sub(a).Cross(c.Sub(a)).Norm()
		n := f.normalOf(i)
		for p := range 3 {
			for q := range 3 {
				m[p][q] += w * n.Component(p) * n.Component(q)
			}
		}
	}
	return m
}

// crease is an edge between two triangles of a region.
type crease struct {
	bend, along float64
	v, w        uint32
}

// cornersOfRegion finds the corners that define the cylinder: those on creases.
// Where a wall is made of flat facets, cut or divided, corners inside a facet lie
// within the circle and say nothing of it. Of the bends, weighted by the turn they
// make along the axis, half the median tells creases from noise.
func (f *finder) cornersOfRegion(axis mesh.Vec, sign float64) []mesh.Vec {
	var creases []crease
	for _, e := range f.region {
		i, turned := e>>1, e&1
		if !f.sure(i) {
			continue
		}
		n := f.normalOf(i)
		for k := range 3 {
			over := f.across[3*int(i)+k]
			if over < 0 || over>>1 < i || f.stamp[over>>1] != f.mark || !f.sure(over>>1) {
				continue
			}
			m := f.normalOf(over >> 1)
			if over&1 == 1 {
				m = m.Scale(-1)
			}
			bend := f.bend(i, k, n, m) * sign
			if turned == 1 {
				// Both normals are then the other way about, and so is the bend.
				bend = f.bend(i, k, n.Scale(-1), m.Scale(-1)) * -sign
			}
			t := &f.Triangles[i]
			v, w := t[k], t[(k+1)%3]
			if bend > 0 {
				creases = append(creases, crease{bend, math.Abs(f.Vertices[w].Sub(f.Vertices[v]).Dot(axis)), v, w})
			}
		}
	}
	slices.SortFunc(creases, func(a, b crease) int {
		switch {
		case a.bend < b.bend:
			return -1
		case a.bend > b.bend:
			return 1
		case a.v != b.v:
			return int(int64(a.v) - int64(b.v))
		}
		return int(int64(a.w) - int64(b.w))
	})
	whole, half := 0.0, 0.0
	for _, c := range creases {
		whole += c.bend * c.along
	}
	least := 0.0
	for _, c := range creases {
		if half += c.bend * c.along; half >= whole/2 {
			least = c.bend / 2
			break
		}
	}
	var ids []uint32
	for _, c := range creases {
		if c.bend >= least {
			ids = append(ids, c.v, c.w)
		}
	}
	slices.Sort(ids)
	ids = slices.Compact(ids)
	f.near = f.near[:0]
	for _, v := range ids {
		f.near = append(f.near, f.Vertices[v])
	}
	return f.near
}

// sides counts the different directions in which corners lie about the axis,
// directions closer than a third of a degree being one.
func sides(points []mesh.Vec, c *cylinder) int {
	u, v := frame(c.axis)
	angles := make([]float64, 0, len(points))
	for _, p := range points {
		_, x, y := c.across(p, u, v)
		angles = append(angles, math.Atan2(y, x))
	}
	slices.Sort(angles)
	n, first := 0, 0
	for i, a := range angles {
		if i == 0 && angles[len(angles)-1]-a < 2*math.Pi-0.006 || i > 0 && a-angles[i-1] >= 0.006 {
			n++
			first = i
		}
		// Of corners that follow on each other as closely, as of a wall with a thousand
		// sides, each eighth of the turn counts as one.
		if a-angles[first] > math.Pi/4 {
			n++
			first = i
		}
	}
	return n
}

// covers tells over what angle about the axis the region lies, and the widest gap.
func (f *finder) covers(c *cylinder) (angle, gap float64) {
	const bins = 720
	var seen [bins]bool
	u, v := frame(c.axis)
	for _, e := range f.region {
		if !f.sure(e >> 1) {
			continue
		}
		var first, lo, hi float64
		for k, id := range f.Triangles[e>>1] {
			_, x, y := c.across(f.Vertices[id], u, v)
			a := math.Atan2(y, x)
			if k == 0 {
				first = a
				continue
			}
			a = math.Remainder(a-first, 2*math.Pi)
			lo, hi = min(lo, a), max(hi, a)
		}
		if hi-lo > sharpest+0.1 {
			continue
		}
		from := int(math.Floor((first + lo + 2*math.Pi) / (2 * math.Pi) * bins))
		to := int(math.Floor((first + hi + 2*math.Pi) / (2 * math.Pi) * bins))
		for b := from; b <= to; b++ {
			seen[(b+bins)%bins] = true
		}
	}
	covered, run, widest := 0, 0, 0
	for b := range 2 * bins {
		if seen[b%bins] {
			run = 0
			if b < bins {
				covered++
			}
		} else {
			run++
			widest = max(widest, run)
		}
	}
	return float64(covered) / bins * 2 * math.Pi, float64(widest) / bins * 2 * math.Pi
}

// facesAxis says whether most of the region's area, as the file winds it, faces
// the axis.
func (f *finder) facesAxis(sign float64) bool {
	sum := 0.0
	for _, e := range f.region {
		a, b, c := f.Corners(int(e >> 1))
		area := b.Sub(a).Cross(c.Sub(a)).Norm()
		if e&1 == 1 {
			area = -area
		}
		sum += area
	}
	return (sum >= 0) == (sign*f.outward > 0)
}
