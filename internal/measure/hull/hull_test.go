package hull

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// Against the definition: no point lies outside, every vertex is extreme. A
// point is extreme if it has some plane through it and two others with all the
// rest strictly to one side or in the plane, and it is no mean of others there;
// that is slow to say, so a point's being extreme is tested by leaving it out:
// the hull of the rest has it strictly outside.
func TestHullIsTheLeastConvexSet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := rapid.SliceOfN(rapid.Custom(meshtest.DrawPoint), 1, 11).Draw(t, "points")
		h, err := ofPoints(t.Context(), points)
		require.NoError(t, err)
		require.True(t, slices.IsSortedFunc(h.Vertices, compare))
		for _, p := range points {
			require.Equal(t, slices.Contains(h.Vertices, p), !insideHull(points, p), "%v of %v", p, points)
		}
		shuffled := rapid.Permutation(points).Draw(t, "shuffled")
		again, err := ofPoints(t.Context(), shuffled)
		require.NoError(t, err)
		require.Equal(t, h.Vertices, again.Vertices)
		d := Diameter(h.Vertices) // far above the rounding of a dozen facets' products of three lengths
		require.InDelta(t, h.Volume, again.Volume, 0x1p-45*d*d*d)
		require.GreaterOrEqual(t, h.Volume, 0.0)
	})
}

// insideHull reports whether p is a convex combination of the points other than
// it, by looking for it in every simplex of them (Carathéodory), exactly.
func insideHull(points []mesh.Vec, p mesh.Vec) bool {
	var rest []mesh.Vec
	for _, q := range points {
		if q != p {
			rest = append(rest, q)
		}
	}
	for i, a := range rest {
		for j, b := range rest[:i] {
			if exact.Collinear(a, b, p) && between(a, b, p) {
				return true
			}
			for k, c := range rest[:j] {
				if !exact.Collinear(a, b, c) && exact.Side(a, b, c, p) == 0 && inTriangle(a, b, c, p) {
					return true
				}
				for _, d := range rest[:k] {
					s := exact.Side(a, b, c, d)
					if s != 0 && s == exact.Side(a, b, c, p) && s == -exact.Side(a, b, d, p) && s == -exact.Side(a, d, c, p) && s == -exact.Side(d, b, c, p) {
						return true
					}
				}
			}
		}
	}
	return false
}

func between(a, b, p mesh.Vec) bool {
	lo, hi := a, b
	if compare(lo, hi) > 0 {
		lo, hi = hi, lo
	}
	return compare(lo, p) <= 0 && compare(p, hi) <= 0
}

func inTriangle(a, b, c, p mesh.Vec) bool {
	for _, shade := range []func(mesh.Vec) exact.Point{
		func(v mesh.Vec) exact.Point { return exact.Point{X: v.X, Y: v.Y} },
		func(v mesh.Vec) exact.Point { return exact.Point{X: v.Y, Y: v.Z} },
		func(v mesh.Vec) exact.Point { return exact.Point{X: v.Z, Y: v.X} },
	} {
		if s := exact.Turn(shade(a), shade(b), shade(c)); s != 0 {
			for _, e := range [3][2]mesh.Vec{{a, b}, {b, c}, {c, a}} {
				if exact.Turn(shade(e[0]), shade(e[1]), shade(p)) == -s {
					return false
				}
			}
			return true
		}
	}
	return false
}

func TestHullOfFlatThings(t *testing.T) {
	square := []mesh.Vec{{}, {X: 2}, {X: 2, Y: 2}, {Y: 2}, {X: 1}, {X: 1, Y: 1}, {X: 2}}
	for _, c := range []struct {
		name         string
		points       []mesh.Vec
		vertices     int
		volume, area float64
	}{
		{"nothing", nil, 0, 0, 0},
		{"a point twice", []mesh.Vec{{X: 1}, {X: 1}}, 1, 0, 0},
		{"a line", []mesh.Vec{{X: 1, Y: 1}, {X: 3, Y: 3}, {X: 2, Y: 2}}, 2, 0, 0},
		{"a square", square, 4, 0, 8},
		{"a cube with points on edges, faces and inside", append(square,
			mesh.Vec{Z: 2}, mesh.Vec{X: 2, Z: 2}, mesh.Vec{X: 2, Y: 2, Z: 2}, mesh.Vec{Y: 2, Z: 2}, mesh.Vec{X: 1, Y: 1, Z: 2}, mesh.Vec{X: 1, Y: 1, Z: 1}, mesh.Vec{Z: 1}), 8, 8, 24},
	} {
		h, err := ofPoints(t.Context(), c.points)
		require.NoError(t, err, c.name)
		require.Len(t, h.Vertices, c.vertices, c.name)
		require.InDelta(t, c.volume, h.Volume, 1e-12, c.name)
		require.InDelta(t, c.area, h.Area, 1e-12, c.name)
	}
}

// A tilted grid, with hundreds of points in every face, whose corners are known.
func TestHullOfTiltedGrid(t *testing.T) {
	var points []mesh.Vec
	for i := range 13 {
		for j := range 13 {
			for k := range 13 {
				x, y, z := float64(i), float64(j), float64(k)
				points = append(points, mesh.Vec{X: x + 2*y, Y: y - x + 3*z, Z: x + z})
			}
		}
	}
	h, err := ofPoints(t.Context(), points)
	require.NoError(t, err)
	require.Len(t, h.Vertices, 8)
	require.InEpsilon(t, 9.0*12*12*12, h.Volume, 1e-14) // |det (1 2 0; −1 1 3; 1 0 1)| = 9
}

func TestDiameterAgreesWithAllPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := rapid.SliceOfN(rapid.Custom(meshtest.DrawPoint), 1, 60).Draw(t, "points")
		if rapid.Bool().Draw(t, "round") { // nearly all pairs of opposite points tie
			for i, p := range points {
				if n := p.Norm(); n > 0 && n < 1e100 {
					points[i] = p.Scale(1 / n).Add(mesh.Vec{X: 100})
				}
			}
		}
		want := 0.0
		for i, p := range points {
			for _, q := range points[:i] {
				want = max(want, distance2(p, q))
			}
		}
		require.Equal(t, math.Sqrt(want), Diameter(points))
	})
}
