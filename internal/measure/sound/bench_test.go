package sound

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// flatGrid is a square of 2n² triangles in a slanted plane, closed by a lower
// one: next to each triangle are a dozen in its own plane.
func flatGrid(n int) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range n + 1 {
		for j := range n + 1 {
			x, y := float64(i)*0.1, float64(j)*0.1
			m.Vertices = append(m.Vertices, mesh.Vec{X: meshtest.AsFloat32(x), Y: meshtest.AsFloat32(y), Z: meshtest.AsFloat32(x)})
		}
	}
	at := func(i, j int) uint32 { return uint32(i*(n+1) + j) }
	for i := range n {
		for j := range n {
			meshtest.AddFan(m, at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1))
		}
	}
	return m
}

// heap is n triangles with random corners in a unit box: nearly every two boxes
// meet.
func heap(n int) *mesh.Mesh {
	rng := rand.New(rand.NewPCG(1, 2))
	m := &mesh.Mesh{}
	for i := range uint32(n) {
		for range 3 {
			m.Vertices = append(m.Vertices, mesh.Vec{X: rng.Float64(), Y: rng.Float64(), Z: rng.Float64()})
		}
		m.Triangles = append(m.Triangles, [3]uint32{3 * i, 3*i + 1, 3*i + 2})
	}
	return m
}

func BenchmarkCross(b *testing.B) {
	twice := meshtest.RingTorus(500, 500, 10, 2, meshtest.AsFloat32)
	for _, c := range []struct {
		name string
		m    *mesh.Mesh
	}{
		{"size=1M/shape=torus", meshtest.Million("torus")},
		{"size=1M/shape=lump", meshtest.Million("lump")},
		{"size=1M/shape=flat", flatGrid(707)},
		{"size=1M/shape=torus-twice", meshtest.Together(twice, twice)},
		{"size=100k/shape=heap", heap(100_000)},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			count := 0
			for b.Loop() {
				t, err := tree.New(b.Context(), c.m)
				require.NoError(b, err)
				found, err := Cross(b.Context(), t, nil)
				require.NoError(b, err)
				count = found.Count
			}
			b.ReportMetric(float64(count), "pairs")
			b.ReportMetric(float64(len(c.m.Triangles))*float64(b.N)/b.Elapsed().Seconds(), "triangles/s")
		})
	}
}

// field is n³ bodies of 80 triangles, each with a hollow, in rows.
func field(n int) *mesh.Mesh {
	ball := meshtest.UVSphere(0.4, 8, 6)
	hollow := meshtest.InsideOut(meshtest.Scaled(ball, 0.5))
	m := &mesh.Mesh{}
	for i := range n * n * n {
		shift := meshtest.Shift(float64(i%n), float64(i/n%n), float64(i/n/n))
		for _, b := range []*mesh.Mesh{ball, hollow} {
			first := uint32(len(m.Vertices))
			for _, p := range b.Vertices {
				m.Vertices = append(m.Vertices, shift(p))
			}
			for _, t := range b.Triangles {
				m.Triangles = append(m.Triangles, [3]uint32{t[0] + first, t[1] + first, t[2] + first})
			}
		}
	}
	return m
}

func BenchmarkNest(b *testing.B) {
	torus := meshtest.RingTorus(500, 500, 10, 2, meshtest.AsFloat32)
	for _, c := range []struct {
		name string
		m    *mesh.Mesh
	}{
		{"size=1M/shape=torus", meshtest.Million("torus")},
		{"size=1M/shape=torus-twice", meshtest.Together(torus, torus)},
		{"size=1M/shape=two-tori", meshtest.Together(torus, meshtest.Moved(torus, meshtest.Shift(5, 0, 0)))},
		{"size=1M/shape=12k-shells", field(18)},
	} {
		b.Run(c.name, func(b *testing.B) {
			t, err := tree.New(b.Context(), c.m)
			require.NoError(b, err)
			found, err := Cross(b.Context(), t, nil)
			require.NoError(b, err)
			top := c.m.Topology()
			b.ReportAllocs()
			var s Shells
			for b.Loop() {
				s, err = Nest(b.Context(), t, top, found)
				require.NoError(b, err)
			}
			b.ReportMetric(float64(len(s.Cavities)), "cavities")
			b.ReportMetric(float64(s.OverlappingCount), "overlapping")
		})
	}
}

// BenchmarkCrack has a border of 6,000 edges on a million triangles.
func BenchmarkCrack(b *testing.B) {
	m := flatGrid(707)
	b.ReportAllocs()
	for b.Loop() {
		_, err := Crack(b.Context(), m)
		require.NoError(b, err)
	}
}
