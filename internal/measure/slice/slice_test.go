package slice

import (
	"context"
	"math"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
)

// gon is the area and the perimeter of the regular n-gon in a circle of radius r.
func gon(n int, r float64) (area, perimeter float64) {
	a := math.Pi / float64(n)
	return float64(n) * r * r * math.Sin(a) * math.Cos(a), 2 * float64(n) * r * math.Sin(a)
}

func layersOf(t require.TestingT, m *mesh.Mesh, o Options) *Layers {
	l, err := measure(context.Background(), m, o)
	require.NoError(t, err)
	return l
}

// requireAreas compares every layer with a function of height. Formulas in
// float64 are good to some 20u of the terms that they are made of, and the areas
// to 32u·r·perimeter; 1e-12 of the body's extent squared, r², covers both for bodies
// with up to a hundred corners a layer.
func requireAreas(t require.TestingT, l *Layers, within float64, want func(z float64) (area, perimeter float64)) {
	require.NotEmpty(t, l.Areas)
	for k := range l.Areas {
		area, perimeter := want((float64(k) + 0.5) * l.Options.Layer)
		require.InDelta(t, area, l.Areas[k], within*within*1e-12, "area of layer %d", k)
		require.InDelta(t, perimeter, l.Perimeter[k], within*1e-11, "perimeter of layer %d", k)
	}
}

func TestSectionsOfBodiesAreThoseOfTheirFormulas(t *testing.T) {
	const n = 48
	t.Run("box", func(t *testing.T) {
		l := layersOf(t, meshtest.Box(30, 20, 10), Options{})
		require.Len(t, l.Areas, 200)
		requireAreas(t, l, 40, func(float64) (float64, float64) { return 600, 100 })
		require.Equal(t, [3]any{0, 0.0, 0}, [3]any{l.PeakLayer, l.Jump, l.JumpLayer})
		require.InEpsilon(t, 6000, l.Volume, 1e-14)
	})
	t.Run("leaning prism", func(t *testing.T) {
		// Its areas are equal but for rounding, of which nothing is drawn.
		grew := 0
		for r := 5.0; r < 8; r += 0.1 {
			l := layersOf(t, meshtest.Moved(meshtest.Frustum(n, r, r, 40), func(p mesh.Vec) mesh.Vec { return mesh.Vec{X: p.X + 0.3*p.Z, Y: p.Y, Z: p.Z} }), Options{Layer: 0.7})
			requireAreas(t, l, 48, func(z float64) (float64, float64) {
				if z > 40 {
					return 0, 0
				}
				return gon(n, r)
			})
			require.Equal(t, [4]any{0, 0.0, 0.0, 0}, [4]any{l.PeakLayer, l.Jump, l.JumpRatio, l.JumpLayer})
			for k := 1; k < len(l.Areas); k++ {
				if l.Areas[k] > l.Areas[k-1] {
					grew++
				}
			}
		}
		require.Positive(t, grew)
	})
	t.Run("cone", func(t *testing.T) {
		l := layersOf(t, meshtest.Frustum(n, 5, 0, 12), Options{})
		requireAreas(t, l, 13, func(z float64) (float64, float64) { return gon(n, 5*(1-z/12)) })
		require.Equal(t, 0, l.PeakLayer)
		require.Zero(t, l.Jump)
	})
	t.Run("frustum that grows", func(t *testing.T) {
		l := layersOf(t, meshtest.Frustum(n, 2, 8, 10), Options{Layer: 0.1})
		r := func(z float64) float64 { return 2 + 6*z/10 }
		requireAreas(t, l, 20, func(z float64) (float64, float64) { return gon(n, r(z)) })
		top, _ := gon(n, r(9.95))
		below, _ := gon(n, r(9.85))
		require.Equal(t, 99, l.PeakLayer)
		require.Equal(t, 99, l.JumpLayer)
		require.InDelta(t, top-below, l.Jump, 1e-10)
		require.InDelta(t, top/below, l.JumpRatio, 1e-12)
	})
	// Between two parallels the UV sphere's corners keep their longitudes, so its
	// section is a regular polygon with a radius that is linear in the height.
	t.Run("sphere", func(t *testing.T) {
		const bands = 24
		l := layersOf(t, meshtest.UVSphere(10, n, bands), Options{})
		requireAreas(t, l, 20, func(z float64) (float64, float64) {
			k := min(int(math.Acos(1-z/10)/math.Pi*bands), bands-1)
			at := func(k int) (r, z float64) {
				lat := math.Pi * float64(k) / bands
				return 10 * math.Sin(lat), 10 - 10*math.Cos(lat)
			}
			r0, z0 := at(k)
			r1, z1 := at(k + 1)
			if z < z0 { // Acos and Cos round apart
				r1, z1 = at(k - 1)
			} else if z > z1 {
				r0, z0 = at(k + 2)
			}
			return gon(n, r0+(r1-r0)*(z-z0)/(z1-z0))
		})
	})
	t.Run("torus", func(t *testing.T) {
		const m, sides = 36, 32
		l := layersOf(t, meshtest.RingTorus(m, sides, 10, 3, meshtest.Exactly), Options{})
		requireAreas(t, l, 26, func(z float64) (float64, float64) {
			// The section's sides in the (radius, height) plane are chords of its circle.
			z -= 3
			k := math.Floor(math.Asin(z/3) / (2 * math.Pi / sides))
			c0, s0 := math.Cos(2*math.Pi*k/sides), math.Sin(2*math.Pi*k/sides)
			c1, s1 := math.Cos(2*math.Pi*(k+1)/sides), math.Sin(2*math.Pi*(k+1)/sides)
			half := 3*c0 + (3*c1-3*c0)*(z-3*s0)/(3*s1-3*s0)
			outer, po := gon(m, 10+half)
			inner, pi := gon(m, 10-half)
			return outer - inner, po + pi
		})
	})
	// The smooth bodies: a polygon in a circle has its area times 1 − (2π²/3)/n² at
	// the least, once for the parallels and once for the meridians of 2n bands.
	t.Run("against the smooth bodies", func(t *testing.T) {
		const n = 512
		share := 2 * math.Pi * math.Pi / 3 / (n * n)
		ball := layersOf(t, meshtest.UVSphere(10, n, 2*n), Options{Layer: 1})
		for k, a := range ball.Areas {
			z := float64(k) + 0.5 - 10
			smooth := math.Pi * (100 - z*z)
			require.Less(t, a, smooth)
			// The meridian's chord is off by up to a sagitta of 10(1 − cos(π/4n)),
			// which near a pole costs more of the radius: by 10 over the radius.
			r := math.Sqrt(100 - z*z)
			sagitta := 10 * (1 - math.Cos(math.Pi/(4*n))) * 10 / r
			require.Greater(t, a, smooth*(1-share)-2*math.Pi*r*sagitta)
		}
		cone := layersOf(t, meshtest.Frustum(n, 5, 0, 12), Options{Layer: 1})
		for k, a := range cone.Areas {
			r := 5 * (1 - (float64(k)+0.5)/12)
			require.InEpsilon(t, math.Pi*r*r, a, share)
		}
	})
}

