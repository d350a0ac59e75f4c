package meshtest

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

// Reference is a file's entry in reference.json: numbers by numpy, scipy
// (Qhull), CGAL, VTK, Open3D and manifold, which agree with each other to the
// figures in its worst_disagreement_relative.
type Reference struct {
	File             string
	NumbersNote      string                    `json:"numbers_note"`
	Triangles        int                       `json:"triangle_count"`
	Vertices         int                       `json:"vertices_welded"`
	Volume           float64                   `json:"signed_volume"`
	Area             float64                   `json:"area"`
	CentreOfMass     *[3]float64               `json:"centre_of_mass"`
	SurfaceCentroid  [3]float64                `json:"surface_centroid"`
	Repeated         int                       `json:"triangles_with_repeated_vertex"`
	ZeroArea         int                       `json:"triangles_zero_area_distinct_vertices"`
	Duplicates       int                       `json:"duplicate_triangles"`
	OpenEdges        int                       `json:"open_edges"`
	NonManifoldEdges int                       `json:"non_manifold_edges"`
	Consistent       bool                      `json:"consistently_oriented"`
	Closed           bool                      `json:"closed"`
	SelfIntersecting *bool                     `json:"self_intersecting"` // CGAL's does_self_intersect
	ShellsByEdge     int                       `json:"shells_by_edge"`
	Euler            int                       `json:"euler"`
	Genus            *int                      `json:"genus_total"`
	HullVolume       *float64                  `json:"hull_volume"`
	HullArea         *float64                  `json:"hull_area"`
	HullVertices     int                       `json:"hull_vertices_qhull"`
	Diameter         *float64                  `json:"diameter"`
	Silhouette       struct{ X, Y, Z float64 } `json:"silhouette_area"`
	SilhouetteFrom   string                    `json:"silhouette_from"`
	LeastBox         *struct {
		// OnHullFace is the extents of the exact least box among those with a
		// side on a face of the convex hull.
		OnHullFace []float64 `json:"extents_on_hull_face"`
	} `json:"least_box"`
}

// Shared is the folder of meshes that nobody here wrote; it stands beside the
// project, and may be absent.
var Shared = filepath.Join(Root(), "..", "shared", "meshes")

// Root is the folder with go.mod, at or above the working folder, which
// for a test is its package's.
func Root() string {
	dir, err := os.Getwd()
	for err == nil {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		if dir == filepath.Dir(dir) {
			break
		}
		dir = filepath.Dir(dir)
	}
	return "."
}

// References reads reference.json, which has 159 files.
func References(t testing.TB) []Reference {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(Shared, "reference.json"))
	if os.IsNotExist(err) {
		t.Skip("the shared meshes are not beside the project")
	}
	require.NoError(t, err)
	var all struct{ Files []Reference }
	require.NoError(t, json.Unmarshal(text, &all))
	require.Len(t, all.Files, 159)
	return all.Files
}

// Of the 159 files, 18 are refused, which package mesh tests by name, and one is
// out of step, so that its numbers are noise, as its numbers_note says.
const refusedFiles, noisyFiles = 18, 1

// EachReference runs f on every file that can be compared, as a subtest.
func EachReference(t *testing.T, f func(t *testing.T, ref Reference, m *mesh.Mesh)) {
	refused, noisy := 0, 0
	for _, ref := range References(t) {
		m, _, err := mesh.ReadFile(t.Context(), filepath.Join(Shared, ref.File))
		switch {
		case err != nil:
			refused++
		case ref.NumbersNote != "":
			noisy++
		default:
			t.Run(ref.File, func(t *testing.T) { f(t, ref, m) })
		}
	}
	require.Equal(t, [2]int{refusedFiles, noisyFiles}, [2]int{refused, noisy})
}
