package verdict_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/verdict"
)

// A cube of 1 cm³ printed solid in resin of 1.18 g/cm³ that loses 7.28 % is
// 1.0785 ml of liquid and 1.18 g (check values 4.1, 4.4: ×1.0785).
func TestAmountsAddUp(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "arm", Name: "Arm", Quantity: 1, MirroredTwin: true}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "hat", Name: "Hat", Quantity: 1, Choice: "hat"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "cap", Name: "Cap", Quantity: 1, Choice: "hat"}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "tail", Name: "Tail", Quantity: 1}, everywhere, release.CutFlexible)
	f.add(release.Part{Slug: "open", Name: "Open", Quantity: 1}, everywhere, release.CutAny)
	for rel, cs := range f.s {
		cs.Report.Volume, cs.Report.Area = 1000, 600
		cs.Report.Closed, cs.Report.ConsistentlyOriented = rel != "open/any", true
	}
	materials := []bench.Material{
		{ID: "rr", Process: bench.Resin, Stiffness: bench.Rigid, Density: 1.18, Shrinkage: .0728},
		{ID: "fr", Process: bench.Resin, Stiffness: bench.Flexible, Density: 1.1},
		{ID: "rf", Process: bench.Filament, Stiffness: bench.Rigid, Density: 1.24},
	}
	a := verdict.Amounts(f.site.Releases[0], f.s, bench.Resin, materials)
	require.Equal(t, []string{"Open"}, a.Left)
	require.True(t, a.Choices)
	require.Len(t, a.Materials, 2)
	rigid, soft := a.Materials[0], a.Materials[1]
	require.InDelta(t, 3000, rigid.Solid, 1e-9, "two arms and one hat")
	require.InDelta(t, 3000*1.0785, rigid.Liquid, 0.1) // four decimals of the factor
	require.InDelta(t, 3.54, rigid.Grams, 1e-9)
	require.InDelta(t, 1000, soft.Solid, 1e-9, "the tail")
	require.Zero(t, soft.Liquid, "no shrinkage is stated")

	fil := verdict.Amounts(f.site.Releases[0], f.s, bench.Filament, materials).Materials
	require.Len(t, fil, 1)
	// A shell of 0.9 mm over 600 mm² is 540 mm³; 15 % of the other 460 is 69: 609 mm³
	// each. 1.75 mm filament is 2.405282 mm² (check values 4.2).
	require.InDelta(t, 3*609/2.405282, fil[0].Filament, 0.001)
	require.InDelta(t, 3*0.609*1.24, fil[0].Grams, 1e-9)
	require.Less(t, fil[0].FilamentLeast, fil[0].Filament)
	require.Greater(t, fil[0].FilamentLeast, 0.0)
	require.Empty(t, verdict.Amounts(release.Release{}, f.s, bench.Resin, materials).Materials)
}
