package hostile

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"unicode/utf16"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// measured is a case of one mesh file that measure is given.
func measured(name, file string, content func() []byte, exit int, says ...string) Case {
	return Case{
		Name: name,
		Make: func(d Dir) { d.Write(file, content()) },
		Args: []string{"measure", file},
		Exit: exit, Says: says,
	}
}

func constant(s string) func() []byte { return func() []byte { return []byte(s) } }

func solid(m *mesh.Mesh) func() []byte { return func() []byte { return STL(m) } }

// facets is a text STL of triangles whose corners are written as they stand.
func facets(corners ...string) func() []byte {
	var b strings.Builder
	b.WriteString("solid part\n")
	for i := 0; i+2 < len(corners); i += 3 {
		b.WriteString("facet normal 0 0 0\nouter loop\n")
		for _, c := range corners[i : i+3] {
			b.WriteString("vertex " + c + "\n")
		}
		b.WriteString("endloop\nendfacet\n")
	}
	b.WriteString("endsolid part\n")
	return constant(b.String())
}

// placed is a cube of so many millimetres, moved by so many along every axis.
func placed(side, by float64) *mesh.Mesh {
	return meshtest.Moved(Cube(side), meshtest.Shift(by, by, by))
}

// model is the text of a 3MF model part around its resources and build.
func model(inner string) string {
	return `<?xml version="1.0" encoding="UTF-8"?><model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">` + inner + `</model>`
}

// tetra is an object element with a mesh of four triangles.
func tetra(id int) string {
	return fmt.Sprintf(`<object id="%d" type="model"><mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="10" y="0" z="0"/><vertex x="0" y="10" z="0"/><vertex x="0" y="0" z="10"/></vertices><triangles><triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/><triangle v1="1" v2="2" v3="3"/><triangle v1="0" v2="3" v3="2"/></triangles></mesh></object>`, id)
}

func model3MF(inner string) func() []byte {
	return func() []byte { return Package3MF(model(inner)) }
}

const build1 = `<build><item objectid="1"/></build>`

func asUTF16(s string) func() []byte {
	return func() []byte {
		out := []byte{0xff, 0xfe}
		for _, u := range utf16.Encode([]rune(s)) {
			out = binary.LittleEndian.AppendUint16(out, u)
		}
		return out
	}
}

func gzipped(data []byte) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	if _, err := w.Write(data); err != nil {
		panic(err)
	}
	if err := w.Close(); err != nil {
		panic(err)
	}
	return out.Bytes()
}

// counting is the cube with another number of triangles in its header.
func counting(n uint32) func() []byte {
	return func() []byte {
		b := STL(Cube(20))
		binary.LittleEndian.PutUint32(b[80:], n)
		return b
	}
}

var nan, inf = float32(math.NaN()), float32(math.Inf(1))

