package cli

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/words"
)

func TestScaleFlag(t *testing.T) {
	for text, want := range map[string]float64{"110%": 1.1, "110 %": 1.1, "1.1": 1.1, "1": 1, "50%": 0.5, ".5": 0.5, "20": 20, "2000%": 20, "1%": 0.01, " 75% ": 0.75} {
		var s scale
		require.NoError(t, s.Set(text), text)
		require.InDelta(t, want, float64(s), 1e-15, text)
	}
	for text, want := range map[string]string{
		"110":    "did you mean 110%?",
		"150":    "did you mean 150%?",
		"0":      "out of range",
		"0%":     "out of range",
		"-1":     "out of range",
		"20.1%%": "not a scale",
		"5000%":  "out of range",
		"1e3":    "not a scale",
		"NaN":    "not a scale",
		"1,1":    "not a scale",
		"":       "not a scale",
		"1:12":   "not a scale",
	} {
		var s scale
		require.ErrorContains(t, s.Set(text), want, text)
		require.Zero(t, s, text)
	}
}

func TestNumbersForTables(t *testing.T) {
	for _, row := range [][2]string{
		{words.Measure(0), "0.00"}, {words.Measure(1234.5678), "1234.57"}, {words.Measure(0.123456), "0.1235"}, {words.Measure(-2), "-2.00"}, {words.Measure(-3.428431e56), "-3.428431e+56"},
		{hundredths(3.14159), "3.14"}, {tenths(-0.04), "0.0"}, {tenths(-0.06), "-0.1"}, {hundredths(-0.001), "0.00"},
		{words.Plain(0.05), "0.05"}, {words.Plain(1.5875), "1.5875"}, {words.Plain(2), "2"}, {words.Plain(0.30000000000000004), "0.3"},
		{about(0), "0.00"}, {about(0.17975), "0.180"}, {about(0.0692919), "0.0693"}, {about(6.471), "6.47"}, {about(64.71), "64.7"}, {about(647.1), "647"}, {about(6471.3), "6471"},
		{words.Percent(0.0728, 2), "7.28 %"}, {words.Percent(0.15, 2), "15 %"}, {words.Percent(1, 2), "100 %"}, {words.Percent(0, 2), "0 %"}, {words.Percent(12, 2), "1200 %"},
		{point(mesh.Vec{X: 1, Y: -0.5, Z: 20}), "(1.00, -0.50, 20.00)"}, {point(mesh.Vec{X: -7e-18, Y: 0.00123456, Z: 0}), "(0.00, 0.001235, 0.00)"},
		{point(mesh.Vec{X: 1e-16, Y: -1e-17}), "(0.00, 0.00, 0.00)"}, {point(mesh.Vec{X: -7e-18, Y: 3}), "(0.00, 3.00, 0.00)"},
		{words.Count(1, "shell", "shells"), "1 shell"}, {words.Count(0, "shell", "shells"), "0 shells"},
	} {
		require.Equal(t, row[1], row[0])
	}
}
