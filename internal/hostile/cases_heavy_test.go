package hostile

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// copies puts n meshes into one file as they are.
func copies(n int, each func(i int) *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{}
	for i := range n {
		m := each(i)
		at := uint32(len(out.Vertices))
		out.Vertices = append(out.Vertices, m.Vertices...)
		for _, t := range m.Triangles {
			out.Triangles = append(out.Triangles, [3]uint32{t[0] + at, t[1] + at, t[2] + at})
		}
	}
	return out
}

// around is a cube about the origin.
func around(side float64) *mesh.Mesh {
	m := Cube(side)
	for i, p := range m.Vertices {
		m.Vertices[i] = p.Sub(mesh.Vec{X: side / 2, Y: side / 2, Z: side / 2})
	}
	return m
}

// ball is a ball of so many rows and columns.
func ball(radius float64, rows, columns int) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range rows + 1 {
		for j := range columns {
			a, b := math.Pi*float64(i)/float64(rows), 2*math.Pi*float64(j)/float64(columns)
			x := math.Sin(a)
			if i == 0 || i == rows {
				x = 0
			}
			m.Vertices = append(m.Vertices, mesh.Vec{X: radius * x * math.Cos(b), Y: radius * x * math.Sin(b), Z: radius * math.Cos(a)})
		}
	}
	at := func(i, j int) uint32 { return uint32(i*columns + j%columns) }
	for i := range rows {
		for j := range columns {
			if i > 0 {
				m.Triangles = append(m.Triangles, [3]uint32{at(i, j), at(i+1, j), at(i, j+1)})
			}
			if i < rows-1 {
				m.Triangles = append(m.Triangles, [3]uint32{at(i+1, j), at(i+1, j+1), at(i, j+1)})
			}
		}
	}
	return m
}

// cylinder is one of so many sides.
func cylinder(radius, height float64, sides int) *mesh.Mesh {
	m := &mesh.Mesh{Vertices: []mesh.Vec{{}, {Z: height}}}
	for i := range sides {
		a := 2 * math.Pi * float64(i) / float64(sides)
		p := mesh.Vec{X: radius * math.Cos(a), Y: radius * math.Sin(a)}
		m.Vertices = append(m.Vertices, p, p.Add(mesh.Vec{Z: height}))
	}
	for i := range uint32(sides) {
		p, q := 2+2*i, 2+2*((i+1)%uint32(sides))
		m.Triangles = append(m.Triangles, [3]uint32{0, q, p}, [3]uint32{1, p + 1, q + 1}, [3]uint32{p, q, q + 1}, [3]uint32{p, q + 1, p + 1})
	}
	return m
}

// sparse makes a file of zeros, of any size, that begins as a binary STL.
func (d Dir) sparse(name string, count uint32, size int64) {
	d.Write(name, binary.LittleEndian.AppendUint32(make([]byte, 80), count))
	if err := os.Truncate(d.At(name), size); err != nil {
		d.Skip("this system has no files of gigabytes: " + err.Error())
	}
}

// heavyMesh is a case of measuring one mesh.
func heavyMesh(name string, seconds, megabytes int, m func() *mesh.Mesh, says ...string) Case {
	return Case{
		Name: name, Args: []string{"measure", "heavy.stl"}, Seconds: seconds, Megabytes: megabytes,
		Make: func(d Dir) { d.Write("heavy.stl", STL(m())) }, Says: append([]string{"fingerprint"}, says...),
	}
}

