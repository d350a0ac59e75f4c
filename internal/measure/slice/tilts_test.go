package slice

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/stack"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func lookNowhere(context.Context, *mesh.Mesh, float64) (stack.Report, error) {
	return stack.Report{}, nil
}

func swept(t *testing.T, m *mesh.Mesh) *Sweep {
	s, err := tilts(context.Background(), m, Options{}, lookNowhere)
	require.NoError(t, err)
	require.Len(t, s.Trials, 73)
	require.Equal(t, s.Trials[0], s.Flat)
	require.Contains(t, s.Trials, s.Best)
	t.Log(s.Reason)
	return s
}

// A flat plate must be tilted, and the reason be in numbers: 40·3/sin 45°, and
// 60 sin 45° + 3 cos 45° = 44.55 mm of layers.
// A half and its mirror image with the triangles as they were: what one adds the
// other takes away, and rounding is no reason to tilt.
func TestWhatCancelsStays(t *testing.T) {
	half := meshtest.Box(10, 20, 20)
	m := meshtest.Together(half, meshtest.Moved(half, func(p mesh.Vec) mesh.Vec { p.X = 0 - p.X; return p }))
	s, err := Tilts(t.Context(), m, Options{})
	require.NoError(t, err)
	require.Zero(t, s.Best.Pose)
	require.Contains(t, s.Reason, "the volume comes to nothing")
}

func TestAFlatPlateIsTilted(t *testing.T) {
	for _, m := range []*mesh.Mesh{meshtest.Box(60, 40, 3), meshtest.Moved(meshtest.Box(60, 40, 3), func(p mesh.Vec) mesh.Vec {
		return mesh.Vec{X: meshtest.AsFloat32(p.X + 0.1), Y: meshtest.AsFloat32(p.Y - 70.3), Z: meshtest.AsFloat32(p.Z + 0.7)}
	})} {
		s := swept(t, m)
		require.Equal(t, Pose{45, "y"}, s.Best.Pose)
		require.InEpsilon(t, 169.705627, s.Best.Peak, 1e-6)
		require.Equal(t, "Tilt it 45° about y: the largest layer falls from 2400 to 170 mm², at the price of 891 layers instead of 60.", s.Reason)
	}
	long := swept(t, meshtest.Box(100, 5, 5)) // as steep a tilt for a rod that lies
	require.Equal(t, Pose{45, "y"}, long.Best.Pose)
	disc := swept(t, meshtest.Frustum(64, 25, 25, 2))
	require.GreaterOrEqual(t, math.Abs(disc.Best.Pose.Tilt), 40.0)
}

func TestWhatTiltingBringsNothingStays(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"cube": meshtest.Box(20, 20, 20), "sphere": meshtest.UVSphere(10, 48, 24), "standing rod": meshtest.Frustum(32, 5, 5, 40)} {
		s := swept(t, m)
		require.Equal(t, s.Flat, s.Best, name)
		require.Contains(t, s.Reason, "Leave it as supplied", name)
	}
	require.Equal(t, "Leave it as supplied: its largest layer is 400 mm² in 400 layers, and no tilt tried has a smaller one worth naming.", swept(t, meshtest.Box(20, 20, 20)).Reason)
	require.Contains(t, swept(t, meshtest.Box(3, 3, 0.02)).Reason, "about x: as supplied it is thinner than half a layer; so its largest layer is 0.0849 mm²")
}

// Every trial is what a cut in its pose says, and that is what a slicer that knows
// nothing of tilts says of the turned mesh: here by chords of a convex body and by
// trapezia of another.
func TestTrialsAgreeWithSlicers(t *testing.T) {
	plate := meshtest.Box(60, 40, 3)
	holed := meshtest.HoledBox(20, 30, 8, 6)
	for _, m := range []*mesh.Mesh{plate, holed} {
		o := Options{Layer: 0.5}
		s, err := tilts(context.Background(), m, o, lookNowhere)
		require.NoError(t, err)
		for _, trial := range s.Trials {
			o.Pose = trial.Pose
			l := layersOf(t, m, o)
			require.Equal(t, Trial{Pose: trial.Pose, Height: l.Height, Layers: len(l.Areas), Peak: l.Peak, Jump: l.Jump, Overhang: l.Overhang, Looked: trial.Looked}, trial)
			posed := trial.Pose.Apply(m)
			low, peak, jump, before := posed.Bounds().Min.Z, 0.0, 0.0, math.Inf(1)
			for k := range trial.Layers {
				z := low + (float64(k)+0.5)*0.5
				area := 0.0
				if m == plate {
					area, _ = hullSection(posed.Vertices, z)
				} else {
					area = sweepSection(posed, z)
				}
				peak, jump, before = max(peak, area), max(jump, area-before), area
			}
			require.InDelta(t, peak, trial.Peak, 1e-8, "%v", trial.Pose)
			require.InDelta(t, jump, trial.Jump, 1e-8, "%v", trial.Pose)
		}
	}
}

