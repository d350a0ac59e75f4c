package sound

import (
	"context"
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
)

func treeOf(t require.TestingT, m *mesh.Mesh) *tree.Tree {
	tr, err := tree.New(context.Background(), m)
	require.NoError(t, err)
	return tr
}

func crossed(t require.TestingT, m *mesh.Mesh) Crossings {
	c, err := Cross(context.Background(), treeOf(t, m), nil)
	require.NoError(t, err)
	return c
}

// splitCrossings are the files that cross nowhere as they stand: what the
// reference counts are triangles that meet in a vertex or an edge which they
// share, and which CGAL had split before, since more than one fan of triangles
// hangs on it. The test below does the same to them and finds the same counts.
var splitCrossings = map[string]bool{
	"cgal/elephant-with-holes.stl":           true, // 65 vertices where holes touch
	"general/shared.STL":                     true, // two boxes with an edge in common
	"stl-dialects/assimp-sphereWithHole.stl": true, // 2 vertices where holes touch
}

func TestCrossAgreesWithReference(t *testing.T) {
	compared := 0
	meshtest.EachReference(t, func(t *testing.T, ref reference.File, m *mesh.Mesh) {
		c := crossed(t, m)
		require.False(t, c.Partial)
		require.NotNil(t, ref.SelfIntersecting)
		require.Equal(t, *ref.SelfIntersecting && !splitCrossings[ref.File], c.Count > 0 || ref.Repeated+ref.ZeroArea > 0)
		requirePlaces(t, m, c)
		split := c
		if ref.NonManifoldEdges > 0 || *ref.SelfIntersecting {
			split = crossed(t, splitFans(m))
		}
		want := 0
		if ref.CrossingPairs != nil {
			want = *ref.CrossingPairs
		}
		require.Equal(t, want, split.Count+ref.ZeroArea)
		compared++
	})
	require.Equal(t, 159-18-1, compared)
}

// splitFans gives each fan of triangles its own vertex: the triangles that hang
// together at it through edges of two triangles that run along it opposite ways.
func splitFans(m *mesh.Mesh) *mesh.Mesh {
	type edge [2]uint32
	users := map[edge][]int{}
	for i, t := range m.Triangles {
		if hasRepeat(t) {
			continue
		}
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			users[edge{min(a, b), max(a, b)}] = append(users[edge{min(a, b), max(a, b)}], i)
		}
	}
	parent := make([]int, 3*len(m.Triangles)) // of each corner
	for i := range parent {
		parent[i] = i
	}
	var root func(i int) int
	root = func(i int) int {
		if parent[i] != i {
			parent[i] = root(parent[i])
		}
		return parent[i]
	}
	cornerAt := func(i int, v uint32) int {
		for k, w := range m.Triangles[i] {
			if w == v {
				return 3*i + k
			}
		}
		panic("not a corner")
	}
	for e, u := range users {
		if len(u) == 2 {
			for _, v := range e {
				parent[root(cornerAt(u[0], v))] = root(cornerAt(u[1], v))
			}
		}
	}
	out := &mesh.Mesh{}
	number := map[int]uint32{}
	for i, t := range m.Triangles {
		if hasRepeat(t) {
			continue
		}
		var n [3]uint32
		for k, v := range t {
			r := root(3*i + k)
			if _, ok := number[r]; !ok {
				number[r] = uint32(len(out.Vertices))
				out.Vertices = append(out.Vertices, m.Vertices[v])
			}
			n[k] = number[r]
		}
		out.Triangles = append(out.Triangles, n)
	}
	return out
}

// requirePlaces checks that each place lies on both triangles, but for the
// rounding of its coordinates: half a last bit of each.
func requirePlaces(t require.TestingT, m *mesh.Mesh, c Crossings) {
	require.Len(t, c.Places, min(c.Count, MostPlaces))
	seen := map[[2]int32]bool{}
	for i, p := range c.Places {
		require.Less(t, p.Triangles[0], p.Triangles[1])
		require.False(t, seen[p.Triangles])
		seen[p.Triangles] = true
		require.Equal(t, i >= min(c.Count-c.Touching, MostPlaces-min(1, c.Touching)), p.Touch, "crossing ones come first, and leave a place")
		for _, n := range p.Triangles {
			s := cornersOf(m, n)
			require.LessOrEqual(t, distance(p.At, &s), roundingAt(p.At))
		}
	}
}

// roundingAt is how far half a last bit of each coordinate may move p: at most
// |p|·2^-53 in all, taken twice for the rounding of the distance itself.
func roundingAt(p mesh.Vec) float64 { return 0x1p-52 * p.Norm() }

// distance from p to a triangle, worked out in fractions by the plainest way: to
// its plane, or to its three sides.
func distance(p mesh.Vec, s *corners) float64 {
	f := fractions(s)
	q := fractions(&corners{p, p, p})[0]
	n := f.normal()
	within := true
	var least *big.Rat
	for k := range 3 {
		a, d := f[k], f[(k+1)%3].minus(f[k])
		within = within && q.minus(a).dot(n.cross(d)).Sign() >= 0
		x := new(big.Rat).Quo(q.minus(a).dot(d), d.dot(d))
		if x.Sign() < 0 {
			x = new(big.Rat)
		} else if x.Cmp(big.NewRat(1, 1)) > 0 {
			x = big.NewRat(1, 1)
		}
		off := q.minus(a.plus(d.times(x)))
		if square := off.dot(off); least == nil || square.Cmp(least) < 0 {
			least = square
		}
	}
	if within {
		h := q.minus(f[0]).dot(n)
		least = h.Quo(h.Mul(h, h), n.dot(n))
	}
	square, _ := least.Float64()
	return math.Sqrt(square)
}
