package mesh

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Namespaces of the specifications whose elements or attributes are read.
const (
	coreSpace       = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
	productionSpace = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
	materialSpace   = "http://schemas.microsoft.com/3dmanufacturing/material/2015/02"
)

// modelPart is one .model file of a 3MF.
type modelPart struct {
	name     string
	unit     float64 // millimetres
	objects  map[uint32]*object
	items    []reference3MF
	hasBuild bool
	// ids are the resources of other kinds than object, by id, and what they are.
	ids map[string]string
}

// object is a mesh or a list of components.
type object struct {
	id         uint32
	kind       string // "model", "support", …
	vertices   []Vec  // in the model's unit, unwelded, as the file has them
	triangles  [][3]uint32
	components []reference3MF
}

// reference3MF is a build item or a component: an object, where it is, and how
// it is placed.
type reference3MF struct {
	part         string // absolute name; "" for the same part
	id           uint32
	transform    affine
	line, column int
}

// units are the values of the model element's unit, in millimetres (3MF core
// specification, the model element).
var units = map[string]float64{
	"micron": 0.001, "millimeter": 1, "centimeter": 10, "inch": 25.4, "foot": 304.8, "meter": 1000,
	"": 1, // the default
}

// partReader reads one model part.
type partReader struct {
	*markup
	part    *modelPart
	archive *archive // for its notes and counts

	hasResources bool
	metadata     map[string]bool
	repeated     int // triangles of the object being read that use a vertex twice
}

func readModelPart(m *markup, a *archive) (*modelPart, error) {
	r := &partReader{markup: m, part: &modelPart{name: m.name, objects: map[uint32]*object{}, ids: map[string]string{}}, archive: a, metadata: map[string]bool{}}
	found := false
	err := m.children(func(e element) error {
		if e.Name.Space != coreSpace || e.Name.Local != "model" {
			return m.refuse(e, "a 3MF model expected, found <%s> of %q", e.Name.Local, e.Name.Space)
		}
		if found {
			return m.refuse(e, "a second model element")
		}
		found = true
		return r.model(e)
	})
	if err == nil && !found {
		err = refuse("%s is empty", m.name)
	}
	return r.part, err
}

func (r *partReader) model(e element) error {
	unit, ok := units[e.attr("unit")]
	if !ok {
		return r.refuse(e, "unknown unit %q; 3MF has micron, millimeter, centimeter, inch, foot and meter", e.attr("unit"))
	}
	r.part.unit = unit
	r.checkAttributes(e)
	if err := r.checkRequired(e); err != nil {
		return err
	}
	return r.children(func(e element) error {
		switch {
		case !r.core(e):
		case e.Name.Local == "resources":
			if r.hasResources {
				return r.refuse(e, "a second resources element")
			}
			r.hasResources = true
			if r.part.hasBuild {
				r.breach(e, "the resources come after the build; 3MF has them before it")
			}
			return r.children(r.resource)
		case e.Name.Local == "metadata":
			r.checkMetadata(e)
		case e.Name.Local == "build":
			if r.part.hasBuild {
				return r.refuse(e, "a second build element")
			}
			r.part.hasBuild = true
			if !r.hasResources {
				r.breach(e, "no resources element before the build; 3MF has one")
			}
			return r.children(r.item)
		default:
			r.breach(e, "<%s> is no part of a 3MF model", shorten(e.Name.Local))
		}
		return nil
	})
}

// breach notes, with its place, what the core specification forbids.
func (r *partReader) breach(e element, format string, args ...any) {
	r.archive.breach(r.markup, e, format, args...)
}

// checkMetadata holds a statement about the model against the specification: it has
// a name, and no two have the same.
func (r *partReader) checkMetadata(e element) {
	name := e.attr("name")
	switch {
	case name == "":
		r.breach(e, "<metadata> has no name")
	case r.metadata[name]:
		r.breach(e, "a second <metadata> named %q; 3MF has one of each name", shorten(name))
	}
	r.metadata[name] = true
}

