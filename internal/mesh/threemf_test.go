package mesh

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/hpinc/go3mf"
	"github.com/stretchr/testify/require"

	"cardback/internal/reference"
)

// packed is a 3MF of the given parts in order: name, content, name, content ….
// Without a _rels/.rels it gets the usual one.
func packed(t testing.TB, parts ...string) []byte {
	if !strings.Contains(strings.Join(parts, " "), rootRelations) {
		parts = append([]string{rootRelations, relations}, parts...)
	}
	var file bytes.Buffer
	z := zip.NewWriter(&file)
	for i := 0; i < len(parts); i += 2 {
		w, err := z.Create(parts[i])
		require.NoError(t, err)
		_, err = w.Write([]byte(parts[i+1]))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return file.Bytes()
}

const (
	modelTag = `<model unit="millimeter" xmlns="` + coreSpace + `" xmlns:p="` + productionSpace + `">`
	tetraTag = `<mesh><vertices><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0"/><vertex x="0" y="0" z="1"/>` +
		`<vertex x="0" y="0" z="0"/></vertices><triangles><triangle v1="0" v2="1" v3="2"/><triangle v1="3" v2="0" v3="2"/>` +
		`<triangle v1="3" v2="2" v3="1"/><triangle v1="3" v2="1" v3="0"/></triangles></mesh>`
)

// model is a model part with a tetrahedron of volume 1/6 as object 1, further
// resources, and a build.
func model(resources, build string) string {
	return modelTag + `<resources><object id="1">` + tetraTag + `</object>` + resources + `</resources><build>` + build + `</build></model>`
}

const mainPart = "3D/3dmodel.model"

func readBytes(file []byte) (*Mesh, Info, error) {
	return Read(context.Background(), bytes.NewReader(file), int64(len(file)))
}

// volume is the signed volume by the divergence theorem.
func volume(m *Mesh) (v float64) {
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		v += a.Dot(b.Cross(c)) / 6
	}
	return v
}

func TestUnitsComeOutInMillimetres(t *testing.T) {
	// The six units of the core specification, and the default.
	for unit, mm := range map[string]float64{
		`unit="micron"`: 0.001, `unit="millimeter"`: 1, `unit="centimeter"`: 10,
		`unit="inch"`: 25.4, `unit="foot"`: 304.8, `unit="meter"`: 1000, "": 1,
	} {
		m, _, err := readBytes(packed(t, mainPart, strings.Replace(model("", `<item objectid="1"/>`), `unit="millimeter"`, unit, 1)))
		require.NoError(t, err, unit)
		require.Equal(t, Vec{mm, mm, mm}, m.Bounds().Size(), unit)
	}
}

func TestTransformsNestInnerFirst(t *testing.T) {
	// Object 2 turns a quarter about z and then shifts by 10 in x; the build
	// item then doubles and shifts by 100 in y. (1 0 0) → (0 1 0) → (10 1 0) →
	// (20 102 0); (0 1 0) → (−1 0 0) → (9 0 0) → (18 100 0). The last is
	// mirrored in z, and volumes stay positive.
	nested := `<object id="2"><components><component objectid="1" transform="0 1 0 -1 0 0 0 0 1 10 0 0"/></components></object>`
	m, _, err := readBytes(packed(t, mainPart, model(nested,
		`<item objectid="2" transform="2 0 0 0 2 0 0 0 2 0 100 0"/><item objectid="1" transform="1 0 0 0 1 0 0 0 -1 0 0 0"/>`)))
	require.NoError(t, err)
	require.Equal(t, []Vec{{20, 102, 0}, {18, 100, 0}, {20, 100, 2}, {20, 100, 0}}, m.Vertices[:4])
	require.Equal(t, Vec{0, 0, -1}, m.Vertices[6])
	require.InDelta(t, 8.0/6+1.0/6, volume(m), 1e-12)
	top := m.Topology()
	require.True(t, top.Closed && top.ConsistentlyOriented)
	require.Equal(t, 2, top.Shells)
}

func TestInstancesWeldApart(t *testing.T) {
	m, _, err := readBytes(packed(t, mainPart, model("", `<item objectid="1"/><item objectid="1"/>`)))
	require.NoError(t, err)
	require.Len(t, m.Vertices, 8, "the same corners twice, but not shared")
	require.Zero(t, m.Topology().NonManifoldEdges)
}

