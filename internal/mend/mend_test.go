package mend

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
)

// cracked is m with the corners of some triangles no longer shared, each moved by up
// to gap along every axis, and with some sides split whose neighbours stay whole.
func cracked(m *mesh.Mesh, rng *rand.Rand, gap float64, loose, splits int) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: append([]mesh.Vec{}, m.Vertices...), Triangles: append([][3]uint32{}, m.Triangles...)}
	off := func() float64 { return gap * (2*rng.Float64() - 1) }
	away := func(p mesh.Vec) uint32 {
		out.Vertices = append(out.Vertices, p.Add(mesh.Vec{X: off(), Y: off(), Z: off()}))
		return uint32(len(out.Vertices) - 1)
	}
	for range loose {
		i := rng.IntN(len(m.Triangles))
		for k, v := range m.Triangles[i] {
			out.Triangles[i][k] = away(m.Vertices[v])
		}
	}
	for range splits {
		i := rng.IntN(len(m.Triangles))
		t := out.Triangles[i]
		a, b := out.Vertices[t[0]], out.Vertices[t[1]]
		n := away(a.Add(b.Sub(a).Scale(0.1 + 0.8*rng.Float64())))
		out.Triangles[i] = [3]uint32{t[0], n, t[2]}
		out.Triangles = append(out.Triangles, [3]uint32{n, t[1], t[2]})
	}
	return out
}

// volume is by the divergence theorem, the plainest way.
func volume(m *mesh.Mesh) (sum float64) {
	centre := m.Bounds().Centre()
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		sum += a.Sub(centre).Dot(b.Sub(centre).Cross(c.Sub(centre))) / 6
	}
	return sum
}

func area(m *mesh.Mesh) (sum float64) {
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		sum += b.Sub(a).Cross(c.Sub(a)).Norm() / 2
	}
	return sum
}

func surface(t require.TestingT, m *mesh.Mesh) (*mesh.Mesh, *Closing) {
	out, how, err := Surface(context.Background(), m)
	require.NoError(t, err)
	return out, how
}

// A body of which some corners are apart by nanometres to a third of a micrometre,
// and some sides met by corners of the other side's own, closes: its edges have two
// triangles each by mesh.Topology, which knows nothing of how, and its volume is that
// of the whole body. What bends by δ at most, as Farthest says, cannot change the
// volume by more than δ for each mm² of surface, and the corners were moved by gap
// along each axis.
func TestCracksBelowAnyPrinterClose(t *testing.T) {
	bodies := map[string]struct {
		mesh   *mesh.Mesh
		volume float64
	}{
		"box":          {meshtest.Box(10, 20, 30), 6000},
		"torus":        {meshtest.RingTorus(24, 12, 20, 6, meshtest.Exactly), volume(meshtest.RingTorus(24, 12, 20, 6, meshtest.Exactly))},
		"dodecahedron": {meshtest.Scaled(meshtest.Dodecahedron(), 10), volume(meshtest.Scaled(meshtest.Dodecahedron(), 10))},
		"holed box":    {meshtest.HoledBox(30, 20, 10, 4), volume(meshtest.HoledBox(30, 20, 10, 4))},
	}
	// The same draws each time. Of some 10,000 random ones, with gaps of 50 to 250 nm, one in
	// 1,250 came out with nothing open and all even, but with needles that lie on each other,
	// so that an edge has four triangles: that is told as a finding and not closed further.
	const draws = 500
	needles := 0
	for n := range uint64(draws) {
		rng := rand.New(rand.NewPCG(n, 1))
		name := []string{"box", "torus", "dodecahedron", "holed box"}[rng.IntN(4)]
		gap := math.Pow(10, -9+5.4*rng.Float64())
		b := bodies[name]
		m := cracked(b.mesh, rng, gap, rng.IntN(5), 1+rng.IntN(4))
		require.False(t, m.Topology().Closed)
		out, how := surface(t, m)
		require.NotNil(t, how, n)
		top := out.Topology()
		require.Zero(t, top.OpenEdges, n)
		if top.NonManifoldEdges > 0 {
			needles++
			continue
		}
		require.True(t, top.Closed, n)
		require.True(t, top.ConsistentlyOriented, n)
		require.Equal(t, 1, top.Shells, n)
		require.LessOrEqual(t, how.Farthest, how.Within)
		require.LessOrEqual(t, how.Within, Unseen)
		moved := how.Farthest + 2*gap
		require.InDelta(t, b.volume, volume(out), moved*area(b.mesh)+1e-12*b.volume)
		// A corner that moves by δ changes a triangle's area by half the side across from it
		// times δ at most: three corners by half of what is round it.
		require.InDelta(t, area(b.mesh), area(out), moved*round(out)/2+1e-12*area(b.mesh))
	}
	require.LessOrEqual(t, needles, draws/250)
}

