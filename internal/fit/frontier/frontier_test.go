package frontier

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit"
	"cardback/internal/fit/fittest"
	"cardback/internal/fit/footprint"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

func frontierOf(t testing.TB, hull []mesh.Vec) *Frontier {
	f, err := New(context.Background(), hull)
	require.NoError(t, err)
	text := f.Text()
	require.LessOrEqual(t, len(text), MostBytes)
	back, err := Read(text)
	require.NoError(t, err)
	require.Equal(t, f, back)
	return f
}

// smaller is the plate with less room by mm in height and across the footprint
// both ways.
func smaller(p fit.Plate, mm float64) fit.Plate {
	p.Width, p.Depth, p.Height = p.Width-mm, p.Depth-mm, p.Height-mm
	return p
}

// requireFrontierAgrees holds the frontier against the prover on one plate: where
// it says fit, so does Fit; where Fit says fit with Within taken from the plate,
// so does it. It returns whether each was put to the test.
func requireFrontierAgrees(t require.TestingT, name string, hull []mesh.Vec, f *Frontier, p fit.Plate) (fits, roomy bool) {
	said := f.Fits(p)
	if said.Fits() {
		res := fit.Fit(context.Background(), hull, p)
		require.True(t, res.Verdict.Fits(), "%s on %v: the frontier says %s; %s", name, p, said, res.Reason)
		if said == fit.AsSupplied {
			require.Equal(t, fit.AsSupplied, res.Verdict, "%s on %v", name, p)
		}
		if said == fit.Turned {
			require.Contains(t, []fit.Verdict{fit.AsSupplied, fit.Turned}, res.Verdict, "%s on %v", name, p)
		}
	}
	res := fit.Fit(context.Background(), hull, smaller(p, f.Within))
	if res.Verdict.Fits() {
		require.True(t, said.Fits(), "%s on %v: the frontier says %s, but on a plate smaller by %v mm: %s", name, p, said, f.Within, res.Reason)
	}
	return said.Fits(), res.Verdict.Fits()
}

// nearPlate is a random plate about as large as some orientation of the part.
func nearPlate(rng *rand.Rand, hull []mesh.Vec) fit.Plate {
	rot := fittest.RandomRotation(rng)
	switch rng.IntN(3) {
	case 0: // some orientations are better than others
		rot = fit.Fit(context.Background(), hull, fit.Plate{Width: 1e6, Depth: 1e6, Height: 1e6}).Rotation
	case 1:
		if k, err := fit.LargestScale(context.Background(), hull, fit.Plate{Width: 50 + 100*rng.Float64(), Depth: 50 + 100*rng.Float64(), Height: 50 + 100*rng.Float64()}); err == nil {
			rot = k.Rotation
		}
	}
	turned := fittest.Rotated(hull, rot)
	e := footprint.Extents(turned)
	off := func() float64 { return 1.6*rng.Float64() - 0.3 }
	p := fit.Plate{Width: e.X + off(), Depth: e.Y + off(), Height: e.Z + off()}
	if rng.IntN(3) == 0 {
		p.Width = 2*footprint.LeastCircle(footprint.Corners(nil, turned)).R + off()
		p.Depth, p.Round = p.Width, true
	}
	if rng.IntN(2) == 0 {
		p.Margin = 3
		p.Width, p.Depth = p.Width+6, p.Depth+6
	}
	return p
}

func TestFrontierAgreesWithTheProver(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	type shape struct {
		name string
		pts  []mesh.Vec
	}
	shapes := []shape{
		{"box", fittest.BoxPoints(40, 30, 20)},
		{"plank", fittest.BoxPoints(60, 20, 3)},
		{"rod", []mesh.Vec{{}, {X: 20, Y: 15, Z: 30}}},
		{"square without thickness", fittest.BoxPoints(25, 25, 0)},
		{"point", []mesh.Vec{{X: 3, Y: 4, Z: 5}}},
		{"speck", fittest.Scaled(fittest.Tetrahedron(1), 1e-7)},
		{"cube", fittest.BoxPoints(50, 50, 50)},
		{"tetrahedron", fittest.Tetrahedron(70)},
		{"octahedron", fittest.Octahedron(60)},
		{"icosahedron", fittest.Icosahedron(40)},
		{"cylinder", fittest.Cylinder(32, 6, 40)},
		{"coin", fittest.Cylinder(32, 15, 4)},
		{"ball", fittest.Ellipsoid(200, 20, 20, 20)},
		{"ellipsoid", fittest.Ellipsoid(100, 10, 15, 20)},
	}
	for k := range 6 {
		n := 4 + rng.IntN(40)
		pts := make([]mesh.Vec, n)
		for i := range pts {
			pts[i] = mesh.Vec{X: 10 * rng.NormFloat64(), Y: 8 * rng.NormFloat64(), Z: 5 * rng.NormFloat64()}
		}
		shapes = append(shapes, shape{"random " + string(rune('a'+k)), pts})
	}
	fits, roomy, all := 0, 0, 0
	for _, s := range shapes {
		pts := fittest.Rotated(s.pts, fittest.RandomRotation(rng))
		f := frontierOf(t, pts)
		require.Equal(t, 1.0, f.Within, s.name)
		requireFrontierBounds(t, s.name, pts, f, rng, 1000, 4)
		for range 12 {
			a, b := requireFrontierAgrees(t, s.name, pts, f, nearPlate(rng, pts))
			all++
			if a {
				fits++
			}
			if b {
				roomy++
			}
		}
	}
	t.Log(all, fits, roomy)
	require.Greater(t, fits, all/5)
	require.Less(t, fits, all*9/10)
	require.Greater(t, roomy, all/20)
}

