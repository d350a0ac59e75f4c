package bore_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/measure/bore"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func find(t require.TestingT, m *mesh.Mesh) bore.Report {
	tr, err := tree.New(context.Background(), m)
	require.NoError(t, err)
	r, err := bore.Find(context.Background(), tr)
	require.NoError(t, err)
	return r
}

// What follows is by formula: an n-gon inscribed in a circle of diameter d passes
// d·cos(π/n). Corners are in float64, so that results miss by roundings only; 1e-6
// of the diameter is what is asked.

func TestEveryPolygonPassesItsInscribedCircle(t *testing.T) {
	for n := 7; n <= 64; n++ {
		for _, lean := range []float64{0, 0.3, 0.7} {
			const d, thick = 1.5, 4.0
			r := find(t, meshtest.DrilledPlate(n, d, 12, thick, lean, 0.4+float64(n)))
			name := fmt.Sprintf("%d sides, %g", n, lean)
			require.Len(t, r.Holes, 1, name)
			require.Empty(t, r.Pins, name)
			h := r.Holes[0]
			assert.InDelta(t, d, h.Diameter, 1e-6*d, name)
			assert.InDelta(t, d*math.Cos(math.Pi/float64(n)), h.Free, 1e-6*d, name)
			// The axis passes the mouths' planes a slant apart. The mean of the
			// mouth's height is taken along the polygon's sides, whose corners are
			// not symmetric about the slope: the greatest step of one corner to the
			// next over 12, as for the trapezium rule on a sine, bounds what is off.
			assert.InDelta(t, thick/math.Cos(lean), h.Depth, 1e-9+d*math.Tan(lean)*math.Pow(math.Pi/float64(n), 2), name)
			assert.InDelta(t, 0, h.Residual, 1e-9, name)
			assert.InDelta(t, math.Cos(lean), math.Abs(h.Axis.Z), 1e-9, name)
			assert.InDelta(t, thick/2, h.Centre.Z, 1e-9+d*math.Tan(lean)*math.Pow(math.Pi/float64(n), 2), name)
			assert.True(t, h.Through && h.Open == [2]bool{true, true} && !h.Stepped, name)
		}
	}
}

func TestHexagonsAndSquaresAreNotRound(t *testing.T) {
	for n := 3; n <= 6; n++ {
		r := find(t, meshtest.DrilledPlate(n, 3, 12, 4, 0, 0))
		assert.Empty(t, r.Holes, n)
	}
}

func TestAThinSheetsHoleIsAHole(t *testing.T) {
	r := find(t, meshtest.DrilledPlate(24, 2, 12, 0.5, 0, 0))
	require.Len(t, r.Holes, 1)
	assert.InDelta(t, 0.5, r.Holes[0].Depth, 1e-9)
}

// lathed are bodies turned about z with what they hold, lowest first.
type lathed struct {
	name    string
	profile []meshtest.Point2
	holes   []bore.Hole
	pins    []bore.Pin
}

