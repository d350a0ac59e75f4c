package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	s "cardback/cmd/demoparts/solid"
	"cardback/internal/mesh"
)

// state is a release as it was when a revision was sealed: its meshes, and how its
// notes differed from today's. What was sealed can so be sealed again, and must
// come out the same.
type state struct {
	release  string // folder name
	revision string // the name it was sealed under
	files    []file // every mesh of the release then
	parts    []note // parts of then with the text of their part.yaml
	notes    []edit // of release.md
}

// note is a file of notes in a part's folder of then. A part without one has
// today's.
type note struct{ part, text string }

// edit puts words of then in the place of today's.
type edit struct{ today, then string }

// earlier lists the sealed states that are not today's, given today's meshes.
func earlier(all []file) []state {
	return []state{lamplighterA(all), dredgerA(all), propsA(all)}
}

// lamplighterA is the figure of September 2025. Revision B moved the hip, opened the
// snap sockets, made the lantern larger and joined the wick trimmer to the pole; the
// oil can came with it. The rest is what happens to files: the cap had another name, the
// scarf was cut finer, the boot lay across its file, and the hand was the other one.
func lamplighterA(all []file) state {
	st := state{release: lamplighterDir, revision: "A"}
	for _, f := range all {
		if f.release != lamplighterDir {
			continue
		}
		d := pivotResin
		if f.cut == "filament" {
			d = pivotFilament
		}
		switch f.part {
		case "oil-can":
			continue
		case "cap":
			f.part = "sou-wester"
		case "scarf":
			f.mesh = finer(f.mesh, 2.2)
		case "boot":
			f.mesh = quarterTurned(f.mesh)
		case "hand":
			f.mesh = s.Mirror(f.mesh)
		case "lantern":
			f.mesh = s.Rest32(s.Stretch(f.mesh, 1/1.05, 1/1.05, 1/1.05))
		case "lamp-pole":
			f.mesh = s.Tidy(lampPole(false))
		case "pelvis":
			f.mesh = s.Tidy(lampPelvis(d, -5.6, -3.6))
		case "torso":
			if f.cut == "filament" {
				f.mesh = s.Tidy(lampTorsoSnap(1.2))
			}
		}
		st.files = append(st.files, f)
	}
	st.files = append(st.files, file{release: lamplighterDir, part: "wick-trimmer", cut: "any", mesh: s.Tidy(wickTrimmer())})
	st.parts = []note{
		{"sou-wester", "name: Sou'wester\n"},
		{"wick-trimmer", "name: Wick trimmer\n"},
	}
	st.notes = []edit{
		{"parts: [head, cap, scarf,", "parts: [head, sou-wester, scarf,"},
		{"lantern, oil-can]", "lantern, wick-trimmer]"},
		{"cut: 27, where: shoulders", "cut: 26, where: shoulders"},
		{"item: glue-fast", "item: glue-two-part"},
	}
	return st
}

// dredgerA is the dredger as it was published: a triangle was missing from the mesh
// of its bucket.
func dredgerA(all []file) state {
	st := state{release: dredgerDir, revision: "A"}
	for _, f := range all {
		if f.release != dredgerDir {
			continue
		}
		if f.part == "bucket" {
			f.mesh = holed(f.mesh)
		}
		st.files = append(st.files, f)
	}
	return st
}

// propsA is the set before the bollards had magnets.
func propsA(all []file) state {
	st := state{release: propsDir, revision: "A"}
	for _, f := range all {
		if f.release != propsDir {
			continue
		}
		if f.part == "bollard" {
			f.mesh = s.Tidy(bollard(false))
		}
		st.files = append(st.files, f)
	}
	st.parts = []note{{"bollard", "name: Bollard\nquantity: 2\n"}}
	st.notes = []edit{{"  - {item: magnet-3x1, count: 2, where: under the bollards}\n  - {item: glue-two-part, count: 1, where: the magnets}\n", ""}}
	return st
}

// finer cuts every triangle with an edge longer than most mm at the middle of its
// longest, until none is left: other triangles of the same surface, but for the
// rounding to what an STL holds.
func finer(m *mesh.Mesh, most float64) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: slices.Clone(m.Vertices), Triangles: slices.Clone(m.Triangles)}
	middle := map[[2]uint32]uint32{}
	for i := 0; i < len(out.Triangles); {
		t := out.Triangles[i]
		k, long := 0, 0.0
		for j := range 3 {
			a, b := t[j], t[(j+1)%3]
			// The two triangles of an edge must agree on it, so its ends' order is no matter.
			if l := out.Vertices[max(a, b)].Sub(out.Vertices[min(a, b)]).Norm(); l > long {
				k, long = j, l
			}
		}
		if long <= most {
			i++
			continue
		}
		a, b, c := t[k], t[(k+1)%3], t[(k+2)%3]
		edge := [2]uint32{min(a, b), max(a, b)}
		mid, ok := middle[edge]
		if !ok {
			mid = uint32(len(out.Vertices))
			middle[edge] = mid
			out.Vertices = append(out.Vertices, out.Vertices[edge[0]].Add(out.Vertices[edge[1]]).Scale(0.5))
		}
		out.Triangles[i] = [3]uint32{a, mid, c}
		out.Triangles = append(out.Triangles, [3]uint32{mid, b, c})
	}
	return s.Rest32(out)
}

// quarterTurned is m turned by 90° about z, exactly.
func quarterTurned(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: slices.Clone(m.Vertices), Triangles: m.Triangles}
	for i, v := range out.Vertices {
		out.Vertices[i] = s.V(0-v.Y, v.X, v.Z)
	}
	return out
}

// holed is m without its smallest triangle with a height of half a millimetre.
func holed(m *mesh.Mesh) *mesh.Mesh {
	at, least := -1, 0.0
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		area := b.Sub(a).Cross(c.Sub(a)).Norm() / 2
		long := max(b.Sub(a).Norm(), c.Sub(b).Norm(), a.Sub(c).Norm())
		if area >= 0.25*long && (at < 0 || area < least) {
			at, least = i, area
		}
	}
	return &mesh.Mesh{Vertices: m.Vertices, Triangles: slices.Delete(slices.Clone(m.Triangles), at, at+1)}
}

// write turns the release's folder below content, which holds today's notes, into
// the state. Photos, logs and what was sealed are left alone.
func (st state) write(content string) error {
	dir := filepath.Join(content, "releases", st.release)
	file := filepath.Join(dir, "release.md")
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	for _, e := range st.notes {
		if bytes.Count(text, []byte(e.today)) != 1 {
			return fmt.Errorf("%s: %q does not stand there once", file, e.today)
		}
		text = bytes.Replace(text, []byte(e.today), []byte(e.then), 1)
	}
	parts := filepath.Join(dir, "parts")
	notes := map[string][]byte{}
	for _, f := range st.files {
		b, err := os.ReadFile(filepath.Join(parts, f.part, "part.yaml"))
		switch {
		case err == nil:
			notes[f.part] = b
		case !errors.Is(err, fs.ErrNotExist):
			return err
		}
	}
	for _, n := range st.parts {
		notes[n.part] = []byte(n.text)
	}
	if err := errors.Join(os.WriteFile(file, text, 0o644), os.RemoveAll(parts)); err != nil {
		return err
	}
	if _, err := writeMeshes(content, st.files); err != nil {
		return err
	}
	for _, f := range st.files {
		if b, ok := notes[f.part]; ok {
			if err := os.WriteFile(filepath.Join(parts, f.part, "part.yaml"), b, 0o644); err != nil {
				return err
			}
		}
	}
	return nil
}
