package shadow

import (
	"context"
	"math"
	"math/big"
	"math/rand/v2"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// soup makes a mesh of loose triangles.
func soup(corners ...mesh.Vec) *mesh.Mesh {
	m := &mesh.Mesh{Vertices: corners}
	for i := 0; i+2 < len(corners); i += 3 {
		m.Triangles = append(m.Triangles, [3]uint32{uint32(i), uint32(i + 1), uint32(i + 2)})
	}
	return m
}

// box is a closed box.
func box(lo, hi mesh.Vec) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range 8 {
		pick := func(bit int, a, b float64) float64 {
			if i>>bit&1 == 1 {
				return b
			}
			return a
		}
		m.Vertices = append(m.Vertices, mesh.Vec{X: pick(0, lo.X, hi.X), Y: pick(1, lo.Y, hi.Y), Z: pick(2, lo.Z, hi.Z)})
	}
	for _, q := range [][4]uint32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Triangles = append(m.Triangles, [3]uint32{q[0], q[1], q[2]}, [3]uint32{q[0], q[2], q[3]})
	}
	return m
}

// tube sweeps a closed section of n points round a closed path of k.
func tube(k, n int, at func(i, j int) mesh.Vec) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range k {
		for j := range n {
			m.Vertices = append(m.Vertices, at(i, j))
			a, b := uint32(i*n+j), uint32(i*n+(j+1)%n)
			c, d := uint32((i+1)%k*n+j), uint32((i+1)%k*n+(j+1)%n)
			m.Triangles = append(m.Triangles, [3]uint32{a, c, b}, [3]uint32{b, c, d})
		}
	}
	return m
}

func torus(k, n int, R, r float64) *mesh.Mesh {
	return tube(k, n, func(i, j int) mesh.Vec {
		u, v := 2*math.Pi*float64(i)/float64(k), 2*math.Pi*float64(j)/float64(n)
		w := R + r*math.Cos(v)
		return mesh.Vec{X: w * math.Cos(u), Y: w * math.Sin(u), Z: r * math.Sin(v)}
	})
}

func mustShadow(t require.TestingT, m *mesh.Mesh, v View) Outline {
	o, err := Of(context.Background(), m, v)
	require.NoError(t, err)
	return o
}

func TestShadowOfBoxIsItsFourCorners(t *testing.T) {
	m := box(mesh.Vec{X: 1, Y: 2, Z: 3}, mesh.Vec{X: 31, Y: 22, Z: 13})
	require.Equal(t, Outline{{{1, 3}, {31, 3}, {31, 13}, {1, 13}}}, mustShadow(t, m, Front))
	require.Equal(t, Outline{{{2, 3}, {22, 3}, {22, 13}, {2, 13}}}, mustShadow(t, m, Side))
	require.Equal(t, Outline{{{1, 2}, {31, 2}, {31, 22}, {1, 22}}}, mustShadow(t, m, Top))
}

// A box turned so that its space diagonal points at the eye shows a hexagon.
// For any direction d the area is Σ |dᵢ|·(area of the pair of faces across i).
func TestShadowOfTurnedBox(t *testing.T) {
	for seed := range uint64(50) {
		r := rand.New(rand.NewPCG(seed, 1))
		about := mesh.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
		angle := r.Float64() * math.Pi
		a, b, c := 30.0, 20.0, 10.0
		m := meshtest.Turned(box(mesh.Vec{}, mesh.Vec{X: a, Y: b, Z: c}), about, angle)
		// The eye's direction in the box's own axes.
		d := meshtest.Turned(&mesh.Mesh{Vertices: []mesh.Vec{{Z: 1}}}, about, -angle).Vertices[0]
		want := math.Abs(d.X)*b*c + math.Abs(d.Y)*a*c + math.Abs(d.Z)*a*b
		o := mustShadow(t, m, Top)
		require.Len(t, o, 1)
		require.Len(t, o[0], 6)
		require.InEpsilon(t, want, o.Area(), 1e-7)
	}
}

