package fit

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"cardback/internal/fit/fittest"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

var hullSizes = []int{100, 1000, 10000}

// The part is an ellipsoid 60 × 100 × 140 lying askew; every point is on its
// hull.
func benchmarkPart(n int, rot [9]float64) []mesh.Vec {
	return fittest.Rotated(fittest.Ellipsoid(n, 30, 50, 70), rot)
}

func benchmarkFit(b *testing.B, pts []mesh.Vec, p Plate, want Verdict) {
	b.ReportAllocs()
	for b.Loop() {
		if res := Fit(context.Background(), pts, p); res.Verdict != want {
			b.Fatalf("%s: %s", res.Verdict, res.Reason)
		}
	}
}

func BenchmarkFitTurned(b *testing.B) {
	for _, n := range hullSizes {
		b.Run(fmt.Sprintf("size=%d", n), func(b *testing.B) {
			benchmarkFit(b, benchmarkPart(n, rotation.AboutVertical(33)), Plate{Width: 61, Depth: 101, Height: 141}, Turned)
		})
	}
}

func BenchmarkFitTipped(b *testing.B) {
	rot := fittest.RandomRotation(rand.New(rand.NewPCG(6, 1)))
	for _, c := range []struct {
		name string
		more float64
		want Verdict
	}{{"roomy", 10, Tipped}, {"tight", 0.2, Tipped}, {"too-small", -1, CannotFit}, {"far-too-small", -10, CannotFit}} {
		for _, n := range hullSizes {
			b.Run(fmt.Sprintf("%s/size=%d", c.name, n), func(b *testing.B) {
				benchmarkFit(b, benchmarkPart(n, rot), Plate{Width: 60 + c.more, Depth: 100 + c.more, Height: 140 + c.more}, c.want)
			})
		}
	}
}

// A ball is the hardest shape: no direction is better than another. 0.5 mm too
// large for its plate, it uses up the whole budget.
func BenchmarkFitBall(b *testing.B) {
	b.ReportAllocs()
	pts := fittest.Ellipsoid(2000, 50, 50, 50)
	for b.Loop() {
		if res := Fit(context.Background(), pts, Plate{Width: 99.5, Depth: 99.5, Height: 99.5}); res.Verdict.Fits() {
			b.Fatal(res.Reason)
		}
	}
}