// Rows of the check values, section 5, and their sweep: no exact multiple in 32
// bits may come out a layer over, for any usual layer.
func TestLayerCounts(t *testing.T) {
	count := func(h, l float64) int {
		n, err := layerCount(h, l)
		require.NoError(t, err)
		return n
	}
	// Where a plain ceil says 10, 8 and 4.
	h, l := []float64{0.27, 1.05, float64(float32(0.3))}, []float64{0.03, 0.15, 0.1}
	for i, want := range []int{9, 7, 3} {
		require.EqualValues(t, want+1, math.Ceil(h[i]/l[i]))
		require.Equal(t, want, count(h[i], l[i]))
	}
	require.Equal(t, 1500, count(75, 0.05))
	require.Equal(t, 3000, count(150, 0.05))
	require.Equal(t, 2, count(0.06, 0.05))
	require.Zero(t, count(0, 0.05))
	for _, l := range []float64{0.02, 0.025, 0.03, 0.05, 0.1, 0.15, 0.2, 0.3} {
		for k := 1; k <= 4000; k++ {
			h := float64(k) * l
			require.Equal(t, k, count(h, l))
			if h <= 200 { // beyond it 32 bits miss by more than the rule allows for
				require.Equal(t, k, count(float64(float32(h)), l))
			}
		}
	}
}

