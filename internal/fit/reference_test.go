package fit

import (
	"context"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit/fittest"
	"cardback/internal/mesh"
	"cardback/internal/reference"
)

// Each real mesh, turned at random, goes into the least box that an independent
// program found for it, made larger by a little more than Tolerance: upright,
// and lying with another side down. A box whose diagonal is shorter than the
// mesh's diameter, as given there, must be proved too small.
func TestRealMeshesFitTheirLeastBox(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	tried := 0
	for _, r := range reference.Files(t) {
		if r.LeastBox == nil || len(r.LeastBox.OnHullFace) != 3 {
			continue
		}
		m, _, err := mesh.ReadFile(context.Background(), filepath.Join(reference.Folder, r.File))
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
		pts := fittest.Rotated(used, fittest.RandomRotation(rng))
		box := r.LeastBox.OnHullFace
		const more = Tolerance + 0.001
		for k := range 3 {
			p := Plate{Width: box[k] + more, Depth: box[(k+1)%3] + more, Height: box[(k+2)%3] + more}
			res := Fit(context.Background(), pts, p)
			require.True(t, res.Verdict.Fits(), "%s on %s: %s", r.File, p, res.Reason)
			requireCertificate(t, pts, p, res)
		}
		if r.Diameter == nil {
			continue
		}
		side := *r.Diameter / 1.7321 // a cube of that side has a diagonal just shorter than the mesh
		if cube := (Plate{Width: side, Depth: side, Height: side}); side > 0 {
			require.Equal(t, CannotFit, Fit(context.Background(), pts, cube).Verdict, r.File)
		}
		tried++
	}
	require.Equal(t, 129, tried, "meshes of reference.json with a least box, read, of at most 10 000 vertices")
}
