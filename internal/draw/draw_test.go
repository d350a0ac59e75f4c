package draw

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/reference"
)

func total(lines [][]shadow.Point) float64 {
	sum := 0.0
	for _, l := range lines {
		sum += length(l)
	}
	return sum
}

func TestBoxSeenSquarelyIsItsOutline(t *testing.T) {
	for _, v := range shadow.Views {
		d := mustDraw(t, box(5, 5, 5, 35, 25, 15), v)
		require.Len(t, d.Outline, 1)
		require.Len(t, d.Outline[0], 4)
		require.Empty(t, d.Creases)
		require.Empty(t, d.Depths)
		require.InDelta(t, d.Width*d.Height, d.Outline.Area(), 1e-6)
	}
}

// Of a turned box's twelve edges nine are seen: six are the outline, three meet
// in the nearest corner, three are hidden behind.
func TestTurnedBoxShowsNineEdges(t *testing.T) {
	m := turn(box(0, 0, 0, 30, 20, 10), 35, 25)
	d := mustDraw(t, m, shadow.Front)
	require.Len(t, d.Outline, 1)
	require.Len(t, d.Outline[0], 6)
	require.Empty(t, d.Depths)
	var want float64
	corner, nearest := mesh.Vec{}, math.Inf(-1)
	for _, p := range m.Vertices {
		if _, _, depth := shadow.Front.Project(p); depth > nearest {
			corner, nearest = p, depth
		}
	}
	for i := range m.Vertices {
		for j := range i {
			p, q := m.Vertices[i], m.Vertices[j]
			side := p.Sub(q).Norm()
			isEdge := math.Abs(side-30) < 1e-9 || math.Abs(side-20) < 1e-9 || math.Abs(side-10) < 1e-9
			if isEdge && (p == corner || q == corner) {
				px, py, _ := shadow.Front.Project(p)
				qx, qy, _ := shadow.Front.Project(q)
				want += math.Hypot(px-qx, py-qy)
			}
		}
	}
	// Each of the three stops where a pixel within two, diagonals included, is
	// empty: up to 3.6 pixels, over the sine of its angle with the outline.
	pixel := max(d.Width, d.Height) / resolution
	require.InDelta(t, want, total(d.Creases), 3*5*pixel)
	require.Less(t, total(d.Creases), want+pixel)
}

// A post before a wall: the post's sides pass before the wall and are drawn as
// depths; what lies behind the wall, and the wall's own hidden part, is not.
func TestPostBeforeWall(t *testing.T) {
	wall := box(0, 0, 0, 40, 2, 30)
	post := box(15, -20, 5, 25, -10, 25)
	hidden := box(5, 5, 5, 12, 12, 25)
	d := mustDraw(t, together(wall, post, hidden), shadow.Front)
	require.Len(t, d.Outline, 1)
	require.Len(t, d.Outline[0], 4)
	require.Empty(t, d.Creases)
	require.Len(t, d.Depths, 1)
	require.InDelta(t, 60, total(d.Depths), 0.1)
	for _, p := range d.Depths[0] {
		require.True(t, (math.Abs(p.X-15) < d.Tolerance || math.Abs(p.X-25) < d.Tolerance) &&
			(math.Abs(p.Y-5) < d.Tolerance || math.Abs(p.Y-25) < d.Tolerance), "%v", p)
	}
	behind := mustDraw(t, together(wall, post, hidden), shadow.Top)
	require.NotEmpty(t, behind.Outline)
}

func TestSmoothTorusHasNoCreases(t *testing.T) {
	d := mustDraw(t, torus(96, 48, 10, 3), shadow.Top)
	require.Len(t, d.Outline, 2)
	require.Empty(t, d.Creases)
	require.Empty(t, d.Depths)
	// Tilted, its near side passes before its far side, over the hole.
	tilted := mustDraw(t, turn(torus(96, 48, 10, 3), 0, 75), shadow.Top)
	require.Empty(t, tilted.Creases)
	require.NotEmpty(t, tilted.Depths)
}

