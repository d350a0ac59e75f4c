package fit

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/fit/fittest"
	"cardback/internal/fit/footprint"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

func mostTurned(pts []mesh.Vec, width, depth float64) float64 {
	var t footprint.Turns
	_, clearance := t.BestTurn(footprint.Corners(nil, append([]mesh.Vec(nil), pts...)), width, depth)
	return clearance
}

// leastDepth is the depth b that a p × q rectangle needs on a plate of width
// a < p: Carver's condition (American Mathematical Monthly, problem E1225,
// 1957), as Wetzel gives it in "Rectangles in Rectangles", Mathematics Magazine
// 73(3), 204–211, 2000, in the form solved for b.
func leastDepth(p, q, a float64) float64 {
	return (2*p*q*a + (p*p-q*q)*math.Sqrt(p*p+q*q-a*a)) / (p*p + q*q)
}

// carver is the whole theorem, for p ≥ q and a ≥ b.
func carver(p, q, a, b float64) bool {
	return p <= a && q <= b || p > a && q <= b && b >= leastDepth(p, q, a)
}

// Rectangles p × q on plates a × b: the depth needed and the answer by Carver's
// condition, and the spare room in mm by an independent sweep of rotations
// worked out for this project, where it gives one.
var rectangles = []struct {
	p, q, a, b float64
	needed     float64
	fits       bool
	clearance  float64
}{
	{9, 4, 8, 6, 9.787594, false, math.NaN()}, // Wetzel's example: all the simple necessary conditions hold
	{10, 1, 8, 7, 7.546470, false, -0.25414},
	{13, 1, 12, 6, 6.874325, false, -0.26014},
	{14, 1, 12, 9, 8.911784, true, 0.03555},
	{125, 6, 115, 65, 60.143564, true, 1.55150},
	{126, 10, 115, 65, 69.933076, false, -1.59110},
	{130, 10, 120, 68, 68.743252, false, -0.23335},
	{196, 10, 190, 120, 68.235008, true, 14.58835},
	{235, 8, 220, 120, 97.769231, true, 6.72189},
	{240, 20, 220, 120, 133.041940, false, -4.09269},
	{300, 10, 220, 220, 218.402880, true, 0.79690},
	{301.13, 10, 220, 220, 220.004266, false, -0.00213},
	{200, 60, 190, 120, 176.888359, false, math.NaN()},
	{10, 10, 9.9, 20, math.NaN(), false, -0.1}, // q > b: the trap in copies that drop that condition
}

func TestTurnedFitAgreesWithWorkedRectangles(t *testing.T) {
	for _, c := range rectangles {
		pts := fittest.BoxPoints(c.p, c.q, 1)
		clearance := mostTurned(pts, c.a, c.b)
		if !math.IsNaN(c.clearance) {
			// A sweep in steps of about 0.001° stays below the true maximum,
			// by up to a step times the part's length.
			require.Greater(t, clearance, c.clearance-0.5e-5, "%+v", c)
			require.Less(t, clearance, c.clearance+c.p*2e-5, "%+v", c)
		}
		if !math.IsNaN(c.needed) {
			require.InDelta(t, c.needed, leastDepth(c.p, c.q, c.a), 0.6e-6, "%+v", c)
		}
		// On a plate no higher than the part, nothing is gained by tipping.
		res := Fit(context.Background(), pts, Plate{Width: c.a, Depth: c.b, Height: 1})
		if c.fits {
			require.Equal(t, Turned, res.Verdict, "%+v: %+v", c, res)
			requireCertificate(t, pts, Plate{Width: c.a, Depth: c.b, Height: 1}, res)
		} else {
			require.Equal(t, CannotFit, res.Verdict, "%+v: %+v", c, res)
		}
	}
}

// Rows of the table, each also with the axes of plate and of part exchanged, on a plate 0.01 mm above and below the depth that Carver's
// condition asks for.
func TestTurnedFitDividesAtCarversDepth(t *testing.T) {
	worked := 0
	for _, c := range rectangles {
		if math.IsNaN(c.needed) || c.needed+0.01 > c.a {
			continue // the condition is for plates with b ≤ a
		}
		need := leastDepth(c.p, c.q, c.a)
		for _, b := range []float64{need + 0.01, need - 0.01} {
			for _, pts := range [][]mesh.Vec{fittest.BoxPoints(c.p, c.q, 1), fittest.BoxPoints(c.q, c.p, 1)} {
				for _, plate := range []Plate{{Width: c.a, Depth: b, Height: 1}, {Width: b, Depth: c.a, Height: 1}} {
					res := Fit(context.Background(), pts, plate)
					if b > need {
						require.Equal(t, Turned, res.Verdict, "%v on %s: %s", c, plate, res.Reason)
						requireCertificate(t, pts, plate, res)
					} else {
						require.Equal(t, CannotFit, res.Verdict, "%v on %s: %s", c, plate, res.Reason)
					}
				}
			}
			worked++
		}
	}
	require.GreaterOrEqual(t, worked, 10)
}

