package sound

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
)

func cracks(t require.TestingT, m *mesh.Mesh) Cracks {
	c, err := Crack(context.Background(), m)
	require.NoError(t, err)
	return c
}

// The T-junction of leftFoot-t-junction was put in by the set's authors. Three CAD
// files have borders that are apart by a rounding, and joined by the tolerance
// suggested they close altogether. The other counts are this package's own, kept
// to notice a change; the rest of the open files have holes, and no cracks.
func TestCrackOnRealMeshes(t *testing.T) {
	found := map[string][2]int{}
	closing := map[string][2]int{}
	meshtest.EachReference(t, func(t *testing.T, ref reference.File, m *mesh.Mesh) {
		c := cracks(t, m)
		require.False(t, c.Partial)
		if c.TJunctions+c.NearDuplicates > 0 {
			found[ref.File] = [2]int{c.TJunctions, c.NearDuplicates}
		}
		if c.Weld > 0 {
			joined := joinedWithin(m, c.Weld)
			closing[ref.File] = [2]int{ref.OpenEdges, joined.Topology().OpenEdges}
		}
	})
	require.Equal(t, map[string][2]int{"general/angle_block.STL": {166, 0}, "general/featuretype.STL": {576, 0}, "general/octagonal_pocket.stl": {54, 0}}, closing)
	require.Equal(t, map[string][2]int{
		"cgal/polygon_mesh.stl": {1, 0}, "derived/leftFoot-t-junction.stl": {1, 0}, "general/angle_block.STL": {0, 92}, "general/featuretype.3MF": {8, 0},
		"general/featuretype.STL": {0, 576}, "general/octagonal_pocket.stl": {0, 48}, "stl-dialects/assimp-Wuson.stl": {6, 76},
	}, found)
}

// joinedWithin joins each vertex to the first one within a distance of it, by the plainest way.
func joinedWithin(m *mesh.Mesh, within float64) *mesh.Mesh {
	number := make([]uint32, len(m.Vertices))
	for i, p := range m.Vertices {
		number[i] = uint32(i)
		for j, q := range m.Vertices[:i] {
			if p.Sub(q).Norm() <= within {
				number[i] = number[j]
				break
			}
		}
	}
	out := &mesh.Mesh{Vertices: m.Vertices}
	for _, t := range m.Triangles {
		out.Triangles = append(out.Triangles, [3]uint32{number[t[0]], number[t[1]], number[t[2]]})
	}
	return out
}

// looseBox is a box whose six faces do not share vertices, as far as gap apart.
func looseBox(a, b, c, gap float64) *mesh.Mesh {
	m, box := &mesh.Mesh{}, meshtest.Box(a, b, c)
	for i, t := range box.Triangles {
		if i%2 == 0 {
			for v := range 8 {
				x := gap * float64(i) / 20
				m.Vertices = append(m.Vertices, box.Vertices[v].Add(mesh.Vec{X: x, Y: -x / 2, Z: x / 2}))
			}
		}
		n := uint32(i / 2 * 8)
		m.Triangles = append(m.Triangles, [3]uint32{t[0] + n, t[1] + n, t[2] + n})
	}
	return m
}

