package thin_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/measure/thin"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// box is a block from one corner.
func box(x, y, z, a, b, c float64) *mesh.Mesh {
	return meshtest.Moved(meshtest.Box(a, b, c), meshtest.Shift(x, y, z))
}

// Bodies that touch, overlap or lie in each other are as thick as they are together.
func TestBodiesTogetherAreAsThickAsTheirUnion(t *testing.T) {
	for _, row := range []struct {
		name string
		mesh *mesh.Mesh
		wall float64 // 0: none
	}{
		{"two slabs flush", meshtest.Together(box(0, 0, 0, 30, 30, 2), box(0, 0, 2, 30, 30, 2)), 0},
		{"parted by what 32 bits round", meshtest.Together(box(0, 0, 0, 30, 30, 2), box(0, 0, 2+1e-5, 30, 30, 2)), 0},
		{"parted by 0.2 µm", meshtest.Together(box(0, 0, 0, 30, 30, 2), box(0, 0, 2+2e-4, 30, 30, 2)), 0},
		{"sunk 0.2 µm", meshtest.Together(box(0, 0, 0, 30, 30, 2), box(0, 0, 2-2e-4, 30, 30, 2)), 0},
		{"overlapping by a twentieth", meshtest.Together(box(0, 0, 0, 30, 30, 2), box(0, 0, 1.95, 30, 30, 2)), 0},
		{"parted so that one sees through", meshtest.Together(box(0, 0, 0, 30, 30, 2), box(0, 0, 2.05, 30, 30, 2)), 2},
		{"a skin flush on a block", meshtest.Together(box(0, 0, 0, 30, 30, 10), box(0, 0, 10, 30, 30, 0.1)), 0},
		{"a skin in a block", meshtest.Together(box(0, 0, 0, 30, 30, 10), box(2, 2, 5, 20, 20, 0.1)), 0},
		{"the same block twice", meshtest.Together(box(0, 0, 0, 30, 30, 10), box(0, 0, 0, 30, 30, 10)), 0},
		{"a plate made of two halves", meshtest.Together(box(0, 0, 0, 15, 30, 1), box(15, 0, 0, 15, 30, 1)), 1},
		{"a plate that stands out of a block by its half", meshtest.Together(box(0, 0, 0, 10, 30, 10), box(5, 0, 5, 15, 30, 0.6)), 0.6},
		{"a thin wall beside flush blocks", meshtest.Together(box(0, 0, 0, 30, 30, 5), box(0, 0, 5, 30, 30, 5), box(14, 10, 9, 0.4, 10, 6)), 0.4},
		{"a hollow near a side", meshtest.Together(box(0, 0, 0, 30, 30, 30), meshtest.InsideOut(box(0.7, 5, 5, 20, 20, 20))), 0.7},
		{"a hollow filled again", meshtest.Together(box(0, 0, 0, 30, 30, 30), meshtest.InsideOut(box(0.7, 5, 5, 20, 20, 20)), box(0.7, 5, 5, 20, 20, 20)), 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			turned := meshtest.Turned(row.mesh, mesh.Vec{X: 1, Y: -2, Z: 0.7}, 0.4)
			for _, m := range []*mesh.Mesh{row.mesh, turned, meshtest.Moved(turned, func(p mesh.Vec) mesh.Vec {
				return mesh.Vec{X: meshtest.AsFloat32(p.X), Y: meshtest.AsFloat32(p.Y), Z: meshtest.AsFloat32(p.Z)}
			})} {
				r := measure(t, m)
				seen := fmt.Sprintf("%+v", r.Places)
				require.Nil(t, r.Pin, seen)
				if row.wall == 0 {
					require.Nil(t, r.Wall, seen)
					continue
				}
				require.NotNil(t, r.Wall)
				// shrink's 0.85 %, and four 32-bit roundings of coordinates up to 40.
				require.InDelta(t, row.wall, *r.Wall, 0.0085*row.wall+4*math.Sqrt(3)*0x1p-24*40, seen)
			}
		})
	}
}