// requireFrontierBounds holds the frontier against random orientations, without the
// prover: a plate with Within to spare is never missed, and each of some of the boxes
// and cylinders, taken as a plate, is one on which Fit fits the part.
func requireFrontierBounds(t require.TestingT, name string, hull []mesh.Vec, f *Frontier, rng *rand.Rand, orientations, boxes int) {
	pts := posture.NewPart(hull, mesh.Vec{}, false).Points
	turned := make([]mesh.Vec, len(pts))
	for range orientations {
		rot := fittest.RandomRotation(rng)
		for i, v := range pts {
			turned[i] = rotation.Apply(rot, v)
		}
		e := footprint.Extents(turned)
		p := smaller(fit.Plate{Width: e.X, Depth: e.Y, Height: e.Z}, -f.Within)
		require.True(t, f.Fits(p).Fits(), "%s: %v", name, p)
		p.Round, p.Width = true, 2*footprint.LeastCircle(footprint.Corners(nil, turned)).R+f.Within
		p.Depth = p.Width
		require.True(t, f.Fits(p).Fits(), "%s: %v", name, p)
	}
	mm := func(side int) float64 { return float64(side) * f.Step }
	for range boxes {
		b := f.Boxes[rng.IntN(len(f.Boxes))]
		k := rng.Perm(3)
		p := fit.Plate{Width: mm(b[k[0]]), Depth: mm(b[k[1]]), Height: mm(b[k[2]])}
		require.True(t, f.Fits(p).Fits())
		res := fit.Fit(context.Background(), hull, p)
		require.True(t, res.Verdict.Fits(), "%s on %v: %s", name, p, res.Reason)
		c := f.Cylinders[rng.IntN(len(f.Cylinders))]
		p = fit.Plate{Width: mm(c[0]), Depth: mm(c[0]), Height: mm(c[1]), Round: true}
		require.True(t, f.Fits(p).Fits())
		res = fit.Fit(context.Background(), hull, p)
		require.True(t, res.Verdict.Fits(), "%s on %v: %s", name, p, res.Reason)
	}
}

// The same on real parts, all of them to 1 mm within MostBytes.
func TestFrontierOfRealParts(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	demo, shared := fittest.RealParts(t)
	for _, set := range []struct {
		name  string
		parts []fittest.RealPart
	}{{"demo", demo}, {"shared", shared}} {
		var times []time.Duration
		fits, roomy, all, most := 0, 0, 0, 0
		for _, part := range set.parts {
			start := fittest.ProcessorTime()
			f := frontierOf(t, part.Hull)
			times = append(times, fittest.ProcessorTime()-start)
			most = max(most, len(f.Text()))
			require.Equal(t, 1.0, f.Within, part.Name)
			requireFrontierBounds(t, part.Name, part.Hull, f, rng, 200, 3)
			for range 3 {
				a, b := requireFrontierAgrees(t, part.Name, part.Hull, f, nearPlate(rng, part.Hull))
				all++
				if a {
					fits++
				}
				if b {
					roomy++
				}
			}
		}
		fittest.Spread(t, set.name, times)
		t.Logf("%d plates, the frontier says fit on %d, must on %d; longest text %d bytes", all, fits, roomy, most)
	}
}

// A part so large that 1 mm would take too long or too much text has a coarser
// frontier, which says so and keeps what it says.
func TestFrontierOfALargePart(t *testing.T) {
	for _, pts := range [][]mesh.Vec{fittest.BoxPoints(1800, 900, 40)} {
		f := frontierOf(t, pts)
		require.Greater(t, f.Within, 1.0)
		require.Less(t, f.Within, 20.0)
		requireFrontierBounds(t, "large", pts, f, rand.New(rand.NewPCG(4, 5)), 500, 3)
		t.Log(f.Within)
	}
}