// meshFiles are files that are no mesh, or hardly one, and meshes that are broken in
// plain ways.
var meshFiles = []Case{
	// Binary STL.
	measured("stl-empty", "part.stl", constant(""), 1, `part\.stl: .*empty`),
	measured("stl-one-byte", "part.stl", constant("\x00"), 1, `part\.stl: neither STL nor 3MF`),
	measured("stl-header-without-a-count", "part.stl", func() []byte { return make([]byte, 83) }, 1, `part\.stl: neither STL nor 3MF`),
	measured("stl-counts-none", "part.stl", func() []byte { return make([]byte, 84) }, 1, `part\.stl: no triangles: the header counts 0`),
	measured("stl-cut-short", "part.stl", func() []byte { b := STL(Cube(20)); return b[:len(b)-31] }, 1, `part\.stl`),
	measured("stl-counts-four-billion", "part.stl", counting(math.MaxUint32), 1, `part\.stl: truncated: the header promises 4294967295 triangles and the file has 12 whole ones`),
	measured("stl-counts-one-too-many", "part.stl", counting(13), 1, `promises 13 triangles and the file has 12`),
	measured("stl-counts-one-too-few", "part.stl", counting(11), 0, `3 open edges`, `50 bytes after the last triangle were passed over`),
	measured("stl-not-a-number", "part.stl", func() []byte { return Soup([9]float32{0, 0, 0, 1, 0, 0, 0, nan, 0}) }, 1, `part\.stl`, `(?i)finite|not a number|NaN`),
	measured("stl-infinite", "part.stl", func() []byte { return Soup([9]float32{0, 0, 0, 1, 0, 0, 0, inf, 0}) }, 1, `triangle 1 has a corner that is not a number or is infinite`),
	measured("stl-largest-numbers", "part.stl", func() []byte {
		const big = math.MaxFloat32
		return Soup([9]float32{0, 0, 0, big, 0, 0, 0, big, 0}, [9]float32{0, 0, 0, 0, big, 0, 0, 0, big}, [9]float32{0, 0, 0, 0, 0, big, big, 0, 0}, [9]float32{big, 0, 0, 0, 0, big, 0, big, 0})
	}, 0, `fault +The surface is inside out`, `layers +none: it is too tall`),
	measured("stl-smallest-numbers", "part.stl", func() []byte {
		const d = math.SmallestNonzeroFloat32
		return Soup([9]float32{0, 0, 0, 0, d, 0, d, 0, 0}, [9]float32{0, 0, 0, 0, 0, d, 0, d, 0}, [9]float32{0, 0, 0, d, 0, 0, 0, 0, d}, [9]float32{d, 0, 0, 0, d, 0, 0, 0, d})
	}, 0, `it would print that small`, `layers +none: it has no height`),
	measured("stl-all-at-one-point", "part.stl", func() []byte { return Soup([9]float32{}, [9]float32{}, [9]float32{}) }, 0, `fault +All corners lie in one plane`, `surface +no triangle has any area`),
	measured("stl-one-triangle", "part.stl", func() []byte { return Soup([9]float32{0, 0, 0, 10, 0, 0, 0, 10, 0}) }, 0, `not closed: 3 open edges`, `fault +All corners lie in one plane`),
	measured("stl-needles-alone", "part.stl", func() []byte {
		return Soup([9]float32{0, 0, 0, 10, 0, 0, 20, 0, 0}, [9]float32{0, 0, 0, 0, 10, 0, 0, 30, 0})
	}, 0, `2 triangles have no area`),

	// Text STL.
	measured("stl-text-without-an-end", "part.stl", constant("solid "+strings.Repeat("facet normal 0 0 0\n", 50)), 1, `part\.stl:\d+`),
	measured("stl-text-decimal-commas", "part.stl", facets("0 0 0", "10,5 0 0", "0 10 0"), 1, `part\.stl:5:\d+: .*comma`),
	measured("stl-text-hexadecimal", "part.stl", facets("0 0 0", "0x10 0 0", "0 10 0"), 1, `part\.stl:5:8: .*"0x10"`),
	measured("stl-text-overflow", "part.stl", facets("0 0 0", "1e999 0 0", "0 10 0"), 1, `part\.stl:5:8: .*beyond the range of 32-bit numbers`),
	measured("stl-text-nan", "part.stl", facets("0 0 0", "nan 0 0", "0 10 0"), 1, `part\.stl:5:8: .*not a finite number`),
	measured("stl-text-two-corners", "part.stl", constant("solid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nendloop\nendfacet\nendsolid\n"), 1, `part\.stl:6:1: the loop begun on line 3 has 2 vertices; a triangle has 3`),
	measured("stl-text-nul-bytes", "part.stl", constant("solid \x00\x00\nfacet normal 0 0 1\nouter loop\nvertex 0 0 \x00\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n"), 1, `part\.stl: truncated, or not a mesh`),
	measured("stl-text-utf16", "part.stl", asUTF16("solid part\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n"), 1, `part\.stl: truncated`),
	measured("stl-text-one-long-line", "part.stl", func() []byte { return []byte("solid " + strings.Repeat("a", 30<<20)) }, 1, `part\.stl: no triangles`),
	measured("stl-text-one-long-word", "part.stl", func() []byte {
		return []byte("solid\nfacet normal 0 0 1\nouter loop\nvertex " + strings.Repeat("1", 10<<20) + " 0 0\n")
	}, 1, `part\.stl:4:8: a word of more than 512 bytes`),

	// Other things by that name.
	measured("stl-is-a-web-page", "part.stl", constant("<!doctype html><title>404</title><p>Not found</p>\n"), 1, `it is a web page or other markup, download the mesh itself`),
	measured("stl-is-json", "part.stl", constant(`{"error": "not found"}`), 1, `it looks like JSON`),
	measured("stl-is-gzip", "part.stl", func() []byte { return gzipped(STL(Cube(20))) }, 1, `part\.stl: truncated, or not a mesh`),
	measured("stl-is-a-3mf", "part.stl", model3MF(`<resources>`+tetra(1)+`</resources>`+build1), 0, `part\.stl +\(3mf\)`, `volume +166\.67 mm³`),
	measured("stl-is-another-format", "part.stl", constant("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"), 1, `neither STL nor 3MF`),
	{
		Name: "stl-is-a-folder", Make: func(d Dir) { d.Text("part.stl/notes.txt", "a folder") },
		Args: []string{"measure", "part.stl"}, Exit: 1, Says: []string{`part\.stl: not a regular file`},
	},
	{
		Name: "stl-is-not-there", Make: func(d Dir) {},
		Args: []string{"measure", "part.stl"}, Exit: 1, Says: []string{`part\.stl: no such file`},
	},
	{
		Name: "stl-leads-to-itself", Make: func(d Dir) { d.Must(os.Symlink("part.stl", d.At("part.stl"))) },
		Args: []string{"measure", "part.stl"}, Exit: 1, Says: []string{`part\.stl: too many levels`},
	},
	{
		Name: "stl-may-not-be-read", Make: func(d Dir) {
			if os.Geteuid() == 0 {
				d.Skip("nothing is closed to this user")
			}
			d.Write("part.stl", STL(Cube(20)))
			d.Must(os.Chmod(d.At("part.stl"), 0))
		},
		Args: []string{"measure", "part.stl"}, Exit: 1, Says: []string{`part\.stl: .*permission`},
	},

	// Broken bodies.
	measured("body-open", "part.stl", solid(meshtest.Without(Cube(20), 0)), 0, `fault +The surface has 3 edges with a triangle on one side only`),
	measured("body-half", "part.stl", solid(&mesh.Mesh{Vertices: Cube(20).Vertices, Triangles: Cube(20).Triangles[6:]}), 0, `8 open edges`),
	measured("body-inside-out", "part.stl", solid(meshtest.InsideOut(Cube(20))), 0, `fault +The surface is inside out`),
	measured("body-one-triangle-turned", "part.stl", solid(meshtest.TurnedOver(Cube(20), 3)), 0, `fault +At 3 edges the neighbouring triangles face opposite ways`),
	measured("body-twice", "part.stl", solid(meshtest.Together(Cube(20), Cube(20))), 0, `12 triangles have the same three corners as an earlier one`),
	measured("body-with-its-own-inside", "part.stl", solid(meshtest.Together(Cube(20), meshtest.InsideOut(Cube(20)))), 0, `fault +The volume comes to nothing`),
	measured("body-overlapping", "part.stl", solid(meshtest.Together(Cube(20), placed(20, 7))), 0, `1 pair of shells overlaps`),
	measured("body-touching-at-a-corner", "part.stl", solid(meshtest.Together(Cube(20), placed(20, 20))), 0, `2 separate shells`),
	measured("body-hollow", "part.stl", solid(meshtest.Together(Cube(20), meshtest.InsideOut(placed(10, 5)))), 0, `1 cavity has no way out, 1000 mm³`),
	measured("body-far-away", "part.stl", solid(placed(20, 1e6)), 0, `0\.0625 mm apart`),
	measured("body-in-metres", "part.stl", solid(Cube(0.02)), 0, `such as metres \(20 mm\)`),
	measured("body-of-a-mountain", "part.stl", solid(Cube(2e6)), 0, `more than common plates hold`),
	measured("body-of-an-atom", "part.stl", solid(Cube(2e-7)), 0, `it would print that small`, `layers +none: it has no height`),

	// 3MF files and the archives that they are.
	measured("3mf-empty", "part.3mf", constant(""), 1, `part\.3mf: the file is empty`),
	measured("3mf-is-an-stl", "part.3mf", solid(Cube(20)), 0, `part\.3mf +\(stl-binary\)`, `volume +8000\.00 mm³`),
	measured("3mf-empty-archive", "part.3mf", func() []byte { return Zip() }, 1, `an archive, but not a 3MF: it has no _rels/\.rels`),
	measured("3mf-cut-short", "part.3mf", func() []byte {
		b := model3MF(`<resources>` + tetra(1) + `</resources>` + build1)()
		return b[:len(b)-60]
	}, 1, `the archive is damaged or cut short`),
	measured("3mf-without-a-model", "part.3mf", func() []byte { return Zip([2]string{"notes.txt", "no model"}) }, 1, `an archive, but not a 3MF`),
	measured("3mf-is-no-markup", "part.3mf", func() []byte { return Package3MF("a mesh, honestly") }, 1, `/3D/3dmodel\.model is empty`),
	measured("3mf-without-a-build", "part.3mf", model3MF(`<resources>`+tetra(1)+`</resources>`), 1, `has no build element`),
	measured("3mf-builds-nothing", "part.3mf", model3MF(`<resources>`+tetra(1)+`</resources><build/>`), 1, `no triangles: the build has no items`),
	measured("3mf-builds-what-is-not-there", "part.3mf", model3MF(`<resources>`+tetra(1)+`</resources><build><item objectid="7"/></build>`), 1, `/3D/3dmodel\.model:1:\d+: no object 7`),
	measured("3mf-index-out-of-range", "part.3mf", model3MF(`<resources>`+strings.Replace(tetra(1), `v3="2"`, `v3="9"`, 1)+`</resources>`+build1), 1, `/3D/3dmodel\.model:1:\d+: triangle 4 uses vertex 9 of 4`),
	measured("3mf-not-a-number", "part.3mf", model3MF(`<resources>`+strings.Replace(tetra(1), `x="10"`, `x="ten"`, 1)+`</resources>`+build1), 1, `/3D/3dmodel\.model:1:\d+: .*"ten"`),
	measured("3mf-unknown-unit", "part.3mf", func() []byte {
		return Package3MF(strings.Replace(model(`<resources>`+tetra(1)+`</resources>`+build1), "millimeter", "furlong", 1))
	}, 1, `unknown unit "furlong"; 3MF has micron`),
	measured("3mf-made-of-itself", "part.3mf", model3MF(`<resources><object id="1"><components><component objectid="1"/></components></object></resources>`+build1), 1, `object 1 of /3D/3dmodel\.model is a component of itself`),
	measured("3mf-made-of-each-other", "part.3mf", model3MF(`<resources><object id="1"><components><component objectid="2"/></components></object><object id="2"><components><component objectid="1"/></components></object></resources>`+build1), 1, `object 1 of /3D/3dmodel\.model is a component of itself`),
	measured("3mf-flattened", "part.3mf", model3MF(`<resources>`+tetra(1)+`</resources><build><item objectid="1" transform="1 0 0 0 1 0 0 0 0 0 0 0"/></build>`), 1, `determinant 0, which leaves no solid`),
	measured("3mf-entities-that-grow", "part.3mf", func() []byte {
		var dtd strings.Builder
		dtd.WriteString(`<!ENTITY e0 "lol">`)
		for i := 1; i < 12; i++ {
			fmt.Fprintf(&dtd, `<!ENTITY e%d "%s">`, i, strings.Repeat(fmt.Sprintf("&e%d;", i-1), 10))
		}
		return Package3MF(`<?xml version="1.0"?><!DOCTYPE model [` + dtd.String() + `]><model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><metadata name="Title">&e11;</metadata><resources>` + tetra(1) + `</resources>` + build1 + `</model>`)
	}, 1, `a document type definition, which 3MF forbids`),
	measured("3mf-nested-tags", "part.3mf", func() []byte {
		return Package3MF(model(strings.Repeat("<a>", 200_000) + strings.Repeat("</a>", 200_000)))
	}, 1, `elements nest deeper than 64`),
	measured("3mf-a-gigabyte-of-spaces", "part.3mf", func() []byte {
		return package3MF(func(w io.Writer) error {
			_, err := io.WriteString(w, strings.TrimSuffix(model(`<resources>`+tetra(1)+`</resources>`+build1), "</model>"))
			spaces := bytes.Repeat([]byte(" "), 1<<20)
			for i := 0; err == nil && i < 1<<10; i++ {
				_, err = w.Write(spaces)
			}
			return err
		})
	}, 1, `has a tag or text of more than 4194304 bytes`),
	measured("3mf-components-that-double", "part.3mf", func() []byte {
		var b strings.Builder
		b.WriteString("<resources>" + tetra(1))
		for i := 2; i < 42; i++ {
			fmt.Fprintf(&b, `<object id="%d"><components><component objectid="%d"/><component objectid="%d"/></components></object>`, i, i-1, i-1)
		}
		b.WriteString(`</resources><build><item objectid="41"/></build>`)
		return Package3MF(model(b.String()))
	}, 1, `components nest deeper than 32`),
	measured("3mf-names-out-of-the-archive", "part.3mf", func() []byte {
		return Zip([2]string{"../../../etc/passwd", "root"}, [2]string{"_rels/.rels", `<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="../../../etc/passwd"/></Relationships>`})
	}, 1, `the archive has no part /etc/passwd`),
	measured("3mf-many-entries", "part.3mf", func() []byte {
		files := make([][2]string, 100_000)
		for i := range files {
			files[i] = [2]string{fmt.Sprintf("notes/%06d.txt", i), "x"}
		}
		return Zip(files...)
	}, 1, `the archive has 100000 entries; at most 10000 are read`),
}
