package fit

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/fit/fittest"
	"cardback/internal/fit/footprint"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// requireCertificate checks a positive answer from outside: the rotation is
// one, and every point it brings onto the plate lies within the room. 2e-9 mm
// allows for slop and for the rounding of this check itself.
func requireCertificate(t require.TestingT, pts []mesh.Vec, p Plate, res Result) {
	require.True(t, res.Verdict.Fits(), "%+v", res)
	m := res.Rotation
	for i := range 3 {
		for j := range 3 {
			dot := m[3*i]*m[3*j] + m[3*i+1]*m[3*j+1] + m[3*i+2]*m[3*j+2]
			want := 0.0
			if i == j {
				want = 1
			}
			require.InDelta(t, want, dot, 1e-11, "row %d by row %d of %v", i, j, m)
		}
	}
	det := m[0]*(m[4]*m[8]-m[5]*m[7]) - m[1]*(m[3]*m[8]-m[5]*m[6]) + m[2]*(m[3]*m[7]-m[4]*m[6])
	require.InDelta(t, 1, det, 1e-11)
	turned := fittest.Rotated(pts, m)
	e := footprint.Extents(turned)
	require.InDelta(t, 0, e.Sub(res.Extents).Norm(), 1e-8)
	require.LessOrEqual(t, e.Z, p.Height+2e-9)
	if p.Round {
		require.LessOrEqual(t, 2*footprint.LeastCircle(footprint.Corners(nil, turned)).R, p.Width-2*p.Margin+2e-9)
	} else {
		require.LessOrEqual(t, e.X, p.Width-2*p.Margin+2e-9)
		require.LessOrEqual(t, e.Y, p.Depth-2*p.Margin+2e-9)
	}
	switch res.Verdict {
	case AsSupplied:
		require.Equal(t, rotation.Identity, m)
	case Turned:
		require.GreaterOrEqual(t, res.TurnDeg, 0.0)
		require.Less(t, res.TurnDeg, 180.0)
		s, c := math.Sincos(res.TurnDeg * math.Pi / 180)
		require.InDeltaSlice(t, []float64{c, -s, 0, s, c, 0, 0, 0, 1}, m[:], 1e-9)
	}
}

// Least cubes and heights of the regular solids with edge 1: the cubes around
// tetrahedron (1/√2), octahedron (2√2/3) and icosahedron (the golden ratio)
// are those of least volume known from elementary geometry and a numerical
// search worked out for this project; a cube's own is itself. Scaled to some
// 50 mm, each must be found 0.1 mm above from any start, and excluded 0.1 mm
// below.
func TestTippedFitDividesAtTheLeastCube(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	const edge = 50
	for _, c := range []struct {
		name string
		pts  []mesh.Vec
		side float64
	}{
		{"cube", fittest.BoxPoints(edge, edge, edge), edge},
		{"tetrahedron", fittest.Tetrahedron(edge), edge / math.Sqrt2},
		{"octahedron", fittest.Octahedron(edge), edge * 2 * math.Sqrt2 / 3},
		{"icosahedron", fittest.Icosahedron(edge), edge * (1 + math.Sqrt(5)) / 2},
	} {
		for range 20 {
			pts := fittest.Rotated(c.pts, fittest.RandomRotation(rng))
			above, below := c.side+0.1, c.side-0.1
			p := Plate{Width: above, Depth: above, Height: above}
			requireCertificate(t, pts, p, Fit(context.Background(), pts, p))
			res := Fit(context.Background(), pts, Plate{Width: below, Depth: below, Height: below})
			require.Equal(t, CannotFit, res.Verdict, "%s: %+v", c.name, res)
		}
	}
}

// On a plate with room all round only the height decides: the least heights of
// the regular solids with edge 1, by numerical search worked out for this
// project (tetrahedron 0.707107, octahedron 0.816497, icosahedron 1.511523).
func TestTippedFitDividesAtTheLeastHeight(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 2))
	const edge = 50
	for _, c := range []struct {
		name   string
		pts    []mesh.Vec
		height float64
	}{
		{"cube", fittest.BoxPoints(edge, edge, edge), edge},
		{"tetrahedron", fittest.Tetrahedron(edge), edge * 0.707107},
		{"octahedron", fittest.Octahedron(edge), edge * 0.816497},
		{"icosahedron", fittest.Icosahedron(edge), edge * 1.511523},
	} {
		for _, round := range []bool{false, true} {
			for range 10 {
				pts := fittest.Rotated(c.pts, fittest.RandomRotation(rng))
				p := Plate{Width: 500, Depth: 500, Height: c.height + 0.1, Round: round}
				requireCertificate(t, pts, p, Fit(context.Background(), pts, p))
				p.Height = c.height - 0.1
				require.Equal(t, CannotFit, Fit(context.Background(), pts, p).Verdict, c.name)
			}
		}
	}
}

