package mesh_test

import (
	"bytes"
	"context"
	"fmt"

	"cardback/internal/mesh"
)

// A wedge is written as a text STL, read back, and counted.
func ExampleRead() {
	text := `solid wedge
facet normal 0 0 -1 outer loop vertex 0 0 0 vertex 0 10 0 vertex 10 0 0 endloop endfacet
facet normal 0 -1 0 outer loop vertex 0 0 0 vertex 10 0 0 vertex 0 0 10 endloop endfacet
facet normal -1 0 0 outer loop vertex 0 0 0 vertex 0 0 10 vertex 0 10 0 endloop endfacet
facet normal 1 1 1 outer loop vertex 10 0 0 vertex 0 10 0 vertex 0 0 10 endloop endfacet
endsolid wedge
`
	m, info, err := mesh.Read(context.Background(), bytes.NewReader([]byte(text)), int64(len(text)))
	if err != nil {
		fmt.Println(err)
		return
	}
	t := m.Topology()
	fmt.Println(info.Format, m.Bounds().Size())
	fmt.Println(len(m.Triangles), "triangles,", len(m.Vertices), "vertices,", t.Edges, "edges, closed:", t.Closed)
	// Output:
	// stl-ascii {10 10 10}
	// 4 triangles, 4 vertices, 6 edges, closed: true
}

// Faults name their line and column.
func ExampleRead_fault() {
	text := "solid wedge\nfacet normal 0 0 1\nouter loop\nvertex 0,5 0 0\n"
	_, _, err := mesh.Read(context.Background(), bytes.NewReader([]byte(text)), int64(len(text)))
	fmt.Println(err)
	// Output:
	// line 4, column 8: a coordinate of triangle 1, "0,5": decimal comma found; a decimal point expected
}
