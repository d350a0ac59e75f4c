package measure

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func TestFindings(t *testing.T) {
	cube := meshtest.Box(10, 10, 10)
	withNeedle := &mesh.Mesh{Vertices: append(append([]mesh.Vec{}, cube.Vertices...), mesh.Vec{X: 5}), Triangles: append(append([][3]uint32{}, cube.Triangles...), [3]uint32{0, 1, 8}, [3]uint32{3, 3, 1})}
	twice := &mesh.Mesh{Vertices: cube.Vertices, Triangles: append(append([][3]uint32{}, cube.Triangles...), cube.Triangles[0])}
	cavity := meshtest.Together(cube, meshtest.Moved(meshtest.InsideOut(meshtest.Box(2, 2, 2)), meshtest.Shift(4, 4, 4)))
	square := &mesh.Mesh{Vertices: meshtest.Box(9, 9, 9).Vertices[:4], Triangles: [][3]uint32{{0, 1, 2}, {1, 3, 2}}}
	folded := &mesh.Mesh{Vertices: meshtest.Box(9, 9, 9).Vertices, Triangles: [][3]uint32{{0, 1, 2}, {0, 2, 1}, {4, 5, 6}, {4, 6, 5}}}
	// One corner moved through the opposite face.
	pulledThrough := &mesh.Mesh{Vertices: append([]mesh.Vec{}, cube.Vertices...), Triangles: cube.Triangles}
	pulledThrough.Vertices[7] = mesh.Vec{X: 4, Y: 3, Z: -2}
	// Triangle 0 split at the middle of its first side, whose neighbour stays whole.
	first := cube.Triangles[0]
	split := &mesh.Mesh{Vertices: append(append([]mesh.Vec{}, cube.Vertices...), cube.Vertices[first[0]].Add(cube.Vertices[first[1]]).Scale(0.5)), Triangles: append(append([][3]uint32{}, cube.Triangles...), [3]uint32{8, first[1], first[2]})}
	split.Triangles[0] = [3]uint32{first[0], 8, first[2]}
	loose := &mesh.Mesh{}
	for i := range 6 {
		loose = meshtest.Together(loose, &mesh.Mesh{Vertices: meshtest.Moved(cube, meshtest.Shift(2e-4*float64(i), -1e-4*float64(i), 1e-4*float64(i))).Vertices, Triangles: cube.Triangles[2*i : 2*i+2]})
	}
	hairline := &mesh.Mesh{}
	for i := range 6 {
		hairline = meshtest.Together(hairline, &mesh.Mesh{Vertices: meshtest.Moved(cube, meshtest.Shift(2e-6*float64(i), -1e-6*float64(i), 1e-6*float64(i))).Vertices, Triangles: cube.Triangles[2*i : 2*i+2]})
	}
	gaping := &mesh.Mesh{Vertices: slices.Clone(split.Vertices), Triangles: split.Triangles}
	gaping.Vertices[8] = gaping.Vertices[8].Add(mesh.Vec{X: 0.01, Y: 0.01, Z: 0.01})
	// Two triangles back to back, standing on the top edge of the cube.
	fin := &mesh.Mesh{Vertices: append(append([]mesh.Vec{}, cube.Vertices...), mesh.Vec{X: 5, Z: 15}), Triangles: append(append([][3]uint32{}, cube.Triangles...), [3]uint32{4, 5, 8}, [3]uint32{5, 4, 8})}
	// The cube mirrored at its side x = 0, with its triangles as they were.
	mirrored := meshtest.Moved(cube, func(p mesh.Vec) mesh.Vec { p.X = 0 - p.X; return p })
	band := &mesh.Mesh{}
	for i := range 48 {
		a := 2 * math.Pi * float64(i) / 48
		for _, s := range []float64{-1, 1} {
			band.Vertices = append(band.Vertices, meshtest.Polar(20+5*s*math.Cos(a/2), a, 5*s*math.Sin(a/2)))
		}
		next := [2]uint32{uint32(2*i + 2), uint32(2*i + 3)}
		if i == 47 {
			next = [2]uint32{1, 0}
		}
		meshtest.AddFan(band, uint32(2*i), uint32(2*i+1), next[1], next[0])
	}
	for _, c := range []struct {
		name string
		mesh *mesh.Mesh
		want map[string]Level
	}{
		{"sound", cube, map[string]Level{}},
		{"a triangle missing", meshtest.Without(cube, 3), map[string]Level{"open-edges": Fault}},
		{"a triangle turned over", meshtest.TurnedOver(cube, 3), map[string]Level{"inconsistent-orientation": Fault}},
		{"inside out", meshtest.InsideOut(cube), map[string]Level{"inside-out": Fault}},
		{"inside out with a hole", meshtest.Without(meshtest.InsideOut(cube), 3), map[string]Level{"open-edges": Fault, "negative-volume": Caution}},
		{"two pieces", meshtest.Together(cube, meshtest.Moved(cube, meshtest.Shift(20, 0, 0))), map[string]Level{"several-shells": Note}},
		{"cavity", cavity, map[string]Level{"cavity": Caution}},
		{"hollow, and the whole inside out", meshtest.InsideOut(cavity), map[string]Level{"inside-out": Fault}},
		{"overlapping", meshtest.Together(cube, meshtest.Moved(meshtest.Turned(cube, mesh.Vec{X: 1, Y: 2, Z: 3}, 0.4), meshtest.Shift(4, 3, 2))), map[string]Level{"overlapping-shells": Caution, "several-shells": Note}},
		{"side by side", meshtest.Together(cube, meshtest.Moved(cube, meshtest.Shift(10, 0, 0))), map[string]Level{"self-touching": Note, "several-shells": Note}},
		{"buried", meshtest.Together(cube, meshtest.Moved(meshtest.Box(2, 2, 2), meshtest.Shift(4, 4, 4))), map[string]Level{"buried-shell": Note}},
		{"twice in one place", meshtest.Together(cube, cube), map[string]Level{"coincident-shells": Caution}},
		{"a cut not carried out", meshtest.Together(cube, meshtest.Moved(meshtest.InsideOut(meshtest.Box(2, 2, 4)), meshtest.Shift(3, 4, 8))), map[string]Level{"cavity-breaks-out": Caution, "self-intersections": Caution, "self-touching": Note}},
		{"through itself", pulledThrough, map[string]Level{"self-intersections": Caution}},
		{"a T-junction", split, map[string]Level{"cracks-closed": Note}},
		{"a T-junction that gapes by a hundredth", gaping, map[string]Level{"open-edges": Fault}},
		{"faces a hundred-thousandth apart", hairline, map[string]Level{"cracks-closed": Note}},
		{"faces a thousandth apart", loose, map[string]Level{"open-edges": Fault, "near-duplicate-corners": Caution, "self-intersections": Caution, "several-shells": Note}},

		{"one of two pieces inside out", meshtest.Together(cube, meshtest.Moved(meshtest.InsideOut(meshtest.Box(2, 2, 2)), meshtest.Shift(20, 0, 0))), map[string]Level{"several-shells": Note, "shell-inside-out": Fault}},
		{"triangles without area", withNeedle, map[string]Level{"degenerate-triangles": Note, "cracks-closed": Note}},
		{"a triangle twice", twice, map[string]Level{"duplicate-triangles": Caution, "non-manifold-edges": Caution}},
		{"a fin without thickness", fin, map[string]Level{"no-thickness": Caution, "non-manifold-edges": Caution}},
		{"halves of which one is inside out", welded(meshtest.Together(cube, mirrored)), map[string]Level{"no-volume": Fault, "duplicate-triangles": Caution, "non-manifold-edges": Caution}},
		{"a band with half a twist", band, map[string]Level{"open-edges": Fault, "inconsistent-orientation": Fault}},
		{"overlapping, and one through itself", meshtest.Together(pulledThrough, meshtest.Moved(cube, meshtest.Shift(-5, -5, -5))), map[string]Level{"overlapping-shells": Caution, "self-intersections": Caution, "self-touching": Note, "several-shells": Note}},
		{"flat", square, map[string]Level{"open-edges": Fault, "flat": Fault}},
		{"closed on nothing", folded, map[string]Level{"no-volume": Fault, "no-thickness": Caution, "several-shells": Note}},
		{"in inches", meshtest.Scaled(cube, 0.1/2.54), map[string]Level{"small": Caution}},
		{"just 2 mm", meshtest.Scaled(cube, 0.2), map[string]Level{}},
		{"just 1000 mm", meshtest.Scaled(cube, 100), map[string]Level{}},
		{"too large", meshtest.Scaled(cube, 101), map[string]Level{"large": Caution}},
		{"far away", meshtest.Moved(cube, meshtest.Shift(20000, 0, 0)), map[string]Level{"far-from-origin": Note}},
		{"far to the left", meshtest.Moved(meshtest.Box(17000, 10, 10), meshtest.Shift(-17000, 0, 0)), map[string]Level{"far-from-origin": Note, "large": Caution}},
		{"not that far", meshtest.Moved(cube, meshtest.Shift(16300, 0, 0)), map[string]Level{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := measured(t, c.mesh, t)
			got := map[string]Level{}
			for _, f := range r.Findings {
				require.NotContains(t, got, f.Code)
				got[f.Code] = f.Level
				require.Regexp(t, `^[A-Z0-9].*\.$`, f.Text)
				require.Equal(t, placed[f.Code], f.At != nil, f.Code)
				if f.At != nil { // within the part
					for k, x := range f.At {
						require.GreaterOrEqual(t, x, r.Bounds.Min.Component(k))
						require.LessOrEqual(t, x, r.Bounds.Max.Component(k))
					}
				}
				t.Log(f.Text)
			}
			require.Equal(t, c.want, got)
		})
	}
}