// allowed are the attributes without a namespace that the core specification gives
// its elements. (xml:space and those of xsi are looked at for every element.)
var allowed = map[string]string{
	"model": "unit requiredextensions recommendedextensions", "metadata": "name type preserve", "metadatagroup": "",
	"resources": "", "build": "", "object": "id type thumbnail partnumber name pid pindex", "components": "", "mesh": "",
	"item": "objectid transform partnumber", "component": "objectid transform", "vertices": "", "triangles": "",
	"vertex": "x y z", "triangle": "v1 v2 v3 p1 p2 p3 pid", "basematerials": "id", "base": "name displaycolor",
}

const (
	xmlSpace = "http://www.w3.org/XML/1998/namespace"
	xsiSpace = "http://www.w3.org/2001/XMLSchema-instance"
)

// checkAttributes notes attributes that the core specification does not have.
func (r *partReader) checkAttributes(e element) {
	known, ok := allowed[e.Name.Local]
	for _, a := range e.Attr {
		switch {
		case a.Name.Space == xsiSpace:
			r.breach(e, "<%s> has xsi:%s, which 3MF forbids", e.Name.Local, shorten(a.Name.Local))
		case (a.Name.Space == "xml" || a.Name.Space == xmlSpace) && a.Name.Local == "space":
			r.breach(e, "<%s> has xml:space, which 3MF forbids", e.Name.Local)
		case ok && a.Name.Space == "" && a.Name.Local != "xmlns" && // the namespace of what is within
			!slices.Contains(strings.Fields(known), a.Name.Local):
			r.breach(e, "<%s> has an attribute %q, which 3MF does not", e.Name.Local, shorten(a.Name.Local))
		}
	}
}

// sliceSpace and setSpace name extensions that add to a mesh without changing
// its shape, like materials and the paths of the production extension.
const (
	sliceSpace = "http://schemas.microsoft.com/3dmanufacturing/slice/2015/07"
	setSpace   = "http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07"
)

// checkRequired refuses a file that calls an extension necessary which may change
// the shape: by the core specification no reader may go on without it.
func (r *partReader) checkRequired(e element) error {
	for _, prefix := range strings.Fields(e.attr("requiredextensions")) {
		switch space := e.attrIn("xmlns", prefix); space {
		case productionSpace, materialSpace, sliceSpace, setSpace:
		default:
			return r.refuse(e, "the file requires the extension %s (%q), which is not read: its shape is not in its meshes alone", prefix, space)
		}
	}
	return nil
}

// core reports whether an element is of the core specification, and notes others.
func (r *partReader) core(e element) bool {
	if e.Name.Space == coreSpace {
		if n := e.Name.Local; n != "vertex" && n != "triangle" { // of which there are millions
			r.checkAttributes(e)
		}
		return true
	}
	r.archive.notes.add("Passed over: %s (%s).", e.Name.Local, e.Name.Space)
	return false
}

