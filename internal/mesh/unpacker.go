package mesh

import (
	"encoding/binary"
	"math"
)

// unpacker walks as the packer did, by its steps.
type unpacker struct {
	steps, far []byte
	axes       [3]packedAxis
	points     []point32
	vertices   int // to come
	mesh       *Mesh
	err        error
}

func (u *unpacker) run(triangles, vertices int) (*Mesh, error) {
	u.vertices = vertices
	w := newPackWalk()
	for len(u.mesh.Triangles) < triangles && u.err == nil {
		g, ok := w.ask()
		if !ok {
			u.anew(w)
			continue
		}
		step := u.step()
		over := step >= turnedOver
		if over {
			step -= turnedOver
		}
		var c uint32
		ok = true
		switch step {
		case stepNone:
			if over {
				u.fail("has a step that this program does not know")
			}
			continue
		case stepNew:
			c = u.meet(w, g.from, g.to, g.opposite)
		case stepRight:
			c, ok = w.right(g)
		case stepLeft:
			c, ok = w.left(g)
		case stepFar:
			c = u.meetAgain()
		}
		if !ok {
			u.fail("steps to where nothing is")
		}
		if u.err != nil {
			break
		}
		if over {
			u.mesh.Triangles = append(u.mesh.Triangles, [3]uint32{g.to, g.from, c})
		} else {
			u.mesh.Triangles = append(u.mesh.Triangles, [3]uint32{g.from, g.to, c})
		}
		w.through(g, c, over)
	}
	// What is left are gates behind which there is nothing.
	for _, s := range u.steps {
		if s != stepNone {
			u.fail("goes on after its last triangle")
		}
	}
	if len(u.points) != vertices || len(u.far) != 0 {
		u.fail("has more in it than its triangles take")
	}
	if u.err != nil {
		return nil, u.err
	}
	return u.mesh, nil
}

func (u *unpacker) fail(text string) {
	if u.err == nil {
		u.err = refuse("the packed mesh %s", text)
	}
}

func (u *unpacker) step() byte {
	if len(u.steps) == 0 {
		u.fail("ends before its last triangle")
		return stepNone
	}
	s := u.steps[0]
	u.steps = u.steps[1:]
	if s >= stepEnd {
		u.fail("has a step that this program does not know")
		return stepNone
	}
	return s
}

func (u *unpacker) anew(w *packWalk) {
	var corner [3]uint32
	for k := range 3 {
		switch u.step() {
		case stepFar:
			corner[k] = u.meetAgain()
		case stepNew:
			b := newest(len(u.points), corner, k)
			corner[k] = u.meet(w, b, b, b)
		default:
			u.fail("begins its walk with a step that is none")
		}
		if u.err != nil {
			return
		}
	}
	u.mesh.Triangles = append(u.mesh.Triangles, corner)
	for k := range 3 {
		w.side(corner[k], corner[(k+1)%3], corner[(k+2)%3])
	}
}

// meet reads a new vertex.
func (u *unpacker) meet(w *packWalk, beside, along, behind uint32) uint32 {
	n := len(u.points)
	if n == u.vertices {
		u.fail("has more vertices than it says")
		return 0
	}
	var o [3]uint32
	for k := range 3 {
		a := &u.axes[k]
		expected := foretold(foretellNothing, 0, 0, 0)
		if n > 0 {
			expected = foretold(a.decision%foretellByPlanes, u.points[beside].axis(k), u.points[along].axis(k), u.points[behind].axis(k))
		}
		o[k] = expected + unzigzag(a.at(n, u.vertices))
	}
	p := Vec{fromOrdered(o[0]), fromOrdered(o[1]), fromOrdered(o[2])}
	if !finite(p) {
		u.fail("has a coordinate that is not a finite number")
		return 0
	}
	u.points = append(u.points, point32{o[0], o[1], o[2]})
	u.mesh.Vertices = append(u.mesh.Vertices, Vec{p.X + 0, p.Y + 0, p.Z + 0})
	w.vertex()
	return uint32(n)
}

// meetAgain reads the number of a vertex met before.
func (u *unpacker) meetAgain() uint32 {
	back, n := binary.Uvarint(u.far)
	if n <= 0 || back >= uint64(len(u.points)) || back > math.MaxUint32 {
		u.fail("names a vertex that it has not")
		return 0
	}
	u.far = u.far[n:]
	return uint32(uint64(len(u.points)) - 1 - back)
}
