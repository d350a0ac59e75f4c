package cli_test

import (
	"archive/zip"
	"io"
	"os"
	"path"
	"path/filepath"

	"github.com/rogpeppe/go-internal/testscript"

	"cardback/internal/mesh"
	"cardback/internal/release"
)

// scriptCommands are what the scripts need beside the program itself.
var scriptCommands = map[string]func(ts *testscript.TestScript, neg bool, args []string){
	"sealed": sealedMesh,
	"inzip":  fileInArchive,
}

// sealedMesh writes a mesh that a revision keeps as an STL file:
// sealed CONTENT RELEASE REVISION PART CUT FILE.
func sealedMesh(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 6 {
		ts.Fatalf("usage: sealed CONTENT RELEASE REVISION PART CUT FILE")
	}
	site, err := release.Load(args[0])
	ts.Check(err)
	for _, r := range site.Releases {
		rev := r.FindRevision(args[2])
		if r.Slug != args[1] || rev == nil {
			continue
		}
		for _, p := range rev.Parts {
			if c, ok := p.Cut(release.CutKind(args[4])); ok && p.Slug == args[3] {
				data, err := os.ReadFile(filepath.Join(r.Dir, filepath.FromSlash(c.Geometry)))
				ts.Check(err)
				m, err := mesh.Unpack(data)
				ts.Check(err)
				f, err := os.Create(ts.MkAbs(args[5]))
				ts.Check(err)
				ts.Check(mesh.WriteSTL(f, m, "sealed"))
				ts.Check(f.Close())
				return
			}
		}
	}
	ts.Fatalf("nothing of that name was sealed")
}

// fileInArchive copies a file out of the one archive that a pattern names:
// inzip PATTERN NAME FILE.
func fileInArchive(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: inzip PATTERN NAME FILE")
	}
	found, err := filepath.Glob(ts.MkAbs(args[0]))
	ts.Check(err)
	if len(found) != 1 {
		ts.Fatalf("%s names %d archives", args[0], len(found))
	}
	z, err := zip.OpenReader(found[0])
	ts.Check(err)
	defer z.Close()
	for _, f := range z.File {
		if path.Base(f.Name) != args[1] {
			continue
		}
		r, err := f.Open()
		ts.Check(err)
		data, err := io.ReadAll(r)
		ts.Check(err)
		ts.Check(os.WriteFile(ts.MkAbs(args[2]), data, 0o644))
		return
	}
	ts.Fatalf("there is no %s in %s", args[1], found[0])
}
