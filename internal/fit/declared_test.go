package fit

import (
	"context"
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit/fittest"
	"cardback/internal/rotation"
)

func TestRecommendedOrientationComesFirst(t *testing.T) {
	pts := fittest.BoxPoints(60, 40, 5)
	// Leaning by 40° about x, the box takes 60 by 40·cos 40° + 5·sin 40° by
	// 40·sin 40° + 5·cos 40°.
	tilt := rotation.Tilted(40, false)
	deep := 40*math.Cos(40*math.Pi/180) + 5*math.Sin(40*math.Pi/180)
	high := 40*math.Sin(40*math.Pi/180) + 5*math.Cos(40*math.Pi/180)
	for _, c := range []struct {
		name    string
		p       Plate
		verdict Verdict
		keeps   bool
		reason  string
	}{
		{"as it then stands", Plate{Width: 61, Depth: deep + 1, Height: high + 1}, Recommended, true,
			"Fits at its recommended tilt, with 1.0 mm to spare."},
		{"turned", Plate{Width: deep + 1, Depth: 61, Height: high + 1}, RecommendedTurned, true,
			"Fits at its recommended tilt, turned 90°, with 1.0 mm to spare."},
		{"too low", Plate{Width: 61, Depth: 61, Height: high - 1}, AsSupplied, false,
			"Fits as supplied with 1.0 mm to spare. That is not its recommended orientation, in which it does not fit, however turned."},
		{"too narrow", Plate{Width: 61, Depth: 5.95, Height: 41}, Tipped, false,
			"Fits tipped as the rotation says, with 0.9 mm to spare. That is not its recommended orientation, in which it does not fit, however turned."},
	} {
		res := FitDeclared(context.Background(), pts, c.p, tilt)
		require.Equal(t, c.verdict, res.Verdict, "%s: %s", c.name, res.Reason)
		require.True(t, res.Declared)
		require.Equal(t, c.keeps, res.Keeps, c.name)
		require.Equal(t, c.reason, res.Reason, c.name)
		requireCertificate(t, pts, c.p, res)
		require.Equal(t, c.keeps, res.LargestKept >= 1, c.name)
		require.Equal(t, Fit(context.Background(), pts, c.p).LargestScale, res.LargestScale)
	}
	none := FitDeclared(context.Background(), pts, Plate{Width: 30, Depth: 30, Height: 30}, tilt)
	require.Equal(t, CannotFit, none.Verdict)
	require.False(t, none.Keeps)
}

// Recommended as supplied: the answers are Fit's, and say what they keep.
func TestRecommendedAsSupplied(t *testing.T) {
	pts := fittest.BoxPoints(60, 40, 5)
	for _, c := range []struct {
		p     Plate
		keeps bool
	}{
		{Plate{Width: 61, Depth: 41, Height: 6}, true},
		{Plate{Width: 41, Depth: 61, Height: 6}, true},
		{Plate{Width: 41, Depth: 6, Height: 61}, false},
		{Plate{Width: 20, Depth: 20, Height: 20}, false},
	} {
		want, got := Fit(context.Background(), pts, c.p), FitDeclared(context.Background(), pts, c.p, rotation.Identity)
		require.Equal(t, want.Verdict, got.Verdict)
		require.Equal(t, want.Rotation, got.Rotation)
		require.Equal(t, c.keeps, got.Keeps)
		require.Equal(t, want.LargestScale, got.LargestKept)
	}
	mirrored := FitDeclared(context.Background(), pts, Plate{Width: 61, Depth: 41, Height: 6}, [9]float64{-1, 0, 0, 0, 1, 0, 0, 0, 1})
	require.Equal(t, "Fits as supplied with 1.0 mm to spare. The recommended orientation is no rotation.", mirrored.Reason)
	require.False(t, mirrored.Keeps)
	require.Equal(t, AsSupplied, FitDeclared(context.Background(), nil, Plate{Width: 1, Depth: 1, Height: 1}, rotation.Tilted(30, true)).Verdict)
	require.Equal(t, Undecided, FitDeclared(context.Background(), pts, Plate{Width: math.NaN()}, rotation.Tilted(30, true)).Verdict)
}

func TestContractOfDeclaredAndScale(t *testing.T) {
	pts := fittest.BoxPoints(110, 60, 150)
	p := Plate{Width: 68, Depth: 120, Height: 155}
	scale, err := LargestScale(context.Background(), pts, p)
	require.NoError(t, err)
	scale.Largest, scale.AtMost = 1.03, 1.031 // as found; only the shape is meant here
	scale.Rotation = rotation.Identity
	got, err := json.Marshal(NewContract("part.stl", "68x120x155", FitDeclared(context.Background(), pts, p, rotation.Identity)).WithScale(scale))
	require.NoError(t, err)
	require.Contains(t, string(got), `"tolerance_mm":0.1,"keeps_recommended":true,"largest_scale_recommended":1.0333333333333334,`+
		`"largest_scale_any":1.03,"largest_scale_any_at_most":1.031,"largest_scale_any_rotation":[[1,0,0],[0,1,0],[0,0,1]]}`)
}
