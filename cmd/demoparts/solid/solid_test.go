package solid

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

func sound(t *testing.T, m *mesh.Mesh, euler int) {
	t.Helper()
	top := m.Topology()
	assert.True(t, top.Closed)
	assert.True(t, top.ConsistentlyOriented)
	assert.Equal(t, euler, top.Euler)
}

// Areas of regular polygons: an n-gon drawn round diameter d has n·tan(π/n)·d²/4.
func TestDrilledBoxHasTheFormulasVolume(t *testing.T) {
	m := Drill(Block(20, 10, 5, 0), V(0, 0, -1), V(0, 0, 6), 1.5)
	sound(t, m, 0) // one through hole
	n := float64(drillSides)
	want := 1000 - 5*n*math.Tan(math.Pi/n)*1.5*1.5/4
	// Block's corners are cut by a micrometre; closing those edges skews its
	// sides by as much: at most 0.001 mm over 30 mm by 5 mm on two sides.
	assert.InDelta(t, want, volume(m), 0.3)
	hole := volume(Intersect(Block(20, 10, 5, 0), Rod(V(0, 0, -1), V(0, 0, 6), 1.5, drillSides)))
	assert.InDelta(t, 1000-want, hole, 1e-3)
}

// Inclusion and exclusion: |A| + |B| = |A ∪ B| + |A ∩ B|, and A − B = A − A ∩ B.
func TestCombinationsAddUp(t *testing.T) {
	a, b := Block(12, 10, 8, 0.5), Move(Ball(5, 32), 4, 2, 6)
	u, i, d := Union(a, b), Intersect(a, b), Subtract(a, b)
	for _, m := range []*mesh.Mesh{u, i, d} {
		sound(t, m, 2)
	}
	// The tolerance is the second operand's surface times its tiny motion.
	assert.InDelta(t, volume(a)+volume(b), volume(u)+volume(i), 0.2)
	assert.InDelta(t, volume(a)-volume(i), volume(d), 0.2)
	assert.Greater(t, volume(u), volume(a))
	assert.Greater(t, volume(i), 1.0)
}

// A torus of m steps and n sides encloses m·sin(2π/m)·R·(n/2)·r²·sin(2π/n):
// R 10, r 2, 50 by 22 gives 776.829951684.
func TestTorusHasTheFormulasVolume(t *testing.T) {
	m := Torus(10, 2, 50, 22)
	sound(t, m, 0)
	assert.InDelta(t, 776.829951684, volume(m), 1e-6)
}

func TestLoftFacesOutwardWhicheverWayItsRingsRun(t *testing.T) {
	ring := Rect(0, 0, 4, 3, 0.5, 3)
	back := make([]P, len(ring))
	for i, p := range ring {
		back[len(ring)-1-i] = p
	}
	a, b := Loft(At(0, ring), At(2, ring)), Loft(At(0, back), At(2, back))
	assert.Positive(t, volume(a))
	assert.InDelta(t, volume(a), volume(b), 1e-12)
}

// Flush faces are the case that the tiny motion is for.
func TestFlushBlocksJoin(t *testing.T) {
	m := Tidy(Union(Block(10, 10, 10, 0), Move(Block(10, 10, 10, 0), 5, 0, 0)))
	top := m.Topology()
	require.True(t, top.Closed)
	assert.InDelta(t, 1500, volume(m), 1)
}

func TestTidyIsTheSameEachTime(t *testing.T) {
	make := func() *mesh.Mesh {
		return Tidy(Union(Ball(5, 24), Move(Ball(4, 20), 4, 0, 0), Move(Block(3, 3, 9, 0.3), 1, 1, 0)))
	}
	a, b := make(), make()
	assert.Equal(t, a, b)
	assert.Zero(t, a.Bounds().Min.Z)
}
