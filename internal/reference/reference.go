// Package reference reads what independent libraries say of meshes that nobody on this
// project made: the folder shared/meshes beside the project, whose README tells where
// each file and each number comes from. A test that asks for it skips where the folder is
// absent. It is for tests alone.
package reference

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Folder holds the meshes. It stands beside the project and is not part of it.
var Folder = filepath.Join(Root(), "..", "shared", "meshes")

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

// File is a file's entry in reference.json: numbers by numpy, scipy (Qhull), CGAL, VTK,
// Open3D and manifold, which agree with each other to the figures in its
// worst_disagreement_relative. Lengths are mm.
type File struct {
	File        string // its path in Folder, with slashes
	Format      string
	ParseStatus string `json:"parse_status"`
	Parse       struct {
		Encoding string
		Problem  string
	}
	NumbersNote       string     `json:"numbers_note"` // why the numbers are noise; mostly empty
	Triangles         int        `json:"triangle_count"`
	Vertices          int        `json:"vertices_welded"`
	BoundsMin         [3]float64 `json:"bounds_min"`
	BoundsMax         [3]float64 `json:"bounds_max"`
	Volume            float64    `json:"signed_volume"`
	VolumeAboutOrigin float64    `json:"signed_volume_about_origin"`
	Area              float64
	CentreOfMass      *[3]float64 `json:"centre_of_mass"`
	SurfaceCentroid   [3]float64  `json:"surface_centroid"`
	Repeated          int         `json:"triangles_with_repeated_vertex"`
	ZeroArea          int         `json:"triangles_zero_area_distinct_vertices"`
	Duplicates        int         `json:"duplicate_triangles"`
	Edges             int
	OpenEdges         int  `json:"open_edges"`
	NonManifoldEdges  int  `json:"non_manifold_edges"`
	InconsistentEdges int  `json:"inconsistent_edges"`
	UnbalancedEdges   *int `json:"unbalanced_edges"` // passed unlike often each way
	Consistent        bool `json:"consistently_oriented"`
	Closed            bool
	SelfIntersecting  *bool `json:"self_intersecting"` // CGAL's does_self_intersect
	// CrossingPairs is how many pairs CGAL 5.5.1's self_intersections gives. It drops
	// triangles with a repeated vertex, and gives each other one without area as a pair
	// with itself. Where a file is not a polygon mesh as it stands, CGAL first split it at
	// bad edges and vertices.
	CrossingPairs *int `json:"self_intersecting_pairs"`
	ShellsByEdge  int  `json:"shells_by_edge"`
	Shells        []struct {
		Volume float64 `json:"signed_volume_about_box_centre"`
	} `json:"shells_list"`
	Outward      *bool `json:"outward_by_cgal"`
	Euler        int
	Genus        *int     `json:"genus_total"`
	HullVolume   *float64 `json:"hull_volume"`
	HullArea     *float64 `json:"hull_area"`
	HullVertices int      `json:"hull_vertices_qhull"`
	Diameter     *float64
	LeastBox     *struct {
		// OnHullFace is the extents of the exact least box among those with a side on a
		// face of the convex hull.
		OnHullFace []float64 `json:"extents_on_hull_face"`
	} `json:"least_box"`
	Silhouette     struct{ X, Y, Z float64 } `json:"silhouette_area"`
	SilhouetteFrom string                    `json:"silhouette_from"`
	BuildItems     []struct {
		Triangles int `json:"triangle_count"`
	} `json:"build_items"`
}

// Path is where the file stands.
func (f File) Path() string { return filepath.Join(Folder, filepath.FromSlash(f.File)) }

// Files reads reference.json, which has 159 files.
func Files(t testing.TB) []File {
	t.Helper()
	var all struct{ Files []File }
	read(t, "reference.json", &all)
	require.Len(t, all.Files, 159)
	return all.Files
}

// Opening is a round edge of a flat face, found by another method than ours: see about
// in holes.json.
type Opening struct {
	Kind           string // opening or disc
	Diameter       float64
	Corners        int
	Centre, Normal [3]float64
}

// Openings reads holes.json: by the file's path in Folder.
func Openings(t testing.TB) map[string][]Opening {
	t.Helper()
	var all struct{ Files map[string][]Opening }
	read(t, "holes.json", &all)
	return all.Files
}

// Need skips the test where the meshes are absent.
func Need(t testing.TB) {
	t.Helper()
	if _, err := os.Stat(Folder); os.IsNotExist(err) {
		t.Skip("the shared meshes are not beside the project")
	}
}

func read(t testing.TB, name string, into any) {
	t.Helper()
	Need(t)
	text, err := os.ReadFile(filepath.Join(Folder, name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, into))
}
