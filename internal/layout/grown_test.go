package layout

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/shadow"
)

func regular(n int, r float64) shadow.Ring {
	var out shadow.Ring
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out = append(out, shadow.Point{X: r * cos, Y: r * sin})
	}
	return out
}

// star has n rays of random lengths.
func star(rng *rand.Rand, n int, r float64) shadow.Ring {
	var out shadow.Ring
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		l := r * (0.2 + 0.8*rng.Float64())
		out = append(out, shadow.Point{X: l * cos, Y: l * sin})
	}
	return out
}

// Steiner's formula: a convex region of area A and perimeter P grown by r has
// the area A + P·r + π·r². Grown inwards, the hole of a frame loses as much as
// its own shape says.
func TestGrownAreaAgreesWithSteiner(t *testing.T) {
	for _, turned := range []float64{0, 17, 45, 90} {
		for _, ring := range []shadow.Ring{rectangle(30, 8), rectangle(3, 50), regular(6, 10), regular(40, 12)} {
			var o shadow.Ring
			perimeter := 0.0
			for i, p := range ring {
				o = append(o, turn(p, turned))
				perimeter += distance(p, ring[(i+1)%len(ring)])
			}
			edges := straighten(o, 0.02)
			for _, r := range []float64{0.5, 1, 5} {
				want := shadow.Outline{o}.Area() + perimeter*r + math.Pi*r*r
				got := grownArea(edges, shadow.ConvexRing(o), r)
				require.LessOrEqual(t, got, want)
				_, size := box(o, 0)
				require.Greater(t, got, want-(perimeter+2*math.Pi*r)*(size.Y+2*r)/grownBands, "a band along the boundary")
			}
		}
	}
	frame := append(straighten(rectangle(20, 20), 0.1), straighten(shadow.Ring{{X: 2, Y: 2}, {X: 2, Y: 18}, {X: 18, Y: 18}, {X: 18, Y: 2}}, 0.1)...)
	want := 400 + 80.0 + math.Pi - 14*14
	got := grownArea(frame, rectangle(20, 20), 1)
	require.LessOrEqual(t, got, want)
	require.Greater(t, got, want-(80+2*math.Pi+56)*22/grownBands, "a band along both boundaries")
}

// No point that is farther than r may count: against random points, for stars
// that were straightened a good deal.
func TestGrownAreaOfStarsIsNeverTooLarge(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for range 8 {
		o := shadow.Outline{star(rng, 60, 20)}
		edges := straighten(o[0], 0.5)
		require.Less(t, len(edges), 60)
		r := 0.8
		const n = 40_000
		hits := 0
		for range n {
			p := shadow.Point{X: 44*rng.Float64() - 22, Y: 44*rng.Float64() - 22}
			d := math.Inf(1)
			for i, a := range o[0] {
				d = min(d, pointToSegment(p, a, o[0][(i+1)%60]))
			}
			if d < r || inside(o, p) {
				hits++
			}
		}
		want := 44 * 44 * float64(hits) / n
		// Three standard deviations of the count.
		noise := 3 * 44 * 44 * 0.5 / math.Sqrt(n)
		got := grownArea(edges, shadow.ConvexRing(o[0]), r)
		require.Less(t, got, want+noise)
		require.Greater(t, got, 0.8*want)
	}
}
