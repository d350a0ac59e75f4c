package seats

import (
	"cardback/internal/bench"
	"cardback/internal/measure/bore"
)

var (
	DrillFor   = drillFor
	ScaleTable = scaleTable
)

func RodsAtScale(h bore.Hole, rods []bench.Hardware, allowance float64, scales []float64) []RodAtScale {
	var out []RodAtScale
	for _, s := range scales {
		out = append(out, rodAtScale(h.Free, h.Free, rods, allowance, s))
	}
	return out
}