func turned() []lathed {
	z := func(lo, hi float64) mesh.Vec { return mesh.Vec{Z: (lo + hi) / 2} }
	ball := func(r, hole float64, up bool) (p []meshtest.Point2) {
		// From the hole's edge at the bottom to the top, or back.
		from := -math.Acos(hole / r)
		for k := range 17 {
			a := from + (math.Pi/2-from)*float64(k)/16
			if k == 16 {
				p = append(p, meshtest.Point2{R: 0, Z: r})
			} else {
				p = append(p, meshtest.Point2{R: r * math.Cos(a), Z: r * math.Sin(a)})
			}
		}
		if !up {
			for i := range len(p) / 2 {
				p[i], p[len(p)-1-i] = p[len(p)-1-i], p[i]
			}
		}
		return p
	}
	outer, inner := -math.Sqrt(100-2.25), -math.Sqrt(81-2.25)
	return []lathed{
		{"tube", profile(2, 0, 3, 0, 3, 9, 2, 9),
			[]bore.Hole{{Centre: z(0, 9), Depth: 9, Diameter: 4, Open: [2]bool{true, true}, Through: true}},
			[]bore.Pin{{Centre: z(0, 9), Length: 9, Diameter: 6}}},
		{"blind hole", profile(0, 0, 5, 0, 5, 9, 1, 9, 1, 3, 0, 3),
			[]bore.Hole{{Centre: z(3, 9), Depth: 6, Diameter: 2, Open: [2]bool{false, true}}},
			[]bore.Pin{{Centre: z(0, 9), Length: 9, Diameter: 10}}},
		{"drilled to a point", profile(0, 0, 5, 0, 5, 9, 1, 9, 1, 3, 0, 2.4),
			[]bore.Hole{{Centre: z(3, 9), Depth: 6, Diameter: 2, Open: [2]bool{false, true}}},
			[]bore.Pin{{Centre: z(0, 9), Length: 9, Diameter: 10}}},
		{"counterbore", profile(1, 0, 5, 0, 5, 9, 2, 9, 2, 6, 1, 6),
			[]bore.Hole{
				{Centre: z(0, 6), Depth: 6, Diameter: 2, Open: [2]bool{true, true}, Through: true, Stepped: true},
				{Centre: z(6, 9), Depth: 3, Diameter: 4, Open: [2]bool{true, true}, Through: true, Stepped: true}},
			[]bore.Pin{{Centre: z(0, 9), Length: 9, Diameter: 10}}},
		{"blind counterbore", profile(0, 0, 5, 0, 5, 9, 2, 9, 2, 6, 1, 6, 1, 2, 0, 2),
			[]bore.Hole{
				{Centre: z(2, 6), Depth: 4, Diameter: 2, Open: [2]bool{false, true}, Stepped: true},
				{Centre: z(6, 9), Depth: 3, Diameter: 4, Open: [2]bool{true, true}, Stepped: true}},
			[]bore.Pin{{Centre: z(0, 9), Length: 9, Diameter: 10}}},
		{"countersink", profile(1, 0, 5, 0, 5, 9, 3, 9, 1, 7),
			[]bore.Hole{{Centre: z(0, 7), Depth: 7, Diameter: 2, Open: [2]bool{true, true}, Through: true}},
			[]bore.Pin{{Centre: z(0, 9), Length: 9, Diameter: 10}}},
		{"stepped shaft", profile(0, 0, 1, 0, 1, 4, 3, 4, 3, 6, 2, 6, 2, 11, 0, 11),
			nil,
			[]bore.Pin{{Centre: z(0, 4), Length: 4, Diameter: 2}, {Centre: z(4, 6), Length: 2, Diameter: 6}, {Centre: z(6, 11), Length: 5, Diameter: 4}}},
		{"hollow ball with a drain", append(ball(10, 1.5, true), ball(9, 1.5, false)...),
			[]bore.Hole{{Centre: z(outer, inner), Depth: inner - outer, Diameter: 3, Open: [2]bool{true, true}, Through: true}}, nil},
		{"closed cavity", profile(0, 0, 5, 0, 5, 9, 0, 9, 0, 7, 2, 7, 2, 3, 0, 3),
			nil, []bore.Pin{{Centre: z(0, 9), Length: 9, Diameter: 10}}},
		{"cone", profile(0, 0, 5, 0, 4, 9, 0, 9), nil, nil},
		{"conical hole", profile(1, 0, 9, 0, 8, 9, 1.3, 9), nil, nil},
	}
}

func TestTurnedBodies(t *testing.T) {
	for _, c := range turned() {
		for _, n := range []int{8, 9, 24, 64, 180} {
			check(t, fmt.Sprintf("%s, %d sides", c.name, n), c, n, meshtest.Revolved(n, c.profile), still, 1e-9)
		}
	}
}

func profile(rz ...float64) (p []meshtest.Point2) {
	for i := 0; i < len(rz); i += 2 {
		p = append(p, meshtest.Point2{R: rz[i], Z: rz[i+1]})
	}
	return p
}

// motion turns, moves and scales.
type motion struct {
	about mesh.Vec
	angle float64
	by    mesh.Vec
	scale float64
}

var still = motion{about: mesh.Vec{Z: 1}, scale: 1}

func (m motion) mesh(b *mesh.Mesh) *mesh.Mesh {
	return meshtest.Moved(meshtest.Turned(meshtest.Scaled(b, m.scale), m.about, m.angle), meshtest.Shift(m.by.X, m.by.Y, m.by.Z))
}

func (m motion) point(p mesh.Vec) mesh.Vec {
	return m.mesh(&mesh.Mesh{Vertices: []mesh.Vec{p}}).Vertices[0]
}

