package measure

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/sound"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// Where a budget of work was spent, a finding says so, with its place where there is
// one, and the rest of the report stands.
func TestASpentBudgetIsAFinding(t *testing.T) {
	at := mesh.Vec{X: 1, Y: 2, Z: 3}
	for code, spend := range map[string]func(r *Report){
		"crossings-partial": func(r *Report) { r.Crossings = sound.Crossings{Partial: true, Looked: 17_000_000, Past: &at} },
		"shells-partial":    func(r *Report) { r.Nesting.Partial = true },
		"cracks-partial":    func(r *Report) { r.Cracks.Partial = true },
		"holes-partial":     func(r *Report) { r.Bores.Partial = true },
	} {
		m := meshtest.Box(30, 20, 10)
		r, err := Measure(t.Context(), m)
		require.NoError(t, err)
		require.Empty(t, r.Findings)
		spend(r)
		found := findingsOf(r, m.Topology(), false)
		require.Len(t, found, 1, code)
		require.Equal(t, code, found[0].Code)
		require.NotEqual(t, Fault, found[0].Level)
		if code == "crossings-partial" {
			require.Equal(t, &[3]float64{1, 2, 3}, found[0].At)
			require.Contains(t, found[0].Text, "Crossings were not counted past 17000000 pairs of triangles")
		}
	}
}