func TestTurnedFitAgreesWithCarver(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1957))
	fits := 0
	const cases = 20_000
	for range cases {
		p := 1 + 299*rng.Float64()
		q := p * rng.Float64()
		a := p * (0.7 + 0.4*rng.Float64())
		b := a * (0.05 + 0.95*rng.Float64())
		want := carver(p, q, a, b)
		// Within 1e-9 of the boundary the two may round apart: the condition
		// takes a difference of squares near 1e5.
		if carver(p, q, a-1e-9, b-1e-9) != carver(p, q, a+1e-9, b+1e-9) {
			continue
		}
		clearance := mostTurned(fittest.BoxPoints(p, q, 1), a, b)
		require.Equal(t, want, clearance >= 0, "%v × %v on %v × %v: %v to spare", p, q, a, b, clearance)
		if want {
			fits++
		}
	}
	require.Greater(t, fits, cases/10)
	require.Less(t, fits, cases*9/10)
}

// The longest rod of width w lying on a plate, in mm to four decimals, worked
// out for this project from Carver's condition.
func TestLongestRodOnAPlate(t *testing.T) {
	for _, c := range []struct {
		a, b             float64
		w2, w5, w10, w20 float64
	}{
		{115, 65, 130.3975, 127.8973, 123.8938, 116.7385},
		{120, 68, 136.2237, 133.7164, 129.6910, 122.4294},
		{190, 120, 222.9211, 220.2397, 215.8301, 207.2846},
		{220, 120, 248.9249, 246.4414, 242.3840, 234.6317},
		{220, 220, 309.1270, 306.1270, 301.1270, 291.1270},
		{256, 256, 360.0387, 357.0387, 352.0387, 342.0387},
		{300, 300, 422.2641, 419.2641, 414.2641, 404.2641},
	} {
		for w, l := range map[float64]float64{2: c.w2, 5: c.w5, 10: c.w10, 20: c.w20} {
			// Half a unit of the last decimal given, and a hair.
			require.Positive(t, mostTurned(fittest.BoxPoints(l-0.6e-4, w, 1), c.a, c.b), "%v × %v on %v", l, w, c)
			require.Negative(t, mostTurned(fittest.BoxPoints(l+0.6e-4, w, 1), c.a, c.b), "%v × %v on %v", l, w, c)
		}
	}
}

// Least rectangles, from elementary geometry; each must fit with 1e-6 more and
// not with 1e-6 less, whatever way the polygon lies in its file.
func TestTurnedFitKnowsLeastRectangles(t *testing.T) {
	isosceles := []mesh.Vec{{}, {X: 10}, {Y: 10}}
	for _, c := range []struct {
		name         string
		pts          []mesh.Vec
		width, depth float64
	}{
		{"square 1 in the square 1", fittest.BoxPoints(1, 1, 0), 1, 1},
		// The two least rectangles of equal area, of which neither replaces the other.
		{"right isosceles triangle along its legs", isosceles, 10, 10},
		{"right isosceles triangle along its long side", isosceles, 10 * math.Sqrt2, 5 * math.Sqrt2},
		{"equilateral triangle in a square: cos 15°", fittest.Polygon(3, 1), math.Cos(math.Pi / 12), math.Cos(math.Pi / 12)},
		{"equilateral triangle along a side", fittest.Polygon(3, 1), 1, math.Sqrt(3) / 2},
		{"pentagon", fittest.Polygon(5, 1), 1.618033989, 1.538841769},
		{"hexagon", fittest.Polygon(6, 1), 2, math.Sqrt(3)},
		{"parallelogram", []mesh.Vec{{}, {X: 10}, {X: 14, Y: 3}, {X: 4, Y: 3}}, 14, 3},
		{"triangle 3-4-5 along 5", []mesh.Vec{{}, {X: 3}, {Y: 4}}, 5, 2.4},
	} {
		for _, deg := range []float64{0, 10, 30, 45, 77.7, 90, 123.4, 179} {
			pts := fittest.Rotated(c.pts, rotation.AboutVertical(deg))
			require.Greater(t, mostTurned(pts, c.width+1e-6, c.depth+1e-6), 0.0, "%s, %v°", c.name, deg)
			require.Less(t, mostTurned(pts, c.width-1e-6, c.depth-1e-6), 0.0, "%s, %v°", c.name, deg)
		}
	}
}

