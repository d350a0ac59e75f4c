package change

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// printing is a printing tolerance, mm.
const printing = 0.01

func compare(t testing.TB, old, new *mesh.Mesh) Change {
	t.Helper()
	c, err := Compare(context.Background(), old, new, printing)
	require.NoError(t, err)
	return c
}

// inFloat32 rounds a mesh as a binary STL does.
func inFloat32(m *mesh.Mesh) *mesh.Mesh {
	return meshtest.Moved(m, func(p mesh.Vec) mesh.Vec {
		return mesh.Vec{X: meshtest.AsFloat32(p.X), Y: meshtest.AsFloat32(p.Y), Z: meshtest.AsFloat32(p.Z)}
	})
}

// bodies are shapes of every symmetry: none, one axis, all.
func bodies() map[string]*mesh.Mesh {
	fan := &mesh.Mesh{Vertices: []mesh.Vec{{}, {X: 30}, {X: 25, Y: 12}, {X: 7, Y: 20}}}
	meshtest.AddFan(fan, 0, 1, 2, 3)
	return map[string]*mesh.Mesh{
		"box":         meshtest.Box(30, 20, 10),
		"cube":        meshtest.Box(20, 20, 20),
		"rod":         meshtest.Frustum(24, 4, 4, 40),
		"cone":        meshtest.Frustum(17, 9, 0, 20),
		"ball":        meshtest.UVSphere(12, 30, 16),
		"icosahedron": meshtest.Scaled(meshtest.Icosahedron(), 9),
		"plate":       meshtest.DrilledPlate(16, 5, 30, 4, 0.3, 0.4),
		"open cube":   meshtest.Without(meshtest.Box(20, 20, 20), 3),
		"sheet":       fan,
		"odd":         meshtest.Together(meshtest.Box(30, 20, 10), meshtest.Moved(meshtest.Tetrahedron(), func(p mesh.Vec) mesh.Vec { return p.Add(mesh.Vec{X: 8, Y: 5, Z: 15}) })),
		"far":         meshtest.Moved(meshtest.Frustum(7, 9, 4, 20), meshtest.Shift(900, -400, 100)),
	}
}

func turned(m *mesh.Mesh) *mesh.Mesh {
	return meshtest.Moved(meshtest.Turned(m, mesh.Vec{X: 0.36, Y: 0.48, Z: 0.8}, 1.1), meshtest.Shift(12.3, -4.5, 6.7))
}

func TestKinds(t *testing.T) {
	for name, m := range bodies() {
		m = inFloat32(m)
		t.Run(name, func(t *testing.T) {
			require.Equal(t, Unchanged, compare(t, m, m).Kind)
			for _, c := range []struct {
				name string
				new  *mesh.Mesh
				want Kind
			}{
				{"cut otherwise", meshtest.Remesh(m, 2), SameShape},
				{"shifted", meshtest.Moved(m, meshtest.Shift(5, -3, 2)), Moved},
				{"turned", turned(m), Moved},
				{"turned and cut otherwise", turned(meshtest.Remesh(m, 1)), Moved},
				{"larger", meshtest.Scaled(m, 1.1), Rescaled},
				{"larger and turned", turned(meshtest.Scaled(m, 1.1)), Rescaled},
				{"smaller and cut otherwise", turned(meshtest.Scaled(meshtest.Remesh(m, 1), 0.75)), Rescaled},
			} {
				got := compare(t, m, inFloat32(c.new))
				require.Equal(t, c.want, got.Kind, c.name)
				back := compare(t, inFloat32(c.new), m)
				require.Equal(t, c.want, back.Kind, c.name)
			}
		})
	}
}