func TestOtherModelPartsAreFollowed(t *testing.T) {
	root := modelTag + `<resources><object id="5"><components><component objectid="1" p:path="/3D/Other/arm.model"/></components></object></resources>` +
		`<build><item objectid="5"/><item objectid="1" p:path="/3d/other/ARM.model" transform="1 0 0 0 1 0 0 0 1 5 0 0"/></build></model>`
	m, info, err := readBytes(packed(t, mainPart, root, "3D/Other/arm.model", model("", "")))
	require.NoError(t, err)
	require.Empty(t, info.Notes)
	require.Len(t, m.Triangles, 8)
	require.Equal(t, Box{Vec{}, Vec{6, 1, 1}}, m.Bounds())
}

func TestWhatIsPassedOverIsNoted(t *testing.T) {
	for name, c := range map[string]struct{ file, note string }{
		"unused object":   {model(`<object id="2">`+tetraTag+`</object>`, `<item objectid="1"/>`), ""},
		"materials":       {model(`<basematerials id="9"><base name="a" displaycolor="#000000"/></basematerials>`, `<item objectid="1"/>`), "Passed over: basematerials."},
		"unknown":         {model(`<x:gadget xmlns:x="urn:x" id="3"><x:a><object id="1"/></x:a></x:gadget>`, `<item objectid="1"/>`), "Passed over: gadget (urn:x)."},
		"support":         {model(`<object id="2" type="support">`+tetraTag+`</object>`, `<item objectid="1"/><item objectid="2"/>`), "Object 2 of type support is in the build and was read with the rest."},
		"known extension": {strings.Replace(model("", `<item objectid="1"/>`), `<model `, `<model requiredextensions="p" `, 1), ""},
		"entities":        {"\uFEFF<?xml version='1.0' encoding='utf-8'?><!-- a --><?b c?>" + model("", `<item objectid="&#49;"/>`), ""},
	} {
		t.Run(name, func(t *testing.T) {
			m, info, err := readBytes(packed(t, mainPart, c.file))
			require.NoError(t, err)
			require.Equal(t, c.note, strings.Join(info.Notes, " "))
			if name == "support" {
				require.Len(t, m.Triangles, 8)
			} else {
				require.Len(t, m.Triangles, 4)
			}
		})
	}
}

