package change

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func compare(t testing.TB, old, new *mesh.Mesh) Change {
	t.Helper()
	c, err := Compare(context.Background(), old, new)
	require.NoError(t, err)
	return c
}

// inFloat32 rounds a mesh as a binary STL does.
func inFloat32(m *mesh.Mesh) *mesh.Mesh {
	return meshtest.Moved(m, func(p mesh.Vec) mesh.Vec {
		return mesh.Vec{X: meshtest.AsFloat32(p.X), Y: meshtest.AsFloat32(p.Y), Z: meshtest.AsFloat32(p.Z)}
	})
}

// bodies are shapes of every symmetry: none, one axis, all.
func bodies() map[string]*mesh.Mesh {
	fan := &mesh.Mesh{}
	for _, p := range []mesh.Vec{{}, {X: 30}, {X: 25, Y: 12}, {X: 7, Y: 20}} {
		fan.Vertices = append(fan.Vertices, p)
	}
	meshtest.AddFan(fan, 0, 1, 2, 3)
	return map[string]*mesh.Mesh{
		"box":         meshtest.Box(30, 20, 10),
		"cube":        meshtest.Box(20, 20, 20),
		"rod":         meshtest.Frustum(24, 4, 4, 40),
		"cone":        meshtest.Frustum(17, 9, 0, 20),
		"ball":        meshtest.UVSphere(12, 30, 16),
		"icosahedron": meshtest.Scaled(meshtest.Icosahedron(), 9),
		"plate":       meshtest.DrilledPlate(16, 5, 30, 4, 0.3, 0.4),
		"open cube":   meshtest.Without(meshtest.Box(20, 20, 20), 3),
		"sheet":       fan,
		"odd":         meshtest.Together(meshtest.Box(30, 20, 10), meshtest.Moved(meshtest.Tetrahedron(), func(p mesh.Vec) mesh.Vec { return p.Add(mesh.Vec{X: 8, Y: 5, Z: 15}) })),
		"far":         meshtest.Moved(meshtest.Frustum(7, 9, 4, 20), meshtest.Shift(900, -400, 100)),
	}
}

func turned(m *mesh.Mesh) *mesh.Mesh {
	return meshtest.Moved(meshtest.Turned(m, mesh.Vec{X: 0.36, Y: 0.48, Z: 0.8}, 1.1), meshtest.Shift(12.3, -4.5, 6.7))
}

func TestKinds(t *testing.T) {
	for name, m := range bodies() {
		m = inFloat32(m)
		t.Run(name, func(t *testing.T) {
			require.Equal(t, Unchanged, compare(t, m, m).Kind)
			for _, c := range []struct {
				name string
				new  *mesh.Mesh
				want Kind
			}{
				{"cut otherwise", meshtest.Remesh(m, 2), SameShape},
				{"shifted", meshtest.Moved(m, meshtest.Shift(5, -3, 2)), Moved},
				{"turned", turned(m), Moved},
				{"turned and cut otherwise", turned(meshtest.Remesh(m, 1)), Moved},
				{"larger", meshtest.Scaled(m, 1.1), Rescaled},
				{"larger and turned", turned(meshtest.Scaled(m, 1.1)), Rescaled},
				{"smaller and cut otherwise", turned(meshtest.Scaled(meshtest.Remesh(m, 1), 0.75)), Rescaled},
			} {
				got := compare(t, m, inFloat32(c.new))
				require.Equal(t, c.want, got.Kind, c.name)
				back := compare(t, inFloat32(c.new), m)
				require.Equal(t, c.want, back.Kind, c.name)
			}
		})
	}
	_ = math.Pi
	_ = rand.Int
}