// heavy are meshes and plates that would take all time or all memory.
var heavy = []Case{
	heavyMesh("copies-of-one-cube", 30, 600, func() *mesh.Mesh {
		return copies(20_000, func(int) *mesh.Mesh { return around(20) })
	}, `Crossings were not counted past \d+ pairs of triangles`),
	heavyMesh("nested-shells", 30, 600, func() *mesh.Mesh {
		return copies(3000, func(i int) *mesh.Mesh { return around(20 + 0.02*float64(i)) })
	}, "2999 shells lie wholly inside another solid"),
	heavyMesh("large-crossing-triangles", 40, 600, func() *mesh.Mesh {
		rng := rand.New(rand.NewPCG(1, 2))
		at := func() mesh.Vec {
			return mesh.Vec{X: 100 * rng.Float64(), Y: 100 * rng.Float64(), Z: 100 * rng.Float64()}
		}
		return copies(8000, func(int) *mesh.Mesh {
			return &mesh.Mesh{Vertices: []mesh.Vec{at(), at(), at()}, Triangles: [][3]uint32{{0, 1, 2}}}
		})
	}, `Crossings were not counted past \d+ pairs of triangles`),
	heavyMesh("edge-of-20000-triangles", 30, 600, func() *mesh.Mesh { return meshtest.Fan(20_000) }, `Crossings were not counted past \d+ pairs of triangles`),
	heavyMesh("ball-of-30000-hull-points", 30, 600, func() *mesh.Mesh { return ball(15, 150, 200) }),
	heavyMesh("cylinder-of-20000-sides", 30, 600, func() *mesh.Mesh { return cylinder(10, 30, 20_000) }),
	{
		Name: "fan-is-built", Args: []string{"build", "--with-faults"}, Exit: 0, Seconds: 60, Megabytes: 900,
		Make: func(d Dir) { d.Content(); d.Write(peg+"/any.stl", STL(meshtest.Fan(20_000))) }, Says: []string{"1 mesh file"},
	},
	{
		Name: "items-of-one-cube", Args: []string{"measure", "heavy.3mf"}, Seconds: 40, Megabytes: 900,
		Make: func(d Dir) {
			var b strings.Builder
			b.WriteString(`<?xml version="1.0" encoding="UTF-8"?><model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="1" type="model"><mesh><vertices>`)
			c := Cube(1)
			for _, p := range c.Vertices {
				fmt.Fprintf(&b, `<vertex x="%g" y="%g" z="%g"/>`, p.X, p.Y, p.Z)
			}
			b.WriteString(`</vertices><triangles>`)
			for _, t := range c.Triangles {
				fmt.Fprintf(&b, `<triangle v1="%d" v2="%d" v3="%d"/>`, t[0], t[1], t[2])
			}
			b.WriteString(`</triangles></mesh></object></resources><build>`)
			for i := range 99_000 {
				fmt.Fprintf(&b, `<item objectid="1" transform="1 0 0 0 1 0 0 0 1 %g %g 0"/>`, 1.5*float64(i%315), 1.5*float64(i/315))
			}
			b.WriteString(`</build></model>`)
			d.Write("heavy.3mf", Package3MF(b.String()))
		},
		Says: []string{"1188000 triangles", "99000 separate shells"},
	},
	{
		Name: "stl-of-50-million-zeros", Args: []string{"measure", "heavy.stl"}, Exit: 1, Seconds: 5, Megabytes: 100,
		Make: func(d Dir) { d.sparse("heavy.stl", 50_000_000, 84+50*50_000_000) },
		Says: []string{"heavy.stl: 50000000 triangles; at most 10000000 are read"},
	},
	{
		Name: "stl-sparse-of-5-gb", Args: []string{"proof"}, Exit: 1, Seconds: 10, Megabytes: 200,
		Make: func(d Dir) { d.Content(); d.sparse(peg+"/any.stl", 100_000_001, 84+50*100_000_001) },
		Says: []string{"100000001 triangles; at most 10000000 are read"},
	},
	{
		Name: "coordinates-of-1e30", Args: []string{"build"}, Exit: 1, Megabytes: 600,
		Make: func(d Dir) { d.Content(); d.Write(peg+"/any.stl", STL(ball(1e30, 20, 30))) },
		Says: []string{`any\.stl: fault: triangle 1 has a corner at \(1\.564e\+29, 0, 9\.877e\+29\) mm, more than 10 km from the origin`},
	},
	{
		Name: "coordinates-of-1e30-measured", Args: []string{"measure", "heavy.stl"}, Exit: 0, Megabytes: 600,
		Make: func(d Dir) { d.Write("heavy.stl", STL(ball(1e30, 20, 30))) },
		Says: []string{"fingerprint"},
	},
}