func (r *partReader) resource(e element) error {
	if !r.core(e) {
		return nil
	}
	if id := e.attr("id"); id != "" {
		if was := r.part.ids[id]; was != "" {
			r.breach(e, "the id %s is that of a <%s> already; ids of resources are all different", shorten(id), was)
		} else if len(r.part.ids) < maxObjects {
			r.part.ids[id] = e.Name.Local
		}
	}
	if e.Name.Local != "object" {
		r.archive.notes.add("Passed over: %s.", e.Name.Local)
		return nil
	}
	id, err := r.number32(e, "id")
	if err != nil {
		return err
	}
	if _, dup := r.part.objects[id]; dup {
		return r.refuse(e, "a second object with the id %d", id)
	}
	if r.archive.objects++; r.archive.objects > maxObjects {
		return r.refuse(e, "more than %d objects", maxObjects)
	}
	o := &object{id: id, kind: e.attr("type")}
	r.part.objects[id] = o
	if o.kind != "" && !slices.Contains(objectTypes, o.kind) {
		return r.refuse(e, "object %d is of type %q; 3MF has %s: whether it is to be printed cannot be told", id, shorten(o.kind), strings.Join(objectTypes, ", "))
	}
	r.checkProperty(e, o)
	start := e
	r.repeated = 0
	err = r.children(func(e element) error {
		switch {
		case !r.core(e):
		case e.Name.Local == "mesh":
			if o.vertices != nil || o.components != nil {
				return r.refuse(e, "object %d has more than one mesh or list of components", id)
			}
			return r.mesh(o)
		case e.Name.Local == "components":
			if o.vertices != nil || o.components != nil {
				return r.refuse(e, "object %d has more than one mesh or list of components", id)
			}
			return r.children(func(e element) error {
				if !r.core(e) || e.Name.Local != "component" {
					return nil
				}
				c, err := r.reference(e)
				if err == nil && c.part == "" && r.part.objects[c.id] == nil {
					r.breach(e, "object %d has object %d for a component before that is given; 3MF gives a resource before it is used", id, c.id)
				}
				o.components = append(o.components, c)
				return err
			})
		default:
			r.breach(e, "<%s> is no part of an object", shorten(e.Name.Local))
		}
		return nil
	})
	if err == nil {
		r.checkObject(start, o)
	}
	return err
}

// objectTypes are what an object may be; without a type it is a model.
var objectTypes = []string{"model", "solidsupport", "support", "surface", "other"}

// checkProperty holds what an object says of its material against the rules: an index
// has a list that it counts in, and the list is one of the resources before it.
func (r *partReader) checkProperty(e element, o *object) {
	pid, index := e.attr("pid"), e.attr("pindex")
	switch {
	case index != "" && pid == "":
		r.breach(e, "object %d has pindex %q and no pid to say in which list", o.id, shorten(index))
	case pid != "" && index == "":
		r.breach(e, "object %d has pid %q and no pindex to say which of the list", o.id, shorten(pid))
	case pid != "" && (r.part.ids[pid] == "" || r.part.ids[pid] == "object"):
		r.breach(e, "object %d has pid %q, and no list of properties before it has that id", o.id, shorten(pid))
	}
}

// checkObject looks at an object that was read.
func (r *partReader) checkObject(e element, o *object) {
	solid := o.kind == "" || o.kind == "model" || o.kind == "solidsupport"
	switch n := len(o.vertices); {
	case o.vertices == nil && o.components == nil:
		r.breach(e, "object %d has neither a mesh nor components", o.id)
	case o.vertices == nil:
	case n < 3:
		r.breach(e, "object %d has %d vertices; a mesh has 3 at least", o.id, n)
	case solid && len(o.triangles) < 4:
		r.breach(e, "object %d has %d triangles; a solid has 4 at least", o.id, len(o.triangles))
	}
	if n := r.repeated; n > 0 {
		r.breach(e, "object %d has %d triangles with a vertex twice; the three of a triangle are all different", o.id, n)
	}
}

func (r *partReader) item(e element) error {
	if !r.core(e) || e.Name.Local != "item" {
		return nil
	}
	item, err := r.reference(e)
	r.part.items = append(r.part.items, item)
	return err
}

func (r *partReader) reference(e element) (reference3MF, error) {
	ref := reference3MF{line: e.line, column: e.column, transform: identity}
	if r.archive.refs++; r.archive.refs > maxObjects {
		return ref, r.refuse(e, "more than %d build items and components", maxObjects)
	}
	var err error
	if ref.id, err = r.number32(e, "objectid"); err != nil {
		return ref, err
	}
	if p := e.attrIn(productionSpace, "path"); p != "" {
		ref.part = partName(r.part.name, p)
	}
	if t := e.attr("transform"); t != "" {
		if ref.transform, err = parseAffine(t); err != nil {
			return ref, r.refuse(e, "%v", err)
		}
	}
	return ref, nil
}

