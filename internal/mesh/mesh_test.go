package mesh

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestMirroredTurnsNothingInsideOut(t *testing.T) {
	m := torus(30, 20)
	m.Vertices[0].X = 0
	mirrored := m.Mirrored()
	require.InDelta(t, volume(m), volume(mirrored), 1e-9*volume(m))
	require.Equal(t, m.Topology().Euler, mirrored.Topology().Euler)
	require.NotEqual(t, m.Fingerprint(), mirrored.Fingerprint())
	require.Equal(t, m.Fingerprint(), mirrored.Mirrored().Fingerprint())
	b, c := m.Bounds(), mirrored.Bounds()
	require.Equal(t, [2]float64{-b.Max.X, -b.Min.X}, [2]float64{c.Min.X, c.Max.X})
}

// The torus of 50 by 22 steps with radii 10 and 2 has volume 776.829951684 (m
// sections of n sides: m·sin(2π/m)·R·(n/2)·r²·sin(2π/n)), 1100 vertices, 3300
// edges, 2200 triangles and Euler characteristic 0 (check-values.md, 1.3, 1.4).
// Rounding the coordinates to 32 bits changes the volume by at most the area,
// 786, times 12·2⁻²⁴.
func TestTorusIsCounted(t *testing.T) {
	m := torus(50, 22)
	require.InDelta(t, 776.829951684, volume(m), 786*12*0x1p-24)
	require.Len(t, m.Vertices, 1100)
	top := m.Topology()
	require.Equal(t, 3300, top.Edges)
	require.Equal(t, 0, top.Euler)
	require.True(t, top.Closed && top.ConsistentlyOriented)
	require.Equal(t, 1, top.Shells)
}

func TestNothingHasNoExtent(t *testing.T) {
	m := &Mesh{Vertices: []Vec{{1, 2, 3}}}
	require.Equal(t, Box{}, m.Bounds())
	require.Equal(t, Topology{ShellOf: []int32{}, ConsistentlyOriented: true}, m.Topology())
}
