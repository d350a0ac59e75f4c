package tree_test

import (
	"context"
	"iter"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// soup is n random triangles, some equal, some without area.
func soup(rng *rand.Rand, n int, size float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for range n {
		p := mesh.Vec{X: 10 * rng.Float64(), Y: 10 * rng.Float64(), Z: 10 * rng.Float64()}
		if rng.IntN(3) == 0 {
			p = mesh.Vec{X: math.Round(p.X), Y: math.Round(p.Y), Z: math.Round(p.Z)}
		}
		i := uint32(len(m.Vertices))
		for range 3 {
			m.Vertices = append(m.Vertices, p.Add(mesh.Vec{X: size * rng.NormFloat64(), Y: size * rng.NormFloat64(), Z: size * rng.NormFloat64()}))
		}
		m.Triangles = append(m.Triangles, [3]uint32{i, i + 1, i + uint32(rng.IntN(3))})
	}
	return m
}

func boxOf(m *mesh.Mesh, i int) mesh.Box {
	return (&mesh.Mesh{Vertices: m.Vertices, Triangles: m.Triangles[i : i+1]}).Bounds()
}

func meet(a, b mesh.Box) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y && a.Min.Z <= b.Max.Z && b.Min.Z <= a.Max.Z
}

// Against looking at every triangle.
func TestQueriesMissNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{1, 2, 4, 5, 9, 40, 700, 3000}).Draw(t, "triangles")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		m := soup(rng, n, rapid.SampledFrom([]float64{0, 0.01, 1}).Draw(t, "size"))
		tr, err := tree.New(context.Background(), m)
		require.NoError(t, err)

		p := mesh.Vec{X: 10 * rng.Float64(), Y: 10 * rng.Float64(), Z: math.Round(10 * rng.Float64())}
		b := mesh.Box{Min: p, Max: p.Add(mesh.Vec{X: 3 * rng.Float64(), Y: 2, Z: 1})}
		var seen []int32
		tr.InBox(b, func(i int32) bool { seen = append(seen, i); return true })
		slices.Sort(seen)
		require.Len(t, slices.Compact(slices.Clone(seen)), len(seen), "visited twice")
		for i := range m.Triangles {
			if meet(boxOf(m, i), b) {
				require.Contains(t, seen, int32(i))
			}
		}

		reach := 3 * rng.Float64()
		near := map[int32]bool{}
		tr.Near(p, reach, func(i int32) float64 { near[i] = true; return reach })
		along := mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		if rng.IntN(4) == 0 {
			along.X, along.Y = 0, 0
		}
		onRay := map[int32]bool{}
		tr.AlongRay(p, along, 5, func(i int32) float64 { onRay[i] = true; return 5 })
		for i := range m.Triangles {
			a, b, c := m.Corners(i)
			u, v := rng.Float64(), rng.Float64()
			q := a.Add(b.Sub(a).Scale(u * (1 - v))).Add(c.Sub(a).Scale(v)) // a point of the triangle
			if q.Sub(p).Norm() < reach*(1-1e-12) {
				require.True(t, near[int32(i)])
			}
			onRay2 := false
			tr.AlongRay(p, q.Sub(p), 1+1e-9, func(j int32) float64 { onRay2 = onRay2 || j == int32(i); return 1 + 1e-9 })
			require.True(t, onRay2, "triangle %d lies on the ray", i)
		}

		pairs := map[[2]int32]int{}
		found := make([][][2]int32, 0)
		require.NoError(t, tr.Pairs(context.Background(), func(n int) { found = make([][][2]int32, n) }, func(task int, all iter.Seq2[int32, int32]) {
			for a, b := range all {
				found[task] = append(found[task], [2]int32{min(a, b), max(a, b)})
			}
		}))
		for _, f := range found {
			for _, p := range f {
				pairs[p]++
				require.Equal(t, 1, pairs[p])
			}
		}
		if n <= 700 {
			for i := range m.Triangles {
				for j := range i {
					if meet(boxOf(m, i), boxOf(m, j)) {
						require.Equal(t, 1, pairs[[2]int32{int32(j), int32(i)}])
					}
				}
			}
		}
	})
}

func TestACancelledTreeStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := tree.New(ctx, meshtest.Box(1, 1, 1))
	require.ErrorIs(t, err, context.Canceled)
}

func BenchmarkNew(b *testing.B) {
	m := meshtest.Million("torus")
	b.ReportAllocs()
	for b.Loop() {
		_, err := tree.New(b.Context(), m)
		require.NoError(b, err)
	}
	b.ReportMetric(float64(len(m.Triangles))*float64(b.N)/b.Elapsed().Seconds(), "triangles/s")
}
