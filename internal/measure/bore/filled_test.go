package bore_test

import (
	"errors"
	"io/fs"
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
)

// A hole is free where nothing is solid, whichever body is. The plate is 6 mm thick
// with a hole of 4 mm, of 24 sides: what passes is 4·cos(π/24) by formula.
func TestAHoleThatAnotherBodyFillsIsNotFree(t *testing.T) {
	const n, d, thick = 24, 4., 6.
	plate := meshtest.DrilledPlate(n, d, 16, thick, 0, 0)
	free := d * math.Cos(math.Pi/n)
	rod := func(r, from, to float64) *mesh.Mesh {
		return meshtest.Moved(meshtest.Frustum(32, r, r, to-from), meshtest.Shift(0, 0, from))
	}
	flush := meshtest.Moved(meshtest.Frustum(n, d/2, d/2, thick), meshtest.Shift(0, 0, 0))
	type hole struct {
		diameter, free, depth, z float64
		open                     [2]bool
	}
	both := [2]bool{true, true}
	for _, c := range []struct {
		name   string
		bodies []*mesh.Mesh
		want   []hole
	}{
		{"nothing", nil, []hole{{d, free, 6, 3, both}}},
		{"a rod right through", []*mesh.Mesh{rod(2.3, -2, 8)}, nil},
		{"a plug that ends level", []*mesh.Mesh{rod(2.3, 0, 6)}, nil},
		{"a plug as wide as the hole", []*mesh.Mesh{flush}, nil},
		{"a thin rod, round which nothing is free", []*mesh.Mesh{rod(1.5, -2, 8)}, nil},
		{"a plug below", []*mesh.Mesh{rod(2.3, -1, 2)}, []hole{{d, free, 4, 4, [2]bool{false, true}}}},
		{"a plug half way up", []*mesh.Mesh{rod(2.3, 2, 3)}, []hole{{d, free, 2, 1, [2]bool{true, false}}, {d, free, 3, 4.5, [2]bool{false, true}}}},
		{"two plugs with a room between", []*mesh.Mesh{rod(2.3, -1, 2), rod(2.3, 4, 7)}, nil},
		{"a block under it", []*mesh.Mesh{meshtest.Block(-9, -9, -3, 9, 9, 0)}, []hole{{d, free, 6, 3, [2]bool{false, true}}}},
		{"a block a millimetre under it", []*mesh.Mesh{meshtest.Block(-9, -9, -4, 9, 9, -1)}, []hole{{d, free, 6, 3, both}}},
		{"a block beside the axis", []*mesh.Mesh{meshtest.Block(1.5, -9, -1, 9, 9, 7)}, []hole{{d, 3, 6, 3, both}}},
		{"a body elsewhere", []*mesh.Mesh{meshtest.Block(20, -9, -1, 29, 9, 7)}, []hole{{d, free, 6, 3, both}}},
	} {
		for _, angle := range []float64{0, 0.7} {
			body := meshtest.Turned(meshtest.Together(append([]*mesh.Mesh{plate}, c.bodies...)...), mesh.Vec{X: 1, Y: .3}, angle)
			got := find(t, body).Holes
			require.Len(t, got, len(c.want), "%s, turned by %g", c.name, angle)
			for _, w := range c.want {
				at := meshtest.Turned(&mesh.Mesh{Vertices: []mesh.Vec{{Z: w.z}}}, mesh.Vec{X: 1, Y: .3}, angle).Vertices[0]
				found := false
				for _, h := range got {
					if h.Centre.Sub(at).Norm() > 1e-6 {
						continue
					}
					found = true
					assert.InDelta(t, w.diameter, h.Diameter, 1e-6, c.name)
					assert.InDelta(t, w.free, h.Free, 1e-6, c.name)
					assert.InDelta(t, w.depth, h.Depth, 1e-6, c.name)
					open := h.Open
					if angle == 0 {
						assert.Equal(t, w.open, open, c.name)
					}
					assert.Equal(t, w.open == both, h.Through, c.name)
				}
				assert.True(t, found, "%s, turned by %g: a hole at %v, found %+v", c.name, angle, at, got)
			}
		}
	}
}

// A tube lines the hole: what is left is the tube's own, and neither the hole's wall
// nor the tube's outside is a surface of the print.
func TestALinerLeavesItsOwnHole(t *testing.T) {
	tube := meshtest.Revolved(32, []meshtest.Point2{{R: 1, Z: 0}, {R: 2.3, Z: 0}, {R: 2.3, Z: 6}, {R: 1, Z: 6}})
	r := find(t, meshtest.Together(meshtest.DrilledPlate(24, 4, 16, 6, 0, 0), tube))
	require.Len(t, r.Holes, 1)
	assert.InDelta(t, 2, r.Holes[0].Diameter, 1e-6)
	require.Empty(t, r.Pins)
}

// A leg and a copy of it 2 mm beside, along x (meshes/README.md). The holes along z lie
// in the copy's plate: holes.json has their mouths, and nothing goes in. Those along x
// lead on into the copy's.
func TestTheHolesOfOverlappingLegs(t *testing.T) {
	m, _, err := mesh.ReadFile(t.Context(), filepath.Join(reference.Folder, "derived/leg-two-overlapping.stl"))
	if errors.Is(err, fs.ErrNotExist) {
		t.Skip("the shared meshes are not beside the project")
	}
	require.NoError(t, err)
	along := map[bool]int{}
	for _, h := range find(t, m).Holes {
		if math.Abs(h.Diameter-2) < .01 {
			along[math.Abs(h.Axis.X) > .99]++
		}
	}
	require.Equal(t, map[bool]int{true: 6}, along)
}