// Rules 3 to 5: only poses that are still in the running are looked at, and what
// is found there decides.
func TestIslandsDecideAmongSmallPeaks(t *testing.T) {
	cube := meshtest.Box(20, 20, 20)
	looks := 0
	s, err := tilts(context.Background(), cube, Options{}, func(_ context.Context, m *mesh.Mesh, layer float64) (stack.Report, error) {
		looks++
		require.Equal(t, DefaultLayer, layer)
		if m == cube {
			return stack.Report{Islands: make([]stack.Island, 2), Wells: make([]stack.Hollow, 1)}, nil
		}
		return stack.Report{Cups: make([]stack.Hollow, min(looks, 4)-2)}, nil
	})
	require.NoError(t, err)
	require.Equal(t, 5, looks)
	require.Equal(t, Trial{Pose: s.Best.Pose, Height: s.Best.Height, Layers: 400, Peak: s.Best.Peak, Looked: true}, s.Best)
	require.Equal(t, 90.0, math.Abs(s.Best.Pose.Tilt))
	require.Contains(t, s.Reason, "islands, cups and wells come to 0 instead of 3, with a largest layer of 400 instead of 400 mm², in 400 layers as before.")
	looked := 0
	for _, trial := range s.Trials {
		if trial.Looked {
			looked++
		}
	}
	require.Equal(t, 5, looked)
}

// A mushroom: its cap outgrows its stem at once. Upside down or tilted it does not.
func TestAJumpIsAvoided(t *testing.T) {
	mushroom := meshtest.Together(meshtest.Frustum(32, 3, 3, 10), meshtest.Moved(meshtest.Frustum(32, 12, 12, 12), meshtest.Shift(0, 0, 10)))
	s := swept(t, mushroom)
	require.Greater(t, s.Flat.Jump, s.Flat.Peak/2)
	require.LessOrEqual(t, s.Best.Jump, s.Best.Peak/2)
	require.NotZero(t, s.Best.Pose.Tilt)
	require.Contains(t, s.Reason, "the worst growth from one layer to the next falls from")
}

// With islands and hollows looked for in earnest.
func TestSweepOfRealParts(t *testing.T) {
	// A tray stands open side up: a well, until it is tilted far over.
	tray := meshtest.Together(meshtest.HoledBox(20, 20, 10, 16), meshtest.Moved(meshtest.Box(20, 20, 2), meshtest.Shift(-10, -10, -7)))
	for _, c := range []struct {
		m     *mesh.Mesh
		best  Pose
		wells int // as supplied
	}{
		{meshtest.Box(60, 40, 3), Pose{45, "y"}, 0}, {meshtest.Box(20, 20, 20), Pose{}, 0}, {meshtest.UVSphere(10, 48, 24), Pose{}, 0}, {tray, Pose{20, "x"}, 1},
	} {
		s, err := Tilts(t.Context(), c.m, Options{Layer: 0.2})
		require.NoError(t, err)
		require.Equal(t, c.best, s.Best.Pose, s.Reason)
		require.Equal(t, c.wells, s.Flat.Wells)
		looked := 0
		for _, trial := range s.Trials {
			if !trial.Looked {
				continue
			}
			looked++
			l, err := Cut(t.Context(), c.m, Options{Pose: trial.Pose, Layer: 0.2})
			require.NoError(t, err)
			require.Equal(t, [3]int{len(l.Islands), len(l.Cups), len(l.Wells)}, [3]int{trial.Islands, trial.Cups, trial.Wells})
		}
		require.GreaterOrEqual(t, looked, 3)
	}
}
