package change

import (
	"context"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/longrun"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
)

// withCorner cuts triangle t into three at a point of its own, out along its normal by
// out from its middle.
func withCorner(m *mesh.Mesh, t int, out float64) *mesh.Mesh {
	a, b, c := m.Corners(t)
	tip := middleOf(a, b, c)
	if n := b.Sub(a).Cross(c.Sub(a)); n.Norm() > 0 {
		tip = tip.Add(n.Scale(out / n.Norm()))
	}
	k := uint32(len(m.Vertices))
	cut := &mesh.Mesh{Vertices: append(slices.Clone(m.Vertices), tip)}
	for i, tri := range m.Triangles {
		if i != t {
			cut.Triangles = append(cut.Triangles, tri)
			continue
		}
		cut.Triangles = append(cut.Triangles, [3]uint32{tri[0], tri[1], k}, [3]uint32{tri[1], tri[2], k}, [3]uint32{tri[2], tri[0], k})
	}
	return cut
}

// bySize lists a mesh's triangles, the largest first.
func bySize(m *mesh.Mesh) []int {
	order, area := make([]int, len(m.Triangles)), make([]float64, len(m.Triangles))
	for i := range order {
		a, b, c := m.Corners(i)
		order[i], area[i] = i, b.Sub(a).Cross(c.Sub(a)).Norm()
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch {
		case area[i] > area[j]:
			return -1
		case area[i] < area[j]:
			return 1
		}
		return 0
	})
	return order
}

// eachPart runs f on the shared meshes that have an extent and are not too large to be
// tried in many ways, rounded as a binary file is.
func eachPart(t *testing.T, most int, f func(t *testing.T, rng *rand.Rand, m *mesh.Mesh)) {
	most = min(most, longrun.Of(200, most))
	meshtest.EachReference(t, func(t *testing.T, ref reference.File, m *mesh.Mesh) {
		m = inFloat32(m)
		if size := m.Bounds().Size().Norm(); len(m.Triangles) > most || size == 0 || math.IsInf(size, 0) {
			t.Skip("large, or without an extent")
		}
		h := fnv.New64()
		h.Write([]byte(ref.File))
		f(t, rand.New(rand.NewPCG(h.Sum64(), 11)), m)
	})
}

// Real parts that nobody here wrote, cut into other triangles of the same surface: one
// triangle in three, many in three, each in four, with what that adds rounded to 32
// bits. The reference is the making: the new corners lie on the old surface but for the
// rounding.
func TestTheSameSurfaceCutOtherwiseIsTheSameShape(t *testing.T) {
	eachPart(t, 2_600, func(t *testing.T, rng *rand.Rand, m *mesh.Mesh) {
		order := bySize(m)
		many := m
		for range 12 {
			many = withCorner(many, rng.IntN(len(m.Triangles)), 0)
		}
		for name, new := range map[string]*mesh.Mesh{
			"the largest split": withCorner(m, order[0], 0),
			"some split":        many,
			"each in four":      meshtest.Remesh(m, 1),
		} {
			new = inFloat32(new)
			for _, c := range []Change{compare(t, m, new), compare(t, new, m)} {
				require.Contains(t, []Kind{SameShape, Unchanged}, c.Kind, "%s: %s", name, c.Sentence())
				require.False(t, c.MustReprint())
			}
		}
	})
}

// A true change of 0.02 mm in a real part is found, wherever it is, and however small
// beside the triangle that it is in: a tip of that height on the largest triangle, on a
// middling one, and a dent that is smaller than its triangle by far. How far a tip is
// from the surface that was is known by asking every triangle.
func TestTrueChangesOfRealPartsAreFound(t *testing.T) {
	const change = 0.02
	eachPart(t, 2_600, func(t *testing.T, rng *rand.Rand, m *mesh.Mesh) {
		everywhere := brute{m}
		order := bySize(m)
		for _, at := range []int{order[0], order[len(order)/3]} {
			// The three come where the one was; the last of them is cut again, and the last of
			// those is dented: of a ninth of the area.
			small := withCorner(withCorner(m, at, 0), at+2, 0)
			for name, new := range map[string]*mesh.Mesh{
				"a tip":  withCorner(m, at, change),
				"a dent": withCorner(small, at+2, -change),
			} {
				tip := new.Vertices[len(new.Vertices)-1]
				far := everywhere.distance(tip)
				if far <= printing+Same {
					continue // a triangle without area, or within reach of another face
				}
				c := compare(t, m, new)
				require.Equal(t, Changed, c.Kind, name)
				require.Equal(t, ofDistance, c.Cause, name)
				require.True(t, c.MustReprint())
				d, _ := c.Largest()
				require.GreaterOrEqual(t, d.AtMost, far-1e-9, name)
				require.GreaterOrEqual(t, d.Largest, far-1e-9, "the tip is a corner, and corners are all measured")
				require.LessOrEqual(t, d.Largest, change+1e-9, name)
			}
		}
	})
}