// check compares with a body of n sides after a motion, lengths to a tolerance.
func check(t require.TestingT, name string, c lathed, n int, m *mesh.Mesh, by motion, tolerance float64) {
	r := find(t, m)
	require.Len(t, r.Holes, len(c.holes), name)
	require.Len(t, r.Pins, len(c.pins), name)
	axis := by.point(mesh.Vec{Z: 1}).Sub(by.point(mesh.Vec{})).Scale(1 / by.scale)
	onAxis := func(got mesh.Vec) {
		require.InDelta(t, 1, got.Norm(), 1e-12, name)
		require.InDelta(t, 0, got.Cross(axis).Norm(), 4*tolerance/by.scale+1e-9, name)
	}
	groups := map[int]bool{}
	for _, want := range c.holes {
		i := nearest(len(r.Holes), func(i int) mesh.Vec { return r.Holes[i].Centre }, by.point(want.Centre))
		h := r.Holes[i]
		onAxis(h.Axis)
		require.InDelta(t, 0, h.Centre.Sub(by.point(want.Centre)).Norm(), 2*tolerance, name)
		require.InDelta(t, want.Depth*by.scale, h.Depth, 2*tolerance, name)
		require.InDelta(t, want.Diameter*by.scale, h.Diameter, 2*tolerance, name)
		require.InDelta(t, want.Diameter*by.scale*math.Cos(math.Pi/float64(n)), h.Free, 8*tolerance+1e-9*by.scale, name)
		require.LessOrEqual(t, h.Residual, tolerance, name)
		open := want.Open
		if h.Axis.Dot(axis) < 0 {
			open[0], open[1] = open[1], open[0]
		}
		require.Equal(t, open, h.Open, name)
		require.Equal(t, want.Through, h.Through, name)
		require.Equal(t, want.Stepped, h.Stepped, name)
		groups[h.Group] = true
	}
	require.LessOrEqual(t, len(groups), 1, name) // all that have several have one axis
	for _, want := range c.pins {
		p := r.Pins[nearest(len(r.Pins), func(i int) mesh.Vec { return r.Pins[i].Centre }, by.point(want.Centre))]
		onAxis(p.Axis)
		require.InDelta(t, 0, p.Centre.Sub(by.point(want.Centre)).Norm(), 2*tolerance, name)
		require.InDelta(t, want.Length*by.scale, p.Length, 2*tolerance, name)
		require.InDelta(t, want.Diameter*by.scale, p.Diameter, 2*tolerance, name)
		require.LessOrEqual(t, p.Residual, tolerance, name)
	}
}

func nearest(n int, at func(int) mesh.Vec, p mesh.Vec) int {
	best := 0
	for i := range n {
		if at(i).Sub(p).Norm() < at(best).Sub(p).Norm() {
			best = i
		}
	}
	return best
}

// A body turned, moved, scaled, divided finer and shaken by up to 1e-4 mm holds
// the same. A shaken corner is off by at most e; least squares moves radius,
// centre and the axis' ends by no more than about e each (they are means of many),
// and a facet's middle by e: 4 e of radius, 8 of diameter, for the free diameter.
func TestMovedFinerAndShakenBodiesHoldTheSame(t *testing.T) {
	bodies := turned()
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(bodies).Draw(t, "body")
		n := rapid.IntRange(8, 64).Draw(t, "sides")
		by := motion{
			about: mesh.Vec{X: rapid.Float64Range(-1, 1).Draw(t, "x"), Y: rapid.Float64Range(-1, 1).Draw(t, "y"), Z: 1.1},
			angle: rapid.Float64Range(-3, 3).Draw(t, "angle"),
			by:    mesh.Vec{X: rapid.Float64Range(-50, 50).Draw(t, "by")},
			scale: rapid.Float64Range(0.4, 8).Draw(t, "scale"),
		}
		m := by.mesh(meshtest.Revolved(n, c.profile))
		m = meshtest.Remesh(m, rapid.IntRange(0, 1+24/n).Draw(t, "finer"))
		tolerance := 1e-9
		if rapid.Bool().Draw(t, "shaken") {
			tolerance = 1e-4
			m = meshtest.Noise(m, rand.New(rand.NewPCG(uint64(n), 1)), tolerance)
		}
		check(t, fmt.Sprintf("%s %d", c.name, n), c, n, m, by, tolerance)
	})
}

