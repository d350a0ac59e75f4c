package stand

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

const degree = math.Pi / 180

func of(t *testing.T, m *mesh.Mesh) Report {
	r, err := Of(context.Background(), m)
	require.NoError(t, err)
	return r
}

// Check-values 1.9: tan θ = d/h. A prism of n sides in a cylinder has its nearest
// edge at r·cos(π/n), and a pyramid in a cone its centre at a quarter of the height;
// with n = 4096 both come within 1e-4° of the round bodies in the table.
func TestTipAngles(t *testing.T) {
	const n = 4096
	for _, row := range []struct {
		name string
		mesh *mesh.Mesh
		want float64 // degrees, from the table
	}{
		{"cube", meshtest.Box(7, 7, 7), 45},
		{"cylinder r5 h20", meshtest.Frustum(n, 5, 5, 20), 26.5651},
		{"cone r5 h12", meshtest.Frustum(n, 5, 0, 12), 59.0362},
		{"cylinder d10 h40", meshtest.Frustum(n, 5, 5, 40), 14.0362},
		{"cylinder d9 h45", meshtest.Frustum(n, 4.5, 4.5, 45), 11.3099},
	} {
		r := of(t, row.mesh)
		require.True(t, r.Stands, row.name)
		require.InDelta(t, row.want, r.Tip/degree, 1e-4, row.name)
		require.InDelta(t, 1, r.Toward.Norm(), 1e-12)
		require.Zero(t, r.Toward.Z)
	}
	for _, sides := range []int{3, 4, 5, 16} {
		r := of(t, meshtest.Frustum(sides, 5, 5, 20))
		require.InDelta(t, math.Atan(5*math.Cos(math.Pi/float64(sides))/10), r.Tip, 1e-12)
		require.Len(t, r.Support, sides)
		// The worst direction is square to an edge: halfway between two corners.
		at := math.Atan2(r.Toward.Y, r.Toward.X) * float64(sides) / math.Pi
		require.InDelta(t, 1, math.Abs(math.Mod(math.Round(at), 2)), 1e-9)
		require.InDelta(t, math.Round(at), at, 1e-9)
	}
}

// A box that leans: its centre goes over the edge at 45° for a square one.
func TestALeaningBoxFalls(t *testing.T) {
	// A sheared box keeps its base and its volume; its centre moves by half the shear.
	lean := func(shear float64) *mesh.Mesh {
		return meshtest.Moved(meshtest.Box(10, 6, 20), func(p mesh.Vec) mesh.Vec { return mesh.Vec{X: p.X + shear*p.Z/20, Y: p.Y, Z: p.Z} })
	}
	r := of(t, lean(6))
	require.True(t, r.Stands)
	require.InDelta(t, 2, r.Margin, 1e-12)
	require.InDelta(t, math.Atan(2./10), r.Tip, 1e-12)
	require.InDelta(t, 1, r.Toward.X, 1e-12)
	require.InDelta(t, 60, r.Area, 1e-9)

	r = of(t, lean(14))
	require.False(t, r.Stands)
	require.InDelta(t, -2, r.Margin, 1e-12)
	require.Zero(t, r.Tip)
	require.InDelta(t, 1, r.Toward.X, 1e-12)
}

// What touches the floor along a line or in a point balances at best.
func TestLinesAndPointsDoNotStand(t *testing.T) {
	cone := meshtest.Moved(meshtest.Frustum(24, 5, 0, 12), func(p mesh.Vec) mesh.Vec { return mesh.Vec{X: p.X, Y: -p.Y, Z: -p.Z} })
	r := of(t, cone)
	require.False(t, r.Stands)
	require.Len(t, r.Support, 1)
	require.InDelta(t, 0, r.Margin, 1e-9)

	edge := meshtest.Turned(meshtest.Box(10, 10, 10), mesh.Vec{Y: 1}, math.Pi/4)
	r = of(t, edge)
	require.False(t, r.Stands)
	require.Len(t, r.Support, 2)
	require.InDelta(t, 1, math.Abs(r.Toward.X), 1e-9)
}

