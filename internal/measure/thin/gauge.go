package thin

import (
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

const (
	// disc is the least distance, in mm, about a point whose thicknesses its own is
	// the median of: what is thin for less than that is a burr or the very edge of an
	// edge, which no printer shows. About a sample it is at least discs spacings.
	disc  = 0.5
	discs = 1.5
	// slender is how wide a section may be, for its thickness, to be a pin's. The
	// limits for pins are greater than those for walls because a pin has nothing at
	// its sides to hold it; a bar twice as wide as thick has little more.
	slender = 2
	// lean is the sine of the 20° by which the middle of a wedge of 40°, the bluntest
	// that counts, leans against its faces.
	lean = 0.3420201433256687
	// lines is how many chords, in one plane, are tried: the narrowest is then
	// missed by 15° at most, and a rod measured 1/cos 15° = 1.035 too wide.
	lines = 6
)

// gauge is the thickness of the solid at a sample where it is thin.
//
// Of a prism of n sides (or facets of a rounder pin) with inradius r, it may be too
// small by this much: at a distance e from the middle of its facet, a facet turned
// by φ against the sample's own gives a ball of radius r − e/tan(φ/2), for the two
// planes meet r·tan(φ/2) from the facet's middle. With e ≤ r·tan(π/n) and φ ≥ 140°
// that is at least r(1 − tan 20°·tan(π/n)). It is never more than the ray, which
// is at most the section's width, 2r/cos(π/n) or less.
type gauge struct {
	p, n      mesh.Vec // of the sample
	c         mesh.Vec // middle of the solid there
	winding   int      // of c
	m         mesh.Vec // along which it is as thick as that
	axis      mesh.Vec // a pin's
	thickness float64
	pin       bool
	level     bool // of a wall or a pin, not of an edge or a point
	area      float64
	extra     bool // not of the lattice: what it stands for others stand for too
	// smooth is the median of thickness, and steady the kind of most, within the
	// disc.
	smooth float64
	steady Kind
}

// far is how far away the other side may be, so that places about as thick as Limit
// are whole.
const far = band * Limit

// gaugeAll measures the samples where the solid is thinner than Limit, or little
// thicker. partial says that some were left out, since too many surfaces lie over each
// other there.
func gaugeAll(ctx context.Context, pr *probe, samples []sample, centre mesh.Vec) (all []gauge, partial bool, err error) {
	const few = 256
	n := parallel.Count(len(samples), few)
	found, left := make([][]gauge, n), make([]bool, n)
	err = parallel.Pieces(ctx, len(samples), few, func(i, lo, hi int) {
		pr := pr.another()
		for k := lo; k < hi; k++ {
			if k%16 == 0 && ctx.Err() != nil {
				return
			}
			if left[i] = pr.spent(hi-lo, gaugeWork); left[i] {
				return
			}
			if g, ok := pr.gauge(&samples[k]); ok {
				found[i] = append(found[i], g)
			}
		}
	})
	if err != nil {
		return nil, false, err
	}
	for i, f := range found {
		all = append(all, f...)
		partial = partial || left[i]
	}
	short, err := level(ctx, pr, all, centre)
	return all, partial || short, err
}

// gauge measures the solid at a sample, and is false where it is not thin.
func (pr *probe) gauge(s *sample) (gauge, bool) {
	length, end, middle, ok := pr.inward(s.p, s.n)
	if !ok || length > far {
		return gauge{}, false
	}
	faces := func(t int32) bool {
		n, ok := normal(pr.mesh, int(t))
		return ok && n.Dot(s.n) <= opposed
	}
	r := length / 2
	if closer, touch := pr.shrink(s.p, s.n, s.triangle, r, slackThin, faces); touch >= 0 {
		r = closer
	} else if !faces(end) {
		return gauge{}, false
	}
	c, ok := pr.step(middle, s.n.Scale(length/2-r))
	if !ok {
		return gauge{}, false
	}
	g := gauge{p: s.p, n: s.n, c: c.p, winding: c.winding, m: s.n, thickness: 2 * r, area: s.area, extra: s.extra}

	// Three lengths at right angles: through the ball, the shortest across it, and
	// that across both. The two least tell a pin from a wall. Seen from the rim of a
	// plate, or the end of a pin, the ball is not the least.
	e := across(s.n)
	f := s.n.Cross(e)
	second := math.Inf(1)
	at, along := c, e
	for k := range lines {
		sin, cos := math.Sincos(math.Pi * float64(k) / lines)
		d := e.Scale(cos).Add(f.Scale(sin))
		if l, mid := pr.chord(c, d, 2*slender*r); l < second {
			second, at, along = l, mid, d
		}
	}
	g.axis = s.n.Cross(along)
	if second < 2*r {
		third, _ := pr.chord(at, g.axis, slender*second)
		g.thickness, g.c, g.winding, g.m = second, at.p, at.winding, along
		g.pin = min(2*r, third) <= slender*second
		if third < 2*r {
			g.axis = s.n
		}
	} else {
		g.pin = second <= slender*2*r
	}
	return g, true
}

// across is a unit vector at right angles to n.
func across(n mesh.Vec) mesh.Vec {
	axis := mesh.Vec{X: 1}
	if math.Abs(n.X) > 0.6 {
		axis = mesh.Vec{Y: 1}
	}
	u, _ := unit(n.Cross(axis))
	return u
}

// hood finds the gauges whose middles are near to each other.
type hood struct {
	all    []gauge
	reach  float64
	centre mesh.Vec
	cells  map[cell][]int32
}

func newHood(all []gauge, reach float64, centre mesh.Vec) *hood {
	h := &hood{all: all, reach: reach, centre: centre, cells: map[cell][]int32{}}
	for i := range all {
		k := cellOf(all[i].c.Sub(centre), reach)
		h.cells[k] = append(h.cells[k], int32(i))
	}
	return h
}

// each calls f with the gauges, i itself among them, whose middles are within
// reach of i's and level with it: in the wall or pin of which i is the thickness,
// whose middle line or sheet runs about at right angles to i's normal.
func (h *hood) each(i int32, reach float64, f func(j int32)) {
	g := &h.all[i]
	at := cellOf(g.c.Sub(h.centre), h.reach)
	for x := at[0] - 1; x <= at[0]+1; x++ {
		for y := at[1] - 1; y <= at[1]+1; y++ {
			for z := at[2] - 1; z <= at[2]+1; z++ {
				for _, j := range h.cells[cell{x, y, z}] {
					d := h.all[j].c.Sub(g.c)
					if l := d.Norm(); l <= reach && math.Abs(d.Dot(g.n)) <= g.thickness/2+lean*l {
						f(j)
					}
				}
			}
		}
	}
}

// smoothed gives every gauge the median of its disc, weighing by area.
func (h *hood) smoothed(ctx context.Context, reach float64) error {
	const few = 256
	return parallel.Pieces(ctx, len(h.all), few, func(_, lo, hi int) {
		var near []int32
		for i := lo; i < hi; i++ {
			if i%16 == 0 && ctx.Err() != nil {
				return
			}
			near = near[:0]
			pins := 0
			h.each(int32(i), reach, func(j int32) {
				near = append(near, j)
				if h.all[j].pin {
					pins++
				}
			})
			g := &h.all[i]
			g.steady = Wall
			if 2*pins > len(near) {
				g.steady = Pin
			}
			slices.SortFunc(near, func(a, b int32) int {
				if c := compare(h.all[a].thickness, h.all[b].thickness); c != 0 {
					return c
				}
				return int(a - b)
			})
			g.smooth = h.all[near[(len(near)-1)/2]].thickness
			if len(near) < fewGauges {
				g.smooth = math.Inf(1)
			}
		}
	})
}
