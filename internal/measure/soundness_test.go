package measure

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

func at(x, y, z float64) func(mesh.Vec) mesh.Vec {
	return func(p mesh.Vec) mesh.Vec { return p.Add(mesh.Vec{X: x, Y: y, Z: z}) }
}

func without(m *mesh.Mesh, triangle int) *mesh.Mesh {
	return &mesh.Mesh{Vertices: m.Vertices, Triangles: append(append([][3]uint32{}, m.Triangles[:triangle]...), m.Triangles[triangle+1:]...)}
}

func turnedOver(m *mesh.Mesh, triangle int) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: m.Vertices, Triangles: append([][3]uint32{}, m.Triangles...)}
	t := out.Triangles[triangle]
	out.Triangles[triangle] = [3]uint32{t[0], t[2], t[1]}
	return out
}

func scaled(m *mesh.Mesh, s float64) *mesh.Mesh {
	return moved(m, func(p mesh.Vec) mesh.Vec { return p.Scale(s) })
}

func TestFindings(t *testing.T) {
	cube := box(10, 10, 10)
	withNeedle := &mesh.Mesh{Vertices: append(append([]mesh.Vec{}, cube.Vertices...), mesh.Vec{X: 5}), Triangles: append(append([][3]uint32{}, cube.Triangles...), [3]uint32{0, 1, 8}, [3]uint32{3, 3, 1})}
	twice := &mesh.Mesh{Vertices: cube.Vertices, Triangles: append(append([][3]uint32{}, cube.Triangles...), cube.Triangles[0])}
	cavity := together(cube, moved(insideOut(box(2, 2, 2)), at(4, 4, 4)))
	square := &mesh.Mesh{Vertices: box(9, 9, 9).Vertices[:4], Triangles: [][3]uint32{{0, 1, 2}, {1, 3, 2}}}
	folded := &mesh.Mesh{Vertices: box(9, 9, 9).Vertices, Triangles: [][3]uint32{{0, 1, 2}, {0, 2, 1}, {4, 5, 6}, {4, 6, 5}}}
	for _, c := range []struct {
		name string
		mesh *mesh.Mesh
		want map[string]Level
	}{
		{"sound", cube, map[string]Level{}},
		{"a triangle missing", without(cube, 3), map[string]Level{"open-edges": Fault}},
		{"a triangle turned over", turnedOver(cube, 3), map[string]Level{"inconsistent-orientation": Fault}},
		{"inside out", insideOut(cube), map[string]Level{"inside-out": Fault}},
		{"inside out with a hole", without(insideOut(cube), 3), map[string]Level{"open-edges": Fault, "negative-volume": Caution}},
		{"two pieces", together(cube, moved(cube, at(20, 0, 0))), map[string]Level{"several-shells": Note}},
		{"cavity", cavity, map[string]Level{"several-shells": Note, "inward-shell": Note}},
		{"one of two pieces inside out", together(cube, moved(insideOut(box(2, 2, 2)), at(20, 0, 0))), map[string]Level{"several-shells": Note, "shell-inside-out": Fault}},
		{"triangles without area", withNeedle, map[string]Level{"degenerate-triangles": Note, "open-edges": Fault, "non-manifold-edges": Caution}},
		{"a triangle twice", twice, map[string]Level{"duplicate-triangles": Caution, "non-manifold-edges": Caution}},
		{"flat", square, map[string]Level{"open-edges": Fault, "flat": Fault}},
		{"closed on nothing", folded, map[string]Level{"no-volume": Fault, "duplicate-triangles": Caution, "several-shells": Note}},
		{"in inches", scaled(cube, 0.1/2.54), map[string]Level{"small": Caution}},
		{"just 2 mm", scaled(cube, 0.2), map[string]Level{}},
		{"just 1000 mm", scaled(cube, 100), map[string]Level{}},
		{"too large", scaled(cube, 101), map[string]Level{"large": Caution}},
		{"far away", moved(cube, at(20000, 0, 0)), map[string]Level{"far-from-origin": Note}},
		{"not that far", moved(cube, at(16300, 0, 0)), map[string]Level{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := measured(t, c.mesh, t)
			got := map[string]Level{}
			for _, f := range r.Findings {
				require.NotContains(t, got, f.Code)
				got[f.Code] = f.Level
				require.Regexp(t, `^[A-Z0-9].*\.$`, f.Text)
				t.Log(f.Text)
			}
			require.Equal(t, c.want, got)
		})
	}
}

