package mesh

import (
	"archive/zip"
	"bufio"
	"encoding/xml"
	"io"
	"slices"
	"strconv"
	"time"

	"cardback/internal/deflate"
)

// Object3MF is one object of a 3MF file to write.
type Object3MF struct {
	Name string
	Mesh *Mesh
	// At gives a build item for each shift of the mesh, in mm, and Items one for
	// each turn and shift; with neither there is one item where the mesh stands.
	At    []Vec
	Items []Item3MF
}

// Item3MF places an object: its points, as column vectors, are turned by the
// row-major Rotation and then moved by Shift, in mm. A mirror image is a mesh of
// its own: what a negative determinant means is read differently.
type Item3MF struct {
	Rotation [9]float64
	Shift    Vec
}

// Metadata is a statement about a whole 3MF file. Name is one of those that the
// core specification defines: Title, Designer, Description, Copyright,
// LicenseTerms, Rating, CreationDate, ModificationDate, Application.
type Metadata struct{ Name, Value string }

var metadataNames = []string{
	"Title", "Designer", "Description", "Copyright", "LicenseTerms",
	"Rating", "CreationDate", "ModificationDate", "Application",
}

// The fixed parts of a package (Open Packaging Conventions, as the 3MF core
// specification uses them).
const (
	contentTypes = xml.Header + `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">` +
		`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
		`<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>` + "\n"
	relations = xml.Header + `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` +
		`<Relationship Id="model" Type="` + modelRelation + `" Target="/` + ModelName3MF + `"/></Relationships>` + "\n"
)

// ModelName3MF is the name of the model in the archives that Write3MF writes.
const ModelName3MF = "3D/3dmodel.model"

// zipDate is the earliest time a zip archive can say; files written at different
// times are to be the same.
var zipDate = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// Write3MF writes objects as a 3MF in millimetres: the same objects and metadata
// give the same bytes. Each coordinate is the shortest decimal that reads back
// as the same 64-bit number. Triangles with a repeated vertex, which 3MF forbids
// and which enclose nothing, are left out. It writes its own markup because
// hpinc/go3mf keeps 32 bits of a coordinate and dates its entries.
//
// Errors: no objects, an object without triangles to write, a coordinate beyond
// the range of 32-bit numbers, an unknown or repeated metadata name; and those of w.
func Write3MF(w io.Writer, objects []Object3MF, meta []Metadata) error {
	if err := check3MF(objects, meta); err != nil {
		return err
	}
	z := zip.NewWriter(w)
	z.RegisterCompressor(zip.Deflate, deflate.NewWriter)
	for _, part := range [...]struct {
		name string
		put  func(*bufio.Writer)
	}{
		{"[Content_Types].xml", func(out *bufio.Writer) { put(out, contentTypes) }},
		{"_rels/.rels", func(out *bufio.Writer) { put(out, relations) }},
		{ModelName3MF, func(out *bufio.Writer) { putModel(out, objects, meta) }},
	} {
		entry, err := z.CreateHeader(&zip.FileHeader{Name: part.name, Method: zip.Deflate, Modified: zipDate})
		if err != nil {
			return err
		}
		out := bufio.NewWriterSize(entry, 64<<10)
		part.put(out)
		if err := out.Flush(); err != nil { // a bufio.Writer keeps its first error
			return err
		}
	}
	return z.Close()
}

func check3MF(objects []Object3MF, meta []Metadata) error {
	if len(objects) == 0 {
		return refuse("a 3MF needs an object")
	}
	for i, o := range objects {
		solid := false
		for j, t := range o.Mesh.Triangles {
			solid = solid || !repeats(t)
			if a, b, c := o.Mesh.Corners(j); !finite(a) || !finite(b) || !finite(c) {
				return refuse("triangle %d of object %d (%s) has a corner that a 32-bit number cannot hold", j+1, i+1, o.Name)
			}
		}
		if !solid {
			return refuse("object %d (%s) has no triangle", i+1, o.Name)
		}
		for _, at := range o.At {
			if !finite(at) {
				return refuse("object %d (%s) is placed beyond the range of 32-bit numbers", i+1, o.Name)
			}
		}
		for _, it := range o.Items {
			r := it.Rotation
			x, y, z := Vec{r[0], r[1], r[2]}, Vec{r[3], r[4], r[5]}, Vec{r[6], r[7], r[8]}
			if !finite(it.Shift) || !finite(x) || !finite(y) || !finite(z) {
				return refuse("object %d (%s) is placed beyond the range of 32-bit numbers", i+1, o.Name)
			}
			if !(x.Cross(y).Dot(z) > 0) {
				return refuse("object %d (%s) is placed by a transform that leaves no solid or mirrors it", i+1, o.Name)
			}
		}
	}
	for i, m := range meta {
		if !slices.Contains(metadataNames, m.Name) {
			return refuse("3MF defines no metadata named %q", m.Name)
		}
		if slices.ContainsFunc(meta[:i], func(n Metadata) bool { return n.Name == m.Name }) {
			return refuse("metadata %q is given twice", m.Name)
		}
	}
	return nil
}

func putModel(out *bufio.Writer, objects []Object3MF, meta []Metadata) {
	put(out, xml.Header, `<model unit="millimeter" xml:lang="en" xmlns="`, coreSpace, "\">\n")
	for _, m := range meta {
		put(out, `<metadata name="`, m.Name, `">`)
		putText(out, m.Value)
		put(out, "</metadata>\n")
	}
	put(out, "<resources>\n")
	for i, o := range objects {
		put(out, `<object id="`, strconv.Itoa(i+1), `" type="model" name="`)
		putText(out, o.Name)
		put(out, "\">\n<mesh>\n<vertices>\n")
		putMesh(out, o.Mesh)
		put(out, "</triangles>\n</mesh>\n</object>\n")
	}
	put(out, "</resources>\n<build>\n")
	for i, o := range objects {
		if o.At == nil && o.Items == nil {
			put(out, `<item objectid="`, strconv.Itoa(i+1), "\"/>\n")
		}
		for _, at := range o.At {
			put(out, `<item objectid="`, strconv.Itoa(i+1), `" transform="1 0 0 0 1 0 0 0 1 `)
			putVec(out, at, " ", " ")
			put(out, "\"/>\n")
		}
		for _, it := range o.Items {
			put(out, `<item objectid="`, strconv.Itoa(i+1), `" transform="`)
			for k := range 3 { // points are row vectors there: the matrix is written by columns
				putVec(out, Vec{it.Rotation[k], it.Rotation[3+k], it.Rotation[6+k]}, " ", " ")
				put(out, " ")
			}
			putVec(out, it.Shift, " ", " ")
			put(out, "\"/>\n")
		}
	}
	put(out, "</build>\n</model>\n")
}