// A gap that a slice may show is a fault, whatever else closes.
func TestRealGapsStayOpen(t *testing.T) {
	box := meshtest.Box(10, 20, 30)
	gapes := meshtest.Box(10, 20, 30)
	n := uint32(len(gapes.Vertices))
	first := gapes.Triangles[0]
	gapes.Vertices = append(gapes.Vertices, gapes.Vertices[first[0]].Add(mesh.Vec{X: 0.01}))
	gapes.Triangles[0][0] = n
	sheets := meshtest.Together(sheet(0), sheet(0.25))
	for name, m := range map[string]*mesh.Mesh{
		"a triangle missing":                    meshtest.Without(box, 3),
		"a corner a hundredth off":              gapes,
		"a triangle missing and a crack":        meshtest.Without(cracked(box, rand.New(rand.NewPCG(1, 2)), 1e-6, 1, 2), 7),
		"two open sheets":                       sheets,
		"the same small, gap to size a 3000th":  meshtest.Scaled(gapes, 0.1),
		"one triangle":                          {Vertices: box.Vertices, Triangles: box.Triangles[:1]},
		"one needle":                            {Vertices: []mesh.Vec{{}, {X: 10}, {X: 5, Y: 1e-7}}, Triangles: [][3]uint32{{0, 1, 2}}},
		"a box of 0.03 m whose corner is 10 µm": meshtest.Scaled(gapes, 1e-3),
	} {
		t.Run(name, func(t *testing.T) {
			out, how := surface(t, m)
			require.Nil(t, how)
			require.Same(t, m, out)
		})
	}
}

func sheet(z float64) *mesh.Mesh {
	m := &mesh.Mesh{Vertices: []mesh.Vec{{Z: z}, {X: 10, Z: z}, {X: 10, Y: 10, Z: z}, {Y: 10, Z: z}}}
	meshtest.AddFan(m, 0, 1, 2, 3)
	return m
}

// Corners that are not on a crack stay where they are to the last bit, and so do
// triangles without one, however near they lie to others: two closed bodies a
// ten-thousandth apart stay two.
func TestClosingTouchesNothingButCracks(t *testing.T) {
	near := meshtest.Together(meshtest.Box(5, 5, 5), meshtest.Moved(meshtest.Box(5, 5, 5), meshtest.Shift(0, 0, 5.0001)))
	m := meshtest.Together(near, meshtest.Moved(cracked(meshtest.Box(10, 20, 30), rand.New(rand.NewPCG(3, 4)), 1e-6, 1, 1), meshtest.Shift(50, 0, 0)))
	out, how := surface(t, m)
	require.NotNil(t, how)
	require.Equal(t, near.Vertices, out.Vertices[:len(near.Vertices)])
	require.Equal(t, near.Triangles, out.Triangles[:len(near.Triangles)])
	require.Equal(t, 3, out.Topology().Shells)
}

