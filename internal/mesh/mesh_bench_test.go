package mesh

import (
	"bytes"
	"context"
	"io"
	"strconv"
	"strings"
	"testing"
)

// perTriangle reports triangles a second.
func perTriangle(b *testing.B, triangles int) {
	b.ReportMetric(float64(triangles)*float64(b.N)/b.Elapsed().Seconds(), "triangles/s")
}

func benchmarkRead(b *testing.B, file []byte, triangles int) {
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		m, _, err := Read(context.Background(), bytes.NewReader(file), int64(len(file)))
		if err != nil || len(m.Triangles) != triangles {
			b.Fatal(err)
		}
	}
	perTriangle(b, triangles)
}

func BenchmarkReadSTL(b *testing.B) {
	b.Run("size=1M", func(b *testing.B) {
		var file bytes.Buffer
		if err := WriteSTL(&file, millionTorus(), "torus"); err != nil {
			b.Fatal(err)
		}
		benchmarkRead(b, file.Bytes(), 1_000_000)
	})
}

func BenchmarkReadASCII(b *testing.B) {
	b.Run("size=100k", func(b *testing.B) {
		m := torus(500, 100)
		benchmarkRead(b, []byte(asciiSTL(m)), len(m.Triangles))
	})
}

func BenchmarkRead3MF(b *testing.B) {
	b.Run("size=100k", func(b *testing.B) {
		m := torus(500, 100)
		var file bytes.Buffer
		if err := Write3MF(&file, []Object3MF{{Name: "torus", Mesh: m}}, nil); err != nil {
			b.Fatal(err)
		}
		benchmarkRead(b, file.Bytes(), len(m.Triangles))
	})
}

func BenchmarkWeld(b *testing.B) {
	b.Run("size=1M", func(b *testing.B) {
		m := millionTorus()
		b.ReportAllocs()
		for b.Loop() {
			w := newWelder(len(m.Triangles))
			for i := range m.Triangles {
				w.add(m.Corners(i))
			}
			if len(w.mesh.Vertices) != len(m.Vertices) {
				b.Fatal(len(w.mesh.Vertices))
			}
		}
		perTriangle(b, len(m.Triangles))
	})
}

func BenchmarkTopology(b *testing.B) {
	b.Run("size=1M", func(b *testing.B) {
		m := millionTorus()
		b.ReportAllocs()
		for b.Loop() {
			if t := m.Topology(); !t.Closed || t.Euler != 0 {
				b.Fatal(t.Euler)
			}
		}
		perTriangle(b, len(m.Triangles))
	})
}

func BenchmarkClosed(b *testing.B) {
	b.Run("size=1M", func(b *testing.B) {
		m := millionTorus()
		b.ReportAllocs()
		for b.Loop() {
			if closed, err := m.Closed(b.Context()); !closed || err != nil {
				b.Fatal(closed, err)
			}
		}
		perTriangle(b, len(m.Triangles))
	})
}

func BenchmarkFingerprint(b *testing.B) {
	b.Run("size=1M", func(b *testing.B) {
		m := millionTorus()
		b.ReportAllocs()
		for b.Loop() {
			if m.Fingerprint() == "" {
				b.Fatal()
			}
		}
		perTriangle(b, len(m.Triangles))
	})
}

func BenchmarkWriteSTL(b *testing.B) {
	b.Run("size=1M", func(b *testing.B) {
		m := millionTorus()
		b.ReportAllocs()
		for b.Loop() {
			if err := WriteSTL(io.Discard, m, "torus"); err != nil {
				b.Fatal(err)
			}
		}
		perTriangle(b, len(m.Triangles))
	})
}

// asciiSTL is m as a text STL with shortest exact decimals.
func asciiSTL(m *Mesh) string {
	var s strings.Builder
	s.WriteString("solid made for a test\n")
	for i := range m.Triangles {
		s.WriteString("facet normal 0 0 0\nouter loop\n")
		a, b, c := m.Corners(i)
		for _, v := range [3]Vec{a, b, c} {
			s.WriteString("vertex")
			for k := range 3 {
				s.WriteString(" " + strconv.FormatFloat(v.Component(k), 'g', -1, 64))
			}
			s.WriteString("\n")
		}
		s.WriteString("endloop\nendfacet\n")
	}
	s.WriteString("endsolid made for a test\n")
	return s.String()
}
