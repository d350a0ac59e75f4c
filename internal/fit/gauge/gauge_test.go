package gauge

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit/fittest"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// requireLies checks an InGauge by the gauge's own inequalities, and that no
// other answer comes with numbers.
func requireLies(t require.TestingT, pts []mesh.Vec, res Result) {
	if res.Verdict != Inside {
		require.Equal(t, rotation.Identity, res.Rotation)
		require.Zero(t, res.Offset)
		return
	}
	require.True(t, rotation.IsRotation(res.Rotation) || isNearlyRotation(res.Rotation), "%v", res.Rotation)
	const slack = 1e-9 // mm: the coordinates' own rounding
	for _, p := range pts {
		v := rotation.Apply(res.Rotation, p).Add(res.Offset)
		require.LessOrEqual(t, math.Hypot(v.X, v.Y), 15.875+slack)
		require.LessOrEqual(t, v.Z, slack)
		require.GreaterOrEqual(t, v.Z, -41.275-v.X-slack)
		require.GreaterOrEqual(t, spareAt(v), res.Clearance-slack)
	}
}

// isNearlyRotation allows for the twelve decimals that answers are written in.
func isNearlyRotation(m [9]float64) bool {
	for i := range 3 {
		for j := range 3 {
			dot := 0.0
			for k := range 3 {
				dot += m[3*i+k] * m[3*j+k]
			}
			want := 0.0
			if i == j {
				want = 1
			}
			if math.Abs(dot-want) > 1e-11 {
				return false
			}
		}
	}
	return true
}

// around is a prism of n sides around a cylinder, where cylinder is inside it: what
// holds the one holds the rod between them, and what excludes the other excludes it.
func around(n int, r, h float64) []mesh.Vec {
	return fittest.Cylinder(n, r/math.Cos(math.Pi/float64(n)), h)
}

func boxOf(a, b, c float64) []mesh.Vec {
	var out []mesh.Vec
	for k := range 8 {
		out = append(out, mesh.Vec{X: a * float64(k&1), Y: b * float64(k>>1&1), Z: c * float64(k>>2)})
	}
	return out
}

// plug is the gauge itself, made smaller all round by off.
func plug(off float64) []mesh.Vec {
	var out []mesh.Vec
	r := Radius - off
	for k := range 96 {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / 96)
		x := r * cos
		out = append(out, mesh.Vec{X: x, Y: r * sin, Z: -off}, mesh.Vec{X: x, Y: r * sin, Z: -MidDepth - x + math.Sqrt2*off})
	}
	return out
}

// Values of check-values 3.1, from the dimensions of 16 CFR 1501.4: what lies
// 0.05 mm inside them fits and what lies 0.05 mm outside does not.
func TestSmallPartsGaugeDividesAtItsDimensions(t *testing.T) {
	type row struct {
		name string
		at   func(off float64) []mesh.Vec // off mm larger than the largest
	}
	const ball = 4000 // its points are less than 0.014 mm inside the ball's surface
	rows := []row{
		{"two points, 65.377251 apart", func(off float64) []mesh.Vec { return []mesh.Vec{{}, {Z: 65.377251 + off}} }},
		{"ball of 31.75", func(off float64) []mesh.Vec {
			r := (31.75 + off) / 2
			return fittest.Ellipsoid(ball, r, r, r)
		}},
		// A disc always has a diameter that lies level, so it must be within the
		// wall's; at that it lies flat under the rim.
		{"disc of 31.75, 3 thick", func(off float64) []mesh.Vec { return fittest.Cylinder(96, (31.75+off)/2, 3) }},
		{"disc of 31.75, 25 thick", func(off float64) []mesh.Vec { return fittest.Cylinder(96, (31.75+off)/2, 25) }},
		// As wide as the gauge, it cannot lean: the shallow side decides.
		{"cylinder of 31.75, 25.4 long", func(off float64) []mesh.Vec { return fittest.Cylinder(96, 31.75/2, 25.4+off) }},
		{"cube of 31.75/√2", func(off float64) []mesh.Vec { a := 31.75/math.Sqrt2 + off; return boxOf(a, a, a) }},
		{"box 1:1:2 of 18.105", func(off float64) []mesh.Vec { a := 18.105 + off; return boxOf(a, a, 2*a) }},
		// The gauge turned into a body: only as it lies, and the slanted floor counts.
		{"plug", func(off float64) []mesh.Vec { return plug(-off / 2) }},
	}
	for _, rod := range []struct{ d, l float64 }{{1.5, 62.958}, {2, 62.151}, {3, 60.540}, {6, 55.710}, {10, 49.289}, {15, 57.15 - 15}} {
		rows = append(rows, row{fmt.Sprintf("rod of %g, %g long", rod.d, rod.l), func(off float64) []mesh.Vec {
			if off < 0 {
				return around(96, rod.d/2, rod.l+off)
			}
			return fittest.Cylinder(96, rod.d/2, rod.l+off)
		}})
	}
	for _, r := range rows {
		t.Run(r.name, func(t *testing.T) {
			start := fittest.ProcessorTime()
			in := r.at(-0.05)
			res := Decide(context.Background(), in)
			require.Equal(t, Inside, res.Verdict, res.Reason)
			requireLies(t, in, res)
			mid := fittest.ProcessorTime()
			out := r.at(0.05)
			res = Decide(context.Background(), out)
			require.Equal(t, Outside, res.Verdict, res.Reason)
			requireLies(t, out, res)
			t.Logf("fits: %v, does not: %v, %s", mid-start, fittest.ProcessorTime()-mid, res.Reason)
		})
	}
}

