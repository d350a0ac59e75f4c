package release

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The chart once more, taken down by its colours from the table in Creative
// Commons' own page (github.com/creativecommons/faq, faq-en.html at 0aff3141, "Adapter's
// license chart"), row after row. Check-values 9.2 has a third transcription, which agrees.
const published = `
original  BY        BY-NC     BY-NC-ND  BY-NC-SA  BY-ND     BY-SA     PD
PD        green     green     green     green     green     green     green
BY        green     green     green     green     green     green     yellow
BY-NC     yellow    green     green     green     yellow    yellow    yellow
BY-NC-ND  darkgray  darkgray  darkgray  darkgray  darkgray  darkgray  darkgray
BY-NC-SA  darkgray  darkgray  darkgray  green     darkgray  darkgray  darkgray
BY-ND     darkgray  darkgray  darkgray  darkgray  darkgray  darkgray  darkgray
BY-SA     darkgray  darkgray  darkgray  darkgray  darkgray  green     darkgray
`

func spdx(kind, version string) string {
	if kind == "PD" {
		return "CC0-1.0"
	}
	return "CC-" + kind + "-" + version
}

func TestAllPairsOfThePublishedChart(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(published), "\n")
	columns := strings.Fields(lines[0])[1:]
	require.Len(t, columns, 7)
	require.Len(t, lines, 8)
	meaning := map[string]Adapting{"green": MayAdapt, "yellow": BetterNot, "darkgray": MayNotAdapt}
	pairs := 0
	for _, line := range lines[1:] {
		f := strings.Fields(line)
		require.Len(t, f, 8)
		for i, to := range columns {
			got := MayCarry(spdx(f[0], "4.0"), spdx(to, "4.0"))
			require.Equal(t, meaning[f[1+i]], got.Adapting, "%s to %s", f[0], to)
			require.True(t, strings.HasSuffix(got.Why, "."), got.Why)
			pairs++
		}
	}
	require.Equal(t, 49, pairs)
}

// Earlier versions: the kinds decide as in the chart, but ShareAlike goes to the same or a later
// version only, and from 1.0 to none.
func TestVersionsOfShareAlike(t *testing.T) {
	for _, row := range []struct {
		from, to string
		want     Adapting
	}{
		{"CC-BY-SA-3.0", "CC-BY-SA-4.0", MayAdapt},
		{"CC-BY-SA-2.0", "CC-BY-SA-4.0", MayAdapt},
		{"CC-BY-SA-2.5", "CC-BY-SA-3.0", MayAdapt},
		{"CC-BY-SA-2.0", "CC-BY-SA-2.0", MayAdapt},
		{"CC-BY-SA-4.0", "CC-BY-SA-3.0", MayNotAdapt},
		{"CC-BY-SA-2.5", "CC-BY-SA-2.0", MayNotAdapt},
		{"CC-BY-SA-1.0", "CC-BY-SA-4.0", MayNotAdapt},
		{"CC-BY-SA-1.0", "CC-BY-SA-1.0", MayAdapt},
		{"CC-BY-NC-SA-3.0", "CC-BY-NC-SA-4.0", MayAdapt},
		{"CC-BY-NC-SA-3.0", "CC-BY-SA-4.0", MayNotAdapt},
		{"CC-BY-SA-3.0", "CC-BY-NC-SA-4.0", MayNotAdapt},
		{"CC-BY-1.0", "CC-BY-SA-4.0", MayAdapt},
		{"CC-BY-NC-2.0", "CC-BY-4.0", BetterNot},
		{"CC-BY-ND-1.0", "CC-BY-ND-4.0", MayNotAdapt},
		{"CC-BY-NC-ND-3.0", "CC-BY-NC-ND-3.0", MayNotAdapt},
		{"Unlicense", "CC-BY-NC-ND-4.0", MayAdapt},
		{"MIT", "CC-BY-SA-4.0", NoChart},
		{"GPL-3.0-or-later", "CC0-1.0", NoChart},
	} {
		got := MayCarry(row.from, row.to)
		require.Equal(t, row.want, got.Adapting, "%s to %s: %s", row.from, row.to, got.Why)
	}
}

// Every licence that a credit or a release may name has an answer, and what the
// public domain gives is always allowed.
func TestEveryKnownPairHasAnAnswer(t *testing.T) {
	for _, from := range Licences() {
		for _, to := range Licences() {
			if !to.ForReleases {
				continue
			}
			got := MayCarry(from.ID, to.ID)
			require.Contains(t, []Adapting{MayAdapt, BetterNot, MayNotAdapt, NoChart}, got.Adapting)
			cc := strings.HasPrefix(from.ID, "CC") || from.ID == "Unlicense"
			if strings.HasPrefix(from.ID, "CERN") {
				cc = false
			}
			require.Equal(t, !cc, got.Adapting == NoChart, from.ID)
			if from.ID == "CC0-1.0" {
				require.Equal(t, MayAdapt, got.Adapting)
			}
			if strings.Contains(from.ID, "-ND-") {
				require.Equal(t, MayNotAdapt, got.Adapting)
				require.Contains(t, got.Why, "NoDerivatives")
			}
		}
	}
}