// Of the shared meshes, three parts from CAD have faces that do not share corners, one
// (3MF) sides met by corners, one foot a T-junction put in by the set's authors and one
// two triangles of three corners in line. All others that are open have holes. Closed,
// each has the volume that the reference sums up for the file as it is, with the gaps
// left out: what a gap of δ along L mm leaves out is δ·L at most for each mm of the
// part's size, and all gaps here are below 3e-8 mm but the T-junction's 6e-6.
func TestSharedMeshesWithCracksClose(t *testing.T) {
	closed := map[string]int{}
	meshtest.EachReference(t, func(t *testing.T, ref reference.File, m *mesh.Mesh) {
		out, how := surface(t, m)
		if ref.OpenEdges == 0 {
			require.Nil(t, how)
			require.Same(t, m, out)
			return
		}
		if how == nil {
			return
		}
		closed[ref.File] = how.OpenEdges
		top := out.Topology()
		require.Zero(t, top.OpenEdges)
		require.LessOrEqual(t, top.NonManifoldEdges, ref.NonManifoldEdges)
		size := m.Bounds().Size().Norm()
		require.InDelta(t, ref.Volume, volume(out), math.Abs(ref.Volume)*1e-6+6e-6*size*size)
	})
	require.Equal(t, map[string]int{
		"general/angle_block.STL": 166, "general/featuretype.STL": 576, "general/featuretype.3MF": 18, "general/octagonal_pocket.stl": 54,
		"derived/leftFoot-t-junction.stl": 3, "derived/leftFoot-zero-area.stl": 4,
	}, closed)
}

// Real parts with cracks put into them close again, and have the volume that the
// independent libraries found for the whole.
func TestCracksInSharedMeshesClose(t *testing.T) {
	n := 0
	meshtest.EachReference(t, func(t *testing.T, ref reference.File, m *mesh.Mesh) {
		if !ref.Closed || !ref.Consistent || ref.Repeated+ref.ZeroArea > 0 || ref.Triangles > 20_000 {
			t.Skip("not whole, or large")
		}
		gap := min(0.2*Within(m), shortest(m)/8) // cracks as wide as details are no cracks
		m2 := cracked(m, rand.New(rand.NewPCG(uint64(ref.Triangles), 5)), gap, 3, 2)
		out, how := surface(t, m2)
		require.NotNil(t, how)
		n++
		require.True(t, out.Topology().Closed)
		if ref.File != "derived/box-mirrored-item.3mf" { // whose reference leaves it inside out
			require.InDelta(t, ref.Volume, volume(out), math.Abs(ref.Volume)*1e-6+(how.Farthest+2*gap)*area(m))
		}
	})
	if n > 0 {
		require.Greater(t, n, 60)
	}
}

// round is the length of all triangles' sides together.
func round(m *mesh.Mesh) (sum float64) {
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		sum += a.Sub(b).Norm() + b.Sub(c).Norm() + c.Sub(a).Norm()
	}
	return sum
}

// shortest is the shortest side of m.
func shortest(m *mesh.Mesh) float64 {
	least := math.Inf(1)
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		for _, d := range [3]mesh.Vec{a.Sub(b), b.Sub(c), c.Sub(a)} {
			if n := d.Norm(); n > 0 {
				least = min(least, n)
			}
		}
	}
	return least
}

// On a heap of loose triangles near each other, looking is bounded and says so.
func TestClosingIsBounded(t *testing.T) {
	heap := &mesh.Mesh{}
	rng := rand.New(rand.NewPCG(7, 8))
	for i := range uint32(5_000) {
		for range 3 {
			heap.Vertices = append(heap.Vertices, mesh.Vec{X: 1e-4 * rng.Float64(), Y: 100 * float64(i%2), Z: 1e-4 * rng.Float64()})
		}
		heap.Triangles = append(heap.Triangles, [3]uint32{3 * i, 3*i + 1, 3*i + 2})
	}
	_, how := surface(t, heap)
	require.Nil(t, how)
	_, did, err := Mend(t.Context(), heap, Unseen)
	require.NoError(t, err)
	require.True(t, did.Unwelded)
}