// Two faces of 20 mm that meet at an angle of 2a are a wall where 2·tan a ≤ 0.225, from
// the thickness 2·tan a·0.8/0.45 on, and else an edge: see level.go.
func TestAWedgeIsAWallOnlyWhereItIsNearlyParallel(t *testing.T) {
	for _, angle := range []float64{1, 2, 4, 6, 9, 11.5, 15, 20, 30, 38} {
		t.Run(fmt.Sprint(angle), func(t *testing.T) {
			a := angle / 2 * math.Pi / 180
			l := 20.0
			p := prism(20, [2]float64{0, 0}, [2]float64{l * math.Cos(a), -l * math.Sin(a)}, [2]float64{l * math.Cos(a), l * math.Sin(a)})
			r := measure(t, p)
			seen := fmt.Sprintf("%+v", r.Places)
			taper := 2 * math.Tan(a)
			if angle > 12.8*1.1 { // a twentieth is forgiven, once each way
				require.Empty(t, r.Places, seen)
				require.NotEmpty(t, r.Edges)
				require.Equal(t, thin.Edge, r.Edges[0].Kind)
				require.Less(t, math.Hypot(r.Edges[0].At.X, r.Edges[0].At.Y), 1.0, "it is told where")
				return
			}
			require.NotNil(t, r.Wall)
			from := taper * 0.8 / 0.45
			// What is a band thinner than the first of the wall goes with it, and that is
			// forgiven a twelfth; the place's thickness is a median over 0.5 mm or, with
			// the samples, up to 0.8 mm from its least, and at most that of its band.
			require.Greater(t, *r.Wall, from*11/12/1.25, seen)
			require.Less(t, *r.Wall, from*1.25+0.8*taper, seen)
		})
	}
}

// runOut is a block 20 × 20 × high with a fillet of radius r along one side that runs
// out into a flat foot: x²/2R thick, to the first order, at x from its end. The foot
// stands in the air by itself.
func runOut(r, high float64, n int) *mesh.Mesh {
	// A profile in x and z, anticlockwise from the foot's tip: the flat under it, the
	// block, and down the concave quarter of a circle that touches the flat.
	rise := math.Min(r, high)
	sweep := math.Acos(1 - rise/r)
	tip := 0.0
	root := r * math.Sin(sweep)
	profile := [][2]float64{{tip, 0}, {root + 20, 0}, {root + 20, high}, {root, high}}
	for k := n - 1; k > 0; k-- {
		s, c := math.Sincos(sweep * float64(k) / float64(n))
		profile = append(profile, [2]float64{r * s, r * (1 - c)})
	}
	return strip(profile, 20)
}

// strip raises a profile whose every point sees the flat from (0, 0) below it.
func strip(profile [][2]float64, width float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	n := uint32(len(profile))
	for _, y := range []float64{0, width} {
		for _, p := range profile {
			m.Vertices = append(m.Vertices, mesh.Vec{X: p[0], Y: y, Z: p[1]})
		}
	}
	for i := range n {
		j := (i + 1) % n
		meshtest.AddFan(m, i, n+i, n+j, j)
	}
	for _, side := range [][3]bool{{false}, {true}} {
		// Fanned from the corner under the block, which sees all of the profile.
		for i := range n {
			j := (i + 1) % n
			if i == 1 || j == 1 {
				continue
			}
			if side[0] {
				m.Triangles = append(m.Triangles, [3]uint32{n + 1, n + j, n + i})
			} else {
				m.Triangles = append(m.Triangles, [3]uint32{1, i, j})
			}
		}
	}
	return m
}

