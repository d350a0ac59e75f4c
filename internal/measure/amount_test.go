package measure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// The rows are the handbook's (check values, sections 4.2 and 4.4), with its
// digits: half a unit of the last one is the tolerance.
func TestAmountsAgreeWithTheHandbook(t *testing.T) {
	for _, row := range []struct {
		what            string
		got, want, half float64
	}{
		{"11.4 cm³ of 2.85 filament, cm (a published example)", FilamentLength(11_400, 2.85) / 10, 178.7, 0.05},
		{"a metre of 1.75, cm³", 1e-3 * 1000 / FilamentLength(1, 1.75), 2.405282, 5e-7},
		{"a metre of 2.85, mm²", 1 / FilamentLength(1, 2.85), 6.379397, 5e-7},
		{"a metre of 3.00, mm²", 1 / FilamentLength(1, 3), 7.068583, 5e-7},
		{"PLA, g/m", Grams(1000/FilamentLength(1, FilamentDiameter), 1.24), 2.9825, 5e-5},
		{"PETG, g/m", Grams(1000/FilamentLength(1, FilamentDiameter), 1.27), 3.0547, 5e-5},
		{"TPU of 2.85, g/m", Grams(1000/FilamentLength(1, 2.85), 1.21), 7.7191, 5e-5},
		{"PLA, m/kg", FilamentLength(1e6/1.24, FilamentDiameter) / 1000, 335.28, 5e-3},
		{"ABS, m/kg", FilamentLength(1e6/1.04, FilamentDiameter) / 1000, 399.76, 5e-3},
		{"PETG of 2.85, m/kg", FilamentLength(1e6/1.27, 2.85) / 1000, 123.43, 5e-3},
		{"liquid, 5 %", liquidResin(1, 0.05), 1.0526, 5e-5},
		{"liquid, 7.28 %", liquidResin(1, VatShrinkage), 1.0785, 5e-5},
		{"liquid, 11.2 %", liquidResin(1, 0.112), 1.1261, 5e-5},
		{"cured over liquid density", Grams(1000, 1.18) / Grams(1000, 1.10), 1.0727, 5e-5},
		// 100 mm of rod, section 4.3: 1.5 mm brass at 8.53 is 1.5074 g.
		{"a brass rod, g", Grams(100/FilamentLength(1, 1.5), 8.53), 1.5074, 5e-5},
	} {
		require.InDelta(t, row.want, row.got, row.half, row.what)
	}
}

// The core of a sphere, a box and a plate is known exactly. The estimate is over
// by what its comment says, and the lower bound holds, and is a sphere's own.
// Sums of a few products: 1e-9 of the volume covers their rounding many times.
func TestExtrudedOnBodiesWithAKnownCore(t *testing.T) {
	f := UsualFilling
	w := f.Shell()
	require.Equal(t, 0.9, w)
	sphere := func(r float64) float64 { return 4 * math.Pi / 3 * r * r * r }
	for _, row := range []struct {
		what               string
		volume, area, core float64
		over               float64 // area·shell less the true shell
	}{
		{"sphere", sphere(9), 4 * math.Pi * 81, sphere(8.1), 4 * math.Pi * (9*w*w - w*w*w/3)},
		{"box", 6000, 2200, (30 - 2*w) * (20 - 2*w) * (10 - 2*w), 4*w*w*60 - 8*w*w*w},
		{"cube", 1e6, 6e4, math.Pow(100-2*w, 3), 4*w*w*300 - 8*w*w*w},
	} {
		about, least := f.Extruded(row.volume, row.area)
		exact := row.volume - row.core + f.Infill*row.core
		require.InDelta(t, exact+(1-f.Infill)*row.over, about, 1e-9*row.volume, row.what)
		require.LessOrEqual(t, least, exact+1e-9*row.volume, row.what)
		require.Less(t, about, row.volume, row.what)
		if row.what == "sphere" {
			require.InDelta(t, exact, least, 1e-9*row.volume)
		}
	}
	// A plate of 1.5 mm is all shell, and so is a ball of 0.9.
	about, _ := f.Extruded(60*40*1.5, 2*(60*40+100*1.5))
	require.Equal(t, 3600.0, about)
	about, least := f.Extruded(sphere(0.9), 4*math.Pi*0.81)
	require.InDelta(t, sphere(0.9), about, 1e-12)
	require.InDelta(t, sphere(0.9), least, 1e-12)
	// What encloses nothing takes nothing; what is filled throughout takes itself.
	about, least = f.Extruded(-5, 30)
	require.Zero(t, about)
	require.Zero(t, least)
	about, least = Filling{Lines: 2, LineWidth: 0.45, Infill: 1}.Extruded(6000, 2200)
	require.InDelta(t, 6000, about, 1e-9)
	require.InDelta(t, 6000, least, 1e-9)
}