func TestSmallPartsNameTheUnitsThatFit(t *testing.T) {
	r := measured(t, scaled(box(1, 1, 1), 0.1), t)
	require.Equal(t, "The largest extent is 0.1 mm, and it would print that small: the file may be in another unit, such as inches (2.54 mm), metres (100 mm).", r.Findings[0].Text)
}

func TestGenus(t *testing.T) {
	genus := func(m *mesh.Mesh) *int { return measured(t, m, t).Genus }
	whole := func(n int) *int { return &n }
	torus := ringTorus(12, 8, 10, 2, exactly)
	require.Equal(t, whole(1), genus(torus))
	require.Equal(t, whole(2), genus(together(torus, moved(torus, at(40, 0, 0)))))
	require.Equal(t, whole(1), genus(turnedOver(torus, 5)), "two-sided though not wound so")
	require.Nil(t, genus(without(torus, 5)))

	// Two tetrahedra that share one vertex: V 7, E 12, F 8, χ 3; split, two spheres.
	pinched := together(tetrahedron(), tetrahedron())
	for i, v := range pinched.Vertices[4:] {
		pinched.Vertices[4+i] = v.Add(mesh.Vec{X: 2, Y: 2, Z: 2})
	}
	for i, v := range pinched.Vertices[:4] {
		for j, w := range pinched.Vertices[4:] {
			if v == w {
				for k := range pinched.Triangles {
					for c := range 3 {
						if pinched.Triangles[k][c] == uint32(4+j) {
							pinched.Triangles[k][c] = uint32(i)
						}
					}
				}
			}
		}
	}
	r := measured(t, pinched, t)
	require.Equal(t, 2, r.Shells)
	require.Equal(t, whole((2*2-(r.Euler+pinches(t, pinched)))/2), r.Genus)
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
			addFan(klein, number(i, j), number(i+1, j), number(i+1, j+1), number(i, j+1))
		}
	}
	r = measured(t, klein, t)
	require.True(t, r.Closed)
	require.Zero(t, r.Euler)
	require.Nil(t, r.Genus)
}

// pinches counts the fans beyond one at each used vertex.
func pinches(t *testing.T, m *mesh.Mesh) int {
	c, err := starsOf(m).count(t.Context())
	require.NoError(t, err)
	return c.fans - m.Topology().UsedVertices
}

func TestContract(t *testing.T) {
	r := measured(t, box(30, 20, 10), t)
	text, err := json.MarshalIndent(NewContract("a/any.stl", mesh.Info{Format: mesh.STLBinary}, r), "", " ")
	require.NoError(t, err)
	require.JSONEq(t, `{"path": "a/any.stl", "format": "stl-binary", "fingerprint": "`+r.Fingerprint+`",
		"triangles": 12, "vertices": 8, "bounds_mm": {"min": [0, 0, 0], "max": [30, 20, 10]},
		"volume_mm3": 6000, "area_mm2": 2200, "centroid_mm": [15, 10, 5],
		"closed": true, "open_edges": 0, "non_manifold_edges": 0, "consistently_oriented": true,
		"shells": 1, "euler": 2, "genus": 0, "degenerate_triangles": 0, "duplicate_triangles": 0,
		"hull_volume_mm3": 6000, "hull_area_mm2": 2200, "diameter_mm": 37.416573867739416,
		"silhouette_mm2": {"front": 300, "side": 200, "top": 600}, "findings": []}`, string(text))

	open := NewContract("b", mesh.Info{Format: mesh.STLASCII, Notes: []string{"Two solids."}}, measured(t, without(box(3, 2, 1), 0), t))
	require.Nil(t, open.Genus)
	require.Equal(t, Finding{Note, "reading", "Two solids."}, open.Findings[0])
	require.Equal(t, "open-edges", open.Findings[1].Code)
	text, err = json.Marshal(open)
	require.NoError(t, err)
	require.Contains(t, string(text), `"genus":null`)
	requireRoundTrip(t, r)
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
