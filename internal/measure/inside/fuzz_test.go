package inside_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func ctx(t require.TestingT) context.Context {
	if t, ok := t.(interface{ Context() context.Context }); ok {
		return t.Context()
	}
	return context.Background()
}

// Any heap of triangles, made closed by giving each one again turned over: every line
// along and through its corners is whole.
func FuzzLinesOfPairedTriangles(f *testing.F) {
	for _, m := range []*mesh.Mesh{meshtest.Box(1, 2, 3), meshtest.Tetrahedron(), meshtest.HoledBox(4, 3, 2, 1)} {
		f.Add(meshtest.Bytes(m))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m := meshtest.FromBytes(data)
		if m == nil || len(m.Triangles) == 0 {
			return
		}
		m = meshtest.Together(m, meshtest.InsideOut(m))
		r := solid(t, m).Ruler()
		for i := range min(len(m.Triangles), 20) {
			a, b, c := m.Corners(i)
			for _, d := range []mesh.Vec{{X: 1}, {Y: -1}, {Z: 1}, b.Sub(a), c.Sub(b), {X: 1, Y: 1, Z: 1}} {
				spans, whole := r.Spans(a, d)
				if whole {
					for _, s := range spans {
						require.LessOrEqual(t, s.From, s.To)
					}
					continue
				}
				require.Zero(t, len(spans))
				n := d.Norm()
				require.False(t, n > 1e-150 && n < 1e150, "along %v from %v", d, a)
			}
		}
	})
}