// welded joins equal corners.
func welded(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{}
	number := map[mesh.Vec]uint32{}
	for _, t := range m.Triangles {
		for k, v := range t {
			p := m.Vertices[v]
			n, seen := number[p]
			if !seen {
				n = uint32(len(out.Vertices))
				number[p] = n
				out.Vertices = append(out.Vertices, p)
			}
			t[k] = n
		}
		out.Triangles = append(out.Triangles, t)
	}
	return out
}

// placed are the findings that have a place. The others are about the whole.
var placed = map[string]bool{
	"open-edges": true, "cracks-closed": true, "t-junctions": true, "near-duplicate-corners": true, "non-manifold-edges": true, "inconsistent-orientation": true,
	"inside-out": true, "shell-inside-out": true, "cavity": true, "cavity-breaks-out": true, "overlapping-shells": true, "coincident-shells": true,
	"buried-shell": true, "self-intersections": true, "self-touching": true, "degenerate-triangles": true, "duplicate-triangles": true, "no-thickness": true,
}

// A sphere of 4 mm with 80,000 triangles is more likely one of 4 inches; with 500
// it is a bead.
func TestFineSmallPartsMayBeInInches(t *testing.T) {
	bead := Report{Bounds: mesh.Box{Max: mesh.Vec{X: 4, Y: 4, Z: 4}}, Area: 50.2, Triangles: 500}
	var found findings
	units(&found, &bead)
	require.Empty(t, found)
	bead.Triangles = 40_000 // the side is √(4/√3 · 50.2/40000) = 0.0538: just not
	units(&found, &bead)
	require.Empty(t, found)
	bead.Triangles = 80_000
	units(&found, &bead)
	require.Equal(t, "The largest extent is 4 mm, and its triangles are 0.0381 mm wide on average: no printer makes that. If the file is in another unit, such as centimetres (40 mm) or inches (102 mm), it would print far too small.", found[0].Text)
	require.Equal(t, Caution, found[0].Level)
	large := bead
	large.Bounds.Max.X = 13
	found = nil
	units(&found, &large)
	require.Empty(t, found)
}

