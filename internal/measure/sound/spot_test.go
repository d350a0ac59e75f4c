package sound

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

func TestSpot(t *testing.T) {
	spots := func(m *mesh.Mesh) Spots {
		s, err := Spot(context.Background(), m)
		require.NoError(t, err)
		return s
	}
	box := meshtest.Box(10, 10, 10)
	with := func(t ...[3]uint32) *mesh.Mesh {
		return &mesh.Mesh{Vertices: append(append([]mesh.Vec{}, box.Vertices...), mesh.Vec{X: 5}), Triangles: append(append([][3]uint32{}, box.Triangles...), t...)}
	}
	at := func(x, y, z float64) *mesh.Vec { return &mesh.Vec{X: x, Y: y, Z: z} }
	require.Equal(t, Spots{}, spots(box))
	// Triangle 0 is 0, 2, 3: (0 0 0), (0 10 0), (10 10 0).
	require.Equal(t, Spots{OpenEdge: at(0, 5, 0)}, spots(meshtest.Without(box, 0)))
	require.Equal(t, Spots{InconsistentEdge: at(0, 5, 0)}, spots(meshtest.TurnedOver(box, 0)))
	third := 1.0 / 3
	require.Equal(t, Spots{NonManifoldEdge: at(0, 5, 0), Duplicate: at(10*third, 20*third, 0), BackToBack: at(10*third, 20*third, 0), Backs: 1}, spots(with([3]uint32{3, 2, 0})))
	require.Zero(t, spots(with([3]uint32{0, 2, 3})).Backs, "it faces the same way")
	require.Equal(t, Spots{NoArea: at(10, 10, 0)}, spots(with([3]uint32{3, 3, 1})))
	require.Equal(t, Spots{NoArea: at(0, 0, 0), OpenEdge: at(2.5, 0, 0), NonManifoldEdge: at(5, 0, 0)}, spots(with([3]uint32{0, 1, 8})))
}
