package shadow

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/reference"
)

// reach is the greatest distance of a point of p's rings from q's nearest edge,
// tried at the corners and at three points inside each edge.
func reach(p, q Outline) float64 {
	var most float64
	for _, r := range p {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			for k := range 4 {
				t := float64(k) / 4
				x := Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)}
				least := math.Inf(1)
				for _, s := range q {
					for j, c := range s {
						d := s[(j+1)%len(s)]
						dx, dy := d.X-c.X, d.Y-c.Y
						u := min(max(((x.X-c.X)*dx+(x.Y-c.Y)*dy)/(dx*dx+dy*dy), 0), 1)
						least = min(least, math.Hypot(x.X-c.X-u*dx, x.Y-c.Y-u*dy))
					}
				}
				most = max(most, least)
			}
		}
	}
	return most
}

// requireSimplified checks what Simplify promises.
func requireSimplified(t *testing.T, o Outline, tol float64) Outline {
	t.Helper()
	s := o.Simplify(tol)
	requireSoundOutline(t, s)
	var large Outline
	for _, r := range o {
		if math.Abs(Outline{r}.Area()) >= tol*tol {
			large = append(large, r)
		}
	}
	require.Len(t, s, len(large))
	for i := range large {
		require.Equal(t, Outline{large[i]}.Area() > 0, Outline{s[i]}.Area() > 0, "an outer ring stays one")
		// The rings' own distances, so that a neighbour does not stand in.
		require.LessOrEqual(t, reach(large[i:i+1], s[i:i+1]), tol*(1+1e-9))
		require.LessOrEqual(t, reach(s[i:i+1], large[i:i+1]), tol*(1+1e-9))
	}
	return s
}

func TestSimplifyKeepsItsDistance(t *testing.T) {
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(seed, 9))
		var corners []mesh.Vec
		for range 120 {
			c := mesh.Vec{X: 100 * r.Float64(), Y: 100 * r.Float64()}
			for range 3 {
				corners = append(corners, c.Add(mesh.Vec{X: 20 * r.Float64(), Y: 20 * r.Float64()}))
			}
		}
		o := mustShadow(t, soup(corners...), Top)
		for _, tol := range []float64{0.1, 1, 5} {
			requireSimplified(t, o, tol)
		}
	}
}

func TestSimplifyLeavesSharpCornersAlone(t *testing.T) {
	o := Outline{{{0, 0}, {10, 0}, {20, 0.01}, {30, 0}, {30, 10}, {0, 10}}}
	require.Equal(t, Outline{{{0, 0}, {30, 0}, {30, 10}, {0, 10}}}, o.Simplify(0.02))
	require.Equal(t, o, o.Simplify(0.004))
	require.Equal(t, o, o.Simplify(0))
	require.Equal(t, o, o.Simplify(math.NaN()))
	require.Empty(t, Outline{}.Simplify(1))
}

// A wall of a box bulges round a thin slot that lies inside the bulge: the
// straightened wall would leave the slot outside.
func TestSimplifyDoesNotPassOverAnotherRing(t *testing.T) {
	outer := Ring{{0, 0}, {100, 0}, {100, 20}, {60, 20}, {60, 20.9}, {40, 20.9}, {40, 20}, {0, 20}}
	slot := Ring{{42, 20.2}, {42, 20.8}, {58, 20.8}, {58, 20.2}}
	s := requireSimplified(t, Outline{outer, slot}, 1)
	require.Len(t, s, 2)
	for _, p := range s[1] {
		require.Equal(t, 1, windings(s[:1], Point{p.X, p.Y - 1e-9}), "the slot stays inside")
	}
}

func TestSimplifyOnSharedMeshes(t *testing.T) {
	for _, file := range []string{"cgal/elephant.stl", "arm/Base_SO101.stl", "cgal/bones.stl", "cgal/knot1.stl"} {
		m, _, err := mesh.ReadFile(t.Context(), filepath.Join(reference.Folder, file))
		if os.IsNotExist(err) {
			t.Skip("the shared meshes are not here")
		}
		require.NoError(t, err)
		for _, v := range Views {
			o := mustShadow(t, m, v)
			b := m.Bounds().Size()
			tol := max(b.X, b.Y, b.Z) / 1000
			s := requireSimplified(t, o, tol)
			require.InEpsilon(t, o.Area(), s.Area(), 0.01)
			require.Equal(t, s, o.Simplify(tol), "the same every time")
		}
	}
}