func TestFaultsOf3MFAreNamedAndPlaced(t *testing.T) {
	item := `<item objectid="1"/>`
	good := model("", item)
	swap := func(old, new string) string {
		require.Contains(t, good, old)
		return strings.Replace(good, old, new, 1)
	}
	// deep is a chain of n components, object 1 within 2 within 3 ….
	deep := func(n int) string {
		var s strings.Builder
		for i := 2; i <= n; i++ {
			fmt.Fprintf(&s, `<object id="%d"><components><component objectid="%d"/></components></object>`, i, i-1)
		}
		return model(s.String(), fmt.Sprintf(`<item objectid="%d"/>`, n))
	}
	// doubling places object 1 2ⁿ times.
	doubling := func(n int) string {
		var s strings.Builder
		for i := 2; i <= n+1; i++ {
			fmt.Fprintf(&s, `<object id="%d"><components><component objectid="%d"/><component objectid="%d"/></components></object>`, i, i-1, i-1)
		}
		return model(s.String(), fmt.Sprintf(`<item objectid="%d"/>`, n+1))
	}
	for name, c := range map[string]struct{ model, fault string }{
		"no model element": {`<x/>`, `/3D/3dmodel.model:1:1: a 3MF model expected, found <x> of ""`},
		"empty part":       {``, `/3D/3dmodel.model is empty`},
		"cut short":        {good[:200], `/3D/3dmodel.model:1: not well-formed XML`},
		"crossed tags":     {swap("</object>", "</objekt>"), `not well-formed XML: element <object> closed by </objekt>`},
		"unit":             {swap("millimeter", "furlong"), `unknown unit "furlong"`},
		"extension":        {swap("<model ", `<model xmlns:q="urn:q" requiredextensions="p q" `), `the file requires the extension q ("urn:q"), which is not read`},
		"no build":         {swap("<build>"+item+"</build>", ""), `/3D/3dmodel.model has no build element`},
		"two models":       {good + good, `a second model element`},
		"other encoding":   {`<?xml version="1.0" encoding="utf-16"?>` + good, `/3D/3dmodel.model cannot be read (xml: encoding "utf-16" declared`},
		"two builds":       {swap("</build>", "</build><build/>"), `a second build element`},
		"empty build":      {swap(item, ""), `no triangles: the build has no items`},
		"no triangles":     {swap(tetraTag, ""), `no triangles: the objects in the build have none`},
		"no such object":   {swap(item, `<item objectid="7"/>`), `no object 7 in /3D/3dmodel.model`},
		"no such part":     {swap(item, `<item objectid="1" p:path="/3D/x.model"/>`), `the archive has no part /3D/x.model`},
		"no objectid":      {swap(item, `<item/>`), `<item> has no objectid`},
		"same id":          {model(`<object id="1"/>`, item), `a second object with the id 1`},
		"two meshes":       {swap(tetraTag, tetraTag+tetraTag), `object 1 has more than one mesh or list of components`},
		"mesh and parts":   {swap(tetraTag, tetraTag+"<components/>"), `object 1 has more than one mesh or list of components`},
		"index":            {swap(`v3="2"`, `v3="4"`), `triangle 1 uses vertex 4 of 4 (they count from 0)`},
		"negative index":   {swap(`v3="2"`, `v3="-1"`), `<triangle> has v3="-1"; a whole number below 2³¹ expected`},
		"no coordinate":    {swap(`z="1"`, ``), `vertex 2: z "": a number expected`},
		"not a number":     {swap(`z="1"`, `z="NaN"`), `vertex 2: z "NaN": not a finite number`},
		"decimal comma":    {swap(`z="1"`, `z="0,5"`), `vertex 2: z "0,5": decimal comma found; a decimal point expected`},
		"attribute twice":  {swap(`z="1"`, `z="1" z="2"`), `<vertex> has the attribute "z" twice`},
		"short transform":  {swap(item, `<item objectid="1" transform="1 0 0"/>`), `a transform has 12 numbers, this one 3`},
		"bad transform":    {swap(item, `<item objectid="1" transform="1 0 0 0 1 0 0 0 1 0 0 inf"/>`), `transform number 12, "inf": not a finite number`},
		"flattening":       {swap(item, `<item objectid="1" transform="1 0 0 0 1 0 0 0 0 0 0 0"/>`), `placed by a transform of determinant 0`},
		"flung away":       {swap(item, `<item objectid="1" transform="1e38 0 0 0 1 0 0 0 1 3e38 0 0"/>`), `placed beyond the range of 32-bit numbers`},
		"type definition":  {"<!DOCTYPE model [<!ENTITY a 'b'>]>" + good, `/3D/3dmodel.model:1:1: a document type definition, which 3MF forbids`},
		"other in build":   {model(`<object id="2" type="other">`+tetraTag+`</object>`, item+`<item objectid="2"/>`), `object 2 is of type other, which 3MF keeps out of the build`},
		"unknown type":     {model(`<object id="2" type="toy">`+tetraTag+`</object>`, item), `object 2 is of type "toy"; 3MF has model, solidsupport, support, surface, other`},
		"two resources":    {swap("</resources>", "</resources><resources/>"), `/3D/3dmodel.model:1:506: a second resources element`},
		"own component":    {model(`<object id="2"><components><component objectid="3"/></components></object><object id="3"><components><component objectid="2"/></components></object>`, `<item objectid="2"/>`), `is a component of itself`},
		"depth":            {deep(40), `components nest deeper than 32`},
		"instances":        {doubling(20), `the build places more than 100000 objects`},
		"elements nested":  {swap(tetraTag, strings.Repeat("<a>", 80)+strings.Repeat("</a>", 80)), `elements nest deeper than 64`},
		"attributes":       {swap(item, `<item objectid="1" `+strings.Repeat(`a="" `, 70)+`/>`), `<item> has more than 64 attributes`},
		"long text":        {swap(item, item+strings.Repeat("abcdefgh", 1<<20)), `which is more than its packed size can hold of a mesh`},
		"bomb":             {swap(item, item+strings.Repeat(" \n", 4<<20)), `which is more than its packed size can hold of a mesh`},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := readBytes(packed(t, mainPart, c.model))
			var located *Error
			require.ErrorAs(t, err, &located)
			require.ErrorContains(t, err, c.fault)
		})
	}
}