// An n-sided prism of even n, seen along its axis and across it.
func TestShadowOfPrism(t *testing.T) {
	for _, n := range []int{6, 32, 96, 1000} {
		const r, h = 5.0, 20.0
		m := tube(n, 4, func(i, j int) mesh.Vec {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			w := [4]float64{0, r, r, 0}[j]
			return mesh.Vec{X: w * c, Y: w * s, Z: [4]float64{0, 0, h, h}[j]}
		})
		top := mustShadow(t, m, Top)
		require.Len(t, top, 1)
		require.Len(t, top[0], n)
		require.InEpsilon(t, float64(n)/2*r*r*math.Sin(2*math.Pi/float64(n)), top.Area(), 1e-7)
		front := mustShadow(t, m, Front)
		require.Len(t, front[0], 4)
		require.InEpsilon(t, 2*r*h, front.Area(), 1e-7)
	}
}

// From above a torus is a ring of two polygons; lying, a stadium: the hull of
// two circles of radius r, 2R apart.
func TestShadowOfTorusHasItsHole(t *testing.T) {
	const R, r, k, n = 10.0, 2.0, 240, 96
	m := torus(k, n, R, r)
	o := mustShadow(t, m, Top)
	require.Len(t, o, 2)
	polygon := float64(k) / 2 * math.Sin(2*math.Pi/k)
	require.InEpsilon(t, polygon*(R+r)*(R+r), Outline{o[0]}.Area(), 1e-7)
	require.InEpsilon(t, -polygon*(R-r)*(R-r), Outline{o[1]}.Area(), 1e-7)
	front := mustShadow(t, m, Front)
	require.Len(t, front, 1)
	section := float64(n) / 2 * r * r * math.Sin(2*math.Pi/n)
	require.InEpsilon(t, 2*R*2*r+section, front.Area(), 1e-7)
}

func TestShadowOfOddCases(t *testing.T) {
	v := func(x, y float64) mesh.Vec { return mesh.Vec{X: x, Y: y} }
	cases := []struct {
		name  string
		m     *mesh.Mesh
		rings int
		area  float64
	}{
		{"nothing", &mesh.Mesh{}, 0, 0},
		{"no area", soup(v(0, 0), v(1, 1), v(2, 2)), 0, 0},
		{"a repeated vertex", &mesh.Mesh{Vertices: []mesh.Vec{v(0, 0), v(1, 0)}, Triangles: [][3]uint32{{0, 1, 1}}}, 0, 0},
		{"one point", soup(v(3, 3), v(3, 3), v(3, 3)), 0, 0},
		{"the same twice, and back to front", soup(v(0, 0), v(2, 0), v(0, 2), v(0, 0), v(2, 0), v(0, 2), v(0, 0), v(0, 2), v(2, 0)), 1, 2},
		{"touching in a corner", soup(v(0, 0), v(2, 0), v(0, 2), v(2, 0), v(4, 0), v(4, 2)), 2, 4},
		{"a corner on a side", soup(v(0, 0), v(4, 0), v(0, 4), v(2, 2), v(4, 2), v(4, 4)), 2, 10},
		{"a star of two", soup(v(0, 0), v(6, 0), v(3, 6), v(0, 4), v(3, -2), v(6, 4)), 1, 24},
		{"apart", soup(v(0, 0), v(1, 0), v(0, 1), v(5, 5), v(6, 5), v(5, 6)), 2, 1},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			o := mustShadow(t, c.m, Top)
			requireSoundOutline(t, o)
			require.Len(t, o, c.rings)
			require.InDelta(t, c.area, o.Area(), 1e-6)
		})
	}
	// A square frame of eight triangles whose hole touches the outer side in a
	// point: an outer ring and a hole, not one ring that passes the point twice.
	pinched := soup(
		v(0, 0), v(4, 0), v(2, 1), v(4, 0), v(4, 4), v(2, 1), v(4, 4), v(2, 3), v(2, 1),
		v(4, 4), v(0, 4), v(2, 3), v(0, 4), v(0, 2), v(2, 3), v(0, 2), v(0, 0), v(2, 1))
	o := mustShadow(t, pinched, Top)
	requireSoundOutline(t, o)
	require.Len(t, o, 2)
	require.InDelta(t, 14, o.Area(), 1e-6)

	for _, bad := range []float64{math.NaN(), math.Inf(1), math.MaxFloat64} {
		_, err := Of(t.Context(), soup(v(-bad, 0), v(bad, 0), v(0, 1)), Top)
		require.Error(t, err)
	}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	_, err := Of(stopped, torus(20, 20, 10, 2), Top)
	require.ErrorIs(t, err, context.Canceled)
}

