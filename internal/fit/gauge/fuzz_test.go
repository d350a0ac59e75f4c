package gauge

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit/fittest"
	"cardback/internal/mesh"
)

// Any points: no panic, an answer that JSON can hold, and a place that stands
// whenever the part is said to have one.
func FuzzSmallPart(f *testing.F) {
	seed := func(pts []mesh.Vec) {
		var raw []byte
		for _, v := range pts {
			for i := range 3 {
				raw = binary.LittleEndian.AppendUint32(raw, math.Float32bits(float32(v.Component(i))))
			}
		}
		f.Add(raw)
	}
	seed(fittest.BoxPoints(20, 22, 30))
	seed(fittest.BoxPoints(25, 25, 25))
	seed(fittest.BoxPoints(0, 30, 31))      // flat
	seed(fittest.BoxPoints(0, 0, 65))       // a line
	seed(fittest.BoxPoints(0, 0, 0))        // a point, eight times
	seed(fittest.BoxPoints(1e-30, 0, 1e-3)) // next to nothing
	seed(fittest.Cylinder(5, 1, 62))
	f.Fuzz(func(t *testing.T, raw []byte) {
		var pts []mesh.Vec
		for ; len(raw) >= 12 && len(pts) < 20; raw = raw[12:] {
			at := func(i int) float64 {
				return float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:])))
			}
			pts = append(pts, mesh.Vec{X: at(0), Y: at(1), Z: at(2)})
		}
		res := Decide(context.Background(), pts)
		text, err := json.Marshal(res)
		require.NoError(t, err)
		var back Result
		require.NoError(t, json.Unmarshal(text, &back))
		require.Equal(t, res, back)
		require.NotEmpty(t, res.Reason)
		for _, p := range pts {
			if p.Norm() > 1e4 {
				return // the coordinates' own rounding hides what the gauge could tell
			}
		}
		if res.Verdict == Inside {
			requireLies(t, pts, res)
		}
	})
}

func BenchmarkSmallPart(b *testing.B) {
	for _, c := range []struct {
		name string
		pts  []mesh.Vec
		want Verdict
	}{
		{"fits/size=1000", fittest.Ellipsoid(1000, 12, 10, 20), Inside},
		{"too wide/size=1000", fittest.Ellipsoid(1000, 16.2, 17, 20), Outside},
		{"box too large", boxOf(25, 25, 26), Outside},
		{"rod 0.05 mm too long", fittest.Cylinder(96, 0.75, 62.958+0.05), Outside},
	} {
		b.Run(fmt.Sprintf("%s/%s", c.name, c.want), func(b *testing.B) {
			for b.Loop() {
				if res := Decide(context.Background(), c.pts); res.Verdict != c.want {
					b.Fatal(res.Reason)
				}
			}
		})
	}
}