// A unit square turned by t needs cos t + sin t as it lies; values to nine
// decimals from elementary geometry.
func TestAsSuppliedTakesTheFilesOrientation(t *testing.T) {
	for deg, side := range map[float64]float64{10: 1.158455931, 30: 1.366025404, 45: 1.414213562} {
		pts := fittest.Rotated(fittest.BoxPoints(1, 1, 1), rotation.AboutVertical(deg))
		for _, d := range []float64{1e-8, -1e-8} {
			res := Fit(context.Background(), pts, Plate{Width: side + d, Depth: side + d, Height: 1})
			require.Equal(t, d > 0, res.Verdict == AsSupplied, "%v° %v: %+v", deg, d, res)
			require.True(t, res.Verdict.Fits())
		}
	}
}

func TestTurnedFitAgreesWithASweep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		pts := make([]mesh.Vec, n)
		for i := range pts {
			pts[i] = mesh.Vec{X: rapid.Float64Range(-50, 50).Draw(t, "x"), Y: rapid.Float64Range(-50, 50).Draw(t, "y")}
		}
		w, d := rapid.Float64Range(1, 120).Draw(t, "w"), rapid.Float64Range(1, 120).Draw(t, "d")
		got := mostTurned(pts, w, d)
		scale := (&footprint.Turns{}).LargestTurnedScale(footprint.Corners(nil, append([]mesh.Vec(nil), pts...)), w, d)
		best, least := math.Inf(-1), math.Inf(1)
		const steps = 1800
		for k := range steps {
			e := footprint.Extents(fittest.Rotated(pts, rotation.AboutVertical(180*float64(k)/steps)))
			best = max(best, min(w-e.X, d-e.Y))
			least = min(least, max(e.X/w, e.Y/d))
		}
		// The sweep cannot beat the exact answer, and comes within half a step
		// times the diameter of it.
		reach := 150.0 * math.Pi / steps / 2
		require.LessOrEqual(t, best, got+1e-9)
		require.GreaterOrEqual(t, best, got-reach)
		require.GreaterOrEqual(t, least, 1/scale-1e-9)
		require.LessOrEqual(t, least, 1/scale+reach/min(w, d))
	})
}

// The angle told is a rounded one; it must keep nine tenths of the room that
// the best angle leaves, however little that is.
func TestTurnedAngleKeepsItsRoom(t *testing.T) {
	for _, clearance := range []float64{3, 0.3, 0.03, 1e-3, 1e-5, 1e-7} {
		// A plank 300 × 10 lies cornerwise on a square of (300 + 10)/√2.
		side := 310/math.Sqrt2 + clearance
		p := Plate{Width: side, Depth: side - clearance/3, Height: 5}
		pts := fittest.Rotated(fittest.BoxPoints(300, 10, 1), rotation.AboutVertical(12.3456789))
		best := mostTurned(pts, p.Width, p.Depth)
		res := Fit(context.Background(), pts, p)
		require.Equal(t, Turned, res.Verdict)
		e := footprint.Extents(fittest.Rotated(pts, rotation.AboutVertical(res.TurnDeg)))
		require.GreaterOrEqual(t, min(p.Width-e.X, p.Depth-e.Y), 0.9*best, "%v°", res.TurnDeg)
		require.LessOrEqual(t, min(p.Width-e.X, p.Depth-e.Y), best+1e-12)
	}
}

func TestMarginIsKeptOnEachSideOfTheFootprintOnly(t *testing.T) {
	p := Plate{Width: 68, Depth: 120, Height: 155, Margin: 2}
	require.Equal(t, AsSupplied, Fit(context.Background(), fittest.BoxPoints(64, 116, 155), p).Verdict)
	require.Equal(t, CannotFit, Fit(context.Background(), fittest.BoxPoints(64.2, 116, 155), p).Verdict)
	require.Equal(t, CannotFit, Fit(context.Background(), fittest.BoxPoints(64, 116, 155.2), p).Verdict)
	round := Plate{Width: 54, Depth: 54, Height: 10, Margin: 2, Round: true}
	require.Equal(t, AsSupplied, Fit(context.Background(), fittest.BoxPoints(30, 40, 10), round).Verdict)
	require.Equal(t, CannotFit, Fit(context.Background(), fittest.BoxPoints(30.2, 40, 10), round).Verdict)
	gone := Fit(context.Background(), fittest.BoxPoints(1, 1, 1), Plate{Width: 4, Depth: 9, Height: 9, Margin: 2})
	require.Equal(t, CannotFit, gone.Verdict)
	require.Zero(t, gone.LargestScale)
}

