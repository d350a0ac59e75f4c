package stack_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/stack"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

const layer = 0.05

func of(t testing.TB, m *mesh.Mesh, layer float64) stack.Report {
	t.Helper()
	r, err := stack.Of(context.Background(), m, layer)
	require.NoError(t, err)
	return r
}

// counts are islands, cups, wells and trapped volumes.
func counts(r stack.Report) [4]int {
	return [4]int{len(r.Islands), len(r.Cups), len(r.Wells), len(r.Trapped)}
}

var (
	none    = [4]int{0, 0, 0, 0}
	oneCup  = [4]int{0, 1, 0, 0}
	oneWell = [4]int{0, 0, 1, 0}
)

// slack is how far a volume may be off by the midpoint rule, which errs by half a
// step times the rise and fall of what it sums: along z twice the largest section,
// πr², along y twice the width of each layer, 2r, over the depth h. It holds for
// hollows that are convex in their sections.
func slack(r, h float64) float64 { return layer*math.Pi*r*r + layer*2*r*h }

func TestBowlIsAWellAndOverItIsACup(t *testing.T) {
	m, volume := meshtest.Bowl(64, 8, 10, 6)
	// Facets leave out less than the whole: 2πr³/3 (published check values, 1.1).
	require.InEpsilon(t, 2*math.Pi*216/3, volume, 0.005)
	r := of(t, m, layer)
	require.Equal(t, oneWell, counts(r))
	w := r.Wells[0]
	require.InDelta(t, volume, w.Volume, slack(6, 6))
	require.InEpsilon(t, volume, w.Volume, 0.001) // as doc.go says of the usual case
	require.InDelta(t, 4, w.At.Z, layer)
	require.InDelta(t, 10, w.Rim, layer)
	require.Less(t, math.Hypot(w.At.X, w.At.Y), 1.0)

	r = of(t, meshtest.Over(m), layer)
	require.Equal(t, oneCup, counts(r))
	c := r.Cups[0]
	require.InDelta(t, w.Volume, c.Volume, 1e-9*volume)
	require.InDelta(t, 6, c.At.Z, layer)
	require.InDelta(t, 0, c.Rim, layer)
}

func TestTubeIsOpen(t *testing.T) {
	tube := meshtest.Revolved(48, []meshtest.Point2{{R: 3, Z: 0}, {R: 5, Z: 0}, {R: 5, Z: 12}, {R: 3, Z: 12}})
	require.Equal(t, none, counts(of(t, tube, layer)))
	lying := meshtest.Turned(tube, mesh.Vec{Y: 1}, math.Pi/2)
	require.Equal(t, none, counts(of(t, lying, layer)))
	lying = meshtest.Turned(lying, mesh.Vec{Z: 1}, 0.7)
	require.Equal(t, none, counts(of(t, lying, layer)))
}

func TestHollowBallByItsDrains(t *testing.T) {
	for _, c := range []struct {
		bottom, top bool
		want        [4]int
	}{{false, false, [4]int{0, 0, 0, 1}}, {true, false, oneCup}, {false, true, oneWell}, {true, true, none}} {
		m, volume := meshtest.HollowBall(48, 8, 6, 1.5, c.bottom, c.top)
		r := of(t, m, layer)
		require.Equal(t, c.want, counts(r), "%+v", c)
		for _, h := range append(append(r.Trapped, r.Cups...), r.Wells...) {
			require.InDelta(t, volume, h.Volume, slack(6, 14))
			require.InEpsilon(t, volume, h.Volume, 0.001)
		}
		base := 8.0
		if c.bottom {
			base = math.Sqrt(64 - 1.5*1.5)
		}
		for _, h := range r.Trapped {
			require.InDelta(t, base-6, h.At.Z, layer)
			require.InDelta(t, base+6, h.Rim, layer)
		}
		for _, h := range r.Cups {
			require.InDelta(t, base+6, h.At.Z, layer)
			require.InDelta(t, 0, h.Rim, layer)
		}
		for _, h := range r.Wells {
			require.InDelta(t, base-6, h.At.Z, layer)
			require.InDelta(t, m.Bounds().Max.Z, h.Rim, layer)
		}
	}
}