// The rules of the 3MF core specification (1.4.0: chapters in brackets) whose breach
// leaves the shape clear: the file is read, and what is wrong is said with its place.
// Named for the consortium's own files that must fail where there is one for the rule.
func TestBreachesOf3MFAreSaidWithTheirPlace(t *testing.T) {
	const types = `<Types xmlns="urn:t"><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>`
	item := `<item objectid="1"/>`
	good := model("", item)
	swap := func(old, with string) string { return strings.Replace(good, old, with, 1) }
	also := func(relation string) string {
		return strings.Replace(relations, "</Relationships>", relation+"</Relationships>", 1)
	}
	thumbnail := `<Relationship Id="t" Type="` + thumbnailRelation + `" Target="/Metadata/a.png"/>`
	tickets := `<Relationships><Relationship Type="` + ticketRelation + `" Target="/3D/a.xml"/><Relationship Type="` + ticketRelation + `" Target="/3D/b.xml"/></Relationships>`
	for name, c := range map[string]struct {
		parts []string
		want  string // of the only breach
	}{
		"sound":                              {[]string{typesPart, types, mainPart, good}, ""},
		"thumbnail there":                    {[]string{typesPart, types, mainPart, good, rootRelations, also(thumbnail), "Metadata/a.png", "x"}, ""},
		"2.1.3 thumbnail that is not there":  {[]string{typesPart, types, mainPart, good, rootRelations, also(thumbnail)}, "/_rels/.rels:2:"},
		"2.1.3 two thumbnails":               {[]string{typesPart, types, mainPart, good, rootRelations, also(thumbnail + thumbnail), "Metadata/a.png", "x"}, "a second thumbnail of the package"},
		"2.1.4 two print tickets":            {[]string{typesPart, types, mainPart, good, "3D/_rels/3dmodel.model.rels", tickets, "3D/a.xml", "x", "3D/b.xml", "x"}, "/3D/_rels/3dmodel.model.rels:1:122: a second print ticket"},
		"2.1 print ticket that is not there": {[]string{typesPart, types, mainPart, good, "3D/_rels/3dmodel.model.rels", strings.Replace(tickets, "/3D/b.xml\"/><Relationship", "", 1), "3D/b.xml", "x"}, ""},
		"2.1 no content types":               {[]string{mainPart, good}, "The archive has no [Content_Types].xml"},
		"2.1 content type of another kind":   {[]string{typesPart, strings.Replace(types, "3dmodel+xml", "3dtoy+xml", 1), mainPart, good}, "a model part is"},
		"2.3.2c an element of no schema":     {[]string{typesPart, types, mainPart, swap("<build>", "<toys/><build>")}, "/3D/3dmodel.model:1:506: <toys> is no part of a 3MF model"},
		"2.3.2c an attribute of no schema":   {[]string{typesPart, types, mainPart, swap(`<object id="1"`, `<object id="1" colour="red"`)}, "<object> has an attribute \"colour\""},
		"2.3.2d xsi":                         {[]string{typesPart, types, mainPart, swap("<model ", `<model xmlns:xsi="`+xsiSpace+`" xsi:type="a" `)}, "<model> has xsi:type, which 3MF forbids"},
		"2.3.4 xml:space":                    {[]string{typesPart, types, mainPart, swap("<build>", `<build xml:space="preserve">`)}, "<build> has xml:space, which 3MF forbids"},
		"3.4.1a metadata without a name":     {[]string{typesPart, types, mainPart, swap("<resources>", "<metadata>x</metadata><resources>")}, "<metadata> has no name"},
		"3.4.1b metadata of one name":        {[]string{typesPart, types, mainPart, swap("<resources>", `<metadata name="Title">x</metadata><metadata name="Title">y</metadata><resources>`)}, "a second <metadata> named \"Title\""},
		"3.4 resources after the build":      {[]string{typesPart, types, mainPart, modelTag + "<build>" + item + "</build><resources><object id=\"1\">" + tetraTag + "</object></resources></model>"}, ""},
		"4b pindex without pid":              {[]string{typesPart, types, mainPart, swap(`<object id="1"`, `<object id="1" pindex="0"`)}, "object 1 has pindex \"0\" and no pid"},
		"4b pid of nothing":                  {[]string{typesPart, types, mainPart, swap(`<object id="1"`, `<object id="1" pid="8" pindex="0"`)}, "no list of properties before it has that id"},
		"4 neither mesh nor components":      {[]string{typesPart, types, mainPart, model(`<object id="2"/>`, item)}, "object 2 has neither a mesh nor components"},
		"4.1 a triangle with a vertex twice": {[]string{typesPart, types, mainPart, swap("</triangles>", `<triangle v1="0" v2="0" v3="1"/></triangles>`)}, "object 1 has 1 triangles with a vertex twice"},
		"4.1 a solid of three triangles":     {[]string{typesPart, types, mainPart, swap(`<triangle v1="3" v2="1" v3="0"/>`, "")}, "object 1 has 3 triangles; a solid has 4 at least"},
		"4.2 a component before its object":  {[]string{typesPart, types, mainPart, model(`<object id="2"><components><component objectid="3"/></components></object><object id="3">`+tetraTag+`</object>`, item)}, "object 2 has object 3 for a component before that is given"},
		"5a two resources of one id":         {[]string{typesPart, types, mainPart, model(`<basematerials id="9"/><basematerials id="9"/>`, item)}, "the id 9 is that of a <basematerials> already"},
		"5a a list with the id of an object": {[]string{typesPart, types, mainPart, model(`<basematerials id="1"/>`, item)}, "the id 1 is that of a <object> already"},
	} {
		t.Run(name, func(t *testing.T) {
			_, info, err := readBytes(packed(t, c.parts...))
			require.NoError(t, err)
			switch {
			case name == "3.4 resources after the build":
				require.Len(t, info.Breaches, 2)
				require.Contains(t, info.Breaches[0], "no resources element before the build")
				require.Contains(t, info.Breaches[1], "the resources come after the build")
			case name == "2.1 print ticket that is not there":
				require.Len(t, info.Breaches, 2)
				require.Contains(t, info.Breaches[0], "the archive has no part /3D/a.xml, which is said to be the print ticket")
			case c.want == "":
				require.Empty(t, info.Breaches)
			default:
				require.Len(t, info.Breaches, 1)
				require.Contains(t, info.Breaches[0], c.want)
				if !strings.Contains(name, "content type") {
					require.Regexp(t, `^/\S+:\d+:\d+: `, info.Breaches[0])
				}
			}
		})
	}
	// Which model is meant cannot be told, or it is not in the archive (2.1.1b, 2.1.2).
	second := `<Relationship Id="b" Type="` + modelRelation + `" Target="/3D/other.model"/>`
	_, _, err := readBytes(packed(t, mainPart, good, "3D/other.model", good, rootRelations, also(second)))
	require.ErrorContains(t, err, "a second 3D model, /3D/other.model beside /3D/3dmodel.model")
	_, _, err = readBytes(packed(t, mainPart, good, rootRelations, also(strings.Replace(second, "<Relationship ", `<Relationship TargetMode="External" `, 1))))
	require.ErrorContains(t, err, "the 3D model is said to be outside the archive")
}

