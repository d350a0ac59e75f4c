package fit

import (
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

// sharedMeshes holds meshes that nobody on this project wrote, with figures
// from independent libraries in reference.json. They are not in this
// repository.
const sharedMeshes = "../../../shared/meshes"

type referenceMesh struct {
	File     string
	Diameter float64
	LeastBox *struct {
		// OnHullFace is the extents of the exact least box among those with a
		// side on a face of the convex hull.
		OnHullFace []float64 `json:"extents_on_hull_face"`
	} `json:"least_box"`
}

func referenceMeshes(t *testing.T) []referenceMesh {
	raw, err := os.ReadFile(filepath.Join(sharedMeshes, "reference.json"))
	if errors.Is(err, fs.ErrNotExist) {
		t.Skip("the shared meshes are not here: " + sharedMeshes)
	}
	require.NoError(t, err)
	var ref struct{ Files []referenceMesh }
	require.NoError(t, json.Unmarshal(raw, &ref))
	return ref.Files
}

// Each real mesh, turned at random, goes into the least box that an independent
// program found for it, made larger by a little more than Tolerance: upright,
// and lying with another side down. A box whose diagonal is shorter than the
// mesh's diameter, as given there, must be proved too small.
func TestRealMeshesFitTheirLeastBox(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	tried := 0
	for _, r := range referenceMeshes(t) {
		if r.LeastBox == nil || len(r.LeastBox.OnHullFace) != 3 {
			continue
		}
		m, _, err := mesh.ReadFile(context.Background(), filepath.Join(sharedMeshes, r.File))
		if err != nil || len(m.Vertices) > 10_000 {
			continue // what can be read is package mesh's matter; the rest would take long
		}
		var used []mesh.Vec
		seen := make([]bool, len(m.Vertices))
		for _, tri := range m.Triangles {
			for _, v := range tri {
				if !seen[v] {
					seen[v] = true
					used = append(used, m.Vertices[v])
				}
			}
		}
		pts := rotated(used, randomRotation(rng))
		box := r.LeastBox.OnHullFace
		const more = Tolerance + 0.001
		for k := range 3 {
			p := Plate{Width: box[k] + more, Depth: box[(k+1)%3] + more, Height: box[(k+2)%3] + more}
			res := Fit(context.Background(), pts, p)
			require.True(t, res.Verdict.Fits(), "%s on %s: %s", r.File, p, res.Reason)
			requireCertificate(t, pts, p, res)
		}
		side := r.Diameter / 1.7321 // a cube of that side has a diagonal just shorter than the mesh
		if cube := (Plate{Width: side, Depth: side, Height: side}); side > 0 {
			require.Equal(t, CannotFit, Fit(context.Background(), pts, cube).Verdict, r.File)
		}
		tried++
	}
	require.Equal(t, 129, tried, "meshes of reference.json with a least box, read, of at most 10 000 vertices")
}