// What Mend does to one-fault meshes, with the closed forms beside it; everything that
// it cannot mend is counted as left.
func TestMendSetsRightAndSaysWhatIsLeft(t *testing.T) {
	cube := meshtest.Box(10, 10, 10)
	doubled := &mesh.Mesh{Vertices: cube.Vertices, Triangles: append(append([][3]uint32{}, cube.Triangles...), cube.Triangles[4], cube.Triangles[4])}
	first := cube.Triangles[0]
	// An inner wall: the cube in two halves with triangles back to back between them.
	walled := Rounded(meshtest.Together(meshtest.Box(10, 10, 10), meshtest.Moved(meshtest.Box(10, 10, 10), meshtest.Shift(10, 0, 0))))
	needle := &mesh.Mesh{
		Vertices:  append(append([]mesh.Vec{}, cube.Vertices...), cube.Vertices[first[0]].Add(cube.Vertices[first[1]]).Scale(0.5)),
		Triangles: append(append([][3]uint32{}, cube.Triangles...), [3]uint32{first[0], 8, first[1]}),
	}
	// The needle stands in the side of the cube: the neighbour ends at it.
	needle.Triangles[0] = [3]uint32{first[0], 8, first[2]}
	needle.Triangles = append(needle.Triangles, [3]uint32{8, first[1], first[2]})
	hollow := meshtest.Together(cube, meshtest.Moved(meshtest.InsideOut(meshtest.Box(2, 2, 2)), meshtest.Shift(4, 4, 4)))
	for _, c := range []struct {
		name   string
		mesh   *mesh.Mesh
		volume float64
		want   Did
	}{
		{"sound", cube, 1000, Did{Triangles: 12}},
		{"a triangle thrice", doubled, 1000, Did{Doubled: 2, Triangles: 12}},
		{"a wall inside", walled, 2000, Did{Backs: 2, Triangles: 20}},
		{"a needle in a side", needle, 1000, Did{NoArea: 1, Closing: Closing{Cut: 1}, Triangles: 14}},
		{"a triangle turned over", meshtest.TurnedOver(cube, 3), 1000, Did{Turned: 1, Triangles: 12}},
		{"inside out", meshtest.InsideOut(cube), 1000, Did{Turned: 12, Shells: 1, Triangles: 12}},
		{"hollow, and the whole inside out", meshtest.InsideOut(hollow), 992, Did{Turned: 24, Shells: 2, Triangles: 24}},
		{"hollow", hollow, 992, Did{Triangles: 24}},
		{"a cube that looks in beside one that does not", meshtest.Together(cube, meshtest.Moved(meshtest.InsideOut(cube), meshtest.Shift(20, 0, 0))), 2000, Did{Turned: 12, Shells: 1, Triangles: 24}},
		{"a hole", meshtest.Without(cube, 3), volume(meshtest.Without(cube, 3)), Did{OpenLeft: 3, Triangles: 11}},
	} {
		t.Run(c.name, func(t *testing.T) {
			out, did, err := Mend(t.Context(), c.mesh, Within(c.mesh))
			require.NoError(t, err)
			require.InDelta(t, c.volume, volume(out), 1e-9*math.Abs(c.volume)) // sums of few exact terms
			require.Zero(t, did.Farthest)
			did.Closing = Closing{Joined: did.Joined, Cut: did.Cut, Flattened: did.Flattened}
			require.Equal(t, c.want, did)
			require.Equal(t, c.want.OpenLeft == 0, out.Topology().Closed)
			// What is mended needs no mending.
			_, again, err := Mend(t.Context(), out, Within(out))
			require.NoError(t, err)
			require.False(t, again.Changed())
		})
	}
	band := &mesh.Mesh{}
	for i := range 48 {
		a := 2 * math.Pi * float64(i) / 48
		for _, s := range []float64{-1, 1} {
			band.Vertices = append(band.Vertices, meshtest.Polar(20+5*s*math.Cos(a/2), a, 5*s*math.Sin(a/2)))
		}
		next := [2]uint32{uint32(2*i + 2), uint32(2*i + 3)}
		if i == 47 {
			next = [2]uint32{1, 0}
		}
		meshtest.AddFan(band, uint32(2*i), uint32(2*i+1), next[1], next[0])
	}
	_, did, err := Mend(t.Context(), band, Unseen)
	require.NoError(t, err)
	require.Equal(t, 1, did.OneSided)
	require.Positive(t, did.Facing)
}
