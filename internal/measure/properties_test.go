package measure

import (
	"context"
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/unixpickle/model3d/model3d"
	"pgregory.net/rapid"

	"cardback/internal/longrun"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func measured(t require.TestingT, m *mesh.Mesh, ctx testing.TB) *Report {
	r, err := Measure(ctx.Context(), m)
	require.NoError(t, err)
	return r
}

// near is far above the rounding of a few hundred triangles, far below any
// mistake in a formula.
const near = 1e-9

func TestMeasuresUnderMotion(t *testing.T) {
	body := meshtest.Together(meshtest.HoledBox(20, 10, 5, 4), meshtest.Moved(meshtest.Icosahedron(), func(p mesh.Vec) mesh.Vec { return p.Add(mesh.Vec{X: 3, Y: 14, Z: 2}) }))
	was := measured(t, body, t)
	rapid.Check(t, func(rt *rapid.T) {
		number := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(rt, name) }
		up := meshtest.Spiral(rapid.IntRange(0, 999).Draw(rt, "direction"), 1000)
		turn := pointUp(up)
		shift := mesh.Vec{X: number(-100, 100, "x"), Y: number(-100, 100, "y"), Z: number(-100, 100, "z")}
		scale := number(0.2, 5, "scale")
		motion := func(p mesh.Vec) mesh.Vec { return turn(p).Scale(scale).Add(shift) }
		now := measured(rt, meshtest.Moved(body, motion), t)

		require.InEpsilon(rt, was.Volume*scale*scale*scale, now.Volume, near)
		require.InEpsilon(rt, was.Area*scale*scale, now.Area, near)
		require.InEpsilon(rt, was.HullVolume*scale*scale*scale, now.HullVolume, near)
		require.InEpsilon(rt, was.HullArea*scale*scale, now.HullArea, near)
		require.InEpsilon(rt, was.Diameter*scale, now.Diameter, near)
		require.InDelta(rt, 0, motion(was.Centroid).Sub(now.Centroid).Norm(), near*100)
		require.Equal(rt, [4]int{was.Shells, was.Euler, *was.Genus, was.OpenEdges}, [4]int{now.Shells, now.Euler, *now.Genus, now.OpenEdges})
	})
}

func TestMirrorFlipsTheVolumeOnly(t *testing.T) {
	body := meshtest.HoledBox(20, 10, 5, 4)
	was := measured(t, body, t)
	flipped := measured(t, meshtest.Moved(body, func(p mesh.Vec) mesh.Vec { return mesh.Vec{X: -p.X, Y: p.Y, Z: p.Z} }), t)
	require.InEpsilon(t, -was.Volume, flipped.Volume, near)
	require.InEpsilon(t, was.HullVolume, flipped.HullVolume, near)
	require.Equal(t, "inside-out", flipped.Findings[0].Code)
	require.InEpsilon(t, was.Volume, measured(t, body.Mirrored(), t).Volume, near)
}

// The order of triangles and of vertices changes nothing but rounding.
func TestOrderDoesNotMatter(t *testing.T) {
	body := meshtest.UVSphere(7, 24, 12)
	was := measured(t, body, t)
	rapid.Check(t, func(rt *rapid.T) {
		n := len(body.Vertices)
		order := make([]int, n)
		for i := range order {
			order[i] = i
		}
		order = rapid.Permutation(order).Draw(rt, "vertices")
		shuffled := &mesh.Mesh{Vertices: make([]mesh.Vec, n), Triangles: make([][3]uint32, len(body.Triangles))}
		for i, o := range order {
			shuffled.Vertices[o] = body.Vertices[i]
		}
		for i, tri := range body.Triangles {
			shuffled.Triangles[len(body.Triangles)-1-i] = [3]uint32{uint32(order[tri[1]]), uint32(order[tri[2]]), uint32(order[tri[0]])}
		}
		now := measured(rt, shuffled, t)
		require.Equal(rt, was.Hull, now.Hull)
		require.Equal(rt, was.Diameter, now.Diameter)
		require.Equal(rt, was.Fingerprint, now.Fingerprint)
		require.InEpsilon(rt, was.Volume, now.Volume, 1e-13)
		require.InEpsilon(rt, was.Area, now.Area, 1e-13)
	})
}