// bodies are closed, do not cross themselves, and differ in kind.
func bodies() map[string]*mesh.Mesh {
	wavy := meshtest.Moved(meshtest.UVSphere(1, 20, 15), func(p mesh.Vec) mesh.Vec {
		return p.Scale(10 + 2*math.Sin(5*p.X)*math.Sin(4*p.Y) + 3*p.Z)
	})
	shell := meshtest.Together(meshtest.Box(10, 10, 10), meshtest.Moved(meshtest.InsideOut(meshtest.Box(6, 5, 4)), meshtest.Shift(2, 3, 1)))
	return map[string]*mesh.Mesh{
		"box": meshtest.Box(30, 20, 10), "holed box": meshtest.HoledBox(20, 30, 8, 6), "torus": meshtest.RingTorus(20, 12, 10, 3, meshtest.Exactly),
		"cone": meshtest.Frustum(17, 5, 0, 12), "wavy": wavy, "hollow box": shell, "icosahedron": meshtest.Icosahedron(),
		"two boxes": meshtest.Together(meshtest.Box(3, 4, 5), meshtest.Moved(meshtest.Box(7, 2, 3), meshtest.Shift(20, 5, 1))),
	}
}

func names(b map[string]*mesh.Mesh) []string {
	var out []string
	for n := range b {
		out = append(out, n)
	}
	slices.Sort(out)
	return out
}

// drawTurned is a body turned any way.
func drawTurned(t *rapid.T) *mesh.Mesh {
	all := bodies()
	m := all[rapid.SampledFrom(names(all)).Draw(t, "body")]
	axis := mesh.Vec{X: rapid.Float64Range(-1, 1).Draw(t, "x"), Y: rapid.Float64Range(-1, 1).Draw(t, "y"), Z: 1}
	return meshtest.Turned(m, axis, rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "angle"))
}

// Every layer in any pose, against the slicer by trapezia. Both round: theirs by
// some n ulps of a trapezium, for n of up to 200 sides; 1e-10 of the extent squared
// leaves room for that. A cut that meets corners or whole faces to the last bits may
// fall on either side of them: there the areas on both sides bound it.
func TestLayersAgreeWithASlicer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawTurned(t)
		size := m.Bounds().Size()
		o := Options{Layer: size.Z / rapid.Float64Range(2, 60).Draw(t, "layers")}
		l := layersOf(t, m, o)
		require.True(t, l.Encloses)
		low := m.Bounds().Min.Z
		within := 1e-10 * size.Norm() * size.Norm()
		for k, a := range l.Areas {
			z, near := low+(float64(k)+0.5)*o.Layer, 1e-13*size.Norm()
			if math.Abs(sweepSection(m, z)-a) <= within {
				continue
			}
			below, above := sweepSection(m, z-near), sweepSection(m, z+near)
			require.GreaterOrEqual(t, a, min(below, above)-within, "layer %d of %d", k, len(l.Areas))
			require.LessOrEqual(t, a, max(below, above)+within, "layer %d of %d", k, len(l.Areas))
		}
	})
}

// A convex body's area and perimeter against the hull of chords.
func TestConvexLayersAgreeWithHulls(t *testing.T) {
	convex := []*mesh.Mesh{meshtest.Box(30, 20, 10), meshtest.Icosahedron(), meshtest.Dodecahedron(), meshtest.Frustum(9, 5, 2, 12), meshtest.Tetrahedron()}
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(convex).Draw(t, "body")
		p := Pose{float64(rapid.IntRange(-90, 90).Draw(t, "tilt")), rapid.SampledFrom([]string{"x", "y"}).Draw(t, "about")}
		posed := p.Apply(m)
		size := posed.Bounds().Size()
		// An irrational share keeps cuts off the corners of these regular bodies.
		o := Options{Pose: p, Layer: size.Z / (10 * math.Phi)}
		l := layersOf(t, m, o)
		low := posed.Bounds().Min.Z
		for k := range l.Areas {
			area, perimeter := hullSection(posed.Vertices, low+(float64(k)+0.5)*o.Layer)
			require.InDelta(t, area, l.Areas[k], 1e-12*size.Norm()*size.Norm())
			require.InDelta(t, perimeter, l.Perimeter[k], 1e-11*size.Norm())
		}
	})
}

// integral is the exact integral of the area over the height: between the heights
// of its corners a strip's share is quadratic, and Simpson's rule is exact.
func integral(m *mesh.Mesh) float64 {
	centre := m.Bounds().Centre()
	var all exact.Sum
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		a, b, c = a.Sub(centre), b.Sub(centre), c.Sub(centre)
		low, mid, high, sign := byHeight(&a, &b, &c)
		for _, ends := range [][2]*mesh.Vec{{low, mid}, {mid, high}} {
			from, to := ends[0].Z, ends[1].Z
			if from == to {
				continue
			}
			s := strip{sign: sign}
			s.long.set(low, high)
			s.short.set(ends[0], ends[1])
			v0, _ := s.at(from)
			v1, _ := s.at(from + (to-from)/2)
			v2, _ := s.at(to)
			all.Add((to - from) / 6 * (v0 + 4*v1 + v2))
		}
	}
	return all.Value() / 2
}

