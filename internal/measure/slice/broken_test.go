package slice

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func TestOpenMeshesHaveNoAreas(t *testing.T) {
	whole := meshtest.Box(30, 20, 10)
	// Of a box without two opposite walls, the gaps cancel as vectors, not as edges.
	tunnel := &mesh.Mesh{Vertices: whole.Vertices, Triangles: whole.Triangles[:8]}
	for name, m := range map[string]*mesh.Mesh{
		"without a triangle": meshtest.Without(whole, 3), "one turned over": meshtest.TurnedOver(whole, 3), "tunnel": tunnel,
		"one twice": {Vertices: whole.Vertices, Triangles: append(append([][3]uint32{}, whole.Triangles...), whole.Triangles[0])},
	} {
		l := layersOf(t, m, Options{Pose: Pose{10, "x"}})
		require.False(t, l.Encloses, name)
		require.NotEmpty(t, l.Areas, name)
		for _, a := range l.Areas {
			require.Zero(t, a)
		}
		require.Equal(t, [5]float64{}, [5]float64{l.Peak, l.FlatPeak, l.Jump, l.JumpRatio, l.Volume}, name)
		require.Positive(t, l.Perimeter[50], name)
		s, err := tilts(context.Background(), m, Options{}, lookNowhere)
		require.NoError(t, err)
		require.Equal(t, s.Flat, s.Best)
		require.Contains(t, s.Reason, "open or wound both ways")
	}
	// Two boxes that share an edge enclose: it has four triangles, two each way.
	touching := meshtest.Moved(meshtest.Box(3, 3, 3), meshtest.Shift(30, 20, 0))
	require.True(t, layersOf(t, meshtest.Together(whole, touching), Options{}).Encloses)
}

func TestInsideOutIsTurned(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawTurned(t)
		o := Options{Layer: 0.3, Pose: Pose{float64(rapid.IntRange(-9, 9).Draw(t, "tilt")) * 10, "y"}}
		want, got := layersOf(t, m, o), layersOf(t, meshtest.InsideOut(m), o)
		require.True(t, got.Reversed)
		require.False(t, want.Reversed)
		require.InDelta(t, want.Peak, got.Peak, 1e-9)
		require.InDelta(t, want.Overhang, got.Overhang, 1e-9)
		require.InDelta(t, want.Jump, got.Jump, 1e-9)
	})
}

func TestWhatIsInsideOutIsLookedThroughTheRightWayOut(t *testing.T) {
	// An arm that reaches down beside a post: its end is an island.
	hook := meshtest.Together(meshtest.Box(4, 4, 20), meshtest.Moved(meshtest.Box(20, 4, 4), meshtest.Shift(2, 0, 16)), meshtest.Moved(meshtest.Box(4, 4, 10), meshtest.Shift(18, 0, 8)))
	for _, m := range []*mesh.Mesh{hook, meshtest.InsideOut(hook), meshtest.Without(hook, 0)} {
		l, err := Cut(t.Context(), m, Options{Layer: 0.1})
		require.NoError(t, err)
		require.Len(t, l.Islands, 1)
		require.Equal(t, 80, l.Islands[0].Layer)
	}
	s, err := Tilts(t.Context(), meshtest.InsideOut(hook), Options{Layer: 0.1})
	require.NoError(t, err)
	require.Equal(t, 1, s.Flat.Islands)
}

func TestOverlapsCountTwice(t *testing.T) {
	a := meshtest.Box(10, 10, 10)
	l := layersOf(t, meshtest.Together(a, meshtest.Moved(a, meshtest.Shift(5, 0, 5))), Options{Layer: 1})
	require.InDelta(t, 100, l.Areas[2], 1e-10)
	require.InDelta(t, 200, l.Areas[7], 1e-10)
	require.InDelta(t, 100, l.Areas[12], 1e-10)
	require.Equal(t, [2]int{5, 5}, [2]int{l.PeakLayer, l.JumpLayer})
	require.InDelta(t, 100, l.Jump, 1e-10)
	require.InDelta(t, 2, l.JumpRatio, 1e-12)
	// A second body that begins above the first: from nothing there is no ratio.
	l = layersOf(t, meshtest.Together(a, meshtest.Moved(a, meshtest.Shift(0, 0, 15))), Options{Layer: 1})
	require.Equal(t, [2]any{15, 0.0}, [2]any{l.JumpLayer, l.JumpRatio})
	require.InDelta(t, 100, l.Jump, 1e-10)
}