// Scaled by LargestScale the part fits as supplied or turned; 0.1 % larger it
// does not.
func TestLargestScaleIsTheLargest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "n")
		pts := make([]mesh.Vec, n)
		for i := range pts {
			pts[i] = mesh.Vec{X: rapid.Float64Range(-50, 50).Draw(t, "x"), Y: rapid.Float64Range(-50, 50).Draw(t, "y"), Z: rapid.Float64Range(0, 30).Draw(t, "z")}
		}
		if footprint.Extents(pts).Norm() < 1 {
			t.Skip("a speck")
		}
		p := Plate{Width: rapid.Float64Range(20, 200).Draw(t, "w"), Depth: 90, Height: rapid.Float64Range(20, 200).Draw(t, "h"), Margin: 2}
		if p.Round = rapid.Bool().Draw(t, "round"); p.Round {
			p.Depth = p.Width
		}
		k := Fit(context.Background(), pts, p).LargestScale
		fits := func(k float64) bool {
			v := Fit(context.Background(), fittest.Scaled(pts, k), p).Verdict
			return v == AsSupplied || v == Turned
		}
		require.True(t, fits(k*(1-1e-12)), "at %v", k)
		require.False(t, fits(k*1.001), "at %v", k)
	})
}

func TestAnswersForWhatIsNotAPart(t *testing.T) {
	p := Plate{Width: 68, Depth: 120, Height: 155}
	empty := Fit(context.Background(), nil, p)
	require.Equal(t, AsSupplied, empty.Verdict)
	require.Equal(t, float64(MaxScale), empty.LargestScale)
	point := Fit(context.Background(), []mesh.Vec{{X: 5, Y: 5, Z: 5}}, p)
	require.Equal(t, AsSupplied, point.Verdict)
	require.Equal(t, float64(MaxScale), point.LargestScale)
	for _, bad := range []float64{math.NaN(), math.Inf(1), -1e10} {
		require.Equal(t, Undecided, Fit(context.Background(), []mesh.Vec{{Y: bad}}, p).Verdict)
		require.Equal(t, Undecided, Fit(context.Background(), fittest.BoxPoints(1, 1, 1), Plate{Width: bad, Depth: 1, Height: 1}).Verdict)
	}
	require.Equal(t, CannotFit, Fit(context.Background(), fittest.BoxPoints(1, 1, 1), Plate{}).Verdict)
	// A margin below zero would let the part hang over the edge.
	hanging := Fit(context.Background(), fittest.BoxPoints(70, 10, 10), Plate{Width: 68, Depth: 60, Height: 60, Margin: -2})
	require.Equal(t, Undecided, hanging.Verdict)
	require.Equal(t, "The plate's margin is below zero.", hanging.Reason)
}

func TestReasonsAreTrueSentences(t *testing.T) {
	for _, c := range []struct {
		pts    []mesh.Vec
		p      Plate
		reason string
	}{
		{fittest.BoxPoints(60, 100, 150), Plate{Width: 68, Depth: 120, Height: 155}, "Fits as supplied with 5.0 mm to spare."},
		{fittest.BoxPoints(67.95, 100, 150), Plate{Width: 68, Depth: 120, Height: 155}, "Fits as supplied with less than 0.1 mm to spare."},
		{fittest.BoxPoints(110, 60, 150), Plate{Width: 68, Depth: 120, Height: 155}, "Fits turned 90° about the vertical, with 5.0 mm to spare."},
		{fittest.BoxPoints(300, 10, 1), Plate{Width: 220, Depth: 220, Height: 5}, "Fits turned 135° about the vertical, with 0.7 mm to spare."},
		{fittest.BoxPoints(50, 60, 170), Plate{Width: 68, Depth: 180, Height: 60}, "Fits tipped as the rotation says, with 8.0 mm to spare."},
		{fittest.BoxPoints(70, 120, 156), Plate{Width: 68, Depth: 120, Height: 155}, "Proved: no orientation fits, since the part is longer than the plate from corner to corner; it misses by at least 2.0 mm as supplied or turned."},
	} {
		got := Fit(context.Background(), c.pts, c.p).Reason
		require.Equal(t, c.reason, got)
	}
}

// Corners closer together than rounding once stopped a caliper for good.
func TestTurnedFitPassesCornersThatNearlyCoincide(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 3))
	for range 20_000 {
		pts := make([]mesh.Vec, 0, 9)
		for range 3 {
			p := mesh.Vec{X: 100 * rng.Float64(), Y: 100 * rng.Float64()}
			for range 3 {
				near := math.Pow(10, -17+6*rng.Float64()) * 100
				pts = append(pts, p.Add(mesh.Vec{X: near * rng.NormFloat64(), Y: near * rng.NormFloat64()}))
			}
		}
		f, clearance := (&footprint.Turns{}).BestTurn(footprint.Corners(nil, append([]mesh.Vec(nil), pts...)), 80, 60)
		e := footprint.Extents(fittest.Rotated(pts, [9]float64{f.X, f.Y, 0, -f.Y, f.X, 0, 0, 0, 1}))
		require.InDelta(t, min(80-e.X, 60-e.Y), clearance, 1e-9)
	}
}