// The consortium's files that must fail are refused with the reason, each with a place
// where it has one; those that must pass are read without a breach.
func TestConsortiumSuite(t *testing.T) {
	for name, want := range map[string]string{
		"MUSTFAIL_Chapter2.1.1a_PartsRelationships_NonExist3DModelPart": "no 3D model relationship in _rels/.rels",
		"MUSTFAIL_Chapter2.3.2b_DataTypeDefinitionInXMLMarkup":          "/3D/3dmodel.model:2:1: a document type definition, which 3MF forbids",
		"MUSTFAIL_Chapter3.4.3.1a_NotMatchingObjectIdInBuildItem":       "/3D/3dmodel.model:85:5: no object 14",
		"MUSTFAIL_Chapter3.4b_MissingBuildElement":                      "/3D/3dmodel.model has no build element",
		"MUSTFAIL_Chapter3.4c_MissingResourceElement":                   "/3D/3dmodel.model:13:5: no object 13",
		"MUSTPASS_Chapter2.3a_IgnorableMarkup":                          "",
		"MUSTPASS_Chapter3.2b_UnitsMeasurementMM":                       "",
		"MUSTPASS_Chapter3.2c_MultipleItemsTransform":                   "",
		"MUSTPASS_Chapter4.1_ExplicitSupport":                           "",
		"MUSTPASS_Chapter4.2_Components":                                "",
	} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(reference.Folder, "3mf", name+".3mf")
			if _, err := os.Stat(file); err != nil {
				t.Skip("the shared meshes are not here")
			}
			_, info, err := ReadFile(t.Context(), file)
			if want == "" {
				require.NoError(t, err)
				require.Empty(t, info.Breaches)
				return
			}
			require.ErrorContains(t, err, want)
		})
	}
}