// windings counts how often the outline runs about p: 1 inside, 0 outside.
func windings(o Outline, p Point) int {
	n := 0
	for _, r := range o {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			left := (b.X-a.X)*(p.Y-a.Y)-(b.Y-a.Y)*(p.X-a.X) > 0
			if a.Y <= p.Y && b.Y > p.Y && left {
				n++
			} else if b.Y <= p.Y && a.Y > p.Y && !left {
				n--
			}
		}
	}
	return n
}

// overTriangle is the slow twin: whether p lies in the projection of any triangle.
func overTriangle(m *mesh.Mesh, v View, p Point) bool {
	for i := range m.Triangles {
		var q [3]Point
		for k := range 3 {
			q[k].X, q[k].Y, _ = v.Project(m.Vertices[m.Triangles[i][k]])
		}
		side := func(a, b Point) float64 { return (b.X-a.X)*(p.Y-a.Y) - (b.Y-a.Y)*(p.X-a.X) }
		s, t, u := side(q[0], q[1]), side(q[1], q[2]), side(q[2], q[0])
		if s > 0 && t > 0 && u > 0 || s < 0 && t < 0 && u < 0 {
			return true
		}
	}
	return false
}

// requireSameRegion compares an outline with the twin over a raster whose
// points lie off the whole coordinates that the soups below use.
func requireSameRegion(t require.TestingT, m *mesh.Mesh, v View, o Outline, size float64) {
	const n = 41
	for i := range n {
		for j := range n {
			p := Point{size*(float64(i)+0.377)/n - 0.0123, size*(float64(j)+0.613)/n + 0.0217}
			want := 0
			if overTriangle(m, v, p) {
				want = 1
			}
			require.Equal(t, want, windings(o, p), "at %v", p)
		}
	}
}

// Soups with corners on a coarse grid are full of coincident sides, touching
// corners and sides through corners.
func TestShadowAgreesWithPointTests(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.IntRange(2, 40).Draw(t, "size")
		corner := rapid.Custom(func(t *rapid.T) mesh.Vec {
			c := rapid.IntRange(0, size)
			return mesh.Vec{X: float64(c.Draw(t, "x")), Y: float64(c.Draw(t, "y")), Z: float64(c.Draw(t, "z"))}
		})
		m := soup(rapid.SliceOfN(corner, 3, 60).Draw(t, "corners")...)
		v := Views[rapid.IntRange(0, 2).Draw(t, "view")]
		requireSameRegion(t, m, v, mustShadow(t, m, v), float64(size))
	})
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 2))
		var corners []mesh.Vec
		for range 300 {
			c := mesh.Vec{X: 100 * r.Float64(), Y: 100 * r.Float64()}
			for range 3 {
				corners = append(corners, c.Add(mesh.Vec{X: 12 * r.Float64(), Y: 12 * r.Float64(), Z: r.Float64()}))
			}
		}
		m := soup(corners...)
		o := mustShadow(t, m, Top)
		requireSoundOutline(t, o)
		requireSameRegion(t, m, Top, o, 112)
	}
}

func TestShadowDoesNotDependOnHowTheMeshIsWritten(t *testing.T) {
	m := meshtest.Turned(torus(40, 24, 10, 3), mesh.Vec{X: 1, Y: 2, Z: 0.5}, 0.7)
	r := rand.New(rand.NewPCG(7, 7))
	for _, v := range Views {
		want := mustShadow(t, m, v)
		mixed := &mesh.Mesh{Vertices: m.Vertices, Triangles: append([][3]uint32(nil), m.Triangles...)}
		r.Shuffle(len(mixed.Triangles), func(i, j int) {
			mixed.Triangles[i], mixed.Triangles[j] = mixed.Triangles[j], mixed.Triangles[i]
		})
		for i, tri := range mixed.Triangles {
			if k := r.IntN(3); r.IntN(2) == 0 {
				mixed.Triangles[i] = [3]uint32{tri[k], tri[(k+1)%3], tri[(k+2)%3]}
			} else { // some are wound the wrong way
				mixed.Triangles[i] = [3]uint32{tri[k], tri[(k+2)%3], tri[(k+1)%3]}
			}
		}
		require.Equal(t, want, mustShadow(t, mixed, v), "order and winding")

		var corners []mesh.Vec
		for i := range m.Triangles {
			a, b, c := m.Corners(i)
			mid := a.Add(b).Scale(0.5)
			corners = append(corners, a, mid, c, mid, b, c)
		}
		halved := mustShadow(t, soup(corners...), v)
		require.InEpsilon(t, want.Area(), halved.Area(), 1e-7, "each triangle in two, nothing welded")

		require.InEpsilon(t, want.Area(), mustShadow(t, m.Mirrored(), v).Area(), 1e-7, "mirrored")

		far := &mesh.Mesh{Triangles: m.Triangles}
		for _, p := range m.Vertices {
			far.Vertices = append(far.Vertices, p.Add(mesh.Vec{X: 1000, Y: -500, Z: 250}))
		}
		require.InEpsilon(t, want.Area(), mustShadow(t, far, v).Area(), 1e-7, "moved")
	}
}