// The motion that is told takes the old corners onto the new ones.
func TestMotionIsTheOneMade(t *testing.T) {
	m := inFloat32(bodies()["odd"])
	about, angle := mesh.Vec{X: 0.36, Y: 0.48, Z: 0.8}, 1.1
	for _, c := range []struct {
		name  string
		new   *mesh.Mesh
		want  Kind
		scale float64
	}{
		{"shifted", meshtest.Moved(m, meshtest.Shift(5, -3, 2)), Moved, 1},
		{"turned", turned(m), Moved, 1},
		{"mirrored", m.Mirrored(), Mirrored, 1},
		{"mirrored, turned and cut otherwise", turned(meshtest.Remesh(m.Mirrored(), 1)), Mirrored, 1},
		{"another size", turned(meshtest.Scaled(m, 1.1)), Rescaled, 1.1},
		{"another size, mirrored", turned(meshtest.Scaled(m.Mirrored(), 0.5)), Rescaled, 0.5},
	} {
		got := compare(t, m, inFloat32(c.new))
		require.Equal(t, c.want, got.Kind, c.name)
		require.InDelta(t, c.scale, got.Motion.Scale, 1e-9, c.name)
		for i, p := range m.Vertices { // Remesh keeps the vertices it had, as they were
			require.InDelta(t, 0, got.Motion.Apply(p).Sub(c.new.Vertices[i]).Norm(), Same, c.name)
		}
		require.InDelta(t, 1, math.Abs(determinant(got.Motion.Matrix)), 1e-9, c.name)
	}
	got := compare(t, m, meshtest.Moved(m, meshtest.Shift(5, -3, 2)))
	require.Equal(t, Still.Matrix, got.Motion.Matrix)
	require.InDelta(t, 0, got.Motion.Shift.Sub(mesh.Vec{X: 5, Y: -3, Z: 2}).Norm(), 1e-6)

	// The rotation by 1.1 radians that was made: its trace is 1 + 2 cos 1.1.
	r := compare(t, m, inFloat32(meshtest.Turned(m, about, angle))).Motion.Matrix
	require.InDelta(t, 1+2*math.Cos(angle), r[0]+r[4]+r[8], 1e-6)
}

// A corner of a box pulled out by 0.2 mm along the diagonal is 0.2 mm from where the
// surface was, and the nearest point of that is the corner.
func TestOneCornerMoved(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{"box": meshtest.Box(30, 20, 10), "fine box": meshtest.Remesh(meshtest.Box(30, 20, 10), 4)} {
		new := &mesh.Mesh{Vertices: append([]mesh.Vec(nil), m.Vertices...), Triangles: m.Triangles}
		corner := -1
		for i, p := range m.Vertices {
			if p == (mesh.Vec{X: 30, Y: 20, Z: 10}) {
				corner = i
			}
		}
		out := 0.2 / math.Sqrt(3)
		new.Vertices[corner] = new.Vertices[corner].Add(mesh.Vec{X: out, Y: out, Z: out})
		c := compare(t, m, new)
		require.Equal(t, Changed, c.Kind, name)
		d, onNew := c.Largest()
		require.True(t, onNew, name)
		require.InDelta(t, 0.2, d.Largest, 1e-9, name)
		require.LessOrEqual(t, d.AtMost, d.Largest+Tolerance(40), name)
		require.InDelta(t, 0, d.At.Sub(new.Vertices[corner]).Norm(), 1e-9, name)
		require.InDelta(t, 0, d.Nearest.Sub(m.Vertices[corner]).Norm(), 1e-9, name)
		require.Less(t, c.Mean(), 0.1, name)
		require.Greater(t, c.Mean(), 0.0, name)
		require.Greater(t, c.New.Volume, c.Old.Volume, name)
	}
}