// A fillet that runs out into a flat is as thin as one likes where it ends, and no wall:
// of a radius under 16 mm nowhere, by the derivation in level.go; of a large one from
// 6.4/R mm on, less what is forgiven and a band.
func TestAFilletThatRunsOutIsNoWall(t *testing.T) {
	for _, r := range []float64{1, 2, 5, 10, 14} {
		m := runOut(r, 8, 40)
		rep := measure(t, m)
		require.Empty(t, rep.Places, "R %v: %+v", r, rep.Places)
		require.NotEmpty(t, rep.Edges)
	}
	for _, r := range []float64{60, 150} {
		rep := measure(t, runOut(r, 8, 200))
		require.NotNil(t, rep.Wall)
		// A facet of the fillet lies up to R(1 − cos(step/2)) within its arc.
		facet := r * (1 - math.Cos(math.Acos(1-8/r)/400))
		require.Greater(t, *rep.Wall, 6.4/r*11/12*11/12/1.25-facet, "R %v", r)
		require.Less(t, *rep.Wall, 6.4/r*1.25+0.25, "R %v", r)
	}
}

// Thin walls and pins that have to stand, on bodies of one and of several shells, are
// all found: none is lost to what is not counted.
func TestThinWallsThatStandAreFound(t *testing.T) {
	for _, row := range []struct {
		name string
		mesh *mesh.Mesh
		kind thin.Kind
		want float64
	}{
		{"a fin 1 mm high", meshtest.Together(box(0, 0, 0, 20, 20, 10), box(8, 5, 9, 0.3, 10, 2)), thin.Wall, 0.3},
		{"a fin 0.9 mm high and broad", meshtest.Together(box(0, 0, 0, 20, 20, 10), box(8, 5, 9, 0.3, 0.9, 1.9)), thin.Wall, 0.3},
		{"a web between two blocks", meshtest.Together(box(0, 0, 0, 8, 20, 10), box(12, 0, 0, 8, 20, 10), box(7, 2, 2, 6, 15, 0.25)), thin.Wall, 0.25},
		{"a peg as long as thick", meshtest.Together(box(0, 0, 0, 20, 20, 10), meshtest.Moved(meshtest.Frustum(24, 0.5, 0.5, 2.1), meshtest.Shift(10, 10, 9))), thin.Pin, 1},
		{"a blade of 3° in a slot", meshtest.Together(box(0, 0, -30, 20, 20, 10), prism(20, [2]float64{0, 0}, [2]float64{10, -0.26}, [2]float64{10, 0.26})), thin.Wall, 0},
		{"a tube in a tube, flush", meshtest.Together(revolved(64, [2]float64{4, 0}, [2]float64{4.2, 0}, [2]float64{4.2, 10}, [2]float64{4, 10}), revolved(64, [2]float64{4.2, 0}, [2]float64{4.4, 0}, [2]float64{4.4, 10}, [2]float64{4.2, 10})), thin.Wall, 0.4},
	} {
		t.Run(row.name, func(t *testing.T) {
			for _, m := range []*mesh.Mesh{row.mesh, meshtest.Turned(row.mesh, mesh.Vec{X: 3, Y: 1, Z: 2}, 2.2)} {
				r := measure(t, m)
				i := slices.IndexFunc(r.Places, func(p thin.Place) bool { return p.Kind == row.kind })
				require.GreaterOrEqual(t, i, 0, "%+v", r)
				if row.want == 0 {
					continue
				}
				// shrink's 0.85 %; a facet of the peg within its circle, and by the docstring of
				// gauge, of the tubes of 64 sides 5·(1 − cos(π/64)).
				got := r.Places[i].Thickness
				require.LessOrEqual(t, got, row.want*1.0085+5*(1-math.Cos(math.Pi/64)))
				require.GreaterOrEqual(t, got, min(row.want-5*(1-math.Cos(math.Pi/64)), round(row.want, 24).lo))
			}
		})
	}
}

