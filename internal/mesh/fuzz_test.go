package mesh

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// seeds adds every file of testdata/mesh.
func seeds(f *testing.F) {
	files, err := filepath.Glob(filepath.Join(ours, "*"))
	require.NoError(f, err)
	require.NotEmpty(f, files)
	for _, file := range files {
		content, err := os.ReadFile(file)
		require.NoError(f, err)
		f.Add(content)
	}
}

// checkRead reads a file and holds the reader to its promises: an error with no
// mesh, or a mesh whose indices, coordinates and counts hang together and which
// comes back from a binary STL with the same fingerprint.
func checkRead(t *testing.T, file []byte) {
	m, _, err := Read(context.Background(), bytes.NewReader(file), int64(len(file)))
	if err != nil {
		require.Nil(t, m)
		require.ErrorAs(t, err, new(*Error))
		return
	}
	require.NotEmpty(t, m.Triangles)
	for i, tri := range m.Triangles {
		for _, v := range tri {
			require.Less(t, int(v), len(m.Vertices))
		}
		a, b, c := m.Corners(i)
		require.True(t, finite(a) && finite(b) && finite(c))
	}
	top := m.Topology()
	require.LessOrEqual(t, top.OpenEdges+top.NonManifoldEdges+top.InconsistentEdges, top.Edges)
	require.Len(t, top.ShellOf, len(m.Triangles))
	var out bytes.Buffer
	require.NoError(t, WriteSTL(&out, m, "solid"))
	again, info, err := Read(context.Background(), bytes.NewReader(out.Bytes()), int64(out.Len()))
	require.NoError(t, err)
	require.Equal(t, STLBinary, info.Format)
	require.Equal(t, m.Fingerprint(), again.Fingerprint())
}

func FuzzReadSTL(f *testing.F) {
	seeds(f)
	f.Fuzz(checkRead)
}

// FuzzRead3MF varies the root model part and a second one; the archive is made
// round them, since hardly a changed archive would pass its checksums.
func FuzzRead3MF(f *testing.F) {
	item := `<item objectid="1"/>`
	f.Add(model("", item), "")
	f.Add(model(`<object id="2"><components><component objectid="1" transform="0 1 0 -1 0 0 0 0 1 5 6 7"/></components></object>`, `<item objectid="2"/>`), "")
	f.Add(modelTag+`<build><item objectid="1" p:path="/3D/b.model"/></build></model>`, model("", ""))
	f.Add(`<!DOCTYPE model [<!ENTITY a "b">]>`+model("", item), "&a;")
	f.Add(model(`<object id="2" type="support"><components><component objectid="2"/></components></object>`, `<item objectid="2"/>`), "")
	f.Add(model(`<x:y xmlns:x="urn:x" id="3"/><basematerials id="4"/>`, `<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>`), "<model/>")
	f.Fuzz(func(t *testing.T, root, second string) {
		checkRead(t, packed(t, mainPart, root, "3D/b.model", second))
	})
}

// FuzzReadArchive varies the archive itself.
func FuzzReadArchive(f *testing.F) {
	f.Add(packed(f, mainPart, model("", `<item objectid="1"/>`)))
	f.Add(packed(f, "3D/other.model", ""))
	var file bytes.Buffer
	require.NoError(f, Write3MF(&file, []Object3MF{{Name: "tetra", Mesh: tetra}}, nil))
	f.Add(file.Bytes())
	f.Fuzz(checkRead)
}