// A plane lifted by h over the middle of a large face is found by the search, not by
// the corners: the pyramid's tip is far from them all. Its mean distance is known.
func TestPyramidOnAFace(t *testing.T) {
	const side, h = 40.0, 3.0
	flat, peaked := &mesh.Mesh{Vertices: []mesh.Vec{{}, {X: side}, {X: side, Y: side}, {Y: side}}}, &mesh.Mesh{}
	meshtest.AddFan(flat, 0, 1, 2, 3)
	peaked.Vertices = append(append(peaked.Vertices, flat.Vertices...), mesh.Vec{X: 22, Y: 17, Z: h})
	peaked.Triangles = [][3]uint32{{0, 1, 4}, {1, 2, 4}, {2, 3, 4}, {3, 0, 4}}
	c := compare(t, flat, peaked)
	require.Equal(t, Changed, c.Kind)
	require.InDelta(t, h, c.NewToOld.Largest, 1e-9)
	// Heights over a pyramid's faces have the mean h/3.
	require.InDelta(t, h/3, c.NewToOld.Mean, 0.01)
	// From below, the farthest point is near the tip's foot, on the face: the nearest
	// point of the steepest side is h·cos of its slope away. Sides at 17, 18, 22, 23.
	want := 0.0
	twin := brute{peaked}
	for x := 20.0; x < 24; x += 0.01 {
		for y := 15.0; y < 19; y += 0.01 {
			want = max(want, twin.distance(mesh.Vec{X: x, Y: y}))
		}
	}
	require.InDelta(t, want, c.OldToNew.Largest, Tolerance(60)+0.01)
	require.GreaterOrEqual(t, c.OldToNew.AtMost, want)
	require.LessOrEqual(t, c.OldToNew.AtMost, c.OldToNew.Largest+Tolerance(60))
	require.InDelta(t, 0, c.OldToNew.At.Z, 1e-12)
}

// Concentric spheres of radii r and r+d are d apart, each way, but for their facets: a
// facet of a sphere with so many longitudes and half as many latitudes lies within
// r(1 − cos(π/n)²) of it.
func TestConcentricSpheres(t *testing.T) {
	const r, d, n = 10.0, 0.5, 60
	a, b := meshtest.UVSphere(r, n, n/2), meshtest.UVSphere(r+d, n-7, n/2-3)
	c := compare(t, a, b)
	require.Equal(t, Changed, c.Kind)
	sag := (r + d) * (1 - math.Pow(math.Cos(math.Pi/(n-7)), 2))
	for _, got := range []Distance{c.OldToNew, c.NewToOld} {
		require.InDelta(t, d, got.Largest, sag)
		require.InDelta(t, d, got.Mean, sag)
		require.LessOrEqual(t, got.AtMost-got.Largest, Tolerance(40)+1e-12)
	}
	ratio := math.Pow((r+d)/r, 3)
	require.InDelta(t, ratio, c.New.Volume/c.Old.Volume, 0.01)
}

// What only lies inside out, or is there twice, is no other triangulation.
func TestSameSurfaceOtherSolid(t *testing.T) {
	m := meshtest.Box(30, 20, 10)
	c := compare(t, m, meshtest.InsideOut(m))
	require.Equal(t, Changed, c.Kind)
	require.InDelta(t, -c.Old.Volume, c.New.Volume, 1e-6)
	d, _ := c.Largest()
	require.Zero(t, d.Largest)
	require.LessOrEqual(t, d.AtMost, Tolerance(40))
	require.Equal(t, Changed, compare(t, m, meshtest.Together(m, m)).Kind)
}

// brute asks every triangle.
type brute struct{ m *mesh.Mesh }

func (b brute) distance(p mesh.Vec) float64 {
	best := math.Inf(1)
	for i := range b.m.Triangles {
		q, r, s := b.m.Corners(i)
		best = min(best, nearestOf(p, q, r, s).Sub(p).Norm())
	}
	return best
}