// Cavalieri's principle, on bodies in any pose: their volumes do not change.
func TestAreasIntegrateToTheVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawTurned(t)
		want := layersOf(t, m, Options{Layer: 1}).Volume
		require.InEpsilon(t, want, integral(m), 1e-12)
		// And the same of Section, between one corner's height and the next.
		var heights []float64
		for _, p := range m.Vertices {
			heights = append(heights, p.Z)
		}
		slices.Sort(heights)
		total := 0.0
		for i := 1; i < len(heights); i++ {
			lo, hi := heights[i-1], heights[i]
			if hi-lo < 1e-12 {
				continue // fewer than 400 of these, a layer each: far less than 1e-9 of the volume
			}
			// Gauss's rule of two points, exact for cubics, keeps off the ends.
			mid, half := (lo+hi)/2, (hi-lo)/2
			a, _ := sectionAt(m, mid-half/math.Sqrt(3))
			b, _ := sectionAt(m, mid+half/math.Sqrt(3))
			total += half * (a + b)
		}
		require.InEpsilon(t, want, total, 1e-9)
	})
	require.InEpsilon(t, 6000, integral(meshtest.Box(30, 20, 10)), 1e-14)
	require.InEpsilon(t, 1000-6*5*4, integral(bodies()["hollow box"]), 1e-14)
}

// The figures of reference.json are by libraries that nobody here wrote. Closed and
// consistently wound meshes enclose; others may, where edges of four triangles
// are passed two ways each.
func TestSharedMeshesIntegrateToTheirVolumes(t *testing.T) {
	enclosing := 0
	meshtest.EachReference(t, func(t *testing.T, ref reference.File, m *mesh.Mesh) {
		size := m.Bounds().Size()
		o := Options{Layer: max(size.Z/300, 1e-9)}
		l := layersOf(t, m, o)
		require.NotNil(t, ref.UnbalancedEdges)
		require.Equal(t, *ref.UnbalancedEdges == 0, l.Encloses)
		if !l.Encloses {
			require.Zero(t, l.Peak)
			return
		}
		enclosing++
		if ref.File == "derived/box-mirrored-item.3mf" {
			// A mirroring transform must not turn a solid inside out (3MF core, as in
			// check values, 2.3): reading turns the triangles over, the reference does not.
			ref.Volume = -ref.Volume
		}
		volume := l.Volume
		if l.Reversed {
			volume = -volume
		}
		// 1e-9 of the volume, and where shells cancel, the rounding of n terms of the
		// size of the bounds, as package measure has it.
		r := size.Norm() / 2
		within := 1e-9*math.Abs(ref.Volume) + 9*0x1p-53*float64(len(m.Triangles))*r*r*r
		require.InDelta(t, ref.Volume, volume, within)
		require.InDelta(t, ref.Volume, integral(m), within)
		// Every layer against one height taken alone. A cut that meets corners to the
		// last bit may fall on either side of them: then the areas on both sides bound it.
		low := m.Bounds().Min.Z
		for k := 0; k < len(l.Areas); k += 37 {
			z := low + (float64(k)+0.5)*o.Layer
			step := 1e-13 * (math.Abs(z) + size.Norm())
			a0, p0 := sectionAt(m, z-step)
			a1, p1 := sectionAt(m, z+step)
			if l.Reversed {
				a0, a1 = -a0, -a1
			}
			near := 1e-11 * (max(p0, p1)*r + r*r*1e-3)
			require.GreaterOrEqual(t, l.Areas[k], min(a0, a1)-near)
			require.LessOrEqual(t, l.Areas[k], max(a0, a1)+near)
		}
	})
	require.Greater(t, enclosing, 60)
}

// Check values, section 1.8: the largest layer of a plate 60 × 40 × 3 tilted about
// its 40 edge is 40·min(60, 3/sin t). (Its row for 15° is 463.644371, which is 6e-8
// off its own formula; the others are the formula's to their last figure.)
func TestPlateTilted(t *testing.T) {
	for tilt, row := range map[float64]float64{0: 2400, 15: 463.644371, 30: 240, 45: 169.705627, 60: 138.564065, 90: 120} {
		want := 40 * min(60, 3/math.Sin(tilt*math.Pi/180))
		require.InEpsilon(t, row, want, 1e-7)
		for _, m := range []*mesh.Mesh{meshtest.Box(60, 40, 3), meshtest.Moved(meshtest.Box(60, 40, 3), meshtest.Shift(-400, 70, 1000))} {
			for _, sign := range []float64{1, -1} {
				l := layersOf(t, m, Options{Pose: Pose{sign * tilt, "y"}})
				require.InEpsilon(t, want, l.Peak, 1e-12, "%v°", tilt)
				require.InEpsilon(t, 2400, l.FlatPeak, 1e-12)
			}
		}
	}
}

