package standing_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/verdict/standing"
)

var (
	answers = []standing.Answer{standing.Passes, standing.Care, standing.Fails, standing.Missing}
	logs    = []standing.Logged{standing.Unlogged, standing.LogFailed, standing.LogUsable, standing.LogGood}
	befores = []standing.Before{standing.NeverProven, standing.OnlyMoved, standing.BelowTolerance, standing.ChangedSince}
)

// outcomes lists every outcome that a rule can have.
func outcomes() []standing.Rule {
	var out []standing.Rule
	for _, a := range answers {
		for _, left := range answers[:a+1] {
			out = append(out, standing.Rule{Answer: a, Left: left})
		}
	}
	return out
}

func rank(s standing.Standing) int { return slices.Index(standing.Standings, s) }

// The table of decisions, written out by hand from the meaning of the words: a
// row for each outcome of a rule, a column for each state of the log, and of the
// history where there is no print.
func TestTheTableOfDecisions(t *testing.T) {
	const p, e, c, r, n, o = standing.Proven, standing.Expected, standing.WithCare, standing.NeedsReprint, standing.NotSuited, standing.NotOffered
	for _, row := range []struct {
		answer, left                 standing.Answer
		never, moved, below, changed standing.Standing // no print of this mesh
		failed, usable, good         standing.Standing // whatever was before
	}{
		{standing.Passes, standing.Passes, e, e, e, r, n, c, p},
		{standing.Care, standing.Passes, c, c, c, r, n, c, p},
		{standing.Care, standing.Care, c, c, c, r, n, c, c},
		{standing.Fails, standing.Passes, n, n, n, n, n, c, p},
		{standing.Fails, standing.Care, n, n, n, n, n, c, c},
		{standing.Fails, standing.Fails, n, n, n, n, n, n, n},
		{standing.Missing, standing.Passes, o, o, o, o, o, o, o},
		{standing.Missing, standing.Missing, o, o, o, o, o, o, o},
	} {
		rule := []standing.Rule{{Answer: row.answer, Left: row.left}}
		for i, want := range []standing.Standing{row.never, row.moved, row.below, row.changed} {
			require.Equal(t, want, standing.Decide(rule, standing.Unlogged, befores[i]), "%v %v", rule, befores[i])
		}
		for i, want := range []standing.Standing{row.failed, row.usable, row.good} {
			for _, b := range befores {
				require.Equal(t, want, standing.Decide(rule, logs[i+1], b), "%v %v %v", rule, logs[i+1], b)
			}
		}
	}
	require.Equal(t, e, standing.Decide(nil, standing.Unlogged, standing.NeverProven))
	require.Equal(t, p, standing.Decide(nil, standing.LogGood, standing.ChangedSince))
}

// Every pair of outcomes with every log and history.
func TestDecisionsOverTheFullCrossProduct(t *testing.T) {
	all := outcomes()
	n := 0
	for _, a := range all {
		for _, b := range all {
			for _, log := range logs {
				for _, before := range befores {
					n++
					at := fmt.Sprint(a, b, log, before)
					got := standing.Decide([]standing.Rule{a, b}, log, before)
					require.GreaterOrEqual(t, rank(got), 0, at)
					require.Equal(t, got, standing.Decide([]standing.Rule{b, a}, log, before), "the order of rules: %s", at)
					require.Equal(t, got, standing.Decide([]standing.Rule{a, {}, b, a}, log, before), "a rule that passes, or is asked twice: %s", at)
					require.GreaterOrEqual(t, rank(got), rank(standing.Decide([]standing.Rule{a}, log, before)), "a further rule never raises: %s", at)

					// Proven is a good print of exactly this mesh, with nothing left to say.
					proven := log == standing.LogGood && max(a.Left, b.Left) == standing.Passes && max(a.Answer, b.Answer) != standing.Missing
					require.Equal(t, proven, got == standing.Proven, at)

					// A change of the mesh leaves no print of exactly it.
					for _, then := range befores {
						require.NotEqual(t, standing.Proven, standing.Decide([]standing.Rule{a, b}, standing.Unlogged, then), at)
					}
					for _, c := range all { // a better outcome of a rule never lowers
						if c.Answer <= a.Answer && c.Left <= a.Left {
							require.LessOrEqual(t, rank(standing.Decide([]standing.Rule{c, b}, log, before)), rank(got), "%s, then %v", at, c)
						}
					}
					for _, better := range logs { // nor a better print, nor a good one where there was none
						if better > log && (log != standing.Unlogged || better == standing.LogGood) {
							require.LessOrEqual(t, rank(standing.Decide([]standing.Rule{a, b}, better, before)), rank(got), "%s, then %v", at, better)
						}
					}
					// An earlier mesh never raises, and is of no account once this one is printed.
					never := standing.Decide([]standing.Rule{a, b}, log, standing.NeverProven)
					require.GreaterOrEqual(t, rank(got), rank(never), at)
					if log != standing.Unlogged || before == standing.OnlyMoved || before == standing.BelowTolerance {
						require.Equal(t, never, got, at)
					}
				}
			}
		}
	}
	require.Equal(t, 10*10*4*4, n)
}