// A pot with a hole in its side holds what lies below the hole, and under its
// roof what lies above it.
func TestASideHoleDividesCupFromWell(t *testing.T) {
	// 10 × 10 × 10 with walls of 1; the hole is from z = 4 to 6.
	m := meshtest.Cells(10, 10, 10, func(x, y, z int) bool {
		inside := x >= 1 && x < 9 && y >= 1 && y < 9 && z >= 1 && z < 9
		hole := x == 0 && y >= 4 && y < 6 && z >= 4 && z < 6
		return !inside && !hole
	})
	r := of(t, m, layer)
	require.Equal(t, [4]int{0, 1, 1, 0}, counts(r))
	require.InDelta(t, 8*8*3, r.Wells[0].Volume, 1e-6)
	require.InDelta(t, 8*8*3, r.Cups[0].Volume, 1e-6)
	require.InDelta(t, 1, r.Wells[0].At.Z, 1e-9)
	require.InDelta(t, 4, r.Wells[0].Rim, 1e-9)
	require.InDelta(t, 9, r.Cups[0].At.Z, 1e-9)
	require.InDelta(t, 6, r.Cups[0].Rim, 1e-9)
}

// A U-shaped channel of two arms is one well; with one arm short, it holds what
// lies below the short arm's mouth.
func TestUBend(t *testing.T) {
	bend := func(short bool) *mesh.Mesh {
		return meshtest.Cells(9, 5, 10, func(x, y, z int) bool {
			bottom := z >= 2 && z < 4 && x >= 1 && x < 8
			arms := z >= 4 && (x >= 1 && x < 3 || x >= 6 && x < 8)
			mouth := short && z >= 6 && z < 8 && x >= 6
			return !(y >= 1 && y < 4 && (bottom || arms)) && !(y >= 1 && y < 4 && mouth)
		})
	}
	r := of(t, bend(false), layer)
	require.Equal(t, oneWell, counts(r))
	require.InDelta(t, 3*(7*2+2*2*6), r.Wells[0].Volume, 1e-6)
	r = of(t, bend(true), layer)
	require.Equal(t, oneWell, counts(r))
	require.InDelta(t, 3*(7*2+2*2*2), r.Wells[0].Volume, 1e-6)
	require.InDelta(t, 6, r.Wells[0].Rim, 1e-9)

	r = of(t, meshtest.Over(bend(false)), layer) // an arch of a channel
	require.Equal(t, oneCup, counts(r))
	require.InDelta(t, 3*(7*2+2*2*6), r.Cups[0].Volume, 1e-6)
}

// Two pits that join into one well before it overflows are one, its bottom the
// deeper one's.
func TestPitsThatJoinAreOneWell(t *testing.T) {
	for _, deeper := range []bool{false, true} {
		m := meshtest.Cells(9, 5, 10, func(x, y, z int) bool {
			near, far := 3, 3
			if deeper {
				far = 2
			}
			pits := x >= 1 && x < 4 && z >= near || x >= 5 && x < 8 && z >= far
			return !(y >= 1 && y < 4 && (pits || z >= 6 && x >= 1 && x < 8))
		})
		r := of(t, m, layer)
		require.Equal(t, oneWell, counts(r))
		w := r.Wells[0]
		require.InDelta(t, 10, w.Rim, 1e-9)
		if deeper {
			require.InDelta(t, 3*(3*3+3*4+7*4), w.Volume, 1e-6)
			require.InDelta(t, 2, w.At.Z, 1e-9)
			require.Greater(t, w.At.X, 5.0)
		} else {
			require.InDelta(t, 3*(3*3+3*3+7*4), w.Volume, 1e-6)
			require.InDelta(t, 3, w.At.Z, 1e-9)
		}
	}
}

