package bore_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/measure/bore"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// Any finite mesh is taken: triangles at random among few corners cross, touch,
// repeat and have no area; coordinates may be of any size.
func TestBrokenMeshesAreTaken(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := &mesh.Mesh{}
		for range rapid.IntRange(3, 30).Draw(t, "corners") {
			m.Vertices = append(m.Vertices, meshtest.DrawPoint(t))
		}
		corner := rapid.Uint32Range(0, uint32(len(m.Vertices)-1))
		for range rapid.IntRange(1, 60).Draw(t, "triangles") {
			m.Triangles = append(m.Triangles, [3]uint32{corner.Draw(t, "a"), corner.Draw(t, "b"), corner.Draw(t, "c")})
		}
		for _, h := range find(t, m).Holes {
			require.False(t, math.IsNaN(h.Free) || math.IsNaN(h.Diameter) || math.IsNaN(h.Depth))
		}
	})
}

// A plate whose triangles are partly missing, turned over or doubled still has
// its hole as long as most of the wall is there, and any size is the same.
func TestAHoleSurvivesDamage(t *testing.T) {
	whole := meshtest.DrilledPlate(24, 2, 12, 4, 0.2, 1)
	r := rand.New(rand.NewPCG(3, 3))
	for range 50 {
		m := meshtest.TurnedOver(meshtest.Without(whole, r.IntN(len(whole.Triangles))), r.IntN(len(whole.Triangles)-1))
		got := find(t, m)
		require.Len(t, got.Holes, 1)
		assert.InDelta(t, 2, got.Holes[0].Diameter, 1e-6)
	}
	for _, size := range []float64{1e-30, 1e-3, 1e3, 1e30} {
		got := find(t, meshtest.Scaled(whole, size))
		require.Len(t, got.Holes, 1, size)
		assert.InDelta(t, 2, got.Holes[0].Diameter/size, 1e-6, size)
	}
}

func TestFindingStops(t *testing.T) {
	m := meshtest.Million("lump")
	tr, err := tree.New(context.Background(), m)
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(context.Background(), 400*time.Millisecond)
	defer cancel()
	_, err = bore.Find(ctx, tr)
	require.ErrorIs(t, err, context.DeadlineExceeded)
}

// Large meshes are searched in lanes: a hole that several lanes see is one.
func TestLanesFindEachHoleOnce(t *testing.T) {
	m := meshtest.DrilledPlate(64, 3, 12, 4, 0.3, 1)
	m = meshtest.Together(meshtest.Remesh(m, 4), meshtest.Moved(meshtest.Remesh(m, 4), meshtest.Shift(20, 0, 0)))
	require.Greater(t, len(m.Triangles), 1<<16)
	r := rand.New(rand.NewPCG(5, 5))
	r.Shuffle(len(m.Triangles), func(i, j int) { m.Triangles[i], m.Triangles[j] = m.Triangles[j], m.Triangles[i] })
	got := find(t, m)
	require.Len(t, got.Holes, 2)
	for _, h := range got.Holes {
		assert.InDelta(t, 3, h.Diameter, 3e-6)
		assert.InDelta(t, 3*math.Cos(math.Pi/64), h.Free, 3e-6)
	}
}

func BenchmarkFind(b *testing.B) {
	for _, shape := range []string{"torus", "lump"} {
		m := meshtest.Million(shape)
		tr, err := tree.New(context.Background(), m)
		require.NoError(b, err)
		b.Run(shape+"/size=1M", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				r, err := bore.Find(context.Background(), tr)
				require.NoError(b, err)
				require.Empty(b, r.Holes)
			}
			b.ReportMetric(float64(len(m.Triangles))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mtri/s")
		})
	}
}
