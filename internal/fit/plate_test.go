package fit

import (
	"context"
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit/fittest"
)

func TestParsePlate(t *testing.T) {
	for text, want := range map[string]Plate{
		"68x120x155":           {Width: 68, Depth: 120, Height: 155},
		" 68 × 120 × 155 ":     {Width: 68, Depth: 120, Height: 155},
		"68X120X155.5":         {Width: 68, Depth: 120, Height: 155.5},
		"2.5inx4inx6in":        {Width: 63.5, Depth: 101.6, Height: 152.39999999999998},
		"6.8cm × 120 × 155 mm": {Width: 68, Depth: 120, Height: 155},
	} {
		got, err := ParsePlate(text)
		require.NoError(t, err, text)
		require.InDelta(t, want.Width, got.Width, 1e-9, text)
		require.InDelta(t, want.Depth, got.Depth, 1e-9, text)
		require.InDelta(t, want.Height, got.Height, 1e-9, text)
	}
}

func TestParsePlateSaysWhatItExpected(t *testing.T) {
	for text, message := range map[string]string{
		"":            `plate "": expected width x depth x height, as in 68x120x155`,
		"68x120":      `plate "68x120": expected width x depth x height, as in 68x120x155`,
		"68x120x155x": `plate "68x120x155x": expected width x depth x height, as in 68x120x155`,
		"68xx155":     `plate "68xx155": expected width x depth x height, as in 68x120x155`,
		"68xwidex155": `plate "68xwidex155": depth: length "wide" has no number; expected a number and a unit, such as 1.5 mm`,
		"68x120x5pt":  `plate "68x120x5pt": height: length "5pt" has the unit "pt", which is not known; expected mm, cm, m, µm, in or ft`,
		"0x120x155":   `plate "0x120x155": width: "0" is not above zero`,
		"68x-1x155":   `plate "68x-1x155": depth: length "-1" is negative; expected a length above zero`,
		"68xNaNx155":  `plate "68xNaNx155": depth: length "NaN" is not a finite number; expected a number and a unit, such as 1.5 mm`,
		"68x1e400x1":  `plate "68x1e400x1": depth: length "1e400" is not one decimal number; expected a number and a unit, such as 1.5 mm`,
	} {
		_, err := ParsePlate(text)
		require.EqualError(t, err, message)
	}
}

func TestPlateStringReadsBack(t *testing.T) {
	require.Equal(t, "68x120x155.5", Plate{Width: 68, Depth: 120, Height: 155.5}.String())
	require.Equal(t, "180x180x200 (round, margin 2)", Plate{Width: 180, Depth: 180, Height: 200, Round: true, Margin: 2}.String())
	for _, p := range []Plate{{Width: 68, Depth: 120, Height: 155}, {Width: 63.5, Depth: 101.6, Height: 0.1}} {
		got, err := ParsePlate(p.String())
		require.NoError(t, err)
		require.Equal(t, p, got)
	}
}

func TestContractKeepsItsShape(t *testing.T) {
	r := Fit(context.Background(), fittest.BoxPoints(110, 60, 150), Plate{Width: 68, Depth: 120, Height: 155})
	got, err := json.Marshal(NewContract("part.stl", "68x120x155", r))
	require.NoError(t, err)
	require.Equal(t, `{"path":"part.stl","plate":"68x120x155","verdict":"turned","turn_deg":90,`+
		`"rotation":[[0,-1,0],[1,0,0],[0,0,1]],"extents_mm":[60,110,150],`+
		`"largest_scale":1.0333333333333334,"tolerance_mm":0.1}`, string(got))
}

func TestResultSurvivesJSON(t *testing.T) {
	for _, p := range []Plate{{Width: 200, Depth: 200, Height: 200}, {Width: 60, Depth: 110, Height: 150}, {Width: 150, Depth: 60, Height: 111}, {Width: 10, Depth: 10, Height: 10}, {}} {
		r := Fit(context.Background(), fittest.BoxPoints(110, 60, 150), p)
		text, err := json.Marshal(r)
		require.NoError(t, err)
		var back Result
		require.NoError(t, json.Unmarshal(text, &back))
		require.Equal(t, r, back)
	}
}

// On a round plate a square column of side 50 needs 50√2; lying down, a column
// 50 × 50 × 60 needs √(50² + 60²) = 78.102… and only 50 of height.
func TestRoundPlates(t *testing.T) {
	column := fittest.BoxPoints(50, 50, 60)
	for _, c := range []struct {
		diameter, height float64
		want             Verdict
	}{
		{50*math.Sqrt2 + 1e-6, 60, AsSupplied},
		{50*math.Sqrt2 - 0.2, 60, CannotFit},
		{math.Hypot(50, 60) + 0.11, 50.11, Tipped},
		{math.Hypot(50, 60) - 0.11, 50.11, CannotFit},
	} {
		p := Plate{Width: c.diameter, Depth: c.diameter, Height: c.height, Round: true}
		res := Fit(context.Background(), column, p)
		require.Equal(t, c.want, res.Verdict, "%s: %s", p, res.Reason)
		if res.Verdict.Fits() {
			requireCertificate(t, column, p, res)
		}
	}
}