// Points up to Level above the lowest touch; higher ones do not.
func TestLevelIsTheTolerance(t *testing.T) {
	feet := func(z float64) []mesh.Vec {
		return []mesh.Vec{{X: 0}, {X: 10}, {X: 10, Y: 10, Z: z}, {Y: 10, Z: z}, {Z: 30}}
	}
	centre := mesh.Vec{X: 5, Y: 5, Z: 10}
	require.True(t, On(feet(Level*0.99), centre).Stands)
	r := On(feet(Level*1.01), centre)
	require.False(t, r.Stands)
	require.InDelta(t, -5, r.Margin, 1e-12)
	require.InDelta(t, 1, r.Toward.Y, 1e-12)
}

// Nothing changes when a body is turned about the vertical, moved, or its
// triangles are in another order; the direction turns with it.
func TestTurnedAboutTheVertical(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	body := meshtest.Moved(meshtest.Frustum(5, 6, 3, 14), meshtest.Shift(1, 0.4, 0))
	want := of(t, body)
	for range 20 {
		a := rng.Float64() * 2 * math.Pi
		m := meshtest.Moved(meshtest.Turned(body, mesh.Vec{Z: 1}, a), meshtest.Shift(rng.NormFloat64()*100, rng.NormFloat64()*100, rng.NormFloat64()*100))
		rng.Shuffle(len(m.Triangles), func(i, j int) { m.Triangles[i], m.Triangles[j] = m.Triangles[j], m.Triangles[i] })
		r := of(t, m)
		require.InDelta(t, want.Tip, r.Tip, 1e-9)
		require.InDelta(t, want.Area, r.Area, 1e-8)
	}
}

// The margin agrees with a search around the foot: it is inside the polygon as far
// as the margin in every direction, and no farther in the worst.
func TestMarginAgreesWithWalkingOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 2))
	in := func(support []mesh.Vec, p mesh.Vec) bool {
		for i, a := range support {
			if cross(support[(i+1)%len(support)].Sub(a), p.Sub(a)) < 0 {
				return false
			}
		}
		return true
	}
	standing := 0
	for range 300 {
		points := make([]mesh.Vec, 3+rng.IntN(9))
		for i := range points {
			points[i] = mesh.Vec{X: rng.NormFloat64() * 5, Y: rng.NormFloat64() * 5, Z: rng.Float64() * Level}
		}
		r := On(points, mesh.Vec{X: rng.NormFloat64() * 2, Y: rng.NormFloat64() * 2, Z: 10})
		foot := mesh.Vec{X: r.Centre.X, Y: r.Centre.Y, Z: r.Support[0].Z}
		require.Equal(t, in(r.Support, foot), r.Stands)
		if !r.Stands {
			require.False(t, in(r.Support, foot))
			require.True(t, in(r.Support, foot.Add(r.Toward.Scale(r.Margin-1e-6))) || len(r.Support) < 3 || onCorner(r.Support, foot.Add(r.Toward.Scale(r.Margin))))
			continue
		}
		standing++
		for k := range 360 {
			sin, cos := math.Sincos(float64(k) * degree)
			require.True(t, in(r.Support, foot.Add(mesh.Vec{X: cos, Y: sin}.Scale(r.Margin*(1-1e-9)))))
		}
		require.False(t, in(r.Support, foot.Add(r.Toward.Scale(r.Margin*(1+1e-9)+1e-9))))
	}
	require.Greater(t, standing, 100)
}

func onCorner(support []mesh.Vec, p mesh.Vec) bool {
	for _, c := range support {
		if c.Sub(p).Norm() < 1e-5 {
			return true
		}
	}
	return false
}

func TestWhatEnclosesNothingHasNoCentre(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"nothing":    {},
		"open":       meshtest.Without(meshtest.Box(1, 2, 3), 0),
		"inside out": meshtest.InsideOut(meshtest.Box(1, 2, 3)),
		"flat":       meshtest.Moved(meshtest.Box(5, 5, 5), func(p mesh.Vec) mesh.Vec { p.Z = 0; return p }),
		"mixed":      meshtest.TurnedOver(meshtest.Box(1, 2, 3), 0),
	} {
		_, err := Of(context.Background(), m)
		require.ErrorIs(t, err, ErrOpen, name)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Of(ctx, meshtest.Box(1, 2, 3))
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, Report{Centre: mesh.Vec{Z: 1}}, On(nil, mesh.Vec{Z: 1}))
}
