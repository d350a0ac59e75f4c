package layout

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/fit"
	"cardback/internal/measure/shadow"
)

// drawPieces makes a mix of boxes, stars, frames with room inside, and corners.
func drawPieces(t *rapid.T) []Piece {
	var out []Piece
	for range rapid.IntRange(1, 7).Draw(t, "pieces") {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		size := 3 + 45*rng.Float64()
		w, h := size, size*(0.1+0.9*rng.Float64())
		var o shadow.Outline
		switch rng.IntN(5) {
		case 0:
			o = shadow.Outline{rectangle(w, h)}
		case 1:
			o = shadow.Outline{star(rng, 3+rng.IntN(60), size/2)}
		case 2: // a frame
			e := h * (0.05 + 0.2*rng.Float64())
			o = shadow.Outline{rectangle(w, h), {{X: e, Y: e}, {X: e, Y: h - e}, {X: w - e, Y: h - e}, {X: w - e, Y: e}}}
		case 3: // a corner, and an island beside it
			e := 0.3 * h
			o = shadow.Outline{
				{{}, {X: w}, {X: w, Y: e}, {X: e, Y: e}, {X: e, Y: h}, {Y: h}},
				{{X: w - e/2, Y: h - e/2}, {X: w, Y: h - e/2}, {X: w, Y: h}, {X: w - e/2, Y: h}},
			}
		default:
			o = shadow.Outline{regular(3+rng.IntN(80), size/2)}
		}
		// Anywhere in the plane, and turned.
		sin, cos := math.Sincos(rng.Float64() * 2 * math.Pi)
		if rng.IntN(2) == 0 {
			sin, cos = 0, 1
		}
		x, y := 200*rng.Float64()-100, 200*rng.Float64()-100
		for _, r := range o {
			for i, p := range r {
				r[i] = shadow.Point{X: cos*p.X - sin*p.Y + x, Y: sin*p.X + cos*p.Y + y}
			}
		}
		out = append(out, Piece{Name: "p", Outline: o, Height: 12 * rng.Float64(), Copies: rng.IntN(5)})
	}
	return out
}

func drawOptions(t *rapid.T) Options {
	o := Options{Plate: fit.Plate{
		Width:  rapid.Float64Range(20, 130).Draw(t, "width"),
		Depth:  rapid.Float64Range(20, 130).Draw(t, "depth"),
		Height: 10,
		Margin: rapid.SampledFrom([]float64{0, 1.5, 5}).Draw(t, "margin"),
		Round:  rapid.Bool().Draw(t, "round"),
	}, Spacing: rapid.SampledFrom([]float64{0, 0.7, 2, 9}).Draw(t, "spacing")}
	if o.Plate.Round {
		o.Plate.Depth = o.Plate.Width
	}
	return o
}

// Whatever is laid keeps the spacing and the margin, each copy lies once, what
// is unplaced does not go on the plate alone, and the bound is no bound too many.
func TestLayoutsAreSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces, o := drawPieces(t), drawOptions(t)
		l, err := lay(context.Background(), pieces, o, 3_000_000)
		require.NoError(t, err)
		requireSound(t, pieces, o, l)
		for _, u := range l.Unplaced {
			p := pieces[u.Piece]
			require.True(t, p.Height > o.Plate.Height || tooLarge(p.Outline, o.Plate), "%v: %s", u, o.Plate)
		}
	})
}

// tooLarge tries turns of a tenth of a degree; a piece may then still be larger
// than the plate by what its corners move in half of that.
func tooLarge(o shadow.Outline, p fit.Plate) bool {
	lo, hi := bounds(o)
	about := math.Hypot(hi.X-lo.X, hi.Y-lo.Y)
	allow := 0.05 * math.Pi / 180 * about
	for k := range 1800 {
		m := moved(o, Placed{TurnDeg: float64(k) / 10})
		lo, hi := bounds(m)
		if p.Round {
			// A disc around the middle of the box is not the least there is, but
			// what it holds fits.
			r := 0.0
			for _, ring := range m {
				for _, q := range ring {
					r = max(r, math.Hypot(q.X-(lo.X+hi.X)/2, q.Y-(lo.Y+hi.Y)/2))
				}
			}
			if r < p.Width/2-p.Margin-allow {
				return false
			}
		} else if hi.X-lo.X < p.Width-2*p.Margin-allow && hi.Y-lo.Y < p.Depth-2*p.Margin-allow {
			return false
		}
	}
	return true
}