func TestApply(t *testing.T) {
	m := meshtest.Box(1, 2, 3)
	require.Same(t, m, Pose{}.Apply(m))
	require.Same(t, m, Pose{About: "x"}.Apply(m))
	// The right-hand rule: y goes to z about x, z goes to x about y; exactly.
	p := &mesh.Mesh{Vertices: []mesh.Vec{{X: 1, Y: 2, Z: 3}}}
	require.Equal(t, mesh.Vec{X: 1, Y: -3, Z: 2}, Pose{90, "x"}.Apply(p).Vertices[0])
	require.Equal(t, mesh.Vec{X: 3, Y: 2, Z: -1}, Pose{90, "y"}.Apply(p).Vertices[0])
	require.Equal(t, mesh.Vec{X: -1, Y: 2, Z: -3}, Pose{-180, "y"}.Apply(p).Vertices[0])
	require.Equal(t, mesh.Vec{X: 1, Y: 3, Z: -2}, Pose{270, "x"}.Apply(p).Vertices[0])
	back := Pose{-40, "x"}.Apply(Pose{40, "x"}.Apply(p)).Vertices[0]
	require.Less(t, back.Sub(p.Vertices[0]).Norm(), 1e-14)
}

func TestSineAndCosine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(-720, 720).Draw(t, "degrees")
		s, c := sinCos(d)
		// The angle in radians is itself rounded, by u of up to 4π.
		require.InDelta(t, math.Sin(d*math.Pi/180), s, 3e-15)
		require.InDelta(t, math.Cos(d*math.Pi/180), c, 3e-15)
		require.InDelta(t, 1, s*s+c*c, 1e-15)
	})
	s, _ := sinCos(30)
	require.InDelta(t, 0.5, s, 1e-16)
}

// Applying a pose and cutting, or cutting in that pose, is the same to the
// rounding of a turn.
func TestPoseIsApply(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawTurned(t)
		p := Pose{rapid.Float64Range(-180, 180).Draw(t, "tilt"), rapid.SampledFrom([]string{"x", "y"}).Draw(t, "about")}
		o := Options{Layer: 0.21}
		want := layersOf(t, p.Apply(m), o)
		o.Pose = p
		got := layersOf(t, m, o)
		require.Len(t, got.Areas, len(want.Areas))
		for k := range got.Areas {
			require.InDelta(t, want.Areas[k], got.Areas[k], 1e-9)
			require.InDelta(t, want.Perimeter[k], got.Perimeter[k], 1e-9)
		}
		require.InEpsilon(t, want.Volume, got.Volume, 1e-12)
		require.Equal(t, layersOf(t, m, Options{Layer: 0.21}).Peak, got.FlatPeak)
	})
}

// Spans of layers, and the layers they stand for: a tall body in so many layers that
// all ranks are used, against one height at a time.
func TestTallBodiesUseSpans(t *testing.T) {
	m := meshtest.Turned(meshtest.Frustum(40, 3, 1, 500), mesh.Vec{X: 1, Y: 2}, 0.03)
	l := layersOf(t, m, Options{Layer: 0.005})
	require.Greater(t, len(l.Areas), 16*16*16*16)
	low := m.Bounds().Min.Z
	for k := 0; k < len(l.Areas); k += 997 {
		area, perimeter := sectionAt(m, low+(float64(k)+0.5)*0.005)
		require.InDelta(t, area, l.Areas[k], 1e-11)
		require.InDelta(t, perimeter, l.Perimeter[k], 1e-11)
	}
}

func TestSameOnAnyNumberOfProcessors(t *testing.T) {
	m := meshtest.Turned(meshtest.UVSphere(20, 300, 200), mesh.Vec{X: 1, Y: 1}, 1)
	o := Options{Pose: Pose{40, "x"}}
	before := runtime.GOMAXPROCS(1)
	one := layersOf(t, m, o)
	runtime.GOMAXPROCS(7)
	many := layersOf(t, m, o)
	runtime.GOMAXPROCS(before)
	require.Equal(t, one, many)
}
