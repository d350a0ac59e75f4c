package cli

import (
	"bytes"
	"math"

	"cardback/internal/mesh"
)

// The placeholder: a cube with a hole through it for a rod of 1.5 mm, in mm.
const (
	blockSide  = 20.0
	blockHole  = 1.65 // between the flats of the polygon, so that this is what passes
	blockSides = 24   // of the hole; a multiple of four
)

// placeholderMesh is the block as a binary STL: closed, right way out, standing on
// z = 0.
func placeholderMesh() ([]byte, error) {
	var b bytes.Buffer
	err := mesh.WriteSTL(&b, block(), "placeholder block, 20 mm; replace this file")
	return b.Bytes(), err
}

func block() *mesh.Mesh {
	const n = blockSides
	// A polygon round a circle of radius r has its corners at r / cos(π/n).
	corner := blockHole / 2 / math.Cos(math.Pi/n)
	var m mesh.Mesh
	for _, z := range []float64{0, blockSide} {
		for q := range 4 { // the cube's corners, anticlockwise from the one at 45°
			x, y := blockSide/2, blockSide/2
			if q == 1 || q == 2 {
				x = -x
			}
			if q >= 2 {
				y = -y
			}
			m.Vertices = append(m.Vertices, mesh.Vec{X: x, Y: y, Z: z})
		}
		for i := range n { // the hole's, from the one on the x axis
			a := 2 * math.Pi * float64(i) / n
			m.Vertices = append(m.Vertices, mesh.Vec{X: corner * math.Cos(a), Y: corner * math.Sin(a), Z: z})
		}
	}
	const top = 4 + n // index of the upper face's first vertex
	outer := func(q int) uint32 { return uint32(q % 4) }
	inner := func(i int) uint32 { return uint32(4 + i%n) }
	add := func(a, b, c uint32) { m.Triangles = append(m.Triangles, [3]uint32{a, b, c}) }
	face := func(a, b, c uint32) { // seen from above anticlockwise: the top as it is, the bottom turned
		add(a+top, b+top, c+top)
		add(a, c, b)
	}
	wall := func(a, b uint32) { // the solid lies to the left of a to b
		add(a, b, b+top)
		add(a, b+top, a+top)
	}
	for i := range n { // each side of the hole sees the cube's corner of its quarter
		face(outer(i*4/n), inner(i+1), inner(i))
		wall(inner(i+1), inner(i))
	}
	for q := range 4 { // and between two corners stands the vertex on the axis
		face(outer(q), outer(q+1), inner((q+1)*n/4))
		wall(outer(q), outer(q+1))
	}
	return &m
}
