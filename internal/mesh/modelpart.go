package mesh

import (
	"fmt"
	"math"
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
}

func readModelPart(m *markup, a *archive) (*modelPart, error) {
	r := &partReader{m, &modelPart{name: m.name, objects: map[uint32]*object{}}, a}
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
	if err := r.checkRequired(e); err != nil {
		return err
	}
	return r.children(func(e element) error {
		switch {
		case !r.core(e):
		case e.Name.Local == "resources":
			return r.children(r.resource)
		case e.Name.Local == "build":
			if r.part.hasBuild {
				return r.refuse(e, "a second build element")
			}
			r.part.hasBuild = true
			return r.children(r.item)
		}
		return nil
	})
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
		return true
	}
	r.archive.notes.add("Passed over: %s (%s).", e.Name.Local, e.Name.Space)
	return false
}

func (r *partReader) resource(e element) error {
	if !r.core(e) {
		return nil
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
	return r.children(func(e element) error {
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
				o.components = append(o.components, c)
				return err
			})
		}
		return nil
	})
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
