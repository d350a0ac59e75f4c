package measure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/bore"
	"cardback/internal/measure/shadow"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func FuzzMeasure(f *testing.F) {
	for _, m := range []*mesh.Mesh{meshtest.Box(1, 2, 3), meshtest.Tetrahedron(), meshtest.Without(meshtest.Octahedron(), 1), meshtest.HoledBox(4, 3, 2, 1)} {
		f.Add(meshtest.Bytes(m))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m := meshtest.FromBytes(data)
		if m == nil {
			return
		}
		size := m.Bounds().Size()
		diagonal := size.Norm()
		// A few roundings of the size, and what a sum of few terms can lose.
		const slack = 1e-12
		// All of Measure but thin places, of which a mesh this small has as many
		// samples as a large one; their package has a fuzz target of its own.
		r, top, err := figures(t.Context(), m)
		require.NoError(t, err)
		if len(m.Triangles) > 0 {
			tr, err := tree.New(t.Context(), m)
			require.NoError(t, err)
			require.NoError(t, inspectSurface(t.Context(), tr, &top, r))
			r.Bores, err = bore.Find(t.Context(), tr)
			require.NoError(t, err)
			for _, h := range r.Bores.Holes {
				require.LessOrEqual(t, h.Free, h.Diameter*(1+slack)+2*h.Residual+slack*diagonal)
			}
		}
		require.LessOrEqual(t, r.Crossings.Touching, r.Crossings.Count)
		r.Findings = findingsOf(r, top, noVolume(r.Volume, r.Triangles, r.Bounds.Size()))
		require.GreaterOrEqual(t, r.Area, 0.0)
		require.GreaterOrEqual(t, r.HullVolume, 0.0)
		require.LessOrEqual(t, r.HullVolume, size.X*size.Y*size.Z+slack*diagonal*diagonal*diagonal)
		require.LessOrEqual(t, r.Diameter, diagonal*(1+slack))
		require.GreaterOrEqual(t, r.Diameter, max(size.X, size.Y, size.Z)*(1-slack))
		require.LessOrEqual(t, r.DegenerateTriangles, r.Triangles)
		require.Less(t, r.DuplicateTriangles, max(r.Triangles, 1))
		require.Equal(t, r.Closed && r.Genus != nil, r.Genus != nil)
		if r.Genus != nil {
			require.GreaterOrEqual(t, *r.Genus, 0)
		}
		for _, v := range shadow.Views {
			// A shadow is within 2^-26 of its extent of the hull's, which is at most
			// four diagonals round.
			require.LessOrEqual(t, r.Silhouette[v], r.HullArea/2+4*0x1p-26*diagonal*diagonal)
		}
		for k := range 3 {
			c := r.Centroid.Component(k)
			require.False(t, math.IsNaN(c) || math.IsInf(c, 0))
		}
		if len(m.Triangles) > 0 {
			require.NotEmpty(t, r.Hull)
		}
		requireRoundTrip(t, r)
	})
}
