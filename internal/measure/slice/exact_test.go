package slice

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// rationalSection is twice the area of a section in exact arithmetic, about the
// origin, with corners at the height below it.
func rationalSection(m *mesh.Mesh, z float64) *big.Rat {
	rat := func(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }
	mul := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }
	sub := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Sub(a, b) }
	total := new(big.Rat)
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		var enters, leaves [2]*big.Rat
		for _, e := range [3][2]mesh.Vec{{a, b}, {b, c}, {c, a}} {
			if (e[0].Z <= z) == (e[1].Z <= z) {
				continue
			}
			t := new(big.Rat).Quo(sub(rat(z), rat(e[0].Z)), sub(rat(e[1].Z), rat(e[0].Z)))
			x := new(big.Rat).Add(rat(e[0].X), mul(t, sub(rat(e[1].X), rat(e[0].X))))
			y := new(big.Rat).Add(rat(e[0].Y), mul(t, sub(rat(e[1].Y), rat(e[0].Y))))
			// Seen from outside, the boundary of what lies below the cut follows the
			// edge up and comes back along the next one down.
			if e[0].Z <= z {
				enters = [2]*big.Rat{x, y}
			} else {
				leaves = [2]*big.Rat{x, y}
			}
		}
		if enters[0] == nil {
			continue
		}
		total.Add(total, sub(mul(leaves[0], enters[1]), mul(leaves[1], enters[0])))
	}
	return total
}

// The bound that Layers states, 32u·r·Perimeter, against exact arithmetic. Corners
// are multiples of 2⁻¹⁰ and the layer a power of two, so that moving to the centre
// and the heights of the cuts are exact, and what is left is this package's own.
func TestAreasKeepTheirBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turned := drawTurned(t)
		grid := func(x float64) float64 { return math.Round(x*1024) / 1024 }
		shift := float64(rapid.IntRange(-100, 100).Draw(t, "shift"))
		m := meshtest.Moved(turned, func(p mesh.Vec) mesh.Vec {
			return mesh.Vec{X: grid(p.X) + shift, Y: grid(p.Y), Z: grid(p.Z) - shift}
		})
		o := Options{Layer: math.Ldexp(1, rapid.IntRange(-3, 0).Draw(t, "layer"))}
		l := layersOf(t, m, o)
		b := m.Bounds()
		for k := 0; k < len(l.Areas); k += 7 {
			want, _ := rationalSection(m, b.Min.Z+(float64(k)+0.5)*o.Layer).Float64()
			require.InDelta(t, want/2, l.Areas[k], 32*0x1p-53*b.Size().Norm()/2*l.Perimeter[k]+1e-300, "layer %d", k)
		}
	})
}