func TestStackedBowls(t *testing.T) {
	// The lower bowl has the upper one's stem, of radius 2, in its middle.
	lower := []meshtest.Point2{{R: 6, Z: 2}, {R: 8, Z: 5}}
	upper := []meshtest.Point2{{R: 0, Z: 10}, {R: 5, Z: 14}}
	const n = 60
	m := meshtest.Revolved(n, []meshtest.Point2{{R: 0, Z: 0}, {R: 9, Z: 0}, {R: 9, Z: 5}, lower[1], lower[0], {R: 2, Z: 2},
		{R: 2, Z: 8}, {R: 6, Z: 14}, upper[1], upper[0]})
	r := of(t, m, layer)
	require.Equal(t, [4]int{0, 0, 2, 0}, counts(r))
	ring := meshtest.Turning(n, lower...) - meshtest.Turning(n, meshtest.Point2{R: 2, Z: 2}, meshtest.Point2{R: 2, Z: 5})
	require.InDelta(t, ring, r.Wells[0].Volume, 2*slack(8, 3)) // not convex: the stem counts as well
	require.InDelta(t, meshtest.Turning(n, upper...), r.Wells[1].Volume, slack(5, 4))
	require.InDelta(t, 2, r.Wells[0].At.Z, layer)
	require.InDelta(t, 10, r.Wells[1].At.Z, layer)
}

// A flat cap on a stem begins on what the stem holds; a drooping one begins with
// its brim, which is one island, a ring, and keeps air under it.
func TestMushroom(t *testing.T) {
	flat := meshtest.Revolved(40, []meshtest.Point2{{R: 0, Z: 0}, {R: 2, Z: 0}, {R: 2, Z: 6}, {R: 7, Z: 6}, {R: 0, Z: 9}})
	require.Equal(t, none, counts(of(t, flat, layer)))

	const n = 40
	brim := []meshtest.Point2{{R: 2, Z: 7}, {R: 6, Z: 4}, {R: 7, Z: 4}, {R: 0, Z: 9}}
	droop := meshtest.Revolved(n, append([]meshtest.Point2{{R: 0, Z: 0}, {R: 2, Z: 0}}, brim...))
	r := of(t, droop, layer)
	require.Equal(t, [4]int{1, 1, 0, 0}, counts(r))
	// A ring from 6 to 7 wide, of n-gons, half a layer above its flat brim: its
	// inner side leans inwards by 4/3 of the height.
	z := layer / 2
	inner, outer := 6-z*4/3, 7-z*7/5
	area := float64(n) / 2 * math.Sin(2*math.Pi/n) * (outer*outer - inner*inner)
	require.InDelta(t, area, r.Islands[0].Area, 2*layer*2*(6+7)/2)
	require.InDelta(t, 4+z, r.Islands[0].At.Z, 1e-9)
	require.Equal(t, 80, r.Islands[0].Layer)
	held := meshtest.Turning(n, meshtest.Point2{R: 6, Z: 4}, meshtest.Point2{R: 2, Z: 7})
	held -= meshtest.Turning(n, meshtest.Point2{R: 2, Z: 4}, meshtest.Point2{R: 2, Z: 7})
	require.InDelta(t, held, r.Cups[0].Volume, 2*slack(6, 3))
	require.InDelta(t, 4, r.Cups[0].Rim, layer)
	require.InDelta(t, 7, r.Cups[0].At.Z, layer)
}

