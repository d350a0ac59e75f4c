package change

import (
	"context"
	"encoding/json"
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func TestSentences(t *testing.T) {
	m := inFloat32(bodies()["odd"])
	bent := meshtest.Moved(m, func(p mesh.Vec) mesh.Vec {
		if p == (mesh.Vec{X: 30}) {
			p.X += 0.5
		}
		return p
	})
	for _, c := range []struct {
		new  *mesh.Mesh
		want string
	}{
		{m, "Unchanged: the same triangles."},
		{meshtest.Remesh(m, 1), "Same shape: the same surface, cut into other triangles."},
		{meshtest.Moved(m, meshtest.Shift(5, -3, 0)), "Moved: shifted by (5, -3, 0) mm; the shape is the same."},
		{meshtest.Turned(m, mesh.Vec{Z: 1}, math.Pi/6), "Moved: turned by 30° about (0, 0, 1); the shape is the same."},
		{meshtest.Turned(m, mesh.Vec{Y: 1}, math.Pi), "Moved: turned by 180° about (0, 1, 0); the shape is the same."},
		{m.Mirrored(), "Mirrored: mirrored in the plane x = 0."},
		{meshtest.Turned(m.Mirrored(), mesh.Vec{X: 1}, math.Pi), "Mirrored: mirrored in the plane x = 0, then turned by 180° about (1, 0, 0)."},
		{meshtest.Scaled(m, 1.1), "Rescaled: 110 % of the old size; the shape is the same."},
		{meshtest.Scaled(m.Mirrored(), 0.5), "Rescaled: 50 % of the old size, and mirrored; the shape is the same."},
		{bent, "Changed: at most 0.50 mm, near (30.5, 0.0, 0.0) on the new mesh; "},
		{meshtest.InsideOut(m), "Changed: the surface is where it was to within 0.0001 mm, but it encloses another volume, -6002.67 mm³ instead of 6002.67 mm³: "},
	} {
		got := compare(t, m, c.new)
		require.Contains(t, got.Sentence(), c.want)
		text, err := json.Marshal(NewContract(&got))
		require.NoError(t, err)
		require.Contains(t, string(text), `"kind":"`+string(got.Kind)+`"`)
	}
}

// A half turn has no sine; its axis comes from the cosine's side.
func TestTurnsAreReadBack(t *testing.T) {
	for _, angle := range []float64{1e-6, 0.3, 1.5, 3, math.Pi - 1e-5, math.Pi} {
		for _, axis := range []mesh.Vec{{X: 1}, {Y: 1}, {Z: 1}, {X: 0.36, Y: 0.48, Z: 0.8}, {X: -0.6, Z: 0.8}} {
			got, about := turnOf(rotationBy(axis.Scale(angle)))
			require.InDelta(t, angle, got, 1e-9)
			if angle > 1e-3 {
				require.InDelta(t, 1, math.Abs(about.Dot(axis)), 1e-8)
			}
		}
	}
}

func TestCompareEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Compare(ctx, meshtest.UVSphere(10, 200, 100), meshtest.UVSphere(11, 190, 90), printing)
	require.ErrorIs(t, err, context.Canceled)
}

// The same answer to the last bit on one processor and on several.
func TestCompareDoesNotKnowTheProcessors(t *testing.T) {
	a, b := meshtest.UVSphere(10, 120, 60), meshtest.UVSphere(10.3, 90, 50)
	want := compare(t, a, b)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	require.Equal(t, want, compare(t, a, b))
}

// Any two heaps of triangles give an answer that holds together.
func FuzzCompare(f *testing.F) {
	f.Add(meshtest.Bytes(meshtest.Tetrahedron()), meshtest.Bytes(meshtest.Box(1, 2, 3)))
	f.Add(meshtest.Bytes(meshtest.Box(1, 2, 3)), meshtest.Bytes(meshtest.Box(1, 2, 3.5)))
	line := &mesh.Mesh{Vertices: []mesh.Vec{{}, {X: 1}, {X: 3e38}}, Triangles: [][3]uint32{{0, 1, 2}, {1, 1, 1}}}
	f.Add(meshtest.Bytes(line), meshtest.Bytes(meshtest.Tetrahedron()))
	huge := meshtest.Scaled(meshtest.Tetrahedron(), 1e38)
	f.Add(meshtest.Bytes(huge), meshtest.Bytes(line))
	f.Fuzz(func(t *testing.T, x, y []byte) {
		a, b := meshtest.FromBytes(x), meshtest.FromBytes(y)
		if a == nil || b == nil {
			return
		}
		c := compare(t, a, b)
		require.NotEmpty(t, c.Sentence())
		for _, d := range []Distance{c.OldToNew, c.NewToOld} {
			require.False(t, d.AtMost < d.Largest)
		}
		NewContract(&c)
		c, err := Compare(context.Background(), a, a, printing)
		require.NoError(t, err)
		require.Equal(t, Unchanged, c.Kind)
	})
}

func TestAveragesThatNobodyCouldMeasure(t *testing.T) {
	for v, want := range map[float64]string{0: "0.00", 7.6e-6: "less than 0.0001", 1e-4: "0.0001", 0.0048: "0.0048", 0.17: "0.17"} {
		require.Equal(t, want, average(v))
	}
}