// Doubling the triangles doubles the sums, and every second is a duplicate.
func TestDoubledSurface(t *testing.T) {
	body := meshtest.Icosahedron()
	doubled := &mesh.Mesh{Vertices: body.Vertices, Triangles: append(append([][3]uint32{}, body.Triangles...), meshtest.InsideOut(body).Triangles...)}
	r := measured(t, doubled, t)
	require.Equal(t, 20, r.DuplicateTriangles)
	require.Equal(t, 30, r.NonManifoldEdges)
	require.InDelta(t, 0, r.Volume, near)
	require.Nil(t, r.Genus)
	require.False(t, r.CentroidOfVolume())
}

// model3d is a general-purpose modelling library, which measures by code of its
// own.
func TestMeasureAgreesWithModel3D(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"torus": meshtest.RingTorus(40, 20, 10, 2, meshtest.AsFloat32), "frustum": meshtest.Frustum(17, 3, 5, 9), "holed box": meshtest.HoledBox(20, 10, 5, 4), "dodecahedron": meshtest.Dodecahedron(),
	} {
		other := model3d.NewMesh()
		for i := range m.Triangles {
			a, b, c := m.Corners(i)
			p := func(v mesh.Vec) model3d.Coord3D { return model3d.XYZ(v.X, v.Y, v.Z) }
			other.Add(&model3d.Triangle{p(a), p(b), p(c)})
		}
		r := measured(t, m, t)
		require.InEpsilon(t, other.Volume(), r.Volume, near, name)
		require.InEpsilon(t, other.Area(), r.Area, near, name)
		require.False(t, other.NeedsRepair(), name)
		require.Equal(t, len(other.VertexSlice()), r.Vertices)
		require.Zero(t, math.Abs(other.Max().X-r.Bounds.Max.X))
	}
}

// Several pieces' worth of triangles, added up on one processor and on several.
func TestProcessorsDoNotMatter(t *testing.T) {
	longrun.Only(t, "measures a torus of 120,000 triangles twice")
	m := meshtest.RingTorus(300, 200, 10, 2, meshtest.AsFloat32)
	require.Greater(t, len(m.Triangles), 4*piece)
	many := measured(t, m, t)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	require.Equal(t, many, measured(t, m, t))
}

// A part with all that a report tells of: holes, a pin, thin places, a cavity,
// shells that cross, a crack and duplicates; the whole report, findings included.
func TestTheWholeReportIsTheSameOnAnyNumberOfProcessors(t *testing.T) {
	m := meshtest.Together(
		meshtest.Remesh(meshtest.DrilledPlate(24, 3, 20, 1, 0.2, 1), 3),
		meshtest.Moved(meshtest.Frustum(24, 0.4, 0.4, 12), meshtest.Shift(5, 5, 0.5)),
		meshtest.Moved(meshtest.UVSphere(6, 64, 33), meshtest.Shift(30, 0, 0)),
		meshtest.Moved(meshtest.InsideOut(meshtest.UVSphere(2, 32, 17)), meshtest.Shift(30, 0, 0)),
		meshtest.Moved(meshtest.Without(meshtest.UVSphere(6, 64, 33), 7), meshtest.Shift(60, 0, 0)),
		meshtest.Moved(meshtest.Box(4, 4, 4), meshtest.Shift(0, 30, 0)), meshtest.Moved(meshtest.Box(4, 4, 4), meshtest.Shift(0, 30, 0)),
	)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var want *Report
	for _, n := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(n)
		got := measured(t, m, t)
		if want == nil {
			want = got
			require.NotEmpty(t, got.Bores.Holes)
			require.NotEmpty(t, got.Bores.Pins)
			require.NotEmpty(t, got.Thin.Places)
			require.NotEmpty(t, got.Crossings.Places)
			require.NotEmpty(t, got.Nesting.Cavities)
			require.NotEmpty(t, got.Nesting.Overlapping)
			require.NotEmpty(t, got.Nesting.Coincident)
			require.NotEmpty(t, got.Findings)
		}
		require.Equal(t, want, got, "%d processors", n)
	}
}

func TestMeasureStopsWhenTheContextEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := Measure(ctx, meshtest.Box(1, 1, 1))
	require.ErrorIs(t, err, context.Canceled)
}
