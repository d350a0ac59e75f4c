package sound

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// The twin of meet: the set that two triangles have in common, worked out in
// fractions by cutting one down, as a polygon, by the other's plane and by the
// planes that stand on the other's sides. What is left is given by its corners.
func commonSet(s, t fractionCorners) []fraction {
	n := s.normal()
	poly := t[:]
	cut := func(inward, through fraction) {
		var kept []fraction
		for i, p := range poly {
			q := poly[(i+1)%len(poly)]
			dp, dq := p.minus(through).dot(inward), q.minus(through).dot(inward)
			if dp.Sign() >= 0 {
				kept = append(kept, p)
			}
			if dp.Sign()*dq.Sign() < 0 {
				x := new(big.Rat).Quo(dp, new(big.Rat).Sub(dp, dq))
				kept = append(kept, p.plus(q.minus(p).times(x)))
			}
		}
		poly = kept
	}
	cut(n, s[0])
	cut(n.times(big.NewRat(-1, 1)), s[0])
	for k := range 3 {
		cut(n.cross(s[(k+1)%3].minus(s[k])), s[k])
	}
	return poly
}

func (a fraction) equals(b fraction) bool {
	d := a.minus(b)
	return d[0].Sign() == 0 && d[1].Sign() == 0 && d[2].Sign() == 0
}

// strictlyIn reports whether p, in s's plane, is none of its border.
func strictlyIn(p fraction, s fractionCorners) bool {
	for k := range 3 {
		if p.minus(s[k]).dot(s.normal().cross(s[(k+1)%3].minus(s[k]))).Sign() <= 0 {
			return false
		}
	}
	return true
}

func twinMeet(m *mesh.Mesh, a, b int32) meeting {
	ca, cb := cornersOf(m, a), cornersOf(m, b)
	s, t := fractions(&ca), fractions(&cb)
	var shared []fraction
	for i, v := range m.Triangles[a] {
		for _, w := range m.Triangles[b] {
			if v == w {
				shared = append(shared, s[i])
			}
		}
	}
	common := commonSet(s, t)
	more := false
	for _, p := range common {
		switch len(shared) {
		case 0, 3:
			more = true
		case 1:
			more = more || !p.equals(shared[0])
		case 2:
			n := p.minus(shared[0]).cross(shared[1].minus(shared[0]))
			more = more || !n.equals(n.minus(n))
		}
	}
	if !more {
		return apart
	}
	n, o := s.normal(), t.normal()
	if c := n.cross(o); c.equals(c.minus(c)) {
		return touch // in one plane
	}
	// Not in one plane, they have a segment in common, or a point: if its middle
	// is inside both, they pass through each other.
	lo, hi := common[0], common[0]
	line := n.cross(o)
	for _, p := range common {
		if p.dot(line).Cmp(lo.dot(line)) < 0 {
			lo = p
		}
		if p.dot(line).Cmp(hi.dot(line)) > 0 {
			hi = p
		}
	}
	middle := lo.plus(hi).times(big.NewRat(1, 2))
	if !lo.equals(hi) && strictlyIn(middle, s) && strictlyIn(middle, t) {
		return through
	}
	return touch
}

// drawSoup is a handful of triangles on few points, so that they share vertices,
// lie in one plane, touch, fold and cross; with near misses by a rounding or two.
func drawSoup(t *rapid.T, coordinate func(t *rapid.T) float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	n := rapid.IntRange(4, 9).Draw(t, "points")
	for range n {
		m.Vertices = append(m.Vertices, mesh.Vec{X: coordinate(t), Y: coordinate(t), Z: coordinate(t)})
	}
	if rapid.Bool().Draw(t, "with points between") {
		a, b, c := m.Vertices[0], m.Vertices[1], m.Vertices[2]
		x, y := rapid.Float64Range(0, 1).Draw(t, "x"), rapid.Float64Range(0, 1).Draw(t, "y")
		m.Vertices = append(m.Vertices, a.Add(b.Sub(a).Scale(x)), a.Add(b.Sub(a).Scale(x)).Add(c.Sub(a).Scale(y)))
	}
	number := rapid.Uint32Range(0, uint32(len(m.Vertices)-1))
	for range rapid.IntRange(2, 8).Draw(t, "triangles") {
		m.Triangles = append(m.Triangles, [3]uint32{number.Draw(t, "a"), number.Draw(t, "b"), number.Draw(t, "c")})
	}
	return m
}

func smallWhole(t *rapid.T) float64 { return float64(rapid.IntRange(0, 3).Draw(t, "whole")) }

func nearlyWhole(t *rapid.T) float64 {
	x := smallWhole(t)
	for range rapid.IntRange(0, 2).Draw(t, "steps") {
		x = math.Nextafter(x, float64(rapid.SampledFrom([]int{-9, 9}).Draw(t, "way")))
	}
	return x
}

func tenths(t *rapid.T) float64 { return float64(rapid.IntRange(0, 30).Draw(t, "tenths")) * 0.1 }

func TestCrossAgreesWithFractions(t *testing.T) {
	for name, coordinate := range map[string]func(*rapid.T) float64{
		"whole": smallWhole, "nearly whole": nearlyWhole, "tenths": tenths, "any": meshtest.DrawCoordinate,
		"real": func(t *rapid.T) float64 { return rapid.Float64Range(-1, 1).Draw(t, "x") },
	} {
		t.Run(name, func(t *testing.T) {
			kinds := [3]int{}
			rapid.Check(t, func(rt *rapid.T) {
				m := drawSoup(rt, coordinate)
				want := map[[2]int32]meeting{}
				count, touching := 0, 0
				for a := range int32(len(m.Triangles)) {
					for b := range a {
						if hasRepeat(m.Triangles[a]) || hasRepeat(m.Triangles[b]) || !haveArea(m, a, b) {
							continue
						}
						w := twinMeet(m, a, b)
						require.Equal(rt, w, meet(m, a, b), "%v", []corners{cornersOf(m, a), cornersOf(m, b)})
						require.Equal(rt, w, meet(m, b, a))
						kinds[w]++
						if w != apart {
							want[[2]int32{b, a}] = w
							count++
						}
						if w == touch {
							touching++
						}
					}
				}
				c := crossed(rt, m)
				require.Equal(rt, [2]int{count, touching}, [2]int{c.Count, c.Touching})
				for _, p := range c.Places {
					require.Equal(rt, want[p.Triangles] == touch, p.Touch)
				}
				requirePlaces(rt, m, c)
			})
			t.Log(kinds, "apart, touching, through")
			for _, n := range kinds {
				require.NotZero(t, n)
			}
		})
	}
}
