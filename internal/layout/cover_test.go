package layout

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/shadow"
)

// Every point within r of a star, straightened or not, lies in a cell that is
// covered; and no cell is covered that lies farther off than a cell's diagonal
// and what was straightened.
func TestCoverLeavesNothingOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for round := range 12 {
		o := shadow.Outline{star(rng, 5+5*round, 10)}
		if round%3 == 0 {
			o = shadow.Outline{rectangle(3, 7)}
		}
		n := len(o[0])
		for _, tol := range []float64{0, 0.3} {
			for _, r := range []float64{0, 0.7} {
				const pitch = 0.37
				edges := straighten(o[0], tol)
				covered := map[[2]int]bool{}
				for _, c := range cover(edges, r, pitch, nil) {
					for x := c.x0; x < c.x1; x++ {
						covered[[2]int{x, c.y}] = true
					}
				}
				far := func(p shadow.Point) float64 {
					if inside(o, p) {
						return 0
					}
					d := math.Inf(1)
					for i, a := range o[0] {
						d = min(d, pointToSegment(p, a, o[0][(i+1)%n]))
					}
					return d
				}
				for range 6000 {
					p := shadow.Point{X: 24*rng.Float64() - 12, Y: 24*rng.Float64() - 12}
					cell := [2]int{int(math.Floor(p.X / pitch)), int(math.Floor(p.Y / pitch))}
					switch d := far(p); {
					case d < r || d == 0:
						require.True(t, covered[cell], "a point within is in no covered cell")
					case d > r+2*tol+math.Sqrt2*pitch:
						require.False(t, covered[cell], "a cell far off is covered")
					}
				}
			}
		}
	}
}

// Boxes take their own cells and no others, also where decimals do not end on a
// cell's side exactly.
func TestBoxesTakeTheirOwnCells(t *testing.T) {
	for _, pitch := range []float64{0.1, 0.2, 0.5} {
		for w := 1; w < 60; w += 7 {
			size := shadow.Point{X: float64(w) * pitch, Y: 3 * pitch}
			runs := cover(straighten(rectangle(size.X, size.Y), 0.01), 0, pitch, &size)
			require.Equal(t, []run{{0, 0, w}, {1, 0, w}, {2, 0, w}}, runs)
		}
	}
}

// A spike without width, along the sides of cells, takes cells.
func TestNoSpikeIsTooThin(t *testing.T) {
	spike := shadow.Ring{{}, {X: 4}, {X: 4, Y: 2}, {X: 9, Y: 2}, {X: 4, Y: 2}, {X: 4, Y: 4}, {Y: 4}}
	size := shadow.Point{X: 9, Y: 4}
	reaches := 0
	for _, c := range cover(straighten(spike, 0), 0, 0.5, &size) {
		if c.x1 >= 18 {
			reaches++
		}
	}
	require.Equal(t, 2, reaches, "on both sides")
}

// A comb whose teeth are found one by one, each with a look at all that are left: some
// 5·10⁹ looks for 100,000 points, on a stack of as many calls. Past the budget the rest
// stays as it is, corner for corner.
func TestStraightenEndsOnAComb(t *testing.T) {
	var comb shadow.Ring
	const teeth = 50_000
	for i := range teeth {
		comb = append(comb, shadow.Point{X: float64(2 * i), Y: 0}, shadow.Point{X: float64(2*i + 1), Y: 10 + float64(i)/teeth})
	}
	comb = append(comb, shadow.Point{X: 2 * teeth, Y: -50}, shadow.Point{X: 0, Y: -50})
	edges := straighten(comb, 0.1)
	require.Len(t, edges, len(comb))
	for i, e := range edges {
		require.Equal(t, edges[(i+1)%len(edges)].a, e.b)
	}
}
