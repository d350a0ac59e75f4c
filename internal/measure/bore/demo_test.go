package bore_test

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

// The demo's parts are made by cmd/demoparts, which drills with prisms of 24 sides
// that touch the stated diameter: that is the free diameter. Rows are what its code
// drills, in each part. 0.008 mm is its own test's tolerance: the kit's tiny motion
// and the grid of 0.001 mm. The torso's (resin) and the robe's holes cross others.
func TestTheDemosHolesAreAsDrilled(t *testing.T) {
	for _, row := range []struct {
		file string
		free map[float64]int // diameter to the number of stretches
	}{
		{"01-lamplighter/parts/boot/resin.stl", map[float64]int{1.65: 2}},
		{"01-lamplighter/parts/boot/filament.stl", map[float64]int{1.8: 2}},
		{"01-lamplighter/parts/forearm/filament.stl", map[float64]int{1.8: 2}},
		{"01-lamplighter/parts/forearm/resin.stl", map[float64]int{1.65: 2}},
		{"01-lamplighter/parts/hand/resin.stl", map[float64]int{1.65: 1, 3.3: 1}},
		{"01-lamplighter/parts/head/resin.stl", map[float64]int{1.65: 1}},
		{"01-lamplighter/parts/pelvis/resin.stl", map[float64]int{1.65: 2}},
		{"01-lamplighter/parts/shin/filament.stl", map[float64]int{1.8: 2}},
		{"01-lamplighter/parts/thigh/filament.stl", map[float64]int{1.8: 3}},
		// Its two shoulder sockets, which a rod snaps into, are open at one side.
		{"01-lamplighter/parts/torso/filament.stl", map[float64]int{1.8: 2}},
		{"01-lamplighter/parts/torso/resin.stl", map[float64]int{1.65: 3}},
		{"01-lamplighter/parts/upper-arm/resin.stl", map[float64]int{1.65: 3}},
		{"02-tide-clerk/parts/arm-left/any.stl", map[float64]int{1.8: 1}},
		{"02-tide-clerk/parts/robe/any.stl", map[float64]int{1.8: 2}},
		// Drawn with twelve corners on 1.5 mm: its sides are 1.5·cos 15° apart.
		{"02-tide-clerk/parts/hat-tide-table/any.stl", map[float64]int{1.4489: 1}},
		{"02-tide-clerk/parts/satchel/any.stl", map[float64]int{1.1: 2}},
		// Six lugs and the stand's socket; the antennae's sockets are square.
		{"03-fog-moths/parts/body/any.stl", map[float64]int{1.1: 6, 1.3: 1}},
		{"03-fog-moths/parts/fog-bank/any.stl", map[float64]int{1.3: 1}},
		{"05-walking-dredger/parts/boom/any.stl", map[float64]int{1.1: 2, 2.3: 1}},
		{"05-walking-dredger/parts/foot/any.stl", map[float64]int{2.3: 2}},
		{"05-walking-dredger/parts/funnel/any.stl", map[float64]int{2.3: 1}},
		{"05-walking-dredger/parts/leg-lower/any.stl", map[float64]int{2.3: 2}},
		{"07-eel-courier/parts/jaw/any.stl", map[float64]int{1.8: 1}},
		{"07-eel-courier/parts/mailbag/any.stl", map[float64]int{1.1: 2}},
		{"07-eel-courier/parts/tail/flexible.stl", map[float64]int{2.4: 1}},
		{"08-quayside-props/parts/lantern-hook/any.stl", map[float64]int{1.3: 2}},
		{"08-quayside-props/parts/bucket/any.stl", map[float64]int{1.1: 2}},
		{"08-quayside-props/parts/gull/any.stl", map[float64]int{}},
	} {
		m, _, err := mesh.ReadFile(context.Background(), filepath.Join("..", "..", "..", "content", "releases", row.file))
		require.NoError(t, err)
		got := map[float64]int{}
		for _, h := range find(t, m).Holes {
			matched := false
			for d := range row.free {
				if h.Free > d-0.008 && h.Free < d+0.008 {
					got[d]++
					matched = true
				}
			}
			assert.True(t, matched, "%s: %+v", row.file, h)
		}
		assert.Equal(t, row.free, got, row.file)
	}
}