func (r *partReader) mesh(o *object) error {
	o.vertices = []Vec{}
	return r.children(func(list element) error {
		switch {
		case !r.core(list):
			return nil
		case list.Name.Local == "vertices":
			return r.children(func(e element) error { return r.vertex(o, e) })
		case list.Name.Local == "triangles":
			return r.children(func(e element) error { return r.triangle(o, e) })
		}
		return nil
	})
}

func (r *partReader) vertex(o *object, e element) (err error) {
	if !r.core(e) || e.Name.Local != "vertex" {
		return nil
	}
	var v Vec
	for _, c := range [3]struct {
		name string
		x    *float64
	}{{"x", &v.X}, {"y", &v.Y}, {"z", &v.Z}} {
		if *c.x, err = r.coordinate(e, c.name, len(o.vertices)); err != nil {
			return err
		}
	}
	o.vertices = append(o.vertices, v)
	return nil
}

func (r *partReader) coordinate(e element, name string, vertex int) (float64, error) {
	text := strings.TrimSpace(e.attr(name))
	x, fault := parseDecimal([]byte(text))
	if fault != "" {
		return 0, r.refuse(e, "vertex %d: %s %q: %s", vertex, name, shorten(text), fault)
	}
	return x, nil
}

func (r *partReader) triangle(o *object, e element) (err error) {
	if !r.core(e) || e.Name.Local != "triangle" {
		return nil
	}
	var t [3]uint32
	for k, name := range [3]string{"v1", "v2", "v3"} {
		if t[k], err = r.number32(e, name); err != nil {
			return err
		}
		if int64(t[k]) >= int64(len(o.vertices)) {
			return r.refuse(e, "triangle %d uses vertex %d of %d (they count from 0)", len(o.triangles)+1, t[k], len(o.vertices))
		}
	}
	if repeats(t) {
		r.repeated++
	}
	o.triangles = append(o.triangles, t)
	return nil
}

// number32 reads a whole-number attribute that must be there.
func (r *partReader) number32(e element, name string) (uint32, error) {
	text := strings.TrimSpace(e.attr(name))
	n, err := strconv.ParseUint(text, 10, 32)
	if err != nil || n > math.MaxInt32 {
		if text == "" {
			return 0, r.refuse(e, "<%s> has no %s", e.Name.Local, name)
		}
		return 0, r.refuse(e, "<%s> has %s=%q; a whole number below 2³¹ expected", e.Name.Local, name, shorten(text))
	}
	return uint32(n), nil
}

func shorten(text string) string {
	if len(text) > 32 {
		return text[:32] + "…"
	}
	return text
}

// affine is the 3MF transform: a point as the row (x y z 1) times four rows of
// three, the last of them the shift.
type affine [4]Vec

var identity = affine{{X: 1}, {Y: 1}, {Z: 1}, {}}

func parseAffine(text string) (affine, error) {
	var a affine
	fields := strings.Fields(text)
	if len(fields) != 12 {
		return a, fmt.Errorf("a transform has 12 numbers, this one %d", len(fields))
	}
	var n [12]float64
	for i, f := range fields {
		x, fault := parseDecimal([]byte(f))
		if fault != "" {
			return a, fmt.Errorf("transform number %d, %q: %s", i+1, shorten(f), fault)
		}
		n[i] = x
	}
	for i := range a {
		a[i] = Vec{n[3*i], n[3*i+1], n[3*i+2]}
	}
	return a, nil
}

// apply places a point.
func (a *affine) apply(p Vec) Vec {
	return a.turn(p).Add(a[3])
}

func (a *affine) turn(p Vec) Vec {
	return a[0].Scale(p.X).Add(a[1].Scale(p.Y)).Add(a[2].Scale(p.Z))
}

// then is a followed by b.
func (a *affine) then(b *affine) affine {
	return affine{b.turn(a[0]), b.turn(a[1]), b.turn(a[2]), b.apply(a[3])}
}

// determinant is negative for a transform that mirrors.
func (a *affine) determinant() float64 { return a[0].Dot(a[1].Cross(a[2])) }
