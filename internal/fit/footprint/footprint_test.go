package footprint

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

// Setting points aside changes no corner: each extreme point of a random set is
// still there, and none that is not one. The slow way is to look at each point
// from all others' lines.
func TestFootprintKeepsEveryCorner(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	for k := range 400 {
		pts := make([]mesh.Vec, 16+rng.IntN(60))
		for i := range pts {
			if k%2 == 0 {
				pts[i] = mesh.Vec{X: float64(rng.IntN(12)), Y: float64(rng.IntN(12))}
			} else {
				pts[i] = mesh.Vec{X: rng.NormFloat64(), Y: 1e-3 * rng.NormFloat64()}
			}
		}
		got := Corners(nil, slices.Clone(pts))
		for _, p := range pts {
			if !slices.Contains(got, p) {
				require.True(t, insideHull(p, pts), "%v of %v left out", p, pts)
			}
		}
		for _, p := range got {
			require.False(t, k%2 == 1 && insideHull(p, pts))
		}
	}
}

// insideHull reports whether p is no corner of the hull of pts: it lies in a
// triangle, or on a segment, of others.
func insideHull(p mesh.Vec, pts []mesh.Vec) bool {
	for _, a := range pts {
		if a == p {
			continue
		}
		// Everything lies on one side of the line from a through p, and nothing
		// beyond p, just when p is a corner next to a.
		left, right, beyond := false, false, false
		for _, q := range pts {
			cross := (p.X-a.X)*(q.Y-a.Y) - (p.Y-a.Y)*(q.X-a.X)
			left, right = left || cross > 0, right || cross < 0
			if cross == 0 && (q.X-p.X)*(p.X-a.X)+(q.Y-p.Y)*(p.Y-a.Y) > 0 {
				beyond = true
			}
		}
		if !(left && right) && !beyond {
			return false
		}
	}
	return true
}

// Points that nearly coincide, or nearly lie on a line, cost no direction more
// than what footprint says of cornerGap. Coordinates of wildly different sizes make
// such sets.
func TestFootprintKeepsExtents(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 2))
	sizes := []float64{0, 1e-40, 1e-19, 3e-15, 1e-9, 1, 100}
	any := func() float64 { return sizes[rng.IntN(len(sizes))] * float64(rng.IntN(5)-2) }
	for range 20_000 {
		pts := make([]mesh.Vec, 1+rng.IntN(24))
		for i := range pts {
			pts[i] = mesh.Vec{X: any(), Y: any(), Z: any()}
		}
		got := Corners(nil, slices.Clone(pts))
		size := Extents(pts)
		for range 8 {
			s, c := math.Sincos(2 * math.Pi * rng.Float64())
			f := Dir{X: c, Y: s}
			require.InDelta(t, reach(pts, f), reach(got, f), 4*cornerGap*max(size.X, size.Y), "%v became %v", pts, got)
		}
	}
}

// reach is how far the points go along f.
func reach(pts []mesh.Vec, f Dir) float64 {
	out := math.Inf(-1)
	for _, p := range pts {
		out = max(out, f.Along(p))
	}
	return out
}