func TestSmallPartsNameTheUnitsThatFit(t *testing.T) {
	r := measured(t, meshtest.Scaled(meshtest.Box(1, 1, 1), 0.1), t)
	require.Equal(t, "The largest extent is 0.1 mm, and it would print that small: the file may be in another unit, such as metres (100 mm).", r.Findings[0].Text)
}

func TestGenus(t *testing.T) {
	genus := func(m *mesh.Mesh) *int { return measured(t, m, t).Genus }
	whole := func(n int) *int { return &n }
	torus := meshtest.RingTorus(12, 8, 10, 2, meshtest.Exactly)
	require.Equal(t, whole(1), genus(torus))
	require.Equal(t, whole(2), genus(meshtest.Together(torus, meshtest.Moved(torus, meshtest.Shift(40, 0, 0)))))
	require.Equal(t, whole(1), genus(meshtest.TurnedOver(torus, 5)), "two-sided though not wound so")
	require.Nil(t, genus(meshtest.Without(torus, 5)))
	// Five triangles meet at each corner here, so that neighbours cannot simply
	// be turned over in alternation.
	require.Equal(t, whole(0), genus(meshtest.TurnedOver(meshtest.Icosahedron(), 5)))

	// Three tetrahedra in a row, each sharing a vertex with the next: V 10, E 18,
	// F 12, χ 4; split, three spheres. Without the splitting it would be 1.
	row := &mesh.Mesh{Vertices: []mesh.Vec{{}, {X: 3}, {X: 6}, {X: 9}}}
	for k := range uint32(3) {
		n := uint32(len(row.Vertices))
		x := 3 * float64(k)
		row.Vertices = append(row.Vertices, mesh.Vec{X: x + 1, Y: 1}, mesh.Vec{X: x + 1, Z: 1})
		row.Triangles = append(row.Triangles, [3]uint32{k, n, k + 1}, [3]uint32{k, k + 1, n + 1}, [3]uint32{k + 1, n, n + 1}, [3]uint32{n, k, n + 1})
	}
	r := measured(t, row, t)
	require.Equal(t, []int{10, 4, 3}, []int{r.Vertices, r.Euler, r.Shells})
	require.True(t, r.Closed && r.ConsistentlyOriented)
	require.Equal(t, whole(0), r.Genus)

	// A Klein bottle: a torus whose last ring of quads joins the first turned over.
	const m, n = 12, 8
	klein := &mesh.Mesh{Vertices: torus.Vertices}
	number := func(i, j int) uint32 {
		if i == m {
			i, j = 0, n-j
		}
		return uint32(i*n + j%n)
	}
	for i := range m {
		for j := range n {
			meshtest.AddFan(klein, number(i, j), number(i+1, j), number(i+1, j+1), number(i, j+1))
		}
	}
	r = measured(t, klein, t)
	require.True(t, r.Closed)
	require.Zero(t, r.Euler)
	require.Nil(t, r.Genus)
}

