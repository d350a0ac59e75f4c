package seats_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/measure/bore"
	"cardback/internal/release"
	"cardback/internal/verdict/seats"
)

// At 110 % the 1.5 mm hole is 1.65 mm, which passes 1/16 in rod (1.5875 mm) as drawn;
// with 0.15 mm for the material it is 1.5 mm rod that is free in it.
func TestRodsAtScale(t *testing.T) {
	rods := []bench.Hardware{brass, inchRod, {ID: "two", Kind: bench.Rod, Diameter: 2}, {ID: "one", Kind: bench.Rod, Diameter: 1}, {ID: "wire", Kind: bench.Wire, Diameter: 1.6}}
	at := func(free, allowance, scale float64) seats.RodAtScale {
		return seats.RodsAtScale(bore.Hole{Free: free}, rods, allowance, []float64{scale})[0]
	}
	a := at(1.5, 0, 1.1)
	require.Equal(t, "inch", a.Free.ID)
	require.Nil(t, a.Tight)
	require.InDelta(t, 1.65, a.Hole, 1e-12)
	require.Equal(t, "At 110 % the hole passes 1.65 mm: 1.5875 mm rod.", a.Sentence)
	a = at(1.5, .15, 1.1)
	require.Equal(t, "brass", a.Free.ID)
	require.Equal(t, "inch", a.Tight.ID)
	require.InDelta(t, 1.6, a.Drill, 1e-12)
	require.Equal(t, "At 110 % the hole passes 1.65 mm: 1.5 mm rod, or 1.5875 mm tightly, with a 1.6 mm drill.", a.Sentence)
	require.Equal(t, "At 50 % the hole passes 0.75 mm, and no rod on the bench suits it.", at(1.5, .15, .5).Sentence)
	require.Equal(t, "At 200 % the hole passes 3.00 mm, and no rod on the bench suits it.", at(1.5, .15, 2).Sentence, "all would wobble")
	require.Equal(t, "At 100 % the hole passes 1.50 mm: 1.5 mm rod, tightly; clear it with a 1.6 mm drill.", at(1.5, .15, 1).Sentence)
	require.Equal(t, "At 120 % the hole passes 1.80 mm: 1.5875 mm rod.", at(1.5, .15, 1.2).Sentence)
}

func TestScaleTableIsForAllHolesOfARelease(t *testing.T) {
	f := newFixture()
	f.site.Bench.Hardware = []bench.Hardware{brass, inchRod}
	f.site.Bench.Materials[0].HoleAllowance = .15
	wider := blind(0, 0, 5)
	wider.Free, wider.Diameter = 1.75, 1.76
	rod := []release.HardwareUse{takes(brass, 1, 0, "")}
	f.holed(release.Part{Slug: "a", Takes: rod}, blind(0, 0, 5))
	f.holed(release.Part{Slug: "b", Takes: rod}, wider)
	got := seats.ScaleTable(&f.site, f.site.Releases[0], f.s, f.site.Bench.Materials[0], []float64{1, 1.1})
	require.Len(t, got, 1)
	require.Equal(t, 1.65, got[0].Narrowest)
	require.Equal(t, 1.75, got[0].Widest)
	require.Equal(t, "brass", got[0].At[0].Free.ID)
	require.Equal(t, "inch", got[0].At[1].Free.ID, "1.815 and 1.925 mm")
	require.True(t, slices.IsSorted(seats.Scales))
	require.Contains(t, seats.Scales, 1.1)
}