// A hole whose wall is moved by 0.02 mm is changed by as much, since one of its faces
// looks along the way; by 0.004 mm it is nearly the same, at the tolerance of 0.01 mm,
// and not where nothing is tolerated.
func TestAMovedHoleIsFound(t *testing.T) {
	const n = 16
	old := meshtest.DrilledPlate(n, 5, 30, 4, 0, 0)
	moved := func(by float64) *mesh.Mesh {
		m := &mesh.Mesh{Vertices: slices.Clone(old.Vertices), Triangles: old.Triangles}
		for i := range 2 * n {
			m.Vertices[i].X += by
		}
		return m
	}
	c := compare(t, old, moved(0.02))
	require.Equal(t, Changed, c.Kind)
	d, _ := c.Largest()
	// Its steepest face looks within half a step, π/16, of the way, so at least that
	// share of the move shows, and no more than all of it.
	require.GreaterOrEqual(t, d.AtMost, 0.02*math.Cos(math.Pi/n))
	require.LessOrEqual(t, d.Largest, 0.02+1e-12)
	require.True(t, c.MustReprint())

	c = compare(t, old, moved(0.004))
	require.Equal(t, Nearly, c.Kind)
	require.False(t, c.MustReprint())
	d, _ = c.Largest()
	require.GreaterOrEqual(t, d.AtMost, 0.004*math.Cos(math.Pi/n))
	require.LessOrEqual(t, d.AtMost, printing)
	require.Contains(t, c.Sentence(), "under the printing tolerance of 0.01 mm")

	none, err := Compare(context.Background(), old, moved(0.004), 0)
	require.NoError(t, err)
	require.Equal(t, Changed, none.Kind)
	require.True(t, none.MustReprint())
}

// Real parts of which every corner is off by up to 0.003 mm, lying in place and moved:
// nearly the same. No point asked at random is farther away than what is told.
func TestLessThanThePrintingToleranceIsNearlyTheSame(t *testing.T) {
	eachPart(t, 2_300, func(t *testing.T, rng *rand.Rand, m *mesh.Mesh) {
		if b := m.Bounds(); b.Size().Norm() < 5 || max(b.Min.Norm(), b.Max.Norm()) > 1000 {
			t.Skip("so small that a hundredth of a millimetre is a change of shape, or so far away that 32 bits round as much")
		}
		rough := inFloat32(meshtest.Noise(m, rng, 0.003))
		for name, new := range map[string]*mesh.Mesh{
			"in place": rough,
			"moved":    inFloat32(meshtest.Moved(rough, meshtest.Shift(40, -7, 3))),
		} {
			c := compare(t, m, new)
			require.Equal(t, Nearly, c.Kind, "%s: %s", name, c.Sentence())
			require.Equal(t, name == "moved", c.Motion != Still, name)
			d, _ := c.Largest()
			require.LessOrEqual(t, d.AtMost, printing)
			everywhere := brute{new}
			for range 20 {
				x, y, z := m.Corners(rng.IntN(len(m.Triangles)))
				p := c.Motion.Apply(middleOf(x, y, z))
				require.LessOrEqual(t, everywhere.distance(p), c.OldToNew.AtMost+1e-9, name)
			}
		}
	})
}

// A part of another size, or mirrored, where neither shows in a print.
func TestAScaleThatDoesNotShowIsNearlyTheSame(t *testing.T) {
	m := inFloat32(bodies()["odd"])
	require.Equal(t, Nearly, compare(t, m, meshtest.Scaled(m, 1.0002)).Kind)
	require.Equal(t, Rescaled, compare(t, m, meshtest.Scaled(m, 1.002)).Kind)
	box := meshtest.Moved(meshtest.Box(30, 20, 10), func(p mesh.Vec) mesh.Vec {
		if p == (mesh.Vec{X: 30, Y: 20, Z: 10}) {
			p.Z += 0.005
		}
		return p
	})
	require.Equal(t, Nearly, compare(t, box, meshtest.Moved(box.Mirrored(), meshtest.Shift(30, 0, 0))).Kind)
}

