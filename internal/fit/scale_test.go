package fit

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/fit/fittest"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
)

// requireScale checks a largest scale from outside: the rotation is one, the
// part so scaled and turned lies within the room, and the proved bound is no
// less. 1e-11 of the size allows for the rounding of the multiplication.
func requireScale(t require.TestingT, pts []mesh.Vec, p Plate, s Scale) {
	res := Result{Verdict: Tipped, Rotation: s.Rotation, Extents: s.Extents.Scale(s.Largest)}
	requireCertificate(t, fittest.Scaled(pts, s.Largest*(1-1e-11)), p, Result{Verdict: Tipped, Rotation: s.Rotation, Extents: res.Extents})
	require.GreaterOrEqual(t, s.AtMost, s.Largest)
}

// The least cubes of the regular solids with edge 1 (see
// TestTippedFitDividesAtTheLeastCube), and rods, which reach from corner to
// corner of the room, a box or a cylinder.
func TestLargestScaleOfKnownBodies(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	cube := Plate{Width: 54, Depth: 54, Height: 50, Margin: 2}
	box := Plate{Width: 68, Depth: 120, Height: 155}
	round := Plate{Width: 80, Depth: 80, Height: 150, Round: true}
	rod := []mesh.Vec{{}, {X: 1}}
	for _, c := range []struct {
		name string
		pts  []mesh.Vec
		p    Plate
		want float64
	}{
		{"cube", fittest.BoxPoints(1, 1, 1), cube, 50},
		{"tetrahedron", fittest.Tetrahedron(1), cube, 50 * math.Sqrt2},
		{"octahedron", fittest.Octahedron(1), cube, 50 * 3 / (2 * math.Sqrt2)},
		{"icosahedron", fittest.Icosahedron(1), cube, 100 / (1 + math.Sqrt(5))},
		{"rod in a box", rod, box, 207.482529},
		{"rod in a cylinder", rod, round, 170},
		{"box of the room's proportions", fittest.BoxPoints(155, 68, 120), box, 1},
		{"ball", fittest.Ellipsoid(1500, 10, 10, 10), Plate{Width: 30, Depth: 50, Height: 60}, math.NaN()},
	} {
		for range 5 {
			pts := fittest.Rotated(c.pts, fittest.RandomRotation(rng))
			s, err := LargestScale(context.Background(), pts, c.p)
			require.NoError(t, err)
			requireScale(t, pts, c.p, s)
			require.True(t, s.Certified(), "%s: %+v", c.name, s)
			if math.IsNaN(c.want) {
				// A polyhedron inscribed in a ball of diameter 20; 1500 points leave
				// caps of about 0.08 rad.
				require.InDelta(t, 1.5, s.Largest, 1.5*0.005)
				continue
			}
			require.LessOrEqual(t, s.Largest, c.want*(1+1e-8), "%s: %+v", c.name, s)
			require.GreaterOrEqual(t, s.Largest, c.want/(1+ScaleGap), "%s: %+v", c.name, s)
			require.GreaterOrEqual(t, s.AtMost, c.want*(1-1e-8), "%s: %+v", c.name, s)
		}
	}
}

// The bound of a cell is never above the load of a direction in it.
func TestLeastLoadHoldsThroughoutTheCell(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
		pts := make([]mesh.Vec, 2+rng.IntN(20))
		for i := range pts {
			pts[i] = mesh.Vec{X: 40 * rng.NormFloat64(), Y: 25 * rng.NormFloat64(), Z: 10 * rng.NormFloat64()}
		}
		room := mesh.Vec{X: 20 + 150*rng.Float64(), Y: 20 + 150*rng.Float64(), Z: 20 + 150*rng.Float64()}
		s := posture.Posture{Points: pts, Room: room, Round: rng.IntN(2) == 0}
		half := math.Pi / 4 * math.Pow(2, -30*rng.Float64())
		c := posture.Cell{Face: rng.IntN(3), Half: half,
			S: (math.Pi/4 - half) * (2*rng.Float64() - 1), T: (math.Pi/4 - half) * (2*rng.Float64() - 1)}
		s.Stand(c.Centre())
		least := s.LeastLoad(c, math.Inf(1))
		for k := range 30 {
			up := c.At(c.S+half*(2*rng.Float64()-1), c.T+half*(2*rng.Float64()-1))
			if k < 4 {
				up = c.Corners()[k]
			}
			s.Stand(up)
			if load, _ := s.Load(); load < least-1e-11 {
				t.Fatalf("load %v below the bound %v in a cell of %v rad", load, least, half)
			}
		}
	})
}