// In a sculpt the wall is irregular. Corners lie on the cylinder, so the diameter
// is exact; the free one is between that of chords over the widest step around,
// 1.5 steps, and all of it.
func TestHolesInSculpts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		around, along := rapid.IntRange(16, 60).Draw(t, "around"), rapid.IntRange(8, 30).Draw(t, "along")
		d := rapid.Float64Range(1, 4).Draw(t, "diameter")
		high := rapid.Float64Range(2, 4).Draw(t, "high") * d
		m := meshtest.LumpyBead(rand.New(rand.NewPCG(seed, 2)), around, along, d, high, 0.1*d, 1.5*d)
		by := motion{about: mesh.Vec{X: 1, Y: rapid.Float64Range(-1, 1).Draw(t, "y")}, angle: rapid.Float64Range(-3, 3).Draw(t, "angle"), scale: 1}
		r := find(t, by.mesh(m))
		require.Empty(t, r.Pins)
		require.Len(t, r.Holes, 1)
		h := r.Holes[0]
		axis := by.point(mesh.Vec{Z: 1})
		require.InDelta(t, 0, h.Axis.Cross(axis).Norm(), 1e-9)
		require.InDelta(t, d, h.Diameter, 1e-9*d)
		require.LessOrEqual(t, h.Free, h.Diameter)
		require.GreaterOrEqual(t, h.Free, d*math.Cos(1.5*math.Pi/float64(around))-1e-9)
		require.True(t, h.Through)
		// The mouths wave by 0.1 d about the mean of high, three times round; what
		// the mean over scattered corners misses is less than a wave over a step.
		require.InDelta(t, high, h.Depth, 0.1*d)
		require.InDelta(t, 0, h.Centre.Cross(axis).Norm(), 1e-9)
	})
}

func TestNoHolesWhereThereAreNone(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"ring torus":    meshtest.RingTorus(60, 24, 10, 2, meshtest.Exactly),
		"fine torus":    meshtest.RingTorus(200, 90, 10, 6, meshtest.Exactly),
		"coarse torus":  meshtest.RingTorus(24, 13, 10, 6, meshtest.Exactly),
		"hollow hose":   meshtest.Together(meshtest.RingTorus(60, 24, 10, 3, meshtest.Exactly), meshtest.InsideOut(meshtest.RingTorus(60, 24, 10, 2, meshtest.Exactly))),
		"ball":          meshtest.UVSphere(5, 40, 21),
		"box":           meshtest.Box(3, 4, 5),
		"square hole":   meshtest.HoledBox(9, 9, 5, 4),
		"clip":          sector(40, 2, 3, 5, 260),
		"groove":        sector(40, 2, 3, 5, 180),
		"quarter round": sector(40, 2, 3, 5, 90),
		"slot":          slot(24, 2, 3, 4),
	} {
		r := find(t, m)
		assert.Empty(t, r.Holes, name)
		assert.Empty(t, r.Pins, name)
	}
	for _, bands := range []int{7, 9, 21, 41, 101} { // odd: a band lies on the equator
		r := find(t, meshtest.UVSphere(5, 2*bands, bands))
		assert.Empty(t, r.Pins, bands)
		r = find(t, meshtest.Together(meshtest.UVSphere(9, 2*bands, bands), meshtest.InsideOut(meshtest.UVSphere(5, 2*bands, bands))))
		assert.Empty(t, r.Holes, bands)
	}
}

// A spring's facets, 390 of them as long as three quarters of the wire is thick, go
// on in each other at an angle. Only at its ends may one stand for itself.
func TestASpringIsNoHeapOfPins(t *testing.T) {
	r := find(t, coil(16, 80, 5, 8, 0.5, 5))
	require.Empty(t, r.Holes)
	require.LessOrEqual(t, len(r.Pins), 2)
}