// descend finds the distance of p from a triangle by a grid of weights that shrinks:
// the distance is convex in them, so the best node's neighbours hold the least.
func descend(p, a, b, c mesh.Vec) float64 {
	u, v := b.Sub(a), c.Sub(a)
	x, y, step := 1./3, 1./3, 1./3
	best := math.Inf(1)
	for range 90 {
		bx, by := x, y
		for i := -4; i <= 4; i++ {
			for j := -4; j <= 4; j++ {
				s, w := x+float64(i)*step/4, y+float64(j)*step/4
				s, w = max(s, 0), max(w, 0)
				if s+w > 1 {
					s, w = s/(s+w), w/(s+w)
				}
				if d := a.Add(u.Scale(s)).Add(v.Scale(w)).Sub(p).Norm(); d < best {
					best, bx, by = d, s, w
				}
			}
		}
		x, y = bx, by
		step *= 0.8
	}
	return best
}

func TestNearestPointOfATriangle(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	point := func(size float64) mesh.Vec {
		return mesh.Vec{X: (2*rng.Float64() - 1) * size, Y: (2*rng.Float64() - 1) * size, Z: (2*rng.Float64() - 1) * size}
	}
	for k := range 600 {
		a, b, c := point(10), point(10), point(10)
		switch k % 6 {
		case 1:
			c = a.Add(b.Sub(a).Scale(rng.Float64())) // on one line
		case 2:
			b = a
		case 3:
			c = a.Add(b.Sub(a).Scale(0.3)).Add(point(1e-7)) // a needle
		case 4:
			b, c = a, a
		}
		p := point(15)
		q := nearestOf(p, a, b, c)
		require.InDelta(t, descend(p, a, b, c), q.Sub(p).Norm(), 1e-5, "%v %v %v from %v", a, b, c, p)
		require.InDelta(t, 0, descend(q, a, b, c), 1e-5, "the point is on the triangle")
	}
}

// On small heaps of triangles: the distances are those that looking at every triangle
// from many points gives, never less than any of them, and attained.
func TestDistancesAgreeWithLookingEverywhere(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	heapOf := func(n int) *mesh.Mesh {
		m := &mesh.Mesh{}
		for range n {
			base := mesh.Vec{X: rng.Float64() * 20, Y: rng.Float64() * 20, Z: rng.Float64() * 20}
			for range 3 {
				m.Vertices = append(m.Vertices, base.Add(mesh.Vec{X: rng.Float64() * 8, Y: rng.Float64() * 8, Z: rng.Float64() * 8}))
			}
			k := uint32(len(m.Vertices))
			m.Triangles = append(m.Triangles, [3]uint32{k - 3, k - 2, k - 1})
		}
		return m
	}
	for range 12 {
		a, b := heapOf(1+rng.IntN(12)), heapOf(1+rng.IntN(12))
		c := compare(t, a, b)
		require.Equal(t, Changed, c.Kind)
		for _, side := range []struct {
			from *mesh.Mesh
			to   brute
			got  Distance
		}{{a, brute{b}, c.OldToNew}, {b, brute{a}, c.NewToOld}} {
			largest, sum, area := 0.0, 0.0, 0.0
			const halvings = 11
			for i := range side.from.Triangles {
				p, q, r := side.from.Corners(i)
				w := q.Sub(p).Cross(r.Sub(p)).Norm() / 2
				area += w
				scatter(p, q, r, halvings, func(x mesh.Vec) {
					d := side.to.distance(x)
					largest, sum = max(largest, d), sum+w*math.Ldexp(d, -halvings)
				})
				for _, x := range []mesh.Vec{p, q, r} {
					largest = max(largest, side.to.distance(x))
				}
			}
			require.LessOrEqual(t, largest, side.got.AtMost+1e-9)
			require.GreaterOrEqual(t, side.got.Largest, largest-Tolerance(40))
			require.LessOrEqual(t, side.got.AtMost, side.got.Largest+Tolerance(60))
			require.InDelta(t, side.got.Largest, side.to.distance(side.got.At), 1e-9)
			require.InDelta(t, side.got.Largest, side.got.At.Sub(side.got.Nearest).Norm(), 1e-9)
			require.InDelta(t, sum/area, side.got.Mean, 0.02)
		}
	}
}
