package measure

import (
	"bufio"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/reference"
)

// The big meshes of timings.md, made by the formulas of its make_big.py and in
// the same order of triangles, as corners; they are not welded before the file
// is read.

// ripples is a torus with ripples of three kinds, round u and about the section v.
func ripples(nu, nv int) (points []mesh.Vec, triangles [][3]uint32) {
	for i := range nu {
		a := 2 * math.Pi * float64(i) / float64(nu)
		for j := range nv {
			b := 2 * math.Pi * float64(j) / float64(nv)
			r := 15 + 1.5*math.Sin(9*a+4*b) + .7*math.Cos(23*b-5*a) + .2*math.Sin(61*a)*math.Cos(47*b)
			points = append(points, mesh.Vec{X: (40 + r*math.Cos(b)) * math.Cos(a), Y: (40 + r*math.Cos(b)) * math.Sin(a), Z: r * math.Sin(b)})
		}
	}
	at := func(i, j int) uint32 { return uint32(i%nu*nv + j%nv) }
	var second [][3]uint32
	for i := range nu {
		for j := range nv {
			triangles = append(triangles, [3]uint32{at(i, j), at(i+1, j), at(i+1, j+1)})
			second = append(second, [3]uint32{at(i, j), at(i+1, j+1), at(i, j+1)})
		}
	}
	return points, append(triangles, second...)
}

// subdivided cuts every triangle of a mesh in four, four times over, and waves
// the result a little: 5856 triangles become 1,499,136.
func subdivided(m *mesh.Mesh) (points []mesh.Vec, triangles [][3]uint32) {
	points, triangles = slices.Clone(m.Vertices), slices.Clone(m.Triangles)
	for range 4 {
		middles := map[[2]uint32]uint32{}
		middle := func(a, b uint32) uint32 {
			key := [2]uint32{min(a, b), max(a, b)}
			n, made := middles[key]
			if !made {
				n = uint32(len(points))
				points = append(points, points[a].Add(points[b]).Scale(0.5))
				middles[key] = n
			}
			return n
		}
		var four [4][][3]uint32
		for _, t := range triangles {
			x, y, z := middle(t[0], t[1]), middle(t[1], t[2]), middle(t[2], t[0])
			four[0] = append(four[0], [3]uint32{t[0], x, z})
			four[1] = append(four[1], [3]uint32{x, t[1], y})
			four[2] = append(four[2], [3]uint32{z, y, t[2]})
			four[3] = append(four[3], [3]uint32{x, y, z})
		}
		triangles = slices.Concat(four[:]...)
	}
	size := m.Bounds().Size()
	h := max(size.X, size.Y, size.Z)
	for i, p := range points {
		k := 200 / h
		points[i] = p.Add(mesh.Vec{X: math.Sin(p.Y * k), Y: math.Sin(p.Z * k), Z: math.Sin(p.X * k)}.Scale(2e-4 * h))
	}
	return points, triangles
}

// bigMesh writes one of the big meshes and returns its file and triangles.
func bigMesh(b testing.TB, name string) (string, int) {
	var points []mesh.Vec
	var triangles [][3]uint32
	switch name {
	case "torus_1M":
		points, triangles = ripples(1000, 500)
	case "torus_2M":
		points, triangles = ripples(1250, 800)
	case "torus_5M":
		points, triangles = ripples(2500, 1000)
	case "subdivided_scan":
		reference.Files(b) // skips where there are none
		m, _, err := mesh.ReadFile(b.Context(), filepath.Join(reference.Folder, "common", "spot.stl"))
		require.NoError(b, err)
		points, triangles = subdivided(m)
		require.Len(b, triangles, 1_499_136)
	}
	path := filepath.Join(b.TempDir(), name+".stl")
	f, err := os.Create(path)
	require.NoError(b, err)
	out := bufio.NewWriter(f)
	put := func(v any) { require.NoError(b, binary.Write(out, binary.LittleEndian, v)) }
	put(make([]byte, 80))
	put(uint32(len(triangles)))
	record := make([]byte, 50)
	for _, t := range triangles {
		for k, v := range t {
			for x := range 3 {
				binary.LittleEndian.PutUint32(record[12+12*k+4*x:], math.Float32bits(float32(points[v].Component(x))))
			}
		}
		_, err := out.Write(record)
		require.NoError(b, err)
	}
	require.NoError(b, out.Flush())
	require.NoError(b, f.Close())
	return path, len(triangles)
}

// BenchmarkLoadToClosed is what timings.md has of general-purpose libraries: a
// binary STL, in the system's file cache, is read and welded exactly, its volume
// and area are added up, and it is asked whether it is closed. The floor beside
// it is reading the file's bytes into memory.
func BenchmarkLoadToClosed(b *testing.B) {
	for _, name := range []string{"torus_1M", "subdivided_scan", "torus_2M"} {
		b.Run(name, func(b *testing.B) {
			path, triangles := bigMesh(b, name)
			b.Run("do=measure", func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					m, _, err := mesh.ReadFile(b.Context(), path)
					require.NoError(b, err)
					sums, err := massOf(b.Context(), m, m.Bounds().Centre())
					require.NoError(b, err)
					closed, err := m.Closed(b.Context())
					require.NoError(b, err)
					require.True(b, closed && sums.volume.Value() > 0 && sums.area.Value() > 0)
				}
				b.ReportMetric(float64(triangles)*float64(b.N)/b.Elapsed().Seconds(), "triangles/s")
			})
			b.Run("do=floor", func(b *testing.B) {
				block := make([]byte, 400<<10)
				for b.Loop() {
					f, err := os.Open(path)
					require.NoError(b, err)
					for n := 1; n > 0; {
						n, _ = f.Read(block)
					}
					require.NoError(b, f.Close())
				}
			})
		})
	}
}