// The same layout to the last bit on one processor and on several.
func TestLayoutsDoNotDependOnTheProcessors(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	rng := rand.New(rand.NewPCG(8, 8))
	var pieces []Piece
	for range 30 {
		pieces = append(pieces, Piece{Name: "s", Outline: shadow.Outline{star(rng, 30, 6+10*rng.Float64())}, Copies: 1})
	}
	o := plate(60, 60)
	o.Spacing = 1
	one, err := lay(t.Context(), pieces, o, 20_000_000)
	require.NoError(t, err)
	require.Greater(t, len(one.Plates), one.Bound, "or nothing was improved")
	requireSound(t, pieces, o, one)
	for _, n := range []int{2, 5} {
		runtime.GOMAXPROCS(n)
		again, err := lay(t.Context(), pieces, o, 20_000_000)
		require.NoError(t, err)
		require.Equal(t, one, again)
	}
}

func TestACancelledLayoutStops(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 9))
	var pieces []Piece
	for range 60 {
		pieces = append(pieces, Piece{Name: "s", Outline: shadow.Outline{star(rng, 60, 6+20*rng.Float64())}, Copies: 3})
	}
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	start := time.Now()
	_, err := lay(ctx, pieces, plate(70, 70), math.MaxInt)
	require.ErrorIs(t, err, context.DeadlineExceeded)
	// Ten times what is promised, for machines that are busy.
	require.Less(t, time.Since(start), 1200*time.Millisecond)
}

func TestWhatCannotBeLaidIsSaid(t *testing.T) {
	o := Options{Plate: fit.Plate{Width: 100, Depth: 50, Height: 30, Margin: 5}, Spacing: 2}
	pieces := []Piece{
		boxPiece("long", 95, 1, 1), // a diagonal of 90 by 40 is 98.5, so it fits turned
		boxPiece("too long", 98.5, 1, 1),
		{Name: "high", Outline: shadow.Outline{rectangle(5, 5)}, Height: 30.01, Copies: 1},
		{Name: "flat", Outline: nil, Height: 3, Copies: 1},
		{Name: "line", Outline: shadow.Outline{{{X: 1}, {X: 5}, {X: 3}}}, Height: 3, Copies: 1},
		{Name: "nowhere", Outline: shadow.Outline{{{X: math.NaN()}, {X: 5}, {Y: 3}}}, Height: 3, Copies: 1},
		{Name: "none", Outline: nil, Copies: 0},
		boxPiece("fits with nothing to spare", 90, 40, 1),
	}
	l := mustLay(t, pieces, o)
	require.Equal(t, []Unplaced{
		{1, "At no turn about the vertical does it lie on the plate."},
		{2, "It is 30.01 mm high; the plate takes 30 mm."},
		{3, "The outline has no area."},
		{4, "The outline has no area."},
		{5, "The outline has a coordinate beyond 10 m, or none."},
	}, l.Unplaced)
	require.Len(t, l.Plates, 2)
	require.Equal(t, "2 plates; fewer will not do", l.Sentence())

	empty := mustLay(t, nil, o)
	require.Empty(t, empty.Plates)
	require.Equal(t, "no plates", empty.Sentence())

	for _, bad := range []Options{
		{}, {Plate: fit.Plate{Width: 10, Depth: 10, Height: 10, Margin: 5}},
		{Plate: fit.Plate{Width: math.Inf(1), Depth: 10, Height: 10}},
		{Plate: fit.Plate{Width: 10, Depth: 10, Height: 10}, Spacing: -1},
		{Plate: fit.Plate{Width: 10, Depth: 10, Height: 10}, Spacing: math.NaN()},
		{Plate: fit.Plate{Width: 10, Depth: 11, Height: 10, Round: true}},
	} {
		_, err := Lay(t.Context(), pieces, bad)
		require.Error(t, err)
	}
	_, err := Lay(t.Context(), []Piece{boxPiece("many", 1, 1, 2001)}, o)
	require.ErrorContains(t, err, "more than 2000")
}

// A piece that a round plate just takes lies in its middle; a small piece goes
// into a ring.
func TestRoundPlatesAndRings(t *testing.T) {
	round := Options{Plate: fit.Plate{Width: 80, Depth: 80, Height: 10, Round: true}}
	disc := Piece{Name: "disc", Outline: shadow.Outline{regular(90, 40)}, Copies: 1}
	triangle := Piece{Name: "triangle", Outline: shadow.Outline{regular(3, 40)}, Copies: 1}
	small := boxPiece("small", 5, 5, 6)
	l := mustLay(t, []Piece{disc, triangle, small}, round)
	require.Empty(t, l.Unplaced)
	require.Len(t, l.Plates, 2, "the small ones go beside the triangle")

	inner := regular(60, 18)
	slices.Reverse(inner)
	ring := Piece{Name: "ring", Outline: shadow.Outline{regular(60, 20), inner}, Copies: 1}
	l = mustLay(t, []Piece{ring, boxPiece("inside", 20, 20, 1)}, plate(41, 41))
	require.Len(t, l.Plates, 1)
}