// coil is a wire of radius r with n sides, wound about z in turns of the given
// radius, each in so many steps and as high as rise.
func coil(n, steps, turns int, radius, r, rise float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	last := turns*steps - 5 // not quite round, so that the ends of one turn lie apart
	for i := range last + 1 {
		a := 2 * math.Pi * float64(i) / float64(steps)
		out, up := meshtest.Polar(1, a, 0), mesh.Vec{Z: 1}
		way := up.Cross(out).Scale(radius).Add(up.Scale(rise / (2 * math.Pi)))
		v := way.Scale(1 / way.Norm()).Cross(out)
		for k := range n {
			s, c := math.Sincos(2 * math.Pi * float64(k) / float64(n))
			m.Vertices = append(m.Vertices, out.Scale(radius+r*c).Add(v.Scale(r*s)).Add(up.Scale(rise*a/(2*math.Pi))))
		}
	}
	var first, end []uint32
	for k := range n {
		first, end = append(first, uint32(n-1-k)), append(end, uint32(last*n+k))
		for i := range last {
			at := func(i, k int) uint32 { return uint32(i*n + k%n) }
			meshtest.AddFan(m, at(i, k), at(i, k+1), at(i+1, k+1), at(i+1, k))
		}
	}
	meshtest.AddFan(m, first...)
	meshtest.AddFan(m, end...)
	return m
}

// sector is a part of a tube, of so many degrees.
func sector(n int, inner, outer, high, degrees float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range n + 1 {
		a := degrees * math.Pi / 180 * float64(i) / float64(n)
		m.Vertices = append(m.Vertices, meshtest.Polar(inner, a, 0), meshtest.Polar(outer, a, 0), meshtest.Polar(outer, a, high), meshtest.Polar(inner, a, high))
	}
	meshtest.AddFan(m, 0, 1, 2, 3)
	last := uint32(4 * n)
	meshtest.AddFan(m, last+3, last+2, last+1, last)
	for i := range uint32(n) {
		for k := range uint32(4) {
			a, b := 4*i+k, 4*i+(k+1)%4
			meshtest.AddFan(m, a, a+4, b+4, b)
		}
	}
	return m
}

// slot is a plate with a long hole: two half circles of radius r, apart by length.
func slot(n int, r, length, thick float64) *mesh.Mesh {
	m := meshtest.DrilledPlate(2*n, 2*r, 6*r, thick, 0, 0)
	return meshtest.Moved(m, func(p mesh.Vec) mesh.Vec {
		return mesh.Vec{X: p.X + math.Copysign(length/2, p.X), Y: p.Y, Z: p.Z}
	})
}

func TestAnInsideOutBodyHoldsTheSame(t *testing.T) {
	c := turned()[3]
	check(t, c.name, c, 24, meshtest.InsideOut(meshtest.Revolved(24, c.profile)), still, 1e-9)
}

func TestTheOrderOfTrianglesDoesNotMatter(t *testing.T) {
	m := meshtest.Together(meshtest.DrilledPlate(24, 3, 12, 4, 0.3, 1), meshtest.Moved(meshtest.Revolved(32, turned()[3].profile), meshtest.Shift(30, 0, 0)))
	want := find(t, m)
	require.Len(t, want.Holes, 3)
	r := rand.New(rand.NewPCG(1, 1))
	for range 10 {
		shuffled := &mesh.Mesh{Vertices: m.Vertices, Triangles: append([][3]uint32{}, m.Triangles...)}
		r.Shuffle(len(shuffled.Triangles), func(i, j int) {
			shuffled.Triangles[i], shuffled.Triangles[j] = shuffled.Triangles[j], shuffled.Triangles[i]
		})
		got := find(t, shuffled)
		require.Len(t, got.Holes, len(want.Holes))
		for i := range want.Holes {
			assert.InDelta(t, 0, want.Holes[i].Centre.Sub(got.Holes[i].Centre).Norm(), 1e-9)
			assert.InDelta(t, want.Holes[i].Free, got.Holes[i].Free, 1e-9)
			assert.Equal(t, want.Holes[i].Group, got.Holes[i].Group)
		}
	}
}

// Walls of a thousand sides and more are walls too, though each bends by less than a
// search begins at.
func TestHolesOfManySides(t *testing.T) {
	for _, n := range []int{700, 1000, 2000, 5000} {
		r := find(t, meshtest.DrilledPlate(n, 4, 16, 6, 0.2, 1))
		require.Len(t, r.Holes, 1, n)
		assert.InDelta(t, 4*math.Cos(math.Pi/float64(n)), r.Holes[0].Free, 4e-6, n)
		assert.True(t, r.Holes[0].Through, n)
		drum := find(t, meshtest.Revolved(n, []meshtest.Point2{{}, {R: 10}, {R: 10, Z: 20}, {Z: 20}}))
		require.Len(t, drum.Pins, 1, n)
		assert.InDelta(t, 20, drum.Pins[0].Diameter, 2e-5, n)
	}
}
