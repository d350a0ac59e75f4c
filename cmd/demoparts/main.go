// Demoparts makes the meshes of the demo site from code.
//
// It answers one question: where do the demo's parts come from? Every file
// below content/releases that holds a mesh is written by this program, the same
// bytes on every run and machine, so that the demo is the project's own and can
// be changed like any other source. Shapes are built with the small kit in
// cmd/demoparts/solid; each figure has a file of its own here.
//
// Conventions of the figures: millimetres, front towards −y, up +z, at rest on
// z = 0 and centred in x and y. Pivots run across the figure (along x) unless
// stated.
package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"cardback/internal/mesh"
)

// file is one mesh of the demo: a cut of a part.
type file struct {
	release, part string // folder names; of a release's standing pose there is no part
	cut           string // any, filament, resin, flexible or pose
	threeMF       bool   // written as 3MF, not STL
	mesh          *mesh.Mesh
}

// path is where f belongs below the content folder, with slashes.
func (f file) path() string {
	ext := ".stl"
	if f.threeMF {
		ext = ".3mf"
	}
	if f.part == "" {
		return "releases/" + f.release + "/" + f.cut + ext
	}
	return "releases/" + f.release + "/parts/" + f.part + "/" + f.cut + ext
}

// encode writes f's mesh in its format.
func (f file) encode() ([]byte, error) {
	var b bytes.Buffer
	if f.threeMF {
		name := f.part
		if name == "" {
			name = f.cut
		}
		err := mesh.Write3MF(&b, []mesh.Object3MF{{Name: name, Mesh: f.mesh}}, []mesh.Metadata{
			{Name: "Title", Value: name}, {Name: "LicenseTerms", Value: "CC-BY-SA-4.0"},
		})
		return b.Bytes(), err
	}
	err := mesh.WriteSTL(&b, f.mesh, "cardback demo part: "+f.part+" ("+f.cut+"), mm")
	return b.Bytes(), err
}

// figures lists every part's mesh of the demo in the order of the range.
func figures() []file {
	var all []file
	all = append(all, lamplighter()...)
	all = append(all, tideClerk()...)
	all = append(all, fogMoths()...)
	all = append(all, walkingDredger()...)
	all = append(all, eelCourier()...)
	all = append(all, quaysideProps()...)
	return all
}

func main() {
	out := flag.String("out", defaultOut, "the content `folder` to write into; any but the default is made where absent")
	at := flag.String("at", "", "turn one release of a copy of the content folder into what was sealed as a `revision`, as in 01-lamplighter@A")
	flag.Parse()
	err := checkOut(*out, flag.Args())
	switch {
	case err != nil:
	case *at != "":
		err = runAt(*out, *at, figures())
	default:
		err = run(*out, append(figures(), poses()...))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "demoparts:", err)
		os.Exit(1)
	}
}

const defaultOut = "content"

// checkOut refuses what is most likely a slip: words beside the flags, a file in
// the folder's place, and the default away from the project's root, where a
// second content folder would come about unseen.
func checkOut(out string, rest []string) error {
	if len(rest) > 0 {
		return fmt.Errorf("%q is not understood; the folder to write into is named with --out", rest[0])
	}
	switch st, err := os.Stat(out); {
	case err == nil && !st.IsDir():
		return fmt.Errorf("%s is not a folder; the meshes go into releases/… below a content folder", out)
	case errors.Is(err, fs.ErrNotExist) && out == defaultOut:
		return fmt.Errorf("there is no folder %q here; run this from the project's root, or name a folder with --out", out)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	}
	return nil
}

// runAt writes an earlier state of a release. It replaces the release's parts, so it
// is for copies alone.
func runAt(out, at string, files []file) error {
	if out == defaultOut {
		return errors.New("--at replaces a release's parts; copy the content folder and name the copy with --out")
	}
	states := earlier(files)
	for _, st := range states {
		if st.release+"@"+st.revision == at {
			return st.write(out)
		}
	}
	return fmt.Errorf("%q is no earlier state; the first is %s@%s", at, states[0].release, states[0].revision)
}

func run(out string, files []file) error {
	total, err := writeMeshes(out, files)
	if err == nil {
		fmt.Printf("%d meshes, %.1f MiB\n", len(files), float64(total)/(1<<20))
	}
	return err
}

// writeMeshes writes files below the content folder out and says how many bytes
// they have.
func writeMeshes(out string, files []file) (total int, err error) {
	for _, f := range files {
		data, err := f.encode()
		if err != nil {
			return total, fmt.Errorf("%s: %w", f.path(), err)
		}
		name := filepath.Join(out, filepath.FromSlash(f.path()))
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			return total, err
		}
		if err := os.WriteFile(name, data, 0o644); err != nil {
			return total, err
		}
		total += len(data)
	}
	return total, nil
}