// What check-values 3.1 says fits at least: upright square boxes pushed to the deep
// side, the tetrahedron within the largest cube, upright rods, the thin rod that
// is longer than the gauge is deep.
func TestSmallPartsGaugeHoldsWhatIsKnownToFit(t *testing.T) {
	bodies := map[string][]mesh.Vec{
		"tetrahedron":          fittest.Tetrahedron(31.75),
		"thin rod of 62.9":     around(64, 0.75, 62.9),
		"rod longer than deep": around(64, 1, 57.15-2),
		"nothing":              nil,
		"one point":            {{X: 400, Y: -3, Z: 1e6}},
	}
	for _, s := range []float64{5, 10, 15, 20, 22.45} {
		bodies[fmt.Sprintf("box of %g upright", s)] = boxOf(s, s, 41.275-s+math.Sqrt(Radius*Radius-s*s/4))
	}
	for name, pts := range bodies {
		res := Decide(context.Background(), pts)
		require.Equal(t, Inside, res.Verdict, "%s: %s", name, res.Reason)
		requireLies(t, pts, res)
	}
}

// The part may be supplied in any way: turned, moved and mirrored, which the
// gauge's plane of symmetry undoes.
func TestSmallPartsGaugeDoesNotMindHowAPartLies(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 1))
	bodies := []struct {
		in, out []mesh.Vec
	}{
		{boxOf(22.40, 22.40, 22.40), boxOf(22.50, 22.50, 22.50)},
		{around(24, 1.5, 60.49), fittest.Cylinder(96, 1.5, 60.59)},
		{plug(0.03), plug(-0.03)},
		{boxOf(30, 18, 22), boxOf(31, 25, 26)},
	}
	for _, b := range bodies {
		for range 4 {
			rot, off := fittest.RandomRotation(rng), mesh.Vec{X: rng.NormFloat64() * 50, Y: rng.NormFloat64() * 50, Z: rng.NormFloat64() * 50}
			for _, side := range []struct {
				pts  []mesh.Vec
				want Verdict
			}{{b.in, Inside}, {b.out, Outside}} {
				pts := fittest.Rotated(side.pts, rot)
				for i := range pts {
					pts[i] = pts[i].Add(off)
					pts[i].X = -pts[i].X
				}
				rng.Shuffle(len(pts), func(i, j int) { pts[i], pts[j] = pts[j], pts[i] })
				res := Decide(context.Background(), pts)
				require.Equal(t, side.want, res.Verdict, res.Reason)
				requireLies(t, pts, res)
			}
		}
	}
}

