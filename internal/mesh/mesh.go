package mesh

// Mesh is an indexed triangle mesh in millimetres. Corners with exactly equal
// coordinates are one vertex (−0 equals 0): over the whole file for STL, within
// each mesh instance for 3MF. Triangles keep the file's order and winding; the
// right-hand rule on that order gives the outward side. Facet normals in a
// file are ignored. A Mesh is never written to after it is made.
type Mesh struct {
	Vertices  []Vec
	Triangles [][3]uint32
}

// Bounds is the least axis-aligned box around the vertices that triangles use;
// the zero Box for a mesh without triangles.
func (m *Mesh) Bounds() Box {
	var b Box
	for i, t := range m.Triangles {
		for j, v := range t {
			p := m.Vertices[v]
			if i == 0 && j == 0 {
				b = Box{p, p}
				continue
			}
			b.Min = Vec{min(b.Min.X, p.X), min(b.Min.Y, p.Y), min(b.Min.Z, p.Z)}
			b.Max = Vec{max(b.Max.X, p.X), max(b.Max.Y, p.Y), max(b.Max.Z, p.Z)}
		}
	}
	return b
}

// Corners returns the three corner points of triangle i.
func (m *Mesh) Corners(i int) (a, b, c Vec) {
	t := m.Triangles[i]
	return m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
}

// Mirrored returns the mirror image in the plane x = 0, with every triangle's
// winding reversed so that the outward side stays outward.
func (m *Mesh) Mirrored() *Mesh {
	out := &Mesh{Vertices: make([]Vec, len(m.Vertices)), Triangles: make([][3]uint32, len(m.Triangles))}
	for i, v := range m.Vertices {
		out.Vertices[i] = Vec{0 - v.X, v.Y, v.Z} // 0 − x, so that 0 does not become −0
	}
	for i, t := range m.Triangles {
		out.Triangles[i] = [3]uint32{t[0], t[2], t[1]}
	}
	return out
}

// Format names the encoding a mesh was read from.
type Format string

const (
	STLBinary Format = "stl-binary"
	STLASCII  Format = "stl-ascii"
	ThreeMF   Format = "3mf"
)

// Info is what reading a file told beside its geometry.
type Info struct {
	Format Format
	// Notes are plain sentences about what was accepted or passed over:
	// trailing bytes, several solids, resources that are not meshes.
	Notes []string
	// Breaches are sentences, each with its place, about what the file's format
	// forbids and what leaves the shape as clear as it was. Another program may refuse
	// the file for it.
	Breaches []string `json:",omitempty"`
}