func TestFaultsOfThePackage(t *testing.T) {
	good := model("", `<item objectid="1"/>`)
	_, _, err := readBytes(packed(t, rootRelations, strings.Replace(relations, modelRelation, "urn:x", 1), mainPart, good))
	require.ErrorContains(t, err, "no 3D model relationship")
	_, _, err = readBytes(packed(t, "3D/elsewhere.model", good))
	require.ErrorContains(t, err, "the archive has no part /3D/3dmodel.model")
	_, _, err = readBytes(packed(t, mainPart, good, "3d/3DMODEL.model", good))
	require.ErrorContains(t, err, "the archive has two parts named /3D/3dmodel.model")

	var plain bytes.Buffer
	z := zip.NewWriter(&plain)
	_, err = z.Create("letter.txt")
	require.NoError(t, err)
	require.NoError(t, z.Close())
	_, _, err = readBytes(plain.Bytes())
	require.ErrorContains(t, err, "an archive, but not a 3MF: it has no _rels/.rels")
}

// TestLibraryReadsTheSame compares with hpinc/go3mf: the triangles exactly, and
// the volume to the 32 bits that it keeps of coordinates and transforms.
func TestLibraryReadsTheSame(t *testing.T) {
	compared := 0
	for _, ref := range reference.Files(t) {
		if ref.Format != "3mf" || refused[ref.File] != "" {
			continue
		}
		if ref.File == "3mf/MUSTPASS_Chapter2.3a_IgnorableMarkup.3mf" {
			continue // it holds a comment, at which the library stops
		}
		compared++
		t.Run(ref.File, func(t *testing.T) {
			file := ref.Path()
			m, _, err := ReadFile(context.Background(), file)
			require.NoError(t, err)
			r, err := go3mf.OpenReader(file)
			require.NoError(t, err)
			defer r.Close()
			var model go3mf.Model
			require.NoError(t, r.Decode(&model))
			theirs := libraryMesh{model: &model, unit: units[model.Units.String()]}
			for _, item := range model.Build.Items {
				theirs.add(item.ObjectPath(), item.ObjectID, affine32(item.Transform))
			}
			require.Equal(t, theirs.triangles, len(m.Triangles))
			// The error of a product of three coordinates is at most 3·2⁻²⁴ of the
			// cube of the farthest; those of triangles add up, but with changing
			// signs: 10⁻⁵ of that cube is far above and catches any wrong transform.
			b := m.Bounds()
			far := max(b.Min.Norm(), b.Max.Norm())
			require.InDelta(t, theirs.volume, volume(m), 1e-5*far*far*far)
		})
	}
	require.Equal(t, 24, compared)
}

// libraryMesh sums what go3mf read.
type libraryMesh struct {
	model     *go3mf.Model
	unit      float64
	triangles int
	volume    float64
}

func (l *libraryMesh) add(path string, id uint32, t affine) {
	o, ok := l.model.FindObject(path, id)
	if !ok {
		return
	}
	if o.Components != nil {
		for _, c := range o.Components.Component {
			inner := affine32(c.Transform)
			l.add(c.ObjectPath(path), c.ObjectID, inner.then(&t))
		}
	}
	if o.Mesh == nil {
		return
	}
	l.triangles += len(o.Mesh.Triangles.Triangle)
	at := func(i uint32) Vec {
		p := o.Mesh.Vertices.Vertex[i]
		return t.apply(Vec{float64(p[0]), float64(p[1]), float64(p[2])}).Scale(l.unit)
	}
	sum := 0.0
	for _, tri := range o.Mesh.Triangles.Triangle {
		sum += at(tri.V1).Dot(at(tri.V2).Cross(at(tri.V3))) / 6
	}
	if t.determinant() < 0 {
		sum = -sum
	}
	l.volume += sum
}

func affine32(m go3mf.Matrix) affine {
	if m == (go3mf.Matrix{}) {
		return identity
	}
	f := func(i int) Vec { return Vec{float64(m[i]), float64(m[i+1]), float64(m[i+2])} }
	return affine{f(0), f(4), f(8), f(12)}
}