func TestRefusals(t *testing.T) {
	ctx := context.Background()
	m := meshtest.Box(1, 1, 1)
	for want, o := range map[string]Options{
		"a layer of -1 mm has no height":   {Layer: -1},
		"a layer of NaN mm has no height":  {Layer: math.NaN()},
		"limit of 91 degrees":              {Limit: 91},
		"limit of NaN degrees":             {Limit: math.NaN()},
		`about "x" or "y", not about "z"`:  {Pose: Pose{1, "z"}},
		"a tilt of +Inf degrees":           {Pose: Pose{math.Inf(1), "x"}},
		"too many layers":                  {Layer: 1e-7},
		"(is the mesh in millimetres?)":    {Layer: 1e-300},
		"more than 250000 are not cut (is": {Layer: 1 / 250001.5},
	} {
		_, err := Cut(ctx, m, o)
		require.ErrorContains(t, err, want)
	}
	_, err := Cut(ctx, meshtest.Scaled(m, 1e30), Options{})
	require.ErrorIs(t, err, ErrTooManyLayers)
	_, err = Tilts(ctx, meshtest.Scaled(m, 1e30), Options{})
	require.ErrorIs(t, err, ErrTooManyLayers)
	require.EqualError(t, err, "slice: too many layers: 1e+30 mm in layers of 0.05 mm would be 2e+31; more than 250000 are not cut (is the mesh in millimetres?)")
	_, err = Cut(ctx, meshtest.Moved(m, meshtest.Shift(math.NaN(), 0, 0)), Options{})
	require.ErrorContains(t, err, "not within the range of 32-bit numbers")
	for _, empty := range []*mesh.Mesh{{}, {Vertices: m.Vertices}, meshtest.Scaled(m, 1e-30), meshtest.Scaled(m, 0), meshtest.Box(3, 3, 0)} {
		l, err := Cut(ctx, empty, Options{})
		require.NoError(t, err)
		require.Empty(t, l.Areas)
		s, err := Tilts(ctx, &mesh.Mesh{}, Options{})
		require.NoError(t, err)
		require.Equal(t, "Left as supplied: it has no height to slice.", s.Reason)
	}
}

// Whatever the mesh, there is an answer of finite numbers or an error.
func TestAnyMeshHasFiniteNumbers(t *testing.T) {
	coordinate := rapid.OneOf(rapid.Float64Range(-3, 3), rapid.SampledFrom([]float64{0, 1, 1 + 0x1p-52, -1, 1e-30, 1e-300, 5e-324, 1e30, -3e38}))
	rapid.Check(t, func(t *rapid.T) {
		m := &mesh.Mesh{}
		for range rapid.IntRange(1, 9).Draw(t, "vertices") {
			m.Vertices = append(m.Vertices, mesh.Vec{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y"), Z: coordinate.Draw(t, "z")})
		}
		index := rapid.IntRange(0, len(m.Vertices)-1)
		for range rapid.IntRange(0, 12).Draw(t, "triangles") {
			m.Triangles = append(m.Triangles, [3]uint32{uint32(index.Draw(t, "a")), uint32(index.Draw(t, "b")), uint32(index.Draw(t, "c"))})
		}
		if rapid.Bool().Draw(t, "doubled") { // so that it encloses
			m = meshtest.Together(m, meshtest.InsideOut(m))
			m.Vertices = m.Vertices[:len(m.Vertices)/2]
			for i := range m.Triangles {
				for k := range 3 {
					m.Triangles[i][k] %= uint32(len(m.Vertices))
				}
			}
		}
		o := Options{Layer: rapid.SampledFrom([]float64{0.05, 1e-30, 1e30, 0.001}).Draw(t, "layer"), Pose: Pose{rapid.SampledFrom([]float64{0, 45, 90, -7}).Draw(t, "tilt"), "x"}}
		l, err := measure(context.Background(), m, o)
		if err != nil {
			require.ErrorIs(t, err, ErrTooManyLayers)
			return
		}
		for k := range l.Areas {
			require.False(t, math.IsNaN(l.Areas[k]) || math.IsInf(l.Areas[k], 0))
			require.False(t, math.IsNaN(l.Perimeter[k]) || math.IsInf(l.Perimeter[k], 0) || l.Perimeter[k] < 0)
		}
		for _, v := range []float64{l.Peak, l.FlatPeak, l.Jump, l.JumpRatio, l.Overhang, l.Volume, l.Height} {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
		}
	})
}

func TestEndsWithTheContext(t *testing.T) {
	m := meshtest.Million("lump")
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Cut(ctx, m, Options{})
	require.ErrorIs(t, err, context.Canceled)
	ctx, cancel = context.WithTimeout(context.Background(), 100*time.Millisecond)
	defer cancel()
	_, err = Tilts(ctx, m, Options{})
	require.ErrorIs(t, err, context.DeadlineExceeded)
}
