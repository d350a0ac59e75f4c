package shadow

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/reference"
)

// A stretch whose chord has equal ends, beside a chord that begins there.
func TestConflictIsDecidedForChordsWithEqualEnds(t *testing.T) {
	a, b, c := gridPoint{0, 0}, gridPoint{10, 0}, gridPoint{5, 0}
	require.False(t, conflict(a, b, a, a))
	require.False(t, conflict(a, b, b, b))
	require.False(t, conflict(a, a, a, b))
	require.False(t, conflict(b, b, a, b))
	require.True(t, conflict(a, b, c, c), "the point lies within")
	require.False(t, conflict(a, b, gridPoint{5, 1}, gridPoint{5, 1}))
}

// Every order of the ends of every pair of segments between few points, against the
// definition: the common points, found on a grid fine enough to have them all.
func TestConflictAgreesWithItsDefinition(t *testing.T) {
	var points []gridPoint
	for x := range int32(3) {
		for y := range int32(3) {
			points = append(points, gridPoint{x, y})
		}
	}
	// Two segments between points of a 3 × 3 lattice cross where a coordinate is a
	// fraction whose denominator, the cross product of their directions, is at most
	// 8: all are multiples of one over 840 = lcm(1 … 8).
	const fine = 840
	on := func(a, b gridPoint, x, y int64) bool {
		ax, ay, bx, by := int64(a.x)*fine, int64(a.y)*fine, int64(b.x)*fine, int64(b.y)*fine
		return (bx-ax)*(y-ay) == (by-ay)*(x-ax) &&
			min(ax, bx) <= x && x <= max(ax, bx) && min(ay, by) <= y && y <= max(ay, by)
	}
	for _, a := range points {
		for _, b := range points {
			for _, p := range points {
				for _, q := range points {
					if a == b || p == q {
						continue
					}
					want := false
					// All points of ab that can be corners of what is common lie at these steps.
					for k := range int64(fine + 1) {
						x := int64(a.x)*fine + int64(b.x-a.x)*k
						y := int64(a.y)*fine + int64(b.y-a.y)*k
						end := k == 0 && (a == p || a == q) || k == fine && (b == p || b == q)
						want = want || !end && on(p, q, x, y)
					}
					require.Equal(t, want, conflict(a, b, p, q), "%v%v and %v%v", a, b, p, q)
				}
			}
		}
	}
}

// requireLoopsSimplified checks what Simplify promises of any rings, also those that
// cross themselves or come back to a point of their own.
func requireLoopsSimplified(t testing.TB, o Outline, tol float64) Outline {
	t.Helper()
	s, ok := newSimplifier(o, tol)
	if !ok {
		require.Equal(t, o, o.Simplify(tol))
		return o
	}
	got := o.Simplify(tol)
	require.Len(t, got, len(s.source))
	for i, loop := range s.source {
		require.GreaterOrEqual(t, len(got[i]), 3)
		seen := map[gridPoint]bool{}
		for _, p := range s.rings[i] {
			require.False(t, seen[p], "a loop passes no grid point twice")
			seen[p] = true
		}
		k := 0
		for _, p := range got[i] {
			for k < len(loop) && loop[k] != p {
				k++
			}
			require.Less(t, k, len(loop), "corners that stay are the outline's own, in its order")
		}
		// The grid's step, for which distances are found, is 1/s.tol of the tolerance.
		near := tol * (1 + 1e-9 + 4/s.tol)
		require.LessOrEqual(t, reach(Outline{loop}, got[i:i+1]), near)
		require.LessOrEqual(t, reach(got[i:i+1], Outline{loop}), near)
	}
	return got
}

func TestSimplifyTreatsEachLoopOfARingAsARing(t *testing.T) {
	big := Ring{{0, 0}, {30, 0}, {30, 10}, {0, 10}}
	for _, c := range []struct {
		name string
		ring Ring
		want Outline
	}{
		{"a small loop goes", Ring{{0, 0}, {30, 0}, {30.1, 0}, {30.1, 0.1}, {30, 0}, {30, 10}, {0, 10}}, Outline{big}},
		{"a repeated point is one", Ring{{0, 0}, {0, 0}, {30, 0}, {30, 0}, {30, 10}, {0, 10}, {0, 10}, {0, 0}}, Outline{big}},
		{"a spike goes", Ring{{0, 0}, {30, 0}, {40, 0}, {30, 0}, {30, 10}, {0, 10}}, Outline{big}},
		{"a large loop is a ring", Ring{{0, 0}, {30, 0}, {40, 0}, {40, 5}, {30, 0}, {30, 10}, {0, 10}},
			Outline{{{30, 0}, {40, 0}, {40, 5}}, big}},
		{"a hole that touches its ring from within", Ring{{0, 0}, {10, 3}, {20, 3}, {0, 0}, {30, 0}, {30, 10}, {0, 10}},
			Outline{{{0, 0}, {10, 3}, {20, 3}}, big}},
	} {
		got := requireLoopsSimplified(t, Outline{c.ring}, 0.5)
		require.ElementsMatch(t, c.want, got, c.name)
	}
}