// The longest thin rod in a box is its diagonal: 207.482529 mm for
// 68 × 120 × 155, 399.124041 for 220 × 220 × 250.
func TestLongestRodInABox(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for _, c := range []struct {
		p      Plate
		length float64
	}{
		{Plate{Width: 68, Depth: 120, Height: 155}, 207.482529},
		{Plate{Width: 220, Depth: 220, Height: 250}, 399.124041},
	} {
		for range 10 {
			rod := []mesh.Vec{{}, {X: c.length - 0.001}}
			in := fittest.Rotated(rod, fittest.RandomRotation(rng))
			requireCertificate(t, in, c.p, Fit(context.Background(), in, c.p))
			rod[1].X = c.length + 0.001
			require.Equal(t, CannotFit, Fit(context.Background(), fittest.Rotated(rod, fittest.RandomRotation(rng)), c.p).Verdict)
		}
	}
}

// A plate-like part L × B × t standing tilted by a needs L·cos a + t·sin a by
// L·sin a + t·cos a: the tilt table of 100 × 10 and 60 × 3 (elementary
// geometry). The plate given is what one tilt needs; the part comes lying flat.
func TestTippedFindsATilt(t *testing.T) {
	for _, c := range []struct{ l, t, flat, high float64 }{
		{100, 10, 77.781746, 77.781746},
		{60, 3, 53.461524, 32.598076},
		{150, 1.5, 107.126677, 107.126677},
	} {
		pts := fittest.BoxPoints(c.l, 40, c.t)
		p := Plate{Width: c.flat + 0.1, Depth: 40.1, Height: c.high + 0.1}
		res := Fit(context.Background(), pts, p)
		require.Equal(t, Tipped, res.Verdict, "%+v: %s", c, res.Reason)
		requireCertificate(t, pts, p, res)
	}
}

// A cylinder of length L and diameter d leaning by a takes L·cos a + d·sin a by
// L·sin a + d·cos a, and d across (elementary geometry): 100 × 10 needs a square
// of 77.781746, at 45°, where a channel 10 wide lets it lean one way only. The
// 256-sided prism is thinner by less than 0.001.
func TestTippedFitDividesAtALeaningCylinder(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 10))
	for range 10 {
		pts := fittest.Rotated(fittest.Cylinder(256, 5, 100), fittest.RandomRotation(rng))
		p := Plate{Width: 77.781746 + 0.11, Depth: 10.11, Height: 77.781746 + 0.11}
		requireCertificate(t, pts, p, Fit(context.Background(), pts, p))
		p.Width, p.Height = p.Width-0.22, p.Height-0.22
		require.Equal(t, CannotFit, Fit(context.Background(), pts, p).Verdict)
	}
}

// The bound that the proof rests on: nothing in a cell has more to spare than
// its ceiling. Directions in the cell are drawn at random, its corners among
// them.
func TestCeilingHoldsThroughoutTheCell(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4))
		n := 2 + rng.IntN(20)
		pts := make([]mesh.Vec, n)
		for i := range pts {
			pts[i] = mesh.Vec{X: 40 * rng.NormFloat64(), Y: 25 * rng.NormFloat64(), Z: 10 * rng.NormFloat64()}
		}
		// Rooms of all proportions, so that each of the three directions decides.
		room := mesh.Vec{X: 20 + 150*rng.Float64(), Y: 20 + 150*rng.Float64(), Z: 20 + 150*rng.Float64()}
		s := posture.Posture{Points: pts, Room: room, Round: rng.IntN(2) == 0}
		half := math.Pi / 4 * math.Pow(2, -30*rng.Float64())
		c := posture.Cell{Face: rng.IntN(3), Half: half,
			S: (math.Pi/4 - half) * (2*rng.Float64() - 1), T: (math.Pi/4 - half) * (2*rng.Float64() - 1)}
		s.Stand(c.Centre())
		ceiling := s.Ceiling(c, math.Inf(-1))
		for k := range 30 {
			up := c.At(c.S+half*(2*rng.Float64()-1), c.T+half*(2*rng.Float64()-1))
			if k < 4 {
				up = c.Corners()[k]
			}
			s.Stand(up)
			if clearance, _ := s.Clearance(); clearance > ceiling+1e-9 {
				t.Fatalf("spare %v above the ceiling %v in a cell of %v rad", clearance, ceiling, half)
			}
		}
	})
}

// An orientation that fits exactly is at most missed as a tight fit, never
// proved away; and a plate with Tolerance to spare is always answered.
func TestExactFitsAreNeverProvedAway(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	for range 60 {
		size := mesh.Vec{X: 20 + 80*rng.Float64(), Y: 20 + 80*rng.Float64(), Z: 20 + 80*rng.Float64()}
		pts := fittest.Rotated(fittest.BoxPoints(size.X, size.Y, size.Z), fittest.RandomRotation(rng))
		tight := Fit(context.Background(), pts, Plate{Width: size.X, Depth: size.Y, Height: size.Z})
		require.NotContains(t, tight.Reason, "no orientation fits;", "%+v", tight)
		require.NotContains(t, tight.Reason, "no orientation fits,", "%+v", tight)
		roomy := Plate{Width: size.X + Tolerance, Depth: size.Y + Tolerance, Height: size.Z + Tolerance}
		requireCertificate(t, pts, roomy, Fit(context.Background(), pts, roomy))
	}
}