func TestTablesBridgesArches(t *testing.T) {
	legs := func(short float64) *mesh.Mesh { // of overlapping shells
		return meshtest.Together(meshtest.Block(0, 0, 8, 20, 12, 10),
			meshtest.Block(0, 0, 0, 2, 2, 9), meshtest.Block(18, 0, 0, 20, 2, 9),
			meshtest.Block(0, 10, 0, 2, 12, 9), meshtest.Block(18, 10, short, 20, 12, 9))
	}
	require.Equal(t, none, counts(of(t, legs(0), layer)))
	require.Equal(t, none, counts(of(t, meshtest.Over(legs(0)), layer)))
	r := of(t, legs(3), layer)
	require.Equal(t, [4]int{1, 0, 0, 0}, counts(r))
	require.InDelta(t, 4, r.Islands[0].Area, 1e-9)
	require.InDelta(t, 3+layer/2, r.Islands[0].At.Z, 1e-9)
	require.InDelta(t, 19, r.Islands[0].At.X, 1)
	require.InDelta(t, 11, r.Islands[0].At.Y, 1)

	arch := meshtest.Cells(12, 3, 8, func(x, _, z int) bool {
		return math.Hypot(float64(x)-5.5, float64(z)) > 5
	})
	require.Equal(t, none, counts(of(t, arch, layer)))
	// Half of a ring on end: both feet on the plate, or the other way up.
	half := meshtest.Cells(12, 3, 8, func(x, _, z int) bool {
		d := math.Hypot(float64(x)-5.5, float64(z))
		return d > 3 && d < 6
	})
	require.Equal(t, none, counts(of(t, half, layer)))
	require.Equal(t, none, counts(of(t, meshtest.Over(half), layer)))
}

func TestHangingParts(t *testing.T) {
	// A figure: two legs, a trunk, shoulders, and arms that hang free of the trunk.
	figure := meshtest.Together(
		meshtest.Block(6, 2, 0, 9, 6, 11), meshtest.Block(11, 2, 0, 14, 6, 11), meshtest.Block(6, 2, 10, 14, 6, 24),
		meshtest.Block(1, 2, 21, 19, 6, 24), meshtest.Block(1, 2.5, 9, 4, 5.5, 22), meshtest.Block(16, 2.5, 9.3, 19, 5.5, 22))
	r := of(t, figure, layer)
	require.Equal(t, [4]int{2, 0, 0, 0}, counts(r))
	for i, z := range []float64{9, 9.3} {
		require.InDelta(t, 9, r.Islands[i].Area, 1e-9)
		require.InDelta(t, z+layer/2, r.Islands[i].At.Z, 1e-9)
	}
	require.Equal(t, 180, r.Islands[0].Layer)
	require.Equal(t, 186, r.Islands[1].Layer)

	// A wing that joins a hanging bar a layer after it begins is the bar's own.
	hanging := func(join float64) *mesh.Mesh {
		return meshtest.Together(meshtest.Block(0, 0, 0, 2, 2, 20), meshtest.Block(0, 0, 19, 10, 2, 20),
			meshtest.Block(8, 0, 5, 10, 2, 19.5), meshtest.Block(5, 0, 9, 6, 2, 12), meshtest.Block(5, 0, join, 9, 2, 12))
	}
	r = of(t, hanging(9.06), layer)
	require.Len(t, r.Islands, 1)
	require.Equal(t, 100, r.Islands[0].Layer)
	require.Len(t, of(t, hanging(9.16), layer).Islands, 2)

	// Stairs under a ceiling from which a cone hangs: its tip is the island.
	stairs := meshtest.Together(meshtest.Block(0, 0, 0, 12, 10, 2), meshtest.Block(0, 0, 1, 8, 10, 4), meshtest.Block(0, 0, 3, 4, 10, 14),
		meshtest.Block(0, 0, 13, 12, 10, 15))
	const half = 0.5 // radius over height
	cone := meshtest.Over(meshtest.Frustum(32, 8.5*half, 0, 8.5))
	for _, at := range [][2]float64{{8, 5}, {8.013, 5.021}, {7.7, 5.149}} {
		r = of(t, meshtest.Together(stairs, meshtest.Moved(cone, meshtest.Shift(at[0], at[1], 5.01))), layer)
		require.Equal(t, [4]int{1, 0, 0, 0}, counts(r))
		// The tip is seen no later than it is a pitch wide, plus a layer.
		tip := r.Islands[0]
		require.Greater(t, tip.At.Z, 5.01)
		require.LessOrEqual(t, tip.At.Z, 5.01+layer/(2*half)/math.Cos(math.Pi/32)+layer)
		require.InDelta(t, at[0], tip.At.X, 2*layer)
		require.InDelta(t, at[1], tip.At.Y, 2*layer)
	}
}
