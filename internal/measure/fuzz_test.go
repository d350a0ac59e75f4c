package measure

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// FuzzMeasure makes a mesh of any bytes: a byte for the number of vertices, each
// of three 32-bit floats, then three bytes a triangle.
func FuzzMeasure(f *testing.F) {
	for _, m := range []*mesh.Mesh{meshtest.Box(1, 2, 3), meshtest.Tetrahedron(), meshtest.Without(meshtest.Octahedron(), 1), meshtest.HoledBox(4, 3, 2, 1)} {
		seed := []byte{byte(len(m.Vertices))}
		for _, v := range m.Vertices {
			for k := range 3 {
				seed = binary.LittleEndian.AppendUint32(seed, math.Float32bits(float32(v.Component(k))))
			}
		}
		for _, t := range m.Triangles {
			seed = append(seed, byte(t[0]), byte(t[1]), byte(t[2]))
		}
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m := &mesh.Mesh{}
		if len(data) == 0 {
			return
		}
		n := int(data[0]%64) + 1
		data = data[1:]
		for range n {
			var c [3]float64
			for k := range 3 {
				if len(data) < 4 {
					return
				}
				c[k] = float64(math.Float32frombits(binary.LittleEndian.Uint32(data))) + 0
				if math.IsNaN(c[k]) || math.IsInf(c[k], 0) {
					return
				}
				data = data[4:]
			}
			m.Vertices = append(m.Vertices, mesh.Vec{X: c[0], Y: c[1], Z: c[2]})
		}
		for ; len(data) >= 3; data = data[3:] {
			m.Triangles = append(m.Triangles, [3]uint32{uint32(int(data[0]) % n), uint32(int(data[1]) % n), uint32(int(data[2]) % n)})
		}
		r, err := Measure(t.Context(), m)
		require.NoError(t, err)
		size := r.Bounds.Size()
		diagonal := size.Norm()
		// A few roundings of the size, and what a sum of few terms can lose.
		const slack = 1e-12
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
		for _, v := range Views {
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
