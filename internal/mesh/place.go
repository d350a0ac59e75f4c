package mesh

import (
	"math"
	"slices"
)

// placer puts the objects of a build into one mesh.
type placer struct {
	archive   *archive
	unit      float64 // of the root model; it holds for all parts
	welder    *welder
	instances int
	placed    int       // vertices and triangles
	number    []uint32  // scratch: the welded number of each of a mesh's vertices
	open      []*object // being placed, outermost first
}

func (p *placer) item(root *modelPart, ref reference3MF) error {
	part, o, err := p.find(root, ref)
	if err != nil {
		return err
	}
	switch o.kind {
	case "other":
		return refuse("%s:%d:%d: object %d is of type other, which 3MF keeps out of the build: whether it is to be printed cannot be told", root.name, ref.line, ref.column, o.id)
	case "", "model", "solidsupport":
	default:
		p.archive.notes.add("Object %d of type %s is in the build and was read with the rest.", o.id, o.kind)
	}
	if part.unit != p.unit {
		p.archive.notes.add("%s names another unit than the root model, whose unit holds.", part.name)
	}
	return p.place(part, o, ref.transform)
}

// find looks an object up, reading its model part if need be.
func (p *placer) find(from *modelPart, ref reference3MF) (*modelPart, *object, error) {
	part := from
	if ref.part != "" {
		var err error
		if part, err = p.archive.part(ref.part); err != nil {
			return nil, nil, err
		}
	}
	o, ok := part.objects[ref.id]
	if !ok {
		return nil, nil, refuse("%s:%d:%d: no object %d in %s", from.name, ref.line, ref.column, ref.id, part.name)
	}
	return part, o, nil
}

func (p *placer) place(part *modelPart, o *object, t affine) error {
	if p.instances++; p.instances > maxInstances {
		return refuse("the build places more than %d objects", maxInstances)
	}
	for _, outer := range p.open {
		if outer == o {
			return refuse("object %d of %s is a component of itself", o.id, part.name)
		}
	}
	if len(p.open) == maxNesting {
		return refuse("components nest deeper than %d at object %d of %s", maxNesting, o.id, part.name)
	}
	p.open = append(p.open, o)
	defer func() { p.open = p.open[:len(p.open)-1] }()

	for _, c := range o.components {
		inner, child, err := p.find(part, c)
		if err != nil {
			return err
		}
		if err := p.place(inner, child, c.transform.then(&t)); err != nil {
			return err
		}
	}
	if len(o.triangles) == 0 {
		return nil
	}
	return p.placeMesh(part, o, t)
}

// placeMesh adds one instance of a mesh, in a weld scope of its own. Vertices
// come out in the order triangles first use them; those no triangle uses are
// left out.
func (p *placer) placeMesh(part *modelPart, o *object, t affine) error {
	if err := p.archive.ctx.Err(); err != nil {
		return err
	}
	if p.placed += len(o.vertices) + len(o.triangles); p.placed > maxPlaced {
		return refuse("the build places more than %d vertices and triangles", maxPlaced)
	}
	det := t.determinant()
	if det == 0 || math.IsNaN(det) || math.IsInf(det, 0) {
		return refuse("object %d of %s is placed by a transform of determinant %v, which leaves no solid", o.id, part.name, det)
	}
	const unseen = math.MaxUint32
	number := slices.Grow(p.number[:0], len(o.vertices))[:len(o.vertices)]
	p.number = number
	for i := range number {
		number[i] = unseen
	}
	p.welder.scope(len(o.vertices))
	for i, tri := range o.triangles {
		for k, v := range tri {
			if number[v] == unseen {
				at := t.apply(o.vertices[v]).Scale(p.unit)
				if !finite(at) {
					return refuse("triangle %d of object %d of %s is placed beyond the range of 32-bit numbers", i+1, o.id, part.name)
				}
				number[v] = p.welder.vertex(at)
			}
			tri[k] = number[v]
		}
		if det < 0 {
			tri[1], tri[2] = tri[2], tri[1]
		}
		p.welder.mesh.Triangles = append(p.welder.mesh.Triangles, tri)
	}
	return nil
}