// Proofs that nothing fits are challenged with random rotations, each improved
// by random steps, about 50 000 trials in all.
func TestNoChallengerBeatsAProof(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 6))
	proofs, finds := 0, 0
	for range 150 {
		n := 4 + rng.IntN(30)
		pts := make([]mesh.Vec, n)
		for i := range pts {
			pts[i] = mesh.Vec{X: 30 * rng.NormFloat64(), Y: 20 * rng.NormFloat64(), Z: 8 * rng.NormFloat64()}
		}
		p := Plate{Width: 40 + 100*rng.Float64(), Depth: 40 + 100*rng.Float64(), Height: 20 + 80*rng.Float64(), Round: rng.IntN(3) == 0}
		if p.Round {
			p.Depth = p.Width
		}
		res := Fit(context.Background(), pts, p)
		if res.Verdict.Fits() {
			finds++
			requireCertificate(t, pts, p, res)
			continue
		}
		require.Equal(t, CannotFit, res.Verdict)
		proofs++
		pt := posture.NewPart(pts, p.Usable(), p.Round)
		for range 8 {
			rot := fittest.RandomRotation(rng)
			best := pt.Clearance(rot)
			for k := range 60 {
				step := 0.5 * math.Exp(-float64(k)/10)
				next := fittest.Compose(fittest.Nudge(rng, step), rot)
				if got := pt.Clearance(next); got > best {
					rot, best = next, got
				}
			}
			require.Less(t, best, Tolerance, "%s", res.Reason)
		}
	}
	require.Greater(t, proofs, 30)
	require.Greater(t, finds, 30)
}

// Moving the part, doubling its points, adding inner ones and changing their
// order change nothing but rounding.
func TestAnswerDependsOnlyOnTheHull(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 7))
	for range 40 {
		base := fittest.Rotated(fittest.Ellipsoid(30, 40, 25, 10), fittest.RandomRotation(rng))
		p := Plate{Width: 50 + 30*rng.Float64(), Depth: 50, Height: 20 + 20*rng.Float64()}
		want := Fit(context.Background(), base, p)
		more := append([]mesh.Vec(nil), base...)
		for range 100 {
			a, b := base[rng.IntN(len(base))], base[rng.IntN(len(base))]
			more = append(more, a.Add(b).Scale(0.5), a)
		}
		rng.Shuffle(len(more), func(i, j int) { more[i], more[j] = more[j], more[i] })
		for i := range more {
			more[i] = more[i].Add(mesh.Vec{X: 300, Y: -200, Z: 100})
		}
		got := Fit(context.Background(), more, p)
		require.Equal(t, want.Verdict, got.Verdict, "%s\n%s", want.Reason, got.Reason)
		require.InDelta(t, want.LargestScale, got.LargestScale, 1e-9)
	}
}

func TestSameInputSameAnswer(t *testing.T) {
	pts := fittest.Rotated(fittest.Ellipsoid(500, 40, 25, 10), fittest.RandomRotation(rand.New(rand.NewPCG(3, 8))))
	p := Plate{Width: 52, Depth: 81, Height: 21}
	first := Fit(context.Background(), pts, p)
	for range 3 {
		require.Equal(t, first, Fit(context.Background(), pts, p))
	}
}

func TestCancelledSearchSaysSo(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	pts := fittest.Rotated(fittest.Icosahedron(50), fittest.RandomRotation(rand.New(rand.NewPCG(3, 9))))
	res := Fit(ctx, pts, Plate{Width: 80.5, Depth: 80.5, Height: 80.5})
	require.Equal(t, Undecided, res.Verdict)
	require.Equal(t, "Stopped before there was an answer.", res.Reason)
}

func ExampleFit() {
	// A board 150 mm long, on a small resin plate.
	var board []mesh.Vec
	for i := range 8 {
		board = append(board, mesh.Vec{X: 150 * float64(i&1), Y: 60 * float64(i>>1&1), Z: 3 * float64(i>>2&1)})
	}
	res := Fit(context.Background(), board, Plate{Width: 68, Depth: 120, Height: 155})
	fmt.Println(res.Verdict)
	// Output: tipped
}

// Many points above one another have a single corner, whichever way they stand.
func TestManyPointsOnALine(t *testing.T) {
	for _, axis := range []mesh.Vec{{X: 1}, {Y: 1}, {Z: 1}, {}} {
		var pts []mesh.Vec
		for i := range 40 {
			pts = append(pts, axis.Scale(float64(i)).Add(mesh.Vec{X: 7, Y: 7, Z: 7}))
		}
		for _, round := range []bool{false, true} {
			p := Plate{Width: 30, Depth: 30, Height: 30, Round: round}
			res := Fit(context.Background(), pts, p)
			requireCertificate(t, pts, p, res)
			_, err := LargestScale(context.Background(), pts, p)
			require.NoError(t, err)
		}
	}
}
