package verdict_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/verdict"
)

var (
	answers = []verdict.Answer{verdict.Passes, verdict.Care, verdict.Fails, verdict.Missing}
	logs    = []verdict.Logged{verdict.Unlogged, verdict.LogFailed, verdict.LogUsable, verdict.LogGood}
	befores = []verdict.Before{verdict.NeverProven, verdict.OnlyMoved, verdict.BelowTolerance, verdict.ChangedSince}
)

// outcomes lists every outcome that a rule can have.
func outcomes() []verdict.Rule {
	var out []verdict.Rule
	for _, a := range answers {
		for _, left := range answers[:a+1] {
			out = append(out, verdict.Rule{Answer: a, Left: left})
		}
	}
	return out
}

func rank(s verdict.Standing) int { return slices.Index(verdict.Standings, s) }

// The table of decisions, written out by hand from the meaning of the words: a
// row for each outcome of a rule, a column for each state of the log, and of the
// history where there is no print.
func TestTheTableOfDecisions(t *testing.T) {
	const p, e, c, r, n, o = verdict.Proven, verdict.Expected, verdict.WithCare, verdict.NeedsReprint, verdict.NotSuited, verdict.NotOffered
	for _, row := range []struct {
		answer, left                 verdict.Answer
		never, moved, below, changed verdict.Standing // no print of this mesh
		failed, usable, good         verdict.Standing // whatever was before
	}{
		{verdict.Passes, verdict.Passes, e, e, e, r, n, c, p},
		{verdict.Care, verdict.Passes, c, c, c, r, n, c, p},
		{verdict.Care, verdict.Care, c, c, c, r, n, c, c},
		{verdict.Fails, verdict.Passes, n, n, n, n, n, c, p},
		{verdict.Fails, verdict.Care, n, n, n, n, n, c, c},
		{verdict.Fails, verdict.Fails, n, n, n, n, n, n, n},
		{verdict.Missing, verdict.Passes, o, o, o, o, o, o, o},
		{verdict.Missing, verdict.Missing, o, o, o, o, o, o, o},
	} {
		rule := []verdict.Rule{{Answer: row.answer, Left: row.left}}
		for i, want := range []verdict.Standing{row.never, row.moved, row.below, row.changed} {
			require.Equal(t, want, verdict.Decide(rule, verdict.Unlogged, befores[i]), "%v %v", rule, befores[i])
		}
		for i, want := range []verdict.Standing{row.failed, row.usable, row.good} {
			for _, b := range befores {
				require.Equal(t, want, verdict.Decide(rule, logs[i+1], b), "%v %v %v", rule, logs[i+1], b)
			}
		}
	}
	require.Equal(t, e, verdict.Decide(nil, verdict.Unlogged, verdict.NeverProven))
	require.Equal(t, p, verdict.Decide(nil, verdict.LogGood, verdict.ChangedSince))
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
					got := verdict.Decide([]verdict.Rule{a, b}, log, before)
					require.GreaterOrEqual(t, rank(got), 0, at)
					require.Equal(t, got, verdict.Decide([]verdict.Rule{b, a}, log, before), "the order of rules: %s", at)
					require.Equal(t, got, verdict.Decide([]verdict.Rule{a, {}, b, a}, log, before), "a rule that passes, or is asked twice: %s", at)
					require.GreaterOrEqual(t, rank(got), rank(verdict.Decide([]verdict.Rule{a}, log, before)), "a further rule never raises: %s", at)

					// Proven is a good print of exactly this mesh, with nothing left to say.
					proven := log == verdict.LogGood && max(a.Left, b.Left) == verdict.Passes && max(a.Answer, b.Answer) != verdict.Missing
					require.Equal(t, proven, got == verdict.Proven, at)

					// A change of the mesh leaves no print of exactly it.
					for _, then := range befores {
						require.NotEqual(t, verdict.Proven, verdict.Decide([]verdict.Rule{a, b}, verdict.Unlogged, then), at)
					}
					for _, c := range all { // a better outcome of a rule never lowers
						if c.Answer <= a.Answer && c.Left <= a.Left {
							require.LessOrEqual(t, rank(verdict.Decide([]verdict.Rule{c, b}, log, before)), rank(got), "%s, then %v", at, c)
						}
					}
					for _, better := range logs { // nor a better print, nor a good one where there was none
						if better > log && (log != verdict.Unlogged || better == verdict.LogGood) {
							require.LessOrEqual(t, rank(verdict.Decide([]verdict.Rule{a, b}, better, before)), rank(got), "%s, then %v", at, better)
						}
					}
					// An earlier mesh never raises, and is of no account once this one is printed.
					never := verdict.Decide([]verdict.Rule{a, b}, log, verdict.NeverProven)
					require.GreaterOrEqual(t, rank(got), rank(never), at)
					if log != verdict.Unlogged || before == verdict.OnlyMoved || before == verdict.BelowTolerance {
						require.Equal(t, never, got, at)
					}
				}
			}
		}
	}
	require.Equal(t, 10*10*4*4, n)
}
