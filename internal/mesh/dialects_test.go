package mesh

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The files of testdata/mesh are written for these tests: each "accepted" one
// is the same tetrahedron in another dialect, each "refused" one has one fault.
const ours = "../../testdata/mesh"

// tetra has volume 1/6, four vertices and six edges.
var tetra = &Mesh{
	Vertices:  []Vec{{X: 1}, {Y: 1}, {Z: 1}, {}},
	Triangles: [][3]uint32{{0, 1, 2}, {3, 0, 2}, {3, 2, 1}, {3, 1, 0}},
}

func TestDialectsReadAlike(t *testing.T) {
	notes := map[string]string{
		"accepted-two-solids.stl":            "2 solids were read as one mesh.",
		"accepted-no-endsolid.stl":           "The last solid has no endsolid.",
		"accepted-text-after.stl":            "Text after the last endsolid was passed over (line 32).",
		"accepted-binary-trailing.stl":       "8 bytes after the last triangle were passed over.",
		"accepted-binary-solid-trailing.stl": "7 bytes after the last triangle were passed over.",
	}
	files, err := filepath.Glob(filepath.Join(ours, "accepted-*"))
	require.NoError(t, err)
	require.Len(t, files, 25)
	for _, file := range files {
		name := filepath.Base(file)
		t.Run(name, func(t *testing.T) {
			m, info, err := ReadFile(context.Background(), file)
			require.NoError(t, err)
			require.Equal(t, tetra, m, "exactly these vertices, in order of first use")
			require.Equal(t, strings.Contains(name, "binary"), info.Format == STLBinary)
			require.Equal(t, strings.Contains(name, "binary"), info.Format != STLASCII)
			require.Equal(t, notes[name], strings.Join(info.Notes, " "))
		})
	}
}

func TestFaultsAreNamedAndPlaced(t *testing.T) {
	faults := map[string]string{
		"refused-empty.stl":               ": the file is empty",
		"refused-binary-no-triangles.stl": ": no triangles: the header counts 0",
		"refused-binary-count-zero.stl":   ": no triangles: the header counts 0, though 200 bytes follow",
		"refused-binary-truncated.stl":    ": truncated: the header promises 4 triangles and the file has 2 whole ones",
		"refused-binary-huge-count.stl":   ": truncated, or not a mesh: as a binary STL the header promises 4294967295 triangles and the file has none",
		"refused-binary-nan.stl":          ": triangle 3 has a corner that is not a number or is infinite",
		"refused-binary-infinite.stl":     ": triangle 2 has a corner that is not a number or is infinite",
		"refused-short.stl":               ": neither STL nor 3MF: 15 bytes are too few for a binary STL, which has a header of 84",
		"refused-pointer.stl":             `: neither STL nor 3MF: this is text that begins "version https://git-lfs.github.com/spec/…"; it is a version-control pointer, fetch the large file it stands for`,
		"refused-json.stl":                `: neither STL nor 3MF: this is text that begins "{\"error\": \"not found\"}"; it looks like JSON`,
		"refused-page.stl":                `: neither STL nor 3MF: this is text that begins "<!doctype html>"; it is a web page or other markup, download the mesh itself`,
		"refused-prose.stl":               `: neither STL nor 3MF: this is text that begins "Dear printer,"`,
		"refused-no-facets.stl":           ": no triangles: the text STL has no facet",
		"refused-nan.stl":                 `:6:16: a coordinate of triangle 1, "nan": not a finite number`,
		"refused-infinite.stl":            `:6:18: a coordinate of triangle 1, "-1.#INF": not a finite number`,
		"refused-too-large.stl":           `:6:18: a coordinate of triangle 1, "1e39": beyond the range of 32-bit numbers`,
		"refused-decimal-comma.stl":       `:6:14: a coordinate of triangle 1, "0,5": decimal comma found; a decimal point expected`,
		"refused-hexadecimal.stl":         `:6:14: a coordinate of triangle 1, "0x1p3": a number expected`,
		"refused-four-vertices.stl":       ":7:7: the loop begun on line 3 has a fourth vertex; a triangle has 3",
		"refused-two-vertices.stl":        ":6:5: the loop begun on line 3 has 2 vertices; a triangle has 3",
		"refused-cut-short.stl":           `:10:2: the file ends where "outer loop" is expected`,
		"refused-no-endfacet.stl":         `:8:3: "endfacet" expected, found "facet"`,
		"refused-missing-coordinate.stl":  `:6:7: a coordinate of triangle 1, "vertex": a number expected`,
		"refused-stray-word.stl":          `:2:3: "facet" or "endsolid" expected, found "facett"`,
		"refused-facet-outside.stl":       `:31:3: "solid" expected, found "facet"`,
		"refused-long-word.stl":           ":4:18: a word of more than 512 bytes",
		"refused-archive-cut-short.3mf":   ": the archive is damaged or cut short (zip: not a valid zip file)",
	}
	files, err := filepath.Glob(filepath.Join(ours, "refused-*"))
	require.NoError(t, err)
	require.Len(t, files, len(faults))
	for _, file := range files {
		name := filepath.Base(file)
		t.Run(name, func(t *testing.T) {
			m, _, err := ReadFile(context.Background(), file)
			require.Nil(t, m)
			var located *Error
			require.ErrorAs(t, err, &located)
			require.Equal(t, file+faults[name], err.Error())
		})
	}
}

