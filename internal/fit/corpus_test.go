package fit

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/mesh"
)

// demoParts are the parts of the releases in this repository.
const demoParts = "../../content/releases"

// realPart is the hull of a mesh that was made to be printed, or to be read.
type realPart struct {
	name string
	hull []mesh.Vec
}

var readParts = sync.OnceValues(func() (all struct{ demo, shared []realPart }, err error) {
	if all.demo, err = partsUnder(demoParts); err != nil {
		return all, err
	}
	all.shared, err = partsUnder(sharedMeshes)
	return all, err
})

// partsUnder reads every mesh in a folder, in the order of their paths. What
// package mesh cannot read is left out, and so is what has no triangle. Of a
// folder that is not there, there is none.
func partsUnder(root string) ([]realPart, error) {
	var out []realPart
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist) && path == root:
			return nil
		case err != nil:
			return err
		case d.IsDir() || !slices.Contains([]string{".stl", ".3mf"}, strings.ToLower(filepath.Ext(path))):
			return nil
		}
		m, _, err := mesh.ReadFile(context.Background(), path)
		if err != nil {
			return nil // what can be read is package mesh's matter
		}
		hull, err := measure.Hull(context.Background(), m)
		if err != nil || len(hull) == 0 {
			return err
		}
		if slices.ContainsFunc(hull, func(v mesh.Vec) bool { return !(v.Norm() <= farthest) }) {
			return nil // samples of a format hold numbers that are no lengths
		}
		name, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		out = append(out, realPart{filepath.ToSlash(name), hull})
		return nil
	})
	return out, err
}

// realParts are those of the releases and, where they are present, the shared
// meshes.
func realParts(t testing.TB) (demo, shared []realPart) {
	all, err := readParts()
	require.NoError(t, err)
	require.NotEmpty(t, all.demo)
	return all.demo, all.shared
}

// benchPlates are the plates of this repository's bench.
func benchPlates(t testing.TB) []Plate {
	b, err := bench.Load(os.DirFS("../../content"), "content")
	require.NoError(t, err)
	require.NotEmpty(t, b.Plates)
	var out []Plate
	for _, p := range b.Plates {
		out = append(out, Plate{Width: p.Width, Depth: p.Depth, Height: p.Height, Margin: p.Margin, Round: p.Round})
	}
	return out
}
