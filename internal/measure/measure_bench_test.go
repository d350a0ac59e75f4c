package measure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

// bench1M are two meshes of a million triangles with 32-bit coordinates. Half of
// the torus's vertices are on its hull, far more than on any sculpt; the lump
// (a sphere with waves) is more like one.
func bench1M() map[string]*mesh.Mesh {
	return map[string]*mesh.Mesh{
		"torus": ringTorus(1000, 500, 10, 2, asFloat32),
		"lump": moved(uvSphere(1, 1000, 501), func(p mesh.Vec) mesh.Vec {
			r := 20 + math.Sin(17*p.X)*math.Sin(23*p.Y) + math.Sin(11*p.Z+5*p.X)
			return mesh.Vec{X: asFloat32(r * p.X), Y: asFloat32(r * p.Y), Z: asFloat32(1.5 * r * p.Z)}
		}),
	}
}

func bench(b *testing.B, f func(m *mesh.Mesh) error) {
	for name, m := range bench1M() {
		b.Run("size=1M/shape="+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, f(m))
			}
			b.ReportMetric(float64(len(m.Triangles))*float64(b.N)/b.Elapsed().Seconds(), "triangles/s")
		})
	}
}

func BenchmarkMeasure(b *testing.B) {
	bench(b, func(m *mesh.Mesh) error { _, err := Measure(b.Context(), m); return err })
}

func BenchmarkHull(b *testing.B) {
	bench(b, func(m *mesh.Mesh) error { _, err := Hull(b.Context(), m); return err })
}

func BenchmarkMass(b *testing.B) {
	bench(b, func(m *mesh.Mesh) error { _, err := massOf(b.Context(), m, mesh.Vec{}); return err })
}

func BenchmarkStars(b *testing.B) {
	bench(b, func(m *mesh.Mesh) error { _, err := starsOf(m).count(b.Context()); return err })
}

func BenchmarkDiameter(b *testing.B) {
	hulls := map[*mesh.Mesh][]mesh.Vec{}
	bench(b, func(m *mesh.Mesh) error {
		if hulls[m] == nil {
			b.StopTimer()
			h, err := Hull(b.Context(), m)
			if err != nil {
				return err
			}
			hulls[m] = h
			b.StartTimer()
			b.ReportMetric(float64(len(h)), "hull-vertices")
		}
		diameterOf(hulls[m])
		return nil
	})
}

// A sphere is the worst case of the diameter: nearly every pair of opposite
// points could be the one.
func BenchmarkDiameterOfSphere(b *testing.B) {
	b.ReportAllocs()
	var points []mesh.Vec
	for i := range 200_000 {
		p := spiral(i, 200_000).Scale(30)
		points = append(points, mesh.Vec{X: asFloat32(p.X), Y: asFloat32(p.Y), Z: asFloat32(p.Z)})
	}
	for b.Loop() {
		diameterOf(points)
	}
}
