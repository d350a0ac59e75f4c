package slice

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/stack"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// tower has 500,000 sides: each triangle crosses every layer.
func tower() *mesh.Mesh { return meshtest.Frustum(250_000, 20, 10, 100) }

func BenchmarkCut(b *testing.B) {
	for name, m := range map[string]*mesh.Mesh{"torus": meshtest.Million("torus"), "lump": meshtest.Million("lump"), "tower": tower()} {
		for _, p := range []Pose{{}, {40, "x"}} {
			b.Run("size=1M/"+name+"/"+p.String(), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					_, err := measure(context.Background(), m, Options{Pose: p})
					require.NoError(b, err)
				}
				b.ReportMetric(float64(len(m.Triangles))*float64(b.N)/b.Elapsed().Seconds(), "triangles/s")
			})
		}
	}
}

func BenchmarkTilts(b *testing.B) {
	m := meshtest.Million("lump")
	for name, look := range map[string]func(context.Context, *mesh.Mesh, float64) (stack.Report, error){"areas alone": lookNowhere, "all": stack.Of} {
		b.Run("size=1M/"+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := tilts(context.Background(), m, Options{}, look)
				require.NoError(b, err)
			}
		})
	}
}