// A heap of large triangles, whose edges cross many times, done in parts; and
// parts against the whole on soups small enough for both.
func TestShadowInParts(t *testing.T) {
	for seed := range uint64(2) {
		r := rand.New(rand.NewPCG(seed, 6))
		var corners []mesh.Vec
		for range 1500 {
			c := mesh.Vec{X: 100 * r.Float64(), Y: 100 * r.Float64()}
			for range 3 {
				corners = append(corners, c.Add(mesh.Vec{X: 5 * r.Float64(), Y: 5 * r.Float64()}))
			}
		}
		m := soup(corners...)
		points, g, err := projectToGrid(t.Context(), m, Top)
		require.NoError(t, err)
		parts, err := borderInParts(t.Context(), m, points)
		require.NoError(t, err)
		o := g.outline(walkRings(parts))
		requireSoundOutline(t, o)
		require.InEpsilon(t, mustShadow(t, m, Top).Area(), o.Area(), 1e-6)
		requireSameRegion(t, m, Top, o, 105)
	}
	r := rand.New(rand.NewPCG(1, 8))
	var corners []mesh.Vec
	for range 3 * 3000 {
		s, c := math.Sincos(2 * math.Pi * r.Float64())
		corners = append(corners, mesh.Vec{X: c, Y: s})
	}
	heap := soup(corners...)
	points, _, err := projectToGrid(t.Context(), heap, Top)
	require.NoError(t, err)
	stars, err := heap.Stars(t.Context())
	require.NoError(t, err)
	chain, err := contourChain(t.Context(), stars, points)
	require.NoError(t, err)
	_, err = snapRound(t.Context(), chain, pairsAtOnce, new(atomic.Int64))
	require.ErrorIs(t, err, ErrIntricate)
	o := mustShadow(t, heap, Top)
	// Nearly the circle's polygon through all corners.
	require.InDelta(t, math.Pi, o.Area(), 0.02)
	requireSoundOutline(t, o)
}

// The rounding of crossings and the cells that a segment passes, against
// rational arithmetic.
func TestSnapPredicatesAreExact(t *testing.T) {
	for _, size := range []int32{8, 1000, 1 << gridBits} {
		r := rand.New(rand.NewPCG(uint64(size), 3))
		at := func() gridPoint { return gridPoint{r.Int32N(size + 1), r.Int32N(size + 1)} }
		for range 20000 {
			p, q, a, b := at(), at(), at(), at()
			got, ok := crossing(p, q, a, b)
			if !ok {
				continue
			}
			num, den := big.NewInt(turn(a, b, p)), big.NewInt(turn(a, b, p)-turn(a, b, q))
			for _, axis := range [][3]int32{{p.x, q.x, got.x}, {p.y, q.y, got.y}} {
				exact := new(big.Rat).SetFrac(num, den)
				exact.Mul(exact, big.NewRat(int64(axis[1]-axis[0]), 1))
				exact.Add(exact, big.NewRat(int64(axis[0]-axis[2]), 1)) // now within [−1/2, 1/2)
				require.True(t, exact.Cmp(big.NewRat(-1, 2)) >= 0 && exact.Cmp(big.NewRat(1, 2)) < 0)
			}
		}
	}
	// Liang and Barsky's clipping to a cell, in fractions, with its right and
	// upper sides left out.
	slow := func(a, b, c gridPoint) bool {
		lo, hi := big.NewRat(0, 1), big.NewRat(1, 1)
		loOpen, hiOpen := false, false
		for _, axis := range [][3]int64{{int64(a.x), int64(b.x), int64(c.x)}, {int64(a.y), int64(b.y), int64(c.y)}} {
			from, d := 2*(axis[0]-axis[2]), 2*(axis[1]-axis[0]) // doubled: the cell is [−1, 1)
			if d == 0 {
				if from < -1 || from >= 1 {
					return false
				}
				continue
			}
			enter, leave := big.NewRat(-1-from, d), big.NewRat(1-from, d)
			enterOpen, leaveOpen := false, true
			if d < 0 {
				enter, leave, enterOpen, leaveOpen = leave, enter, true, false
			}
			if k := enter.Cmp(lo); k > 0 || k == 0 && enterOpen {
				lo, loOpen = enter, enterOpen
			}
			if k := leave.Cmp(hi); k < 0 || k == 0 && leaveOpen {
				hi, hiOpen = leave, leaveOpen
			}
		}
		k := lo.Cmp(hi)
		return k < 0 || k == 0 && !loOpen && !hiOpen
	}
	r := rand.New(rand.NewPCG(5, 5))
	for range 200000 {
		at := func() gridPoint { return gridPoint{r.Int32N(9), r.Int32N(9)} }
		a, b, c := at(), at(), at()
		require.Equal(t, slow(a, b, c), passes(a, b, c), "%v %v %v", a, b, c)
	}
}