// A box 60 × 40 × 25 has no least box below itself in all three sides (its own
// volume and least width), goes cornerwise into some, and its rounded extents
// are told.
func TestFrontierOfABox(t *testing.T) {
	f := frontierOf(t, fittest.BoxPoints(60, 40, 25))
	require.Equal(t, [3]int{600, 400, 250}, f.Supplied)
	require.Equal(t, fit.AsSupplied, f.Fits(fit.Plate{Width: 60, Depth: 40, Height: 25}))
	require.Equal(t, fit.Turned, f.Fits(fit.Plate{Width: 40, Depth: 60, Height: 25}))
	require.Equal(t, fit.Tipped, f.Fits(fit.Plate{Width: 41, Depth: 26, Height: 61}))
	require.Equal(t, fit.CannotFit, f.Fits(fit.Plate{Width: 39.9, Depth: 300, Height: 24.9}))
	require.Equal(t, fit.CannotFit, f.Fits(fit.Plate{}))
	require.Equal(t, fit.CannotFit, f.Fits(fit.Plate{Width: math.NaN(), Depth: 60, Height: 60}))
	require.Equal(t, fit.CannotFit, f.Fits(fit.Plate{Width: 60, Depth: 60, Height: 60, Margin: -5}))
	round := fit.Plate{Width: math.Hypot(40, 60) + 0.1, Height: 25, Round: true}
	round.Depth = round.Width
	require.Equal(t, fit.AsSupplied, f.Fits(round))
}

func TestFrontierOfWhatIsHardlyThere(t *testing.T) {
	plate := fit.Plate{Width: 0.1, Depth: 0.1, Height: 0.1}
	require.Equal(t, fit.AsSupplied, frontierOf(t, nil).Fits(plate))
	require.Equal(t, fit.AsSupplied, frontierOf(t, []mesh.Vec{{X: 9}}).Fits(plate))
	for _, size := range []float64{1e-300, 1e-30, 1e-9, 10, 5e8} {
		shapes := [][]mesh.Vec{{{X: size}, {X: size}}, fittest.BoxPoints(size, size, size)}
		if size < 1e3 {
			shapes = append(shapes, fittest.Tetrahedron(size), fittest.BoxPoints(size, size/3, 0), []mesh.Vec{{}, {X: size}})
		}
		for _, pts := range shapes {
			f := frontierOf(t, pts)
			require.True(t, f.Fits(smaller(fit.Plate{Width: size, Depth: size, Height: size}, -f.Within)).Fits(), "%v", size)
		}
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), 1e300} {
		_, err := New(context.Background(), []mesh.Vec{{X: bad}})
		require.Error(t, err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := New(ctx, fittest.Icosahedron(50))
	require.ErrorIs(t, err, context.Canceled)
}

func TestFrontierIsTheSameEachTime(t *testing.T) {
	pts := fittest.Rotated(fittest.Ellipsoid(60, 20, 12, 8), fittest.RandomRotation(rand.New(rand.NewPCG(4, 3))))
	require.Equal(t, string(frontierOf(t, pts).Text()), string(frontierOf(t, pts).Text()))
}

// Whatever text is read: no panic, and no part of less than no size.
func FuzzReadFrontier(f *testing.F) {
	for _, pts := range [][]mesh.Vec{nil, fittest.BoxPoints(60, 40, 25), fittest.Tetrahedron(30)} {
		fr, err := New(context.Background(), pts)
		require.NoError(f, err)
		f.Add(fr.Text())
	}
	f.Add([]byte(`{"within_mm":1,"step_mm":0,"supplied":[1,1,1]}`))
	f.Add([]byte(`{"within_mm":1,"step_mm":0.1,"supplied":[1,1,1],"boxes":{"pitch":5,"last":[3,4,5],"steps":"DDD"}}`))
	f.Add([]byte(`{"within_mm":1,"step_mm":0.1,"boxes":{"pitch":1,"last":[30000,1,30000],"steps":"_____________A"}}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		fr, err := Read(text)
		if err != nil {
			return
		}
		again, err := Read(fr.Text())
		require.NoError(t, err)
		require.Equal(t, fr, again)
		require.False(t, fr.Fits(fit.Plate{}).Fits())
		fr.Fits(fit.Plate{Width: 100, Depth: 100, Height: 100, Round: true})
		var any map[string]json.RawMessage
		require.NoError(t, json.Unmarshal(fr.Text(), &any))
	})
}

func BenchmarkFrontier(b *testing.B) {
	pts := fittest.Rotated(fittest.Ellipsoid(300, 10, 15, 25), fittest.RandomRotation(rand.New(rand.NewPCG(4, 4))))
	for b.Loop() {
		if _, err := New(context.Background(), pts); err != nil {
			b.Fatal(err)
		}
	}
}