func TestSimplifyReturnsWhatNoGridCanHold(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		o := Outline{{{0, 0}, {30, 0}, {bad, 10}, {0, 10}}}
		got := o.Simplify(1)
		require.Len(t, got, 1)
		require.Len(t, got[0], 4)
	}
	o := Outline{{{-1e308, 0}, {1e308, 0}, {0, 1e308}}}
	require.Equal(t, o, o.Simplify(1))
}

// A comb whose teeth are found one by one, each of them with a look at all that are
// left: 50,000 of them would take some 2.5·10⁹ looks. What is not settled within
// the budget stays as it is.
func TestSimplifyEndsOnAComb(t *testing.T) {
	var comb Ring
	const teeth = 50_000
	for i := range teeth {
		comb = append(comb, Point{float64(2 * i), 0}, Point{float64(2*i + 1), 10 + float64(i)/teeth})
	}
	comb = append(comb, Point{2 * teeth, 0}, Point{2 * teeth, -50}, Point{0, -50})
	o := Outline{comb}
	start := time.Now()
	got := o.simplify(0.1, 1<<22)
	require.Equal(t, o, got, "all points are put back")
	// The budget is 4·10⁶ looks of a few nanoseconds; a minute is there for a machine
	// on which everything is a thousand times as slow.
	require.Less(t, time.Since(start), time.Minute)
	require.Len(t, requireDone(t, o.Simplify, 0.1), 1)
}

func requireDone(t *testing.T, f func(float64) Outline, tol float64) Outline {
	t.Helper()
	done := make(chan Outline, 1)
	go func() { done <- f(tol) }()
	select {
	case got := <-done:
		return got
	case <-time.After(2 * time.Minute): // it takes about a second
		require.Fail(t, "it does not end")
		return nil
	}
}

// The outlines of a chart are turned before they are simplified, on another grid than
// that on which they were found: points that are nearer than its step become one.
func TestSimplifyEndsOnTurnedOutlinesOfSharedMeshes(t *testing.T) {
	for _, file := range []string{"arm/Base_SO101.stl", "arm/Upper_arm_SO101.stl"} {
		m, _, err := mesh.ReadFile(t.Context(), filepath.Join(reference.Folder, file))
		if os.IsNotExist(err) {
			t.Skip("the shared meshes are not here")
		}
		require.NoError(t, err)
		o := mustShadow(t, m, Top)
		for deg := 0; deg < 180; deg += 15 {
			sin, cos := math.Sincos(float64(deg) * math.Pi / 180)
			turned := make(Outline, len(o))
			for i, r := range o {
				for _, p := range r {
					turned[i] = append(turned[i], Point{cos*p.X - sin*p.Y, sin*p.X + cos*p.Y})
				}
			}
			requireLoopsSimplified(t, turned, 0.3)
		}
	}
}

// lattice is a ring over a small lattice, on which it closes on itself often; each
// byte is a point.
func lattice(data []byte) Outline {
	var o Outline
	for len(data) > 0 {
		n := min(len(data), 1+int(data[0])%64)
		var r Ring
		for _, b := range data[1:min(1+n, len(data))] {
			r = append(r, Point{float64(b & 15), float64(b >> 4)})
		}
		o, data = append(o, r), data[min(1+n, len(data)):]
	}
	return o
}

// Rings that close on themselves, cross and cover themselves and each other.
func FuzzSimplify(f *testing.F) {
	f.Add([]byte{8, 0x00, 0x0f, 0x0f, 0xff, 0x0f, 0xf0}, 0.5)
	f.Add([]byte{60, 0x00, 0x08, 0x09, 0x19, 0x08, 0x0f, 0xff, 0x88, 0x89, 0x98, 0x88, 0xf0}, 1.1)
	f.Add([]byte{6, 0x00, 0x0f, 0xff, 0xf0, 0x00, 0x0f, 6, 0x00, 0xf0, 0xff, 0x0f, 0x00}, 3.0)
	f.Add([]byte{7, 0x00, 0x0f, 0x00, 0x0f, 0xff, 0x0f, 0xf0}, 1e-9)
	rng := rand.New(rand.NewPCG(9, 1))
	for range 40 {
		data := make([]byte, 20+rng.IntN(100))
		for i := range data {
			data[i] = byte(rng.Uint32())
		}
		f.Add(data, 0.2+3*rng.Float64())
	}
	f.Fuzz(func(t *testing.T, data []byte, tol float64) {
		if len(data) > 2000 || !(tol > 1e-6) {
			return
		}
		requireLoopsSimplified(t, lattice(data), tol)
	})
}