// What a small thing on a large body is thin by does not hang on the body's size.
func TestSmallFeaturesOfLargeBodiesAreFound(t *testing.T) {
	body := box(0, 0, 0, 160, 120, 100)
	pin := meshtest.Moved(meshtest.Frustum(24, 0.2, 0.2, 6), meshtest.Shift(71.3, 55.7, 99))
	fin := box(30.3, 40.7, 99, 0.3, 2, 3)
	for _, remeshed := range []int{0, 2} {
		r := measure(t, meshtest.Together(meshtest.Remesh(body, remeshed), meshtest.Remesh(pin, remeshed), meshtest.Remesh(fin, remeshed)))
		require.NotNil(t, r.Pin, "%+v", r)
		require.InDelta(t, 0.4, *r.Pin, 0.4-round(0.4, 24).lo)
		require.NotNil(t, r.Wall, "%+v", r)
		require.InDelta(t, 0.3, *r.Wall, 0.0085*0.3)
	}
	// Drilled from beneath, so that the thin roof has no triangles of its own on top: a
	// disc 1.6 mm wide, more than Least.
	hole := meshtest.Moved(meshtest.Frustum(48, 0.8, 0.8, 80.7), meshtest.Shift(101.9, 33.3, 19))
	for _, at := range []float64{0, 0.37, 0.71} {
		m := meshtest.Together(body, meshtest.InsideOut(meshtest.Moved(hole, meshtest.Shift(at, at/3, 0))))
		r := measure(t, m)
		require.Less(t, r.Least, math.Pi/4*1.6*1.6)
		require.NotNil(t, r.Wall, "%+v", r)
		require.InDelta(t, 0.3, *r.Wall, 0.0085*0.3)
	}
}

func TestTheLeastThatIsSeenIsSaid(t *testing.T) {
	small, large := measure(t, meshtest.Box(20, 20, 20)), measure(t, meshtest.Box(900, 900, 900))
	require.InDelta(t, 0.5, small.Least, 1e-12)
	// A disc that always has a point of the lattice: see leastSeen. Of some 768,000 points.
	require.InEpsilon(t, math.Pi/4*6*(6*900.0*900)/768_000, large.Least, 1e-6)
	require.Zero(t, measure(t, &mesh.Mesh{Vertices: []mesh.Vec{{}, {X: 1}, {X: 2}}, Triangles: [][3]uint32{{0, 1, 2}}}).Least)
}

// What a wall or a pin holds is known: how far it goes on, and whether it joins.
func TestItIsKnownWhatAThinPlaceCarries(t *testing.T) {
	for _, row := range []struct {
		name  string
		mesh  *mesh.Mesh
		run   float64
		joins bool
	}{
		{"a fin 3 mm high", meshtest.Together(box(0, 0, 0, 20, 20, 10), box(8, 5, 9, 0.3, 10, 4)), 3, false},
		{"a web 4 mm long", meshtest.Together(box(0, 0, 0, 8, 20, 10), box(12, 0, 0, 8, 20, 10), box(7, 2, 2, 6, 15, 0.25)), 4, true},
		{"an axle of 5 mm", meshtest.Together(box(0, 0, 0, 8, 20, 10), box(13, 0, 0, 8, 20, 10), box(7, 9, 5, 7, 0.5, 0.5)), 5, true},
		{"a mast of 6 mm", meshtest.Together(box(0, 0, 0, 20, 20, 10), box(9, 9, 9, 0.5, 0.5, 7)), 6, false},
		{"a plate", meshtest.Box(30, 20, 1), thinFarthest, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			r := measure(t, row.mesh)
			require.NotEmpty(t, r.Places)
			p := r.Places[0]
			// Either end is found to a step of a sixth of a run, halved three times.
			require.InDelta(t, row.run, p.Run, 2*max(0.8, 2*p.Thickness)/6/8+0.02, "%+v", p)
			require.Equal(t, row.joins, p.Joins, "%+v", p)
		})
	}
}

// thinFarthest is how far a place is followed.
const thinFarthest = 10