// plainSpare is the slow, obvious way: the top is put under the rim, and the middle of
// the circle sought by narrowing intervals. What it returns is the wall's spare alone, so it
// is not below zero where there is a place, and below where there is none. Each interval
// is narrowed by a third so many times.
func plainSpare(pts []mesh.Vec, rot [9]float64, thirds int) float64 {
	turned := fittest.Rotated(pts, rot)
	top, low := math.Inf(-1), math.Inf(1)
	for _, p := range turned {
		top, low = max(top, p.Z), min(low, p.X+p.Z)
	}
	limit := 41.275 - top + low
	radius := func(u, v float64) float64 {
		r := 0.0
		for _, p := range turned {
			x, y := p.X-u, p.Y-v
			r = max(r, x*x+y*y)
		}
		return r
	}
	narrow := func(lo, hi float64, f func(float64) float64) float64 {
		for range thirds {
			a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
			if f(a) < f(b) {
				hi = b
			} else {
				lo = a
			}
		}
		return f((lo + hi) / 2)
	}
	const wide = 60
	return 15.875 - math.Sqrt(narrow(limit-3*wide, limit, func(u float64) float64 {
		return narrow(-wide, wide, func(v float64) float64 { return radius(u, v) })
	}))
}

func TestBestPlaceAgreesWithThePlainWay(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 2))
	sign := map[bool]int{}
	for range 60 {
		pts := make([]mesh.Vec, 4+rng.IntN(12))
		size := mesh.Vec{X: 5 + 12*rng.Float64(), Y: 5 + 12*rng.Float64(), Z: 5 + 25*rng.Float64()}
		for i := range pts {
			pts[i] = mesh.Vec{X: size.X * (2*rng.Float64() - 1), Y: size.Y * (2*rng.Float64() - 1), Z: size.Z * (2*rng.Float64() - 1)}
		}
		l := lie{points: pts}
		rot := fittest.RandomRotation(rng)
		l.turn(rot)
		in := l.best()
		least := math.Inf(1)
		for _, p := range pts {
			least = min(least, spareAt(rotation.Apply(rot, p).Add(in.offset)))
		}
		plain := plainSpare(pts, rot, 50)
		if in.clearance >= 0 {
			require.InDelta(t, in.clearance, least, 1e-9, "the place does not leave what is promised")
		}
		if math.Abs(plain) > 1e-6 {
			require.Equal(t, plain > 0, in.clearance > 0, "plain %v, best %v", plain, in.clearance)
		}
		require.LessOrEqual(t, in.proof.off, 1e-12)
		sign[in.clearance > 0]++
	}
	require.Greater(t, sign[true], 5)
	require.Greater(t, sign[false], 5)
}

// The bound over a set of rotations is one: no rotation in the set leaves more.
func TestGaugeCertificateHoldsThroughoutTheSet(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 3))
	near := 0
	for range 300 {
		l := lie{points: fittest.Rotated(boxOf(5+30*rng.Float64(), 5+25*rng.Float64(), 5+40*rng.Float64()), fittest.RandomRotation(rng))}
		c := allRotations()[rng.IntN(4)]
		for range rng.IntN(9) {
			c = c.eighths()[rng.IntN(8)]
		}
		rot := c.centre().matrix()
		l.turn(rot)
		in := l.best()
		ceiling := in.proof.within(rot, c.reach())
		for range 30 {
			off := func() float64 { return c.half * (2*rng.Float64() - 1) }
			l.turn(c.through(c.at[0]+off(), c.at[1]+off(), c.at[2]+off()).matrix())
			require.LessOrEqual(t, l.best().clearance, ceiling+1e-9)
		}
		// At the edge, where the bound is highest, it is often reached.
		if g := torque(rotation.Product(rot, in.proof.turn)); g.Norm() > 0 {
			l.turn(rotation.Product(about(g.Scale(-c.reach()/g.Norm())), rot))
			got := l.best().clearance
			require.LessOrEqual(t, got, ceiling+1e-9)
			if ceiling-got < 0.1*(ceiling-in.clearance) {
				near++
			}
		}
	}
	require.Greater(t, near, 20, "the bound is never nearly reached: it may be far too high")
}