func TestDrawingDoesNotDependOnOrderOrWinding(t *testing.T) {
	m := turn(together(box(0, 0, 0, 30, 20, 10), box(10, 5, 10, 20, 15, 18)), 35, 25)
	want := mustDraw(t, m, shadow.Front)
	mixed := &mesh.Mesh{Vertices: m.Vertices, Triangles: slices.Clone(m.Triangles)}
	slices.Reverse(mixed.Triangles)
	for i, tri := range mixed.Triangles {
		if i%3 == 0 {
			mixed.Triangles[i] = [3]uint32{tri[1], tri[0], tri[2]}
		}
	}
	got := mustDraw(t, mixed, shadow.Front)
	require.Equal(t, want.Outline, got.Outline)
	require.InDelta(t, total(want.Creases), total(got.Creases), 0.1)
	require.InDelta(t, total(want.Depths), total(got.Depths), 0.1)
}

func TestDrawOddMeshes(t *testing.T) {
	flat := &mesh.Mesh{Vertices: []mesh.Vec{{}, {X: 1}, {X: 2}}, Triangles: [][3]uint32{{0, 1, 2}, {0, 0, 1}}}
	for _, m := range []*mesh.Mesh{{}, flat} {
		d := mustDraw(t, m, shadow.Front)
		require.Zero(t, d.Width)
		require.Empty(t, d.Outline)
		requireWellFormed(t, Figure(d, FigureOptions{ID: "a", Title: "nothing"}))
	}
	bad := &mesh.Mesh{Vertices: []mesh.Vec{{X: math.NaN()}, {X: 1}, {Y: 2}}, Triangles: [][3]uint32{{0, 1, 2}}}
	_, err := Draw(t.Context(), bad, shadow.Top)
	require.Error(t, err)
	one := &mesh.Mesh{Vertices: []mesh.Vec{{}, {X: 1}, {Y: 2}}, Triangles: [][3]uint32{{0, 1, 2}}}
	d := mustDraw(t, one, shadow.Top)
	require.InDelta(t, 1, d.Outline.Area(), 1e-9)
	needle := &mesh.Mesh{Vertices: []mesh.Vec{{}, {X: 1000}, {X: 1000, Y: 1e-4}}, Triangles: [][3]uint32{{0, 1, 2}}}
	requireWellFormed(t, Figure(mustDraw(t, needle, shadow.Top), FigureOptions{ID: "n", Title: "needle"}))
}

// The outline is the shadow's to within its tolerance, so their areas differ by
// at most the tolerance times the outline's length; and the pictures stay small.
func TestDrawSharedMeshes(t *testing.T) {
	limits := map[string]int{ // bytes of one figure
		"arm/Base_SO101.stl": 20_000, "walker-armed/chassis.stl": 20_000,
		"cgal/elephant.stl": 20_000, "scans/bunny_69k.stl": 60_000,
	}
	for file, limit := range limits {
		m, _, err := mesh.ReadFile(t.Context(), filepath.Join(reference.Folder, file))
		if os.IsNotExist(err) {
			t.Skip("the shared meshes are not here")
		}
		require.NoError(t, err)
		for _, v := range shadow.Views {
			d := mustDraw(t, m, v)
			shadow, err := shadow.Of(t.Context(), m, v)
			require.NoError(t, err)
			outline := 0.0
			for _, r := range shadow {
				outline += length(append(slices.Clone(r), r[0]))
			}
			require.InDelta(t, shadow.Area(), d.Outline.Area(), d.Tolerance*outline)
			require.NotEmpty(t, append(slices.Clone(d.Creases), d.Depths...))
			svg := Figure(d, FigureOptions{ID: "f", Title: file})
			require.Less(t, len(svg), limit, "%s %s", file, v)
			t.Logf("%s %s: %d bytes, %d creases, %d depths", file, v, len(svg), len(d.Creases), len(d.Depths))
		}
	}
}

func BenchmarkDraw(b *testing.B) {
	for _, size := range []struct {
		name string
		k, n int
	}{{"10k", 100, 50}, {"1M", 1000, 500}} {
		m := turn(torus(size.k, size.n, 10, 3), 20, 55)
		b.Run("size="+size.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				mustDraw(b, m, shadow.Front)
			}
			b.ReportMetric(float64(len(m.Triangles)*b.N)/b.Elapsed().Seconds(), "triangles/s")
		})
	}
}
