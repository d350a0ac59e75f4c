package bore_test

import (
	"context"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/reference"
)

func centreOf(o reference.Opening) mesh.Vec { return vec(o.Centre) }
func normalOf(o reference.Opening) mesh.Vec { return vec(o.Normal) }
func vec(p [3]float64) mesh.Vec             { return mesh.Vec{X: p[0], Y: p[1], Z: p[2]} }

// noCylinders are round edges that end no reported cylinder, with the reason.
// "slants" is not listed: the test sees by itself that no triangle on the edge is
// parallel to the axis, as at countersinks, cones, fillets and rings in one plane.
var noCylinders = map[string]string{
	"cgal/rotor.stl disc 0.887":                     "the wall is broken by slivers near this edge; the pin is found, 0.1 % thinner and shorter",
	"cgal/spool.stl opening 0.828":                  "a groove round a shaft: nothing that fits goes in",
	"derived/leg-inverted.stl disc 22.000":          slotted,
	"derived/leg-third-inverted.stl disc 22.000":    slotted,
	"derived/leg-two-overlapping.stl disc 22.000":   slotted,
	"walker-armed/leftLeg.stl disc 22.000":          slotted,
	"walker-armed/rightLeg.stl disc 22.000":         slotted,
	"walker-base/leg.stl disc 22.000":               slotted,
	"derived/leg-third-inverted.stl disc 21.000":    "a third of the triangles are inside out, here most of the wall's: it counts as a hole's, full of solid",
	"derived/leg-two-overlapping.stl opening 2.000": "filled by the other leg",
	"general/angle_block.STL disc 0.500":            "triangles without area part the wall from its rim",
}

const slotted = "two slots leave 292° of the wall"

func TestEveryRoundOpeningHasItsCylinder(t *testing.T) {
	openings := reference.Openings(t)
	total, found, slants := 0, 0, 0
	narrower, excepted := 0, map[string]int{}
	for _, name := range slices.Sorted(maps.Keys(openings)) {
		m, _, err := mesh.ReadFile(context.Background(), filepath.Join(reference.Folder, name))
		require.NoError(t, err)
		r := find(t, m)
		step := float32Step(m)
		for i, h := range r.Holes {
			assert.True(t, bruteWall(m, h.Axis, h.Centre, h.Diameter, h.Depth), "%s hole %d %+v", name, i, h)
		}
		for i, p := range r.Pins {
			assert.True(t, bruteWall(m, p.Axis, p.Centre, p.Diameter, p.Length), "%s pin %d %+v", name, i, p)
		}
		for _, o := range openings[name] {
			total++
			// The list rounds to 1e-5 mm, and 1e-6 of a diameter; corners are rounded
			// to 32 bits, and by what exporters leave, see noiseOf: 1e-4 of the
			// diameter holds all of that for these files.
			near := 1e-4*o.Diameter + 1e-5 + 8*step
			level := func(axis, centre mesh.Vec, d, depth float64) bool {
				off := centreOf(o).Sub(centre)
				along := off.Dot(axis)
				// The mouth need not be where the stretch ends, if it is cut slanting
				// by something else; half a diameter is allowed.
				return axis.Cross(normalOf(o)).Norm() < 1e-3 && off.Sub(axis.Scale(along)).Norm() < near &&
					math.Abs(d-o.Diameter) < near && math.Abs(along) < depth/2+d/2
			}
			ok := false
			for _, h := range r.Holes {
				if !level(h.Axis, h.Centre, h.Diameter, h.Depth) {
					continue
				}
				ok = true
				assert.LessOrEqual(t, h.Free, h.Diameter+near, "%s %+v", name, o)
				// Of a polygon the widest gap between corners says what passes: for
				// even ones 2π/n, and cos(π/n).
				gap := widest(m, o)
				if h.Free < o.Diameter*math.Cos(gap/2)-near {
					narrower++
				}
				// The far end of a wall may lack one of the corners, where another
				// edge meets it: one gap of twice the width.
				// In two overlapping legs the other one, 2 mm aside, stands in the way.
				if name == "derived/leg-two-overlapping.stl" && o.Diameter == 11 && math.Abs(o.Normal[2]) > 0.9 {
					assert.InDelta(t, o.Diameter-2*2, h.Free, o.Diameter*(1-math.Cos(gap/2))+near)
					continue
				}
				assert.GreaterOrEqual(t, h.Free, o.Diameter*math.Cos(gap)-near, "%s %+v", name, o)
			}
			for _, p := range r.Pins {
				ok = ok || level(p.Axis, p.Centre, p.Diameter, p.Length)
			}
			key := fmt.Sprintf("%s %s %.3f", name, o.Kind, o.Diameter)
			switch {
			case ok:
				found++
			case slanting(m, o):
				slants++
			case noCylinders[key] != "":
				excepted[key]++
			default:
				t.Errorf("nothing at %s: %+v", key, o)
			}
		}
	}
	t.Logf("%d of %d found, %d slant, %d excepted; %d narrower than their edge", found, total, slants, len(excepted), narrower)
	assert.Equal(t, 829, total)
	assert.Len(t, excepted, len(noCylinders), "%v", excepted)
}