// All rotations are in the four sets, and a set is in its eighths.
func TestRotationSetsCoverAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 4))
	in := func(c rotations, q quaternion) bool {
		for i := range 3 {
			if a := math.Atan2(q[(c.face+1+i)%4]/q[c.face], 1); math.Abs(a-c.at[i]) > c.half+1e-12 {
				return false
			}
		}
		return true
	}
	for range 2000 {
		q := quaternion{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}
		n := math.Sqrt(q[0]*q[0] + q[1]*q[1] + q[2]*q[2] + q[3]*q[3])
		for i := range q {
			q[i] /= n
		}
		var c *rotations
		for _, all := range allRotations() {
			if in(all, q) {
				c = &all
			}
		}
		require.NotNil(t, c)
		for range 5 {
			var next *rotations
			for _, k := range c.eighths() {
				if in(k, q) {
					next = &k
				}
			}
			require.NotNil(t, next)
			c = next
			// The angle of the turn from the centre to q, from the trace.
			m := rotation.Product(q.matrix(), transposed(c.centre().matrix()))
			angle := math.Acos(min(1, max(-1, (m[0]+m[4]+m[8]-1)/2)))
			require.LessOrEqual(t, angle, c.reach()+1e-7)
		}
	}
}

func transposed(m [9]float64) [9]float64 {
	return [9]float64{m[0], m[3], m[6], m[1], m[4], m[7], m[2], m[5], m[8]}
}

// Where the answer is that a part does not fit, random rotations and climbing by
// the plain way find nothing; bodies are taken just above the size that fits.
func TestNoChallengerLaysAPartThatWasRuledOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 5))
	for range 4 {
		base := fittest.Rotated(boxOf(6+10*rng.Float64(), 6+14*rng.Float64(), 20+10*rng.Float64()), fittest.RandomRotation(rng))
		base = append(base, mesh.Vec{X: 20 * rng.Float64()}, mesh.Vec{Y: 20 * rng.Float64(), Z: 5})
		lo, hi := 0.3, 3.0
		for range 14 {
			mid := (lo + hi) / 2
			if Decide(context.Background(), fittest.Scaled(base, mid)).Verdict == Inside {
				lo = mid
			} else {
				hi = mid
			}
		}
		pts := fittest.Scaled(base, hi)
		res := Decide(context.Background(), pts)
		require.Equal(t, Outside, res.Verdict, res.Reason)
		best := math.Inf(-1)
		for range 12 {
			here := math.Inf(-1)
			var at [9]float64
			look := func(rot [9]float64) {
				if s := plainSpare(pts, rot, 36); s > here {
					here, at = s, rot
				}
			}
			for range 40 {
				look(fittest.RandomRotation(rng))
			}
			for step := 0.4; step > 1e-3; step *= 0.85 {
				for range 10 {
					look(fittest.Compose(fittest.Nudge(rng, step), at))
				}
			}
			best = max(best, here)
		}
		require.Less(t, best, 0.0, "a place was found for what was ruled out")
		require.Greater(t, best, -1.0, "the challenger is too weak to be one")
	}
}

// Nothing real is left undecided. The times are told (run with -v).
func TestNothingRealIsUndecidedInTheGauge(t *testing.T) {
	demo, shared := fittest.RealParts(t)
	for _, set := range []struct {
		name  string
		parts []fittest.RealPart
	}{{"demo", demo}, {"shared", shared}} {
		var times []time.Duration
		count := map[Verdict]int{}
		for _, part := range set.parts {
			start := fittest.ProcessorTime()
			res := Decide(context.Background(), part.Hull)
			times = append(times, fittest.ProcessorTime()-start)
			require.NotEqual(t, Undecided, res.Verdict, "%s: %s", part.Name, res.Reason)
			requireLies(t, part.Hull, res)
			count[res.Verdict]++
		}
		fittest.Spread(t, set.name, times)
		t.Log(count)
	}
}

func TestSmallPartStopsWhenTold(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	require.Equal(t, Undecided, Decide(ctx, fittest.Cylinder(96, 1.5, 60.59)).Verdict)
	require.Equal(t, Undecided, Decide(context.Background(), []mesh.Vec{{X: math.NaN()}}).Verdict)
	require.Equal(t, Undecided, Decide(context.Background(), []mesh.Vec{{X: math.Inf(1)}}).Verdict)
}

func TestSmallPartGivesTheSameAnswerAgain(t *testing.T) {
	for _, pts := range [][]mesh.Vec{boxOf(31, 25, 26), around(64, 0.75, 62.9), fittest.Ellipsoid(300, 15, 12, 20)} {
		require.Equal(t, Decide(context.Background(), pts), Decide(context.Background(), pts))
	}
}
