package layout

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit"
	"cardback/internal/longrun"
	"cardback/internal/measure/shadow"
)

// searched lays pieces as Lay does, and says how much work it was, in words looked at.
func searched(t *testing.T, pieces []Piece, o Options) (*Layout, int) {
	tab := newTable(o)
	s := searcher{table: tab, shapes: make([]*shape, len(pieces))}
	var all []int
	for i, p := range pieces {
		var why string
		s.shapes[i], why = newShape(t.Context(), p, o, tab)
		require.Empty(t, why)
		for range p.Copies {
			all = append(all, i)
		}
	}
	out := &Layout{}
	out.Bound, out.Why = bound(pieces, s.shapes, all, o)
	s.bound, s.budget = out.Bound, budgetFor(len(all))
	best, err := s.search(t.Context(), all)
	require.NoError(t, err)
	out.Plates = best.number(len(pieces))
	return out, s.work
}

func ell(arm, width float64) shadow.Outline {
	return shadow.Outline{{{X: 0, Y: 0}, {X: arm, Y: 0}, {X: arm, Y: width}, {X: width, Y: width}, {X: width, Y: 20}, {X: 0, Y: 20}}}
}

// A thousand pieces of one part: one plate is filled, by each rule once, and repeated.
// A search that lays all of them, seven plates by each rule, looks at some 10¹⁰ words
// before it looks at its budget, in some twenty seconds.
func TestAThousandPiecesOfOnePartAreLaidRegularly(t *testing.T) {
	o := Options{Plate: fit.Plate{Width: 220, Depth: 220, Height: 250, Margin: 3}, Spacing: 2}
	for _, c := range []struct {
		name    string
		outline shadow.Outline
		plates  int
	}{
		{"squares", shadow.Outline{rectangle(10, 10)}, 4}, // 18 × 18 = 324 on each, and 1000 > 3 · 324
		{"angles", ell(20, 5), 7},
	}[:longrun.Of(1, 2)] {
		pieces := []Piece{{Name: "a", Outline: c.outline, Height: 1, Copies: 1000}}
		l, work := searched(t, pieces, o)
		require.Len(t, l.Plates, c.plates, c.name)
		require.LessOrEqual(t, l.Bound, c.plates)
		// No more than the bound and one rule's plate, of which eight come to about that.
		require.Less(t, work, fullestWork*5/4, c.name)
		n := 0
		for _, plate := range l.Plates {
			n += len(plate)
		}
		require.Equal(t, 1000, n)
		got := mustLay(t, pieces, o) // also sound
		require.Equal(t, l.Plates, got.Plates)
	}
}

// Of several kinds with hundreds of copies, full plates of one kind are set aside, and
// none gets lost.
func TestManyPiecesOfSeveralKindsStayWithinTheBudget(t *testing.T) {
	o := Options{Plate: fit.Plate{Width: 150, Depth: 150, Height: 250, Margin: 3}, Spacing: 2}
	var pieces []Piece
	for _, arm := range []float64{20, 23} {
		pieces = append(pieces, Piece{Name: "a", Outline: ell(arm, 5), Height: 1, Copies: 150})
	}
	l := mustLay(t, pieces, o)
	count := map[int]int{}
	for _, plate := range l.Plates {
		for _, p := range plate {
			count[p.Piece]++
		}
	}
	require.Equal(t, map[int]int{0: 150, 1: 150}, count)
	require.LessOrEqual(t, len(l.Plates), 2*l.Bound)
}

// A disc of 20,000 sides: neither its least box nor its least circle takes the square of
// that.
func TestADiscOfManySidesIsLaid(t *testing.T) {
	disc := Piece{Name: "disc", Outline: shadow.Outline{regular(20_000, 20)}, Height: 1, Copies: 10}
	for _, round := range []bool{false, true} {
		o := Options{Plate: fit.Plate{Width: 220, Depth: 220, Height: 250, Margin: 3, Round: round}, Spacing: 2}
		l, err := Lay(t.Context(), []Piece{disc}, o)
		require.NoError(t, err)
		require.Len(t, l.Plates, 1)
	}
}
