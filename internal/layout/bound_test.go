package layout

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit"
	"cardback/internal/measure/shadow"
)

func boundOf(t *testing.T, pieces []Piece, o Options) (int, string) {
	t.Helper()
	var shapes []*shape
	var all []int
	for i, p := range pieces {
		s, reason := newShape(t.Context(), p, o, newTable(o))
		require.Empty(t, reason)
		shapes = append(shapes, s)
		for range p.Copies {
			all = append(all, i)
		}
	}
	return bound(pieces, shapes, all, o)
}

// The least number is never claimed to be more than a layout that is known: k
// plates cut up, with boxes, ellipses and diamonds in the cuts and the spacing
// between them.
func TestNoBoundIsAboveAKnownLayout(t *testing.T) {
	reached := 0
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 7))
		o := Options{Plate: fit.Plate{Width: 40 + 100*rng.Float64(), Depth: 40 + 100*rng.Float64(), Height: 10}, Spacing: 3 * float64(rng.IntN(3))}
		k := 1 + rng.IntN(3)
		var pieces []Piece
		var cut func(w, h float64, depth int)
		cut = func(w, h float64, depth int) {
			share := 0.3 + 0.4*rng.Float64()
			switch s := o.Spacing; {
			case depth == 0 || max(w, h) < 12+s:
				ring := rectangle(w, h)
				if kind := rng.IntN(4); kind >= 2 {
					ring = regular([]int{4, 50}[kind-2], 1)
					for i, p := range ring {
						ring[i] = shadow.Point{X: p.X * w / 2, Y: p.Y * h / 2}
					}
				}
				pieces = append(pieces, Piece{Name: "p", Outline: shadow.Outline{ring}, Copies: 1})
			case w > h:
				cut(share*(w-s), h, depth-1)
				cut((1-share)*(w-s), h, depth-1)
			default:
				cut(w, share*(h-s), depth-1)
				cut(w, (1-share)*(h-s), depth-1)
			}
		}
		for range k {
			cut(o.Plate.Width, o.Plate.Depth, rng.IntN(4))
		}
		n, why := boundOf(t, pieces, o)
		require.LessOrEqual(t, n, k, why)
		if n == k {
			reached++
		}
	}
	require.Greater(t, reached, 20, "or the bound says little")
}

// Two equal circles go into a square of side 1 up to the radius 1/(2+√2), and
// into a circle of radius 1 up to 1/2 (both plain geometry: along the diagonal,
// and along a diameter).
func TestTwoDiscsAreKeptApartWhereTheyMustBe(t *testing.T) {
	// The disc found is smaller than the polygon's: by an eighth of a cell of at
	// most 0.5 mm that is straightened, twice, by a thousandth of the radius for the
	// search's step, and the polygon's own inner radius by 3e-5: 0.16 mm of 24.
	const n, inner = 400, 1 - 0.16/24
	disc := func(r float64) []Piece {
		return []Piece{{Name: "disc", Outline: shadow.Outline{regular(n, r)}, Copies: 2}}
	}
	for _, c := range []struct {
		o     Options
		limit float64
	}{
		{plate(100, 100), 100 / (2 + math.Sqrt2)},
		{Options{Plate: fit.Plate{Width: 100, Depth: 100, Height: 10, Round: true}}, 25},
		{Options{Plate: fit.Plate{Width: 110, Depth: 110, Height: 10, Round: true, Margin: 5}, Spacing: 4}, 24},
	} {
		got, why := boundOf(t, disc(c.limit*0.9999), c.o)
		require.Equal(t, 1, got, why)
		got, why = boundOf(t, disc(c.limit/inner), c.o)
		require.Equal(t, 2, got, why)
		require.Equal(t, "No two of these go on one plate: 2 × disc.", why)
	}
}

// The disc found inside is never larger than there is, and nearly as large.
func TestInscribedDiscs(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	for _, c := range []struct {
		ring shadow.Ring
		want float64
	}{
		{rectangle(30, 8), 4},
		{regular(6, 10), 10 * math.Cos(math.Pi/6)},
		{shadow.Ring{{}, {X: 3}, {Y: 4}}, 1}, // the 3-4-5 triangle
		{shadow.Ring{{}, {X: 20}, {X: 20, Y: 4}, {X: 4, Y: 4}, {X: 4, Y: 20}, {Y: 20}}, 4 * math.Sqrt2 / (1 + math.Sqrt2)}, // in the corner: √2·(4−r) = r
	} {
		got := inscribed(t.Context(), straighten(c.ring, 0.01), shadow.ConvexRing(c.ring))
		require.LessOrEqual(t, got, c.want*(1+1e-12))
		_, size := box(c.ring, 0)
		require.Greater(t, got, c.want-max(size.X, size.Y)/2000-1e-9)
	}
	// The largest room of any of many points in a star is a lower limit.
	for range 6 {
		o := shadow.Outline{star(rng, 25, 20)}
		got := inscribed(t.Context(), straighten(o[0], 0.1), shadow.ConvexRing(o[0]))
		best := 0.0
		for range 20_000 {
			p := shadow.Point{X: 40*rng.Float64() - 20, Y: 40*rng.Float64() - 20}
			if !inside(o, p) {
				continue
			}
			d := math.Inf(1)
			for i, a := range o[0] {
				d = min(d, pointToSegment(p, a, o[0][(i+1)%25]))
			}
			best = max(best, d)
		}
		require.Greater(t, got, best-0.1-0.1-20.0/1000, "less what was straightened, twice, and the search's step")
		require.Less(t, got, best+0.5) // 20,000 points are 0.3 mm apart
	}
}