// widest is the widest angle between neighbouring corners of an edge.
func widest(m *mesh.Mesh, o reference.Opening) float64 {
	n := normalOf(o)
	u := n.Cross(mesh.Vec{X: 1})
	if u.Norm() < 0.1 {
		u = n.Cross(mesh.Vec{Y: 1})
	}
	u = u.Scale(1 / u.Norm())
	v := n.Cross(u)
	var angles []float64
	for _, p := range m.Vertices {
		d := p.Sub(centreOf(o))
		x, y := d.Dot(u), d.Dot(v)
		if math.Abs(d.Dot(n)) < 1e-3*o.Diameter && math.Abs(math.Hypot(x, y)-o.Diameter/2) < 2e-3*o.Diameter {
			angles = append(angles, math.Atan2(y, x))
		}
	}
	slices.Sort(angles)
	gap := 0.0
	for i, a := range angles {
		next := angles[(i+1)%len(angles)]
		if i == len(angles)-1 {
			next += 2 * math.Pi
		}
		gap = max(gap, next-a)
	}
	return gap
}

func float32Step(m *mesh.Mesh) float64 {
	b := m.Bounds()
	far := 0.0
	for k := range 3 {
		far = max(far, math.Abs(b.Min.Component(k)), math.Abs(b.Max.Component(k)))
	}
	return far * 0x1p-24
}

// slanting says whether no triangle with a side on the edge is within 1° of
// parallel to its axis.
func slanting(m *mesh.Mesh, o reference.Opening) bool {
	for i := range m.Triangles {
		on := 0
		for _, v := range m.Triangles[i] {
			d := m.Vertices[v].Sub(centreOf(o))
			along := d.Dot(normalOf(o))
			rho := d.Sub(normalOf(o).Scale(along)).Norm()
			if math.Abs(along) < 1e-3*o.Diameter && math.Abs(rho-o.Diameter/2) < 2e-3*o.Diameter {
				on++
			}
		}
		a, b, c := m.Corners(i)
		n := b.Sub(a).Cross(c.Sub(a))
		if on >= 2 && math.Abs(n.Dot(normalOf(o))) < math.Sin(math.Pi/180)*n.Norm() {
			return false
		}
	}
	return true
}

// bruteWall looks for a cylinder among all triangles: those that lie with all
// corners between it and the flats of a heptagon, along the stretch, go 290° round
// the axis (the finder asks for 300° of what it takes for the wall).
func bruteWall(m *mesh.Mesh, axis, centre mesh.Vec, d, depth float64) bool {
	u := axis.Cross(mesh.Vec{X: 1})
	if u.Norm() < 0.1 {
		u = axis.Cross(mesh.Vec{Y: 1})
	}
	u = u.Scale(1 / u.Norm())
	v := axis.Cross(u)
	var seen [72]bool
	for i := range m.Triangles {
		on := true
		var first, lo, hi float64
		for k, id := range m.Triangles[i] {
			p := m.Vertices[id].Sub(centre)
			x, y, along := p.Dot(u), p.Dot(v), p.Dot(axis)
			rho := math.Hypot(x, y)
			on = on && rho < d/2*1.006+1e-3 && rho > d/2*0.89-1e-3 && math.Abs(along) < depth/2+d
			a := math.Atan2(y, x)
			if k == 0 {
				first = a
			}
			a = math.Remainder(a-first, 2*math.Pi)
			lo, hi = min(lo, a), max(hi, a)
		}
		if !on {
			continue
		}
		for b := math.Floor((first + lo) * 36 / math.Pi); b <= (first+hi)*36/math.Pi; b++ {
			seen[(int(b)+144)%72] = true
		}
	}
	count := 0
	for _, s := range seen {
		if s {
			count++
		}
	}
	return count >= 58
}

// Shapes without round holes or pins, by looking at them. The knot is a tube that
// is bent everywhere; the teapot's spout and lid are no cylinders.
func TestSculptsHaveNoHoles(t *testing.T) {
	for _, name := range []string{"scans/bunny_69k.stl", "cgal/elephant.stl", "cgal/cow.stl", "cgal/knot1.stl", "cgal/bones.stl", "cgal/blobby_3cc.stl", "cgal/elephant-with-holes.stl", "cgal/mech-holes-shark.stl", "common/spot.stl", "common/teapot.stl", "general/torus.STL", "3mf/torus.3mf", "3mf/sphere.3mf"} {
		m, _, err := mesh.ReadFile(context.Background(), filepath.Join(reference.Folder, name))
		if os.IsNotExist(err) {
			continue
		}
		require.NoError(t, err, name)
		r := find(t, m)
		assert.Empty(t, r.Holes, name)
		assert.Empty(t, r.Pins, name)
	}
}

// The eight pins of the file have one through hole each (published check values,
// 1.4), each of two steps.
func TestGearPinsHaveOneHoleEach(t *testing.T) {
	m, _, err := mesh.ReadFile(context.Background(), filepath.Join(reference.Folder, "3mf/cube_gears.3mf"))
	if os.IsNotExist(err) {
		t.Skip("the shared meshes are not beside the project")
	}
	require.NoError(t, err)
	groups := map[int]int{}
	for _, h := range find(t, m).Holes {
		assert.True(t, h.Through)
		groups[h.Group]++
	}
	assert.Len(t, groups, 8)
}