func TestCountIsNotTrusted(t *testing.T) {
	file := make([]byte, 84)
	for i := range 4 {
		file[80+i] = 0xFF
	}
	allocated := testing.Benchmark(func(b *testing.B) {
		for b.Loop() {
			if _, _, err := Read(context.Background(), bytes.NewReader(file), 84); err == nil {
				b.Fatal("read")
			}
		}
	}).AllocedBytesPerOp()
	require.Less(t, allocated, int64(64<<10), "200 GB promised in 84 bytes")
}

func TestReadingStopsWithItsContext(t *testing.T) {
	var file bytes.Buffer
	require.NoError(t, WriteSTL(&file, torus(100, 50), ""))
	for name, content := range map[string][]byte{"binary": file.Bytes(), "text": []byte(asciiSTL(torus(100, 50)))} {
		t.Run(name, func(t *testing.T) {
			ctx, cancel := context.WithCancel(context.Background())
			defer cancel()
			r := &cancelling{bytes.NewReader(content), 0, cancel}
			_, _, err := Read(ctx, r, int64(len(content)))
			require.ErrorIs(t, err, context.Canceled)
			require.Less(t, r.reads, 20, "no further than one buffer of 64 KiB, in reads of 4 KiB")
		})
	}
}

// cancelling calls off the work at its second read.
type cancelling struct {
	*bytes.Reader
	reads  int
	cancel context.CancelFunc
}

func (c *cancelling) Read(p []byte) (int, error) {
	if c.reads++; c.reads == 2 {
		c.cancel()
	}
	return c.Reader.Read(p[:min(len(p), 4096)])
}

func TestFailuresOfReadingAreNotFaultsOfTheFile(t *testing.T) {
	_, _, err := ReadFile(context.Background(), filepath.Join(t.TempDir(), "absent.stl"))
	require.ErrorIs(t, err, os.ErrNotExist)
	_, _, err = ReadFile(context.Background(), t.TempDir())
	require.ErrorContains(t, err, "not a regular file")
	_, _, err = Read(context.Background(), failing{}, 1000)
	require.ErrorIs(t, err, errBroken)
	require.False(t, errors.As(err, new(*Error)))
}

var errBroken = errors.New("the disk is broken")

type failing struct{}

func (failing) Read([]byte) (int, error)       { return 0, errBroken }
func (failing) Seek(int64, int) (int64, error) { return 0, nil }