func putMesh(out *bufio.Writer, m *Mesh) {
	for _, v := range m.Vertices {
		put(out, `<vertex x="`)
		putVec(out, v, `" y="`, `" z="`)
		put(out, "\"/>\n")
	}
	put(out, "</vertices>\n<triangles>\n")
	for _, t := range m.Triangles {
		if repeats(t) {
			continue
		}
		for k, name := range [3]string{`<triangle v1="`, `" v2="`, `" v3="`} {
			put(out, name)
			_, _ = out.Write(strconv.AppendUint(out.AvailableBuffer(), uint64(t[k]), 10))
		}
		put(out, "\"/>\n")
	}
}

// put writes strings; the writer keeps its first error for Flush to give.
func put(out *bufio.Writer, text ...string) {
	for _, t := range text {
		_, _ = out.WriteString(t)
	}
}

func putText(out *bufio.Writer, text string) { _ = xml.EscapeText(out, []byte(text)) }

func putVec(out *bufio.Writer, v Vec, betweenXY, betweenYZ string) {
	putDecimal(out, v.X)
	put(out, betweenXY)
	putDecimal(out, v.Y)
	put(out, betweenYZ)
	putDecimal(out, v.Z)
}

func putDecimal(out *bufio.Writer, x float64) {
	_, _ = out.Write(strconv.AppendFloat(out.AvailableBuffer(), x+0, 'g', -1, 64)) // + 0: never −0
}
