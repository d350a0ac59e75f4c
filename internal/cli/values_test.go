package cli

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
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
		{number(0), "0.00"}, {number(1234.5678), "1234.57"}, {number(0.123456), "0.1235"}, {number(-2), "-2.00"}, {number(-3.428431e56), "-3.428431e+56"},
		{hundredths(3.14159), "3.14"}, {tenths(-0.04), "0.0"}, {tenths(-0.06), "-0.1"}, {hundredths(-0.001), "0.00"},
		{plain(0.05), "0.05"}, {plain(1.5875), "1.5875"}, {plain(2), "2"}, {plain(0.30000000000000004), "0.3"},
		{about(0), "0"}, {about(0.17975), "0.18"}, {about(0.0692919), "0.0693"}, {about(6.471), "6.47"}, {about(64.71), "64.7"}, {about(647.1), "647"}, {about(6471.3), "6471"},
		{percent(0.0728), "7.28 %"}, {percent(0.15), "15 %"}, {percent(1), "100 %"}, {percent(0), "0 %"}, {percent(12), "1200 %"},
		{point(mesh.Vec{X: 1, Y: -0.5, Z: 20}), "(1.00, -0.50, 20.00)"}, {point(mesh.Vec{X: -7e-18, Y: 0.00123456, Z: 0}), "(0.00, 0.001235, 0.00)"},
		{point(mesh.Vec{X: 1e-16, Y: -1e-17}), "(0.00, 0.00, 0.00)"}, {point(mesh.Vec{X: -7e-18, Y: 3}), "(0.00, 3.00, 0.00)"},
		{count(1, "shell"), "1 shell"}, {count(0, "shell"), "0 shells"},
	} {
		require.Equal(t, row[1], row[0])
	}
}
