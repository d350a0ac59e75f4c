package change

import (
	"math"
	"math/rand/v2"
	"testing"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// BenchmarkCompare compares meshes of a million triangles: with a dent, moved, and
// with every vertex off by a little.
func BenchmarkCompare(b *testing.B) {
	old := meshtest.Million("lump")
	size := old.Bounds().Size().Norm()
	middle := old.Vertices[len(old.Vertices)/3]
	dented := inFloat32(meshtest.Moved(old, func(p mesh.Vec) mesh.Vec {
		way := p.Sub(middle).Norm() / (size / 20)
		return p.Add(mesh.Vec{Z: -size / 100 * math.Exp(-way*way)})
	}))
	for _, c := range []struct {
		name string
		new  *mesh.Mesh
		want Kind
	}{
		{"dented", dented, Changed},
		{"moved", inFloat32(turned(old)), Moved},
		{"rough", meshtest.Noise(old, rand.New(rand.NewPCG(1, 1)), 0.01), Changed},
	} {
		b.Run(c.name+"/size=1M", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if got := compare(b, old, c.new); got.Kind != c.want {
					b.Fatal(got.Kind)
				}
			}
		})
	}
}
