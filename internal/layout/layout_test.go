package layout

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit"
	"cardback/internal/measure/shadow"
)

func plate(w, d float64) Options { return Options{Plate: fit.Plate{Width: w, Depth: d, Height: 100}} }

func boxPiece(name string, w, h float64, copies int) Piece {
	return Piece{Name: name, Outline: shadow.Outline{rectangle(w, h)}, Height: 1, Copies: copies}
}

func mustLay(t require.TestingT, pieces []Piece, o Options) *Layout {
	l, err := Lay(testContext(t), pieces, o)
	require.NoError(t, err)
	requireSound(t, pieces, o, l)
	return l
}

// The instances of reference/check-values.md, 1.11.
func TestKnownOptimaAreReached(t *testing.T) {
	squares := func(sides ...float64) []Piece {
		var out []Piece
		for _, s := range sides {
			out = append(out, boxPiece("square", s, s, 1))
		}
		return out
	}
	for name, c := range map[string]struct {
		pieces []Piece
		w, d   float64
		want   int
		proved bool
	}{
		"four 6x6 in 10x10":               {[]Piece{boxPiece("a", 6, 6, 4)}, 10, 10, 4, true},
		"three 5x10 in 10x10":             {[]Piece{boxPiece("a", 5, 10, 3)}, 10, 10, 2, true},
		"6x6, 4x10, 6x4 in 10x10":         {[]Piece{boxPiece("a", 6, 6, 1), boxPiece("b", 4, 10, 1), boxPiece("c", 6, 4, 1)}, 10, 10, 1, true},
		"Moroń's 33x32":                   {squares(18, 15, 14, 10, 9, 8, 7, 4, 1), 33, 32, 1, true},
		"Moroń's 32x33":                   {squares(18, 15, 14, 10, 9, 8, 7, 4, 1), 32, 33, 1, true},
		"Duijvestijn's 112":               {squares(50, 42, 37, 35, 33, 29, 27, 25, 24, 19, 18, 17, 16, 15, 11, 9, 8, 7, 6, 4, 2), 112, 112, 1, true},
		"5 unit squares in a square of 3": {[]Piece{boxPiece("a", 1, 1, 5)}, 3, 3, 1, true},
		"5 unit squares, one at 45°":      {[]Piece{boxPiece("a", 1, 1, 5)}, 2.75, 2.75, 1, true},
	} {
		t.Run(name, func(t *testing.T) {
			l := mustLay(t, c.pieces, plate(c.w, c.d))
			require.Len(t, l.Plates, c.want)
			if c.proved {
				require.Equal(t, c.want, l.Bound, l.Why)
			}
			t.Log(l.Sentence(), l.Why)
		})
	}
}

// Plates cut up by straight cuts from side to side, into eight pieces each, are
// laid again with nothing left over.
func TestCutUpPlatesComeBack(t *testing.T) {
	for seed := range uint64(6) {
		for _, k := range []int{1, 2, 4} {
			rng := rand.New(rand.NewPCG(seed, uint64(k)))
			var pieces []Piece
			var cut func(w, h float64, depth int)
			cut = func(w, h float64, depth int) {
				if depth == 0 || max(w, h) < 20 {
					if rng.IntN(2) == 0 {
						w, h = h, w
					}
					pieces = append(pieces, boxPiece("r", w, h, 1))
					return
				}
				share := math.Round(100*(0.3+0.4*rng.Float64())) / 100
				if w > h {
					cut(w*share, h, depth-1)
					cut(w-w*share, h, depth-1)
				} else {
					cut(w, h*share, depth-1)
					cut(w, h-h*share, depth-1)
				}
			}
			for range k {
				cut(100, 100, 3)
			}
			l, err := lay(t.Context(), pieces, plate(100, 100), 20_000_000)
			require.NoError(t, err)
			requireSound(t, pieces, plate(100, 100), l)
			require.Equal(t, k, l.Bound, "nothing is left over, so the area proves it")
			require.Len(t, l.Plates, k)
		}
	}
}