// Two hollows of one size, of which one faces the wrong way, and then the other: each
// surface is everywhere on the other, and both enclose the same volume, yet they are
// two solids.
func TestHollowsThatFaceTheOtherWayAreFound(t *testing.T) {
	block, hollow := meshtest.Box(40, 20, 20), meshtest.Moved(meshtest.Box(4, 4, 4), meshtest.Shift(8, 8, 8))
	other := meshtest.Moved(hollow, meshtest.Shift(20, 0, 0))
	a := meshtest.Together(block, meshtest.InsideOut(hollow), other)
	b := meshtest.Together(block, hollow, meshtest.InsideOut(other))
	for _, m := range []*mesh.Mesh{b, meshtest.Remesh(b, 1)} {
		c, err := Compare(context.Background(), a, m, printing)
		require.NoError(t, err)
		// Turned half round about the block's middle the one is the other.
		require.Equal(t, Moved, c.Kind)
	}
	b = meshtest.Together(b, meshtest.Moved(meshtest.Tetrahedron(), meshtest.Shift(5, 5, 40)))
	a = meshtest.Together(a, meshtest.Moved(meshtest.Tetrahedron(), meshtest.Shift(5, 5, 40)))
	c := compare(t, a, b)
	require.Equal(t, Changed, c.Kind)
	require.Equal(t, OfFacing, c.Cause)
	require.True(t, c.MustReprint())
	require.Contains(t, c.Sentence(), "faces the other way")
	require.Equal(t, SameShape, compare(t, a, meshtest.Remesh(a, 1)).Kind)
}

// Windings against what is known: once inside a box, not at all outside it, and the sum
// of the parts where they lie in each other.
func TestWindingsAreCounted(t *testing.T) {
	ctx := context.Background()
	m := meshtest.Together(meshtest.Box(30, 20, 10), meshtest.Box(10, 10, 10), meshtest.InsideOut(meshtest.Moved(meshtest.Box(5, 5, 5), meshtest.Shift(20, 10, 2))))
	s, err := newSurface(ctx, m)
	require.NoError(t, err)
	for p, want := range map[mesh.Vec]float64{{X: 5, Y: 4, Z: 3}: 2, {X: 15, Y: 4, Z: 3}: 1, {X: 22, Y: 12, Z: 4}: 0, {X: 40, Y: 4, Z: 3}: 0} {
		got, err := s.winding(ctx, p)
		require.NoError(t, err)
		require.InDelta(t, want, got, 1e-9)
	}
}

// A ring that is grown holds the ring, and no corner of it is farther from the ring than
// w√2, by asking every side; needles too.
func TestAGrownRingStaysWithinItsWidth(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 9))
	for range 5000 {
		a, b, c := point2{rng.Float64() * 10, rng.Float64() * 10}, point2{rng.Float64() * 10, rng.Float64() * 10}, point2{}
		c = point2{a.x + rng.Float64()*(b.x-a.x) + rng.NormFloat64()*math.Pow10(-rng.IntN(9)), a.y + rng.Float64()*(b.y-a.y) + rng.NormFloat64()*math.Pow10(-rng.IntN(9))}
		if turn(a, b, c) < 0 {
			a, b = b, a
		}
		w := math.Pow10(-rng.IntN(5))
		ring := []point2{a, b, c}
		out := grown(ring, w)
		if out == nil {
			continue
		}
		lift := func(p point2) mesh.Vec { return mesh.Vec{X: p.x, Y: p.y} }
		for i, p := range out {
			d := nearestOf(lift(p), lift(a), lift(b), lift(c)).Sub(lift(p)).Norm()
			require.LessOrEqual(t, d, w*math.Sqrt2/roundingOff)
			for _, q := range ring { // all of the ring is inside
				require.GreaterOrEqual(t, turn(p, out[(i+1)%len(out)], q), -1e-12)
			}
		}
	}
}

// A bound that is written is a bound.
func TestABoundIsRoundedUp(t *testing.T) {
	for v, want := range map[float64]string{0: "0.0001", 1.3e-15: "0.0001", 1e-4: "0.0001", 0.00012: "0.0002", 0.0066: "0.0066", 0.00661: "0.0067", 0.12345: "0.1235", 0.01: "0.0100"} {
		require.Equal(t, want, bound(v))
	}
}
