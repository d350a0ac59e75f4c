package fit

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit/fittest"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
)

// Any points on any plate: no panic, a Result that JSON can hold, and a
// certificate that stands whenever the part is said to fit.
func FuzzFit(f *testing.F) {
	var box []byte
	for _, v := range fittest.BoxPoints(60, 100, 140) {
		for i := range 3 {
			box = binary.LittleEndian.AppendUint32(box, math.Float32bits(float32(v.Component(i))))
		}
	}
	f.Add(box, 140.5, 60.5, 100.5, 0.0, false)
	f.Add(box, 130.0, 130.0, 99.0, 2.0, true)
	f.Add(box[:24], 1.0, 1.0, 1.0, 0.0, false)
	f.Add([]byte{}, 68.0, 120.0, 155.0, 2.0, false)
	f.Fuzz(func(t *testing.T, raw []byte, width, depth, height, margin float64, round bool) {
		var pts []mesh.Vec
		for ; len(raw) >= 12 && len(pts) < 40; raw = raw[12:] {
			at := func(i int) float64 {
				return float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:])))
			}
			pts = append(pts, mesh.Vec{X: at(0), Y: at(1), Z: at(2)})
		}
		p := Plate{Width: width, Depth: depth, Height: height, Margin: margin, Round: round}
		if round {
			p.Depth = p.Width
		}
		res := Fit(context.Background(), pts, p)
		text, err := json.Marshal(res)
		require.NoError(t, err)
		var back Result
		require.NoError(t, json.Unmarshal(text, &back))
		require.Equal(t, res, back)
		require.NotEmpty(t, res.Reason)
		if res.Verdict.Fits() && len(pts) > 0 {
			pt := posture.NewPart(pts, p.Usable(), p.Round)
			require.GreaterOrEqual(t, pt.Clearance(res.Rotation), -2*pt.Slop, "%s", res.Reason)
		}
	})
}

func FuzzParsePlate(f *testing.F) {
	for _, s := range []string{"68x120x155", "2.5in × 4in × 6in", "68x", "1e9x1x1", "0x1p-2x1x1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := ParsePlate(s)
		if err != nil {
			return
		}
		again, err := ParsePlate(p.String())
		require.NoError(t, err)
		require.Equal(t, p, again)
	})
}