// A closed shell without thickness has a volume of nothing but rounding, of
// either sign; it is no shell that faces inward.
func TestFlatShellFacesNowhere(t *testing.T) {
	flat := &mesh.Mesh{Triangles: meshtest.Tetrahedron().Triangles}
	for _, p := range [][2]float64{{0.1, 0.7}, {3.3, 1.9}, {1.1, 4.7}, {2.9, 2.3}} {
		flat.Vertices = append(flat.Vertices, mesh.Vec{X: 20 + p[0], Y: p[1], Z: p[0]/3 + p[1]/7})
	}
	for _, m := range []*mesh.Mesh{flat, meshtest.InsideOut(flat)} {
		for _, f := range measured(t, meshtest.Together(meshtest.Box(9, 9, 9), m), t).Findings {
			require.Equal(t, "several-shells", f.Code)
		}
	}
}

func TestMeasureRefusesWhatIsNoMesh(t *testing.T) {
	_, err := Measure(t.Context(), &mesh.Mesh{Vertices: []mesh.Vec{{X: 1e39}}})
	require.ErrorContains(t, err, "vertex 0 at (1e+39, 0, 0) is not within")
	_, err = Measure(t.Context(), &mesh.Mesh{Triangles: [][3]uint32{{0, 0, 0}}})
	require.ErrorContains(t, err, "triangle 0 has vertex 0 of 0")
	r, err := Measure(t.Context(), &mesh.Mesh{})
	require.NoError(t, err)
	require.Zero(t, r.Diameter)
}

// A triangle this thin is beyond what rounded products can tell (its corners are
// those of Shewchuk's example, as in exact.Side), yet has an area.
func TestSliverIsNotDegenerate(t *testing.T) {
	for y, want := range map[float64]int{24: 1, math.Nextafter(24, 25): 0} {
		m := &mesh.Mesh{Vertices: []mesh.Vec{{X: 0.5, Y: 0.5}, {X: 12, Y: 12}, {X: 24, Y: y}}, Triangles: [][3]uint32{{0, 1, 2}}}
		require.Equal(t, want, measured(t, m, t).DegenerateTriangles)
	}
}