// Every real part, on a plate of the bench: certified, attained, not below what
// it may be scaled by as it lies, and Fit finds nothing beyond the proved bound.
func TestLargestScaleOfRealParts(t *testing.T) {
	demo, shared := fittest.RealParts(t)
	plates := benchPlates(t)
	for _, set := range []struct {
		name  string
		parts []fittest.RealPart
	}{{"demo", demo}, {"shared", shared}} {
		var times []time.Duration
		for i, part := range set.parts {
			p := plates[i%len(plates)]
			start := fittest.ProcessorTime()
			s, err := LargestScale(context.Background(), part.Hull, p)
			times = append(times, fittest.ProcessorTime()-start)
			require.NoError(t, err)
			if s.Largest == MaxScale {
				continue
			}
			requireScale(t, part.Hull, p, s)
			require.True(t, s.Certified(), "%s on %v: %+v", part.Name, p, s)
			require.GreaterOrEqual(t, s.Largest, Fit(context.Background(), part.Hull, p).LargestScale*(1-1e-11), "%s on %v", part.Name, p)
			beyond := Fit(context.Background(), fittest.Scaled(part.Hull, s.AtMost*(1+1e-9)), p)
			require.False(t, beyond.Verdict.Fits(), "%s on %v: %s", part.Name, p, beyond.Reason)
		}
		fittest.Spread(t, set.name, times)
	}
}

func TestLargestScaleOfWhatIsHardlyThere(t *testing.T) {
	p := Plate{Width: 68, Depth: 120, Height: 155, Margin: 2}
	for _, pts := range [][]mesh.Vec{nil, {{X: 5}}, {{X: 5}, {X: 5}}, fittest.Tetrahedron(1e-30)} {
		s, err := LargestScale(context.Background(), pts, p)
		require.NoError(t, err)
		require.Equal(t, float64(MaxScale), s.Largest)
		require.True(t, s.Certified())
	}
	for _, size := range []float64{1e-3, 1e6, 5e8} {
		for _, pts := range [][]mesh.Vec{fittest.Tetrahedron(size), fittest.BoxPoints(size, size/3, 0), {{}, {X: size}}} {
			s, err := LargestScale(context.Background(), pts, p)
			require.NoError(t, err)
			require.True(t, s.Certified(), "%+v", s)
			requireScale(t, pts, p, s)
		}
	}
	gone, err := LargestScale(context.Background(), fittest.BoxPoints(1, 1, 1), Plate{Width: 4, Depth: 9, Height: 9, Margin: 2})
	require.NoError(t, err)
	require.Zero(t, gone.Largest)
	require.Zero(t, gone.AtMost)
	for _, bad := range []float64{math.NaN(), math.Inf(1), -1e10} {
		_, err := LargestScale(context.Background(), []mesh.Vec{{Y: bad}}, p)
		require.Error(t, err)
		_, err = LargestScale(context.Background(), fittest.BoxPoints(1, 1, 1), Plate{Width: bad, Depth: 1, Height: 1})
		require.Error(t, err)
	}
	_, err = LargestScale(context.Background(), fittest.BoxPoints(1, 1, 1), Plate{Width: 9, Depth: 9, Height: 9, Margin: -1})
	require.Error(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = LargestScale(ctx, fittest.Rotated(fittest.Icosahedron(50), fittest.RandomRotation(rand.New(rand.NewPCG(8, 2)))), p)
	require.ErrorIs(t, err, context.Canceled)
}

// A ball too large by a little was the shape that used up the budget: its least
// width settles it, on rectangular plates and on round ones.
func TestNearBallsAreDecided(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 3))
	for _, n := range []int{500, 2000} {
		ball := fittest.Rotated(fittest.Ellipsoid(n, 50, 50, 50), fittest.RandomRotation(rng))
		width := leastWidthBySampling(ball)
		for _, less := range []float64{0.15, 0.3, 0.6, 0.95} {
			side := width - less
			for _, p := range []Plate{
				{Width: side, Depth: side, Height: side},
				{Width: 150, Depth: side, Height: 150},
				{Width: side, Depth: side, Height: 150, Round: true},
				{Width: 150, Depth: 150, Height: side, Round: true},
			} {
				require.Equal(t, CannotFit, Fit(context.Background(), ball, p).Verdict, "%d points, %v", n, p)
			}
		}
	}
}

// leastWidthBySampling looks along 20 000 directions, and finds a least width
// that is too great by far less than the 0.15 mm above.
func leastWidthBySampling(pts []mesh.Vec) float64 {
	least := math.Inf(1)
	for _, u := range fittest.Ellipsoid(20_000, 1, 1, 1) {
		low, high := math.Inf(1), math.Inf(-1)
		for _, p := range pts {
			d := p.Dot(u)
			low, high = min(low, d), max(high, d)
		}
		least = min(least, high-low)
	}
	return least
}
