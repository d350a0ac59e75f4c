package fittest

import (
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/longrun"
	"cardback/internal/measure/hull"
	"cardback/internal/mesh"
	"cardback/internal/reference"
)

// demoParts are the parts of the releases in this repository.
var demoParts = filepath.Join(reference.Root(), "content", "releases")

// RealPart is the hull of a mesh that was made to be printed, or to be read.
type RealPart struct {
	Name string
	Hull []mesh.Vec
}

var readParts = sync.OnceValues(func() (all struct{ demo, shared []RealPart }, err error) {
	if all.demo, err = partsUnder(demoParts); err != nil {
		return all, err
	}
	all.shared, err = partsUnder(reference.Folder)
	return all, err
})

// longest is the longest that is a length, in mm: a thousand kilometres.
const longest = 1e9

// partsUnder reads every mesh in a folder, in the order of their paths. What
// package mesh cannot read is left out, and so is what has no triangle. Of a
// folder that is not there, there is none.
func partsUnder(root string) ([]RealPart, error) {
	var out []RealPart
	files, each := 0, longrun.Of(6, 1)
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist) && path == root:
			return nil
		case err != nil:
			return err
		case d.IsDir() || !slices.Contains([]string{".stl", ".3mf"}, strings.ToLower(filepath.Ext(path))):
			return nil
		}
		if files++; files%each != 0 {
			return nil
		}
		m, _, err := mesh.ReadFile(context.Background(), path)
		if err != nil {
			return nil // what can be read is package mesh's matter
		}
		h, err := hull.Of(context.Background(), m)
		if err != nil || len(h.Vertices) == 0 {
			return err
		}
		if slices.ContainsFunc(h.Vertices, func(v mesh.Vec) bool { return !(v.Norm() <= longest) }) {
			return nil // samples of a format hold numbers that are no lengths
		}
		name, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		out = append(out, RealPart{filepath.ToSlash(name), h.Vertices})
		return nil
	})
	return out, err
}

// RealParts are those of the releases and, where they are present, the shared
// meshes: all in the long run (see package longrun), else one in six.
func RealParts(t testing.TB) (demo, shared []RealPart) {
	all, err := readParts()
	require.NoError(t, err)
	require.NotEmpty(t, all.demo)
	return all.demo, all.shared
}