func TestNearDuplicates(t *testing.T) {
	for _, c := range []struct {
		name string
		mesh *mesh.Mesh
		near int
		weld [2]float64 // from, to
	}{
		{"closed", meshtest.Box(10, 20, 30), 0, [2]float64{0, 0}},
		{"a hole", meshtest.Without(meshtest.Box(10, 20, 30), 0), 0, [2]float64{0, 0}},
		{"loose faces", looseBox(10, 20, 30, 1e-3), 24, [2]float64{1e-4, 1.3e-3}},
		{"loose faces a rounding apart", looseBox(10, 20, 30, 1e-7), 24, [2]float64{1e-8, 1e-5}},
		{"loose faces that fit exactly, with other numbers", looseBox(10, 20, 30, 0), 24, [2]float64{1e-12, 1e-5}},
		{"too far apart to be meant as one", looseBox(10, 20, 30, 0.5), 0, [2]float64{0, 0}},
		// Two open sheets a quarter of a millimetre apart are a wall without an edge,
		// not one sheet.
		{"a wall of open sheets", meshtest.Together(sheet(0), sheet(0.25)), 0, [2]float64{0, 0}},
		// A side as short as the gap: joining would take it in.
		{"a short side elsewhere", meshtest.Together(looseBox(10, 20, 30, 1e-3), block(50, 0, 0, 1, 1, 1e-5)), 0, [2]float64{0, 0}},
		// Corners of two closed boxes as near each other as the gap: no tolerance is right.
		{"others as near", meshtest.Together(looseBox(10, 20, 30, 1e-3), block(50, 0, 0, 1, 1, 1), block(50, 0, 1+1e-4, 1, 1, 1)), 24, [2]float64{0, 0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := cracks(t, c.mesh)
			require.Equal(t, c.near, got.NearDuplicates)
			require.Zero(t, got.TJunctions)
			require.GreaterOrEqual(t, got.Weld, c.weld[0])
			require.LessOrEqual(t, got.Weld, c.weld[1])
			require.Len(t, got.NearPlaces, min(MostPlaces, c.near))
			if got.Weld > 0 {
				require.True(t, joinedWithin(c.mesh, got.Weld).Topology().Closed)
			}
		})
	}
}

func sheet(z float64) *mesh.Mesh {
	m := &mesh.Mesh{Vertices: []mesh.Vec{{Z: z}, {X: 10, Z: z}, {X: 10, Y: 10, Z: z}, {Y: 10, Z: z}}}
	meshtest.AddFan(m, 0, 1, 2, 3)
	return m
}

// A box with one face's triangle split at a point of its outer side, at any place
// and turned any way, has one T-junction, there, and nothing near; the point is
// off the side by the rounding of 32-bit coordinates alone.
func TestTJunctions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Float64Range(0.05, 0.95).Draw(t, "share")
		axis := mesh.Vec{X: rapid.Float64Range(-1, 1).Draw(t, "x"), Y: 1, Z: rapid.Float64Range(-1, 1).Draw(t, "z")}
		far := rapid.Float64Range(-200, 200).Draw(t, "far")
		m := meshtest.Turned(meshtest.Box(10, 20, 30), axis, rapid.Float64Range(0, 6).Draw(t, "angle"))
		k := rapid.IntRange(0, len(m.Triangles)-1).Draw(t, "triangle")
		tri := m.Triangles[k]
		a, b := m.Vertices[tri[0]], m.Vertices[tri[1]]
		n := uint32(len(m.Vertices))
		m.Vertices = append(m.Vertices, a.Add(b.Sub(a).Scale(share)))
		m.Triangles = append(append([][3]uint32{}, m.Triangles...), [3]uint32{n, tri[1], tri[2]})
		m.Triangles[k] = [3]uint32{tri[0], n, tri[2]}
		m = meshtest.Moved(m, func(p mesh.Vec) mesh.Vec {
			return mesh.Vec{X: meshtest.AsFloat32(p.X + far), Y: meshtest.AsFloat32(p.Y - far), Z: meshtest.AsFloat32(p.Z)}
		})
		got := cracks(t, m)
		require.Equal(t, 1, got.TJunctions)
		require.Equal(t, m.Vertices[n], got.TPlaces[0])
		require.Zero(t, got.NearDuplicates)
	})
	// The same with the point well off the side is a hole of three sides.
	m := meshtest.Box(10, 20, 30)
	tri := m.Triangles[0]
	m.Vertices = append(m.Vertices, m.Vertices[tri[0]].Add(m.Vertices[tri[1]]).Scale(0.5).Add(mesh.Vec{Z: 0.1}))
	m.Triangles = append(m.Triangles, [3]uint32{8, tri[1], tri[2]})
	m.Triangles[0] = [3]uint32{tri[0], 8, tri[2]}
	require.Zero(t, cracks(t, m))
}

// On a heap of loose triangles as large as the whole, looking is bounded.
func TestCrackIsBounded(t *testing.T) {
	c := cracks(t, heap(5_000))
	require.True(t, c.Partial)
	require.Zero(t, c.Weld)
}