// After snap rounding on a very coarse grid, where much collapses, no two edges
// may share more than an end.
func TestSnapRoundLeavesNoCrossing(t *testing.T) {
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(seed, 4))
		size := int32(5 + r.IntN(40))
		var chain []weighted
		for range 3 + r.IntN(40) {
			p := [3]gridPoint{}
			for k := range p {
				p[k] = gridPoint{r.Int32N(size), r.Int32N(size)}
			}
			if turn(p[0], p[1], p[2]) < 0 {
				p[1], p[2] = p[2], p[1]
			}
			for k := range p {
				if a, b := p[k], p[(k+1)%3]; a != b && turn(p[0], p[1], p[2]) != 0 {
					chain = append(chain, makeWeighted(a, b, 1))
				}
			}
		}
		snapped, err := snapRound(t.Context(), mergeEqual(chain), pairsInJoin, new(atomic.Int64))
		require.NoError(t, err)
		for i, e := range snapped {
			for _, f := range snapped[:i] {
				if conflict(e.a, e.b, f.a, f.b) {
					t.Fatalf("%v and %v", e, f)
				}
			}
		}
		_, err = positiveBorder(t.Context(), snapped)
		require.NoError(t, err)
	}
}

func FuzzShadow(f *testing.F) {
	f.Add([]byte{0, 0, 4, 0, 0, 4, 2, 2, 6, 1, 1, 6})
	f.Add([]byte{0, 0, 255, 0, 0, 255, 1, 1, 254, 255, 3, 128, 9, 9, 9, 9, 9, 9})
	f.Fuzz(func(t *testing.T, bytes []byte) {
		if len(bytes) > 240 {
			return
		}
		var corners []mesh.Vec
		for i := 0; i+1 < len(bytes); i += 2 {
			corners = append(corners, mesh.Vec{X: float64(bytes[i]), Y: float64(bytes[i+1])})
		}
		m := soup(corners...)
		o := mustShadow(t, m, Top)
		requireSoundOutline(t, o)
		for i := range 12 {
			for j := range 12 {
				p := Point{21.3*float64(i) + 0.377, 21.3*float64(j) + 0.613}
				require.Equal(t, overTriangle(m, Top, p), windings(o, p) == 1)
			}
		}
	})
}

// The torus is wavy, so that there are folds inside the outline.
func BenchmarkShadow(b *testing.B) {
	for _, size := range []struct {
		name string
		k, n int
	}{{"10k", 100, 50}, {"1M", 1000, 500}} {
		m := tube(size.k, size.n, func(i, j int) mesh.Vec {
			u, v := 2*math.Pi*float64(i)/float64(size.k), 2*math.Pi*float64(j)/float64(size.n)
			r := 3 + 0.2*math.Sin(40*u)*math.Sin(30*v)
			w := 10 + r*math.Cos(v)
			return mesh.Vec{X: w * math.Cos(u), Y: w * math.Sin(u), Z: r * math.Sin(v)}
		})
		m = meshtest.Turned(m, mesh.Vec{X: 1, Y: 0.3}, 0.9)
		b.Run("size="+size.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := Of(b.Context(), m, Front)
				require.NoError(b, err)
			}
			b.ReportMetric(float64(len(m.Triangles)*b.N)/b.Elapsed().Seconds(), "triangles/s")
		})
	}
}
