package sound

import (
	"context"
	"math"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// Whatever the mesh, there is an answer, the same on one processor and on several.
func TestAnyMeshHasAnAnswer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawSoup(t, rapid.SampledFrom([]func(*rapid.T) float64{smallWhole, nearlyWhole, meshtest.DrawCoordinate}).Draw(t, "coordinates"))
		if rapid.Bool().Draw(t, "closed") { // tetrahedra on the soup's points
			n := uint32(len(m.Vertices))
			soup := m.Triangles
			m.Triangles = nil
			for _, s := range soup {
				d := (s[0] + s[1] + s[2]) % n
				m.Triangles = append(m.Triangles, s, [3]uint32{s[1], s[0], d}, [3]uint32{s[2], s[1], d}, [3]uint32{s[0], s[2], d})
			}
		}
		for i, p := range m.Vertices { // the range that meshes may have
			clamp := func(x float64) float64 { return max(-math.MaxFloat32, min(math.MaxFloat32, x)) }
			m.Vertices[i] = mesh.Vec{X: clamp(p.X), Y: clamp(p.Y), Z: clamp(p.Z)}
		}
		c, s := crossed(t, m), nested(t, m)
		spots, err := Spot(context.Background(), m)
		require.NoError(t, err)
		crack := cracks(t, m)
		require.False(t, math.IsNaN(crack.Weld) || math.IsInf(crack.Weld, 0))
		for _, p := range []*mesh.Vec{spots.OpenEdge, spots.NonManifoldEdge, spots.InconsistentEdge, spots.NoArea, spots.Duplicate} {
			require.False(t, p != nil && math.IsNaN(p.Norm()))
		}
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
		require.Equal(t, c, crossed(t, m))
		require.Equal(t, s, nested(t, m))
		require.Equal(t, crack, cracks(t, m))
	})
}

// Many crossings and a closed shell among them. Where looking ends at its bound
// is put to the test by itself below, since a mesh for it would take seconds.
func TestProcessorsDoNotMatter(t *testing.T) {
	m := meshtest.Together(heap(300), meshtest.RingTorus(60, 40, 0.4, 0.2, meshtest.AsFloat32))
	c, s, k := crossed(t, m), nested(t, m), cracks(t, m)
	require.Greater(t, c.Count, 10_000)
	requirePlaces(t, m, c)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	require.Equal(t, c, crossed(t, m))
	require.Equal(t, s, nested(t, m))
	require.Equal(t, k, cracks(t, m))
}

// Tasks that end in any order give the same prefix, which holds as many looks as
// the bound, and all tasks in it were carried out whole.
func TestRation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wants := rapid.SliceOfN(rapid.IntRange(0, 40), 1, 30).Draw(t, "looks wanted")
		r := ration{most: rapid.IntRange(16, 400).Draw(t, "most")}
		r.begin(len(wants))
		// Side by side: two at a time, of which any may end first.
		type running struct {
			looks looks
			want  int
		}
		taken := make([]int, len(wants))
		var now []running
		finish := func(i int) {
			x := now[i]
			for n := 0; n < x.want && x.looks.more(); n++ {
				taken[x.looks.task]++
			}
			x.looks.end()
			now = append(now[:i], now[i+1:]...)
		}
		for task, want := range wants {
			if len(now) == 2 {
				finish(rapid.IntRange(0, 1).Draw(t, "which ends"))
			}
			now = append(now, running{r.of(task), want})
		}
		for len(now) > 0 {
			finish(0)
		}
		tasks, partial := r.spent()
		sum, whole := 0, 0
		for i, want := range wants {
			if sum >= r.most {
				break
			}
			require.Equal(t, min(want, r.most/eachTask), taken[i])
			sum += taken[i]
			whole++
		}
		require.Equal(t, whole, tasks)
		left := whole < len(wants)
		for i := range whole {
			left = left || wants[i] > r.most/eachTask
		}
		if left {
			require.True(t, partial)
		}
	})
}

func TestStopsWhenTheContextEnds(t *testing.T) {
	m := heap(20_000)
	tr := treeOf(t, m)
	top := m.Topology()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	_, err := Cross(ctx, tr, nil)
	require.ErrorIs(t, err, context.DeadlineExceeded)
	_, err = Nest(ctx, tr, top, Crossings{Count: 1})
	require.ErrorIs(t, err, context.DeadlineExceeded)
	_, err = Crack(ctx, m)
	require.ErrorIs(t, err, context.DeadlineExceeded)
	_, err = Spot(ctx, m)
	require.ErrorIs(t, err, context.DeadlineExceeded)
}
