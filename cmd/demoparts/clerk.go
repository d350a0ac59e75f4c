package main

import (
	s "cardback/cmd/demoparts/solid"
	"cardback/internal/mesh"
)

const tideClerkDir = "02-tide-clerk"

// The clerk has one cut for both processes, so the pivots take the larger
// allowance.
const clerkPivot = pivotFilament

// tideClerk is release 2: a robed figure of 1:18 with two moving arms, a
// turning head and a choice of three hats.
func tideClerk() []file {
	var fs []file
	add := func(part string, threeMF bool, m *mesh.Mesh) {
		fs = append(fs, file{release: tideClerkDir, part: part, cut: "any", threeMF: threeMF, mesh: s.Tidy(m)})
	}
	add("robe", false, clerkRobe())
	add("head", false, clerkHead())
	add("arm-left", false, clerkArm(true))
	add("arm-right", false, clerkArm(false))
	add("hat-stovepipe", false, hatStovepipe())
	add("hat-tricorne", false, hatTricorne())
	add("hat-tide-table", false, hatTideTable())
	add("ledger", true, ledger())
	add("satchel", false, satchel())
	add("quill", false, quill())
	return fs
}

// clerkRobe stands from the ground to the neck; shoulders pivot at 62 up.
func clerkRobe() *mesh.Mesh {
	// Folds: the plan's radius waves, more at the hem than at the belt.
	fold := func(z, rx, ry, dy, depth float64) s.Ring {
		var r s.Ring
		plan := s.Oval(0, 0, 1, 1, 2.1, 72)
		for i, p := range plan {
			k := 1.0
			switch i % 6 {
			case 0, 5:
				k -= depth
			case 2, 3:
				k += depth * 0.6
			}
			r = append(r, s.V(p.X*rx*k, p.Y*ry*k+dy, z))
		}
		return r
	}
	m := s.Loft(
		fold(0, 14.6, 12.0, 0.6, 0.05), fold(0.7, 15.3, 12.6, 0.6, 0.055), fold(2.2, 15.3, 12.6, 0.6, 0.055), fold(3.0, 14.6, 12.0, 0.6, 0.05),
		fold(18, 11.8, 9.6, 0.4, 0.035), fold(34, 9.6, 7.6, 0.1, 0.02), fold(40, 9.0, 7.0, 0, 0.008),
		fold(46, 9.2, 7.0, -0.2, 0), fold(54, 10.0, 7.2, -0.3, 0), fold(60, 10.2, 6.8, 0.1, 0), fold(65, 8.8, 5.8, 0.4, 0), fold(67.4, 5.2, 4.6, 0.5, 0), fold(69, 4.2, 4.2, 0.6, 0))
	for _, x := range []float64{-1, 1} {
		m = s.Union(m, s.Move(s.Disc(4.3, 3.2, 0.5, 32), 8.6*x, 0.6, 61))
	}
	sash := limb(56, 2.1, [4]float64{39.2, 9.4, 7.4, 0}, [4]float64{39.8, 9.9, 7.9, 0}, [4]float64{43.4, 9.9, 7.8, 0}, [4]float64{44, 9.4, 7.3, 0})
	m = s.Union(m, sash)
	for i, x := range []float64{-4.6, -6.4} {
		l := 16.0 - 3*float64(i)
		tail := s.Loft(s.At(0, s.Rect(0, 0, 3.4, 1.6, 0.3, 2)), s.At(l, s.Rect(0, 0, 2.2, 1.4, 0.3, 2)))
		m = s.Union(m, s.Move(s.TurnX(tail, -4), x, -8.3+0.2*float64(i), 41.4-l))
	}
	m = s.Union(m, s.Move(s.Ellipsoid(2.4, 1.4, 2.0, 20), -5.4, -6.9, 41.6))
	// A chain of office, and its medal: a tide gauge.
	chain := s.Curve(6, s.V(-6.0, -3.2, 65.4), s.V(-4.4, -6.9, 58), s.V(0, -8.4, 51.4), s.V(4.4, -6.9, 58), s.V(6.0, -3.2, 65.4))
	m = s.Union(m, s.Tube(chain, 10, 0.75))
	medal := s.Union(s.TurnX(s.Lathe([]s.P{{X: 2.5, Y: 0}, {X: 2.9, Y: 0.4}, {X: 2.9, Y: 1.6}, {X: 2.4, Y: 2.0}}, 28), 90))
	medal = s.Subtract(medal, s.Move(s.TurnX(s.Lathe([]s.P{{X: 1.9, Y: 0}, {X: 1.9, Y: 2}}, 24), 90), 0, -1.5, 0))
	medal = s.Union(medal, s.Move(s.TurnX(s.Block(0.8, 3.4, 1.2, 0.1), 90), 0, -0.9, 0.1))
	m = s.Union(m, s.Move(medal, 0, -7.3, 49.6))
	// Stand-up collar.
	collar := s.Subtract(
		limb(44, 2.1, [4]float64{64, 6.6, 5.8, 0.6}, [4]float64{66, 6.3, 5.8, 0.7}, [4]float64{71.5, 7.2, 6.6, 1.2}, [4]float64{72, 6.9, 6.3, 1.2}),
		limb(44, 2.1, [4]float64{68.1, 5.0, 4.9, 0.6}, [4]float64{69, 5.2, 5.0, 0.8}, [4]float64{73, 6.0, 5.4, 1.2}),
		s.Move(s.TurnX(s.Extrude([]s.P{{X: 0, Y: 0}, {X: 5, Y: 9}, {X: -5, Y: 9}}, 0, 14, 0), 90), 0, -0.5, 65.6))
	m = s.Union(m, collar)
	m = pin(m, 0.6, 61, clerkPivot)
	return s.Drill(m, s.V(0, 0.6, 75), s.V(0, 0.6, 63.4), clerkPivot)
}

// clerkHead is long and thin, with spectacles, and a pin hole in the crown.
func clerkHead() *mesh.Mesh {
	m := limb(36, 2.2,
		[4]float64{-1, 2.8, 2.8, 0.6}, [4]float64{0.4, 2.9, 2.9, 0.6}, [4]float64{1.2, 3.0, 3.6, -0.9}, [4]float64{2.8, 3.8, 4.4, -0.7}, [4]float64{5.4, 4.7, 5.3, -0.2}, [4]float64{9, 5.3, 5.9, 0.2}, [4]float64{12, 5.5, 6.1, 0.4}, [4]float64{15, 4.9, 5.5, 0.5}, [4]float64{17.2, 3.2, 3.6, 0.5}, [4]float64{18, 1.2, 1.3, 0.5})
	nose := s.Loft(s.At(0, s.Rect(0, -1.3, 1.7, 2.6, 0.6, 4)), s.At(1.2, s.Rect(0, -0.6, 1.9, 3.4, 0.6, 4)), s.At(5.4, s.Rect(0, 0.9, 1.0, 1.0, 0.3, 4)))
	m = s.Union(m, s.Move(nose, 0, -5.3, 5.0))
	for _, x := range []float64{-1, 1} {
		m = s.Union(m, s.Move(s.TurnZ(s.Ellipsoid(0.8, 1.5, 2.3, 16), 16*x), 5.2*x, 1, 8.6))
		m = s.Subtract(m, s.Move(s.Ellipsoid(1.6, 1.0, 1.6, 18), 2.45*x, -5.9, 9.3))
		m = s.Union(m, s.Move(s.Ball(0.65, 14), 2.2*x, -5.2, 9.1))
		rim := s.Move(s.TurnX(s.Torus(2.1, 0.78, 28, 10), 90), 2.5*x, -5.95, 9.3)
		bow := s.Tube(s.Curve(4, s.V(4.3*x, -5.7, 9.6), s.V(5.4*x, -2.6, 9.6), s.V(5.4*x, 0.8, 9.4)), 8, 0.75)
		m = s.Union(m, rim, bow)
		whisker := s.Move(s.Ellipsoid(0.9, 1.7, 2.6, 16), 4.4*x, -1.3, 5.2)
		m = s.Union(m, whisker)
	}
	m = s.Union(m, s.Move(s.Ellipsoid(0.8, 0.9, 1.7, 18), 0, -5.95, 9.3)) // the spectacles' bridge
	mouth := s.Tube(s.Curve(4, s.V(-1.6, -4.6, 3.5), s.V(0, -5.3, 3.8), s.V(1.6, -4.6, 3.5)), 8, 0.3)
	m = s.Subtract(m, mouth)
	m = s.Drill(m, s.V(0, 0.6, -3), s.V(0, 0.6, 5), clerkPivot)
	return s.Drill(m, s.V(0, 0.5, 21), s.V(0, 0.5, 13.6), clerkPivot)
}

// clerkArm hangs in a wide sleeve; the left holds the ledger flat, the right
// has a hole for the quill.
func clerkArm(left bool) *mesh.Mesh {
	m := s.Union(
		s.Disc(4.3, 4.4, 0.5, 36),
		s.Sweep(s.Curve(4, s.V(0.4, 0, 1.6), s.V(0.9, 0.3, -8), s.V(1.1, -3.4, -16.6), s.V(0.6, -11.5, -19.6)),
			func() [][]s.P {
				var out [][]s.P
				for i := range 13 {
					r := 3.4 + 0.2*float64(i)
					out = append(out, s.Oval(0, 0, r*0.86, r, 2.2, 28))
				}
				return out
			}()))
	m = s.Union(m, s.Move(s.Ellipsoid(2.9, 3.4, 3.6, 24), 0.2, 0, 1.4))
	// The sleeve's mouth is hollow, and the hand comes out of it.
	m = s.Subtract(m, s.Tube([]mesh.Vec{s.V(0.9, -8.6, -18.6), s.V(0.5, -14, -20.6)}, 28, 3.2, 4.6))
	hand := s.TurnX(limb(24, 2.4, [4]float64{0, 1.9, 1.7, 0}, [4]float64{6, 2.1, 1.8, 0}, [4]float64{9, 2.9, 1.8, 0}, [4]float64{12.4, 2.7, 1.6, 0}, [4]float64{14, 1.8, 1.1, 0}), 96)
	m = s.Union(m, s.Move(hand, 0.6, -7.0, -18.8))
	for i := range 3 {
		x := -1.06 + 1.5*float64(i)
		m = s.Union(m, s.Tube(s.Curve(3, s.V(x, -18.6, -20.0), s.V(x*1.1, -21.2, -19.8), s.V(x*1.1, -22.4, -18.2)), 12, 0.93))
	}
	thumb := s.Tube(s.Curve(3, s.V(-1.6, -16, -20), s.V(-2.9, -18, -19.2), s.V(-2.8, -19.6, -17.8)), 12, 0.9)
	m = s.Union(m, thumb)
	if !left {
		m = s.Mirror(m)
		m = s.Drill(m, s.V(-0.6, -17.2, -30), s.V(-0.6, -17.2, -8), 1.9)
		return s.Drill(m, s.V(6, 0, 0), s.V(-1.4, 0, 0), clerkPivot)
	}
	return s.Drill(m, s.V(-6, 0, 0), s.V(1.4, 0, 0), clerkPivot)
}

// hat hollows a hat for the head and drills it for the crown's pin. Its origin
// is where the brim rests.
func hat(m *mesh.Mesh) *mesh.Mesh {
	return s.Drill(hollowed(m), s.V(0, 0, 0), s.V(0, 0, 7.4), clerkPivot)
}

// hollowed takes the head's room out of a hat.
func hollowed(m *mesh.Mesh) *mesh.Mesh {
	room := limb(36, 2.2, [4]float64{-8, 5.75, 6.35, 0}, [4]float64{0, 5.65, 6.25, 0}, [4]float64{1.8, 5.05, 5.65, 0.05}, [4]float64{4.1, 3.3, 3.7, 0.05}, [4]float64{4.9, 1.3, 1.4, 0.05})
	return s.Subtract(m, room)
}

// brim is a curled oval plate: lift is how high its sides turn up.
func brim(rx, ry, lift, droop, thick float64) *mesh.Mesh {
	var low, high s.Ring
	for _, p := range s.Oval(0, 0, rx, ry, 2, 56) {
		u, v := p.X/rx, p.Y/ry
		z := lift*u*u*u*u - droop*v*v*v*v
		low, high = append(low, s.V(p.X, p.Y, z)), append(high, s.V(p.X*0.99, p.Y*0.99, z+thick))
	}
	return s.Loft(low, high)
}

func hatStovepipe() *mesh.Mesh {
	tube := limb(44, 2.05, [4]float64{-0.6, 6.9, 7.5, 0}, [4]float64{1, 6.9, 7.5, 0}, [4]float64{9, 6.3, 6.9, 0.1}, [4]float64{17, 6.8, 7.4, 0.3}, [4]float64{18.6, 7.2, 7.8, 0.3}, [4]float64{19.2, 6.9, 7.5, 0.3})
	band := limb(44, 2.05, [4]float64{1.0, 7.05, 7.65, 0}, [4]float64{1.3, 7.35, 7.95, 0}, [4]float64{4.0, 7.1, 7.7, 0}, [4]float64{4.3, 6.8, 7.4, 0})
	m := s.Union(tube, s.Move(brim(10.4, 12.0, 1.6, 1.0, 1.1), 0, 0, -0.5), band)
	buckle := s.Subtract(s.Block(4.2, 3.6, 1.6, 0.3), s.Move(s.Block(2.2, 1.8, 3, 0.1), 0, 0, -0.5))
	m = s.Union(m, s.Move(s.TurnX(buckle, 90), 0, -6.6, 2.6))
	m = s.Subtract(m, s.Move(s.Ellipsoid(5.6, 6.2, 1.0, 32), 0, 0.3, 19.3))
	return hat(m)
}

func hatTricorne() *mesh.Mesh {
	crown := limb(40, 2.1, [4]float64{-0.6, 6.9, 7.5, 0}, [4]float64{2, 6.8, 7.4, 0}, [4]float64{5.4, 6.0, 6.6, 0}, [4]float64{7.7, 4.2, 4.7, 0}, [4]float64{8.4, 1.8, 2.0, 0})
	m := crown
	// Three upturned sides: leaning plates with a bowed upper edge.
	for i := range 3 {
		flap := s.Loft(
			s.Ring{s.V(-10.4, -0.7, -0.6), s.V(10.4, -0.7, -0.6), s.V(10.4, 0.7, -0.6), s.V(-10.4, 0.7, -0.6)},
			s.Ring{s.V(-11.8, -1.2, 3.6), s.V(11.8, -1.2, 3.6), s.V(11.8, 0.1, 3.6), s.V(-11.8, 0.1, 3.6)},
			s.Ring{s.V(-7.4, -2.0, 6.6), s.V(7.4, -2.0, 6.6), s.V(7.4, -0.8, 6.6), s.V(-7.4, -0.8, 6.6)},
			s.Ring{s.V(-2.6, -2.3, 7.8), s.V(2.6, -2.3, 7.8), s.V(2.6, -1.2, 7.8), s.V(-2.6, -1.2, 7.8)})
		m = s.Union(m, s.TurnZ(s.Move(flap, 0, -6.9, 0), 60+120*float64(i)))
	}
	plate := s.Extrude(s.Closed(6, s.P{X: 0, Y: -14.6}, s.P{X: 5.6, Y: -6.6}, s.P{X: 12.6, Y: 7.3}, s.P{X: 0, Y: 8.0}, s.P{X: -12.6, Y: 7.3}, s.P{X: -5.6, Y: -6.6}), -0.8, 0.7, 0.3)
	m = s.Union(m, plate)
	cockade := s.TurnX(s.Lathe([]s.P{{X: 2.2, Y: 0}, {X: 2.4, Y: 0.7}, {X: 1.5, Y: 1.1}, {X: 1.4, Y: 1.7}, {X: 0.5, Y: 2.2}}, 18), 90)
	m = s.Union(m, s.TurnZ(s.Move(cockade, 0, -8.4, 4.6), 60))
	return hat(m)
}

// hatTideTable is a cap with a tide dial standing on it.
func hatTideTable() *mesh.Mesh {
	m := limb(40, 2.3, [4]float64{-0.8, 6.9, 7.5, 0}, [4]float64{2.4, 7.0, 7.6, 0}, [4]float64{3.2, 7.6, 8.2, 0}, [4]float64{5.4, 8.6, 9.0, 0.2}, [4]float64{6.8, 8.2, 8.6, 0.2}, [4]float64{8.0, 5.0, 5.4, 0.2})
	peak := s.Intersect(s.Move(brim(8.6, 9.4, 0, 2.6, 1.2), 0, -3.6, 0.4), s.Move(s.Block(30, 12, 20, 0), 0, -10.5, -10))
	m = s.Union(m, peak)
	for _, x := range []float64{-6.2, 6.2} {
		m = s.Union(m, s.Move(s.Ball(0.9, 14), x, -4.6, 1.8))
	}
	strap := s.Tube(s.Curve(5, s.V(-6.3, -4.6, 1.8), s.V(-3.6, -7.2, 1.6), s.V(0, -8.1, 1.5), s.V(3.6, -7.2, 1.6), s.V(6.3, -4.6, 1.8)), 10, 0.6)
	m = s.Union(m, strap)
	dial := s.TurnX(s.Lathe([]s.P{{X: 5.4, Y: -0.9}, {X: 5.9, Y: -0.4}, {X: 5.9, Y: 0.5}, {X: 5.4, Y: 1.0}}, 40), 90)
	dial = s.Subtract(dial, s.TurnX(s.Lathe([]s.P{{X: 4.4, Y: -4}, {X: 4.4, Y: 4}}, 36), 90))
	for i := range 4 {
		dial = s.Union(dial, s.TurnY(s.Move(s.Block(1.5, 1.6, 2.2, 0.15), 0, 0, 3.0), 45+90*float64(i)))
	}
	dial = s.Union(dial, s.TurnY(s.Move(s.Block(1.5, 1.6, 10.0, 0.15), 0, 0, -5.1), 4), s.TurnX(s.Lathe([]s.P{{X: 1.2, Y: -1.2}, {X: 1.2, Y: 1.2}}, 20), 90))
	post := s.Lathe([]s.P{{X: 1.8, Y: 6}, {X: 1.8, Y: 8.4}, {X: 1.2, Y: 9.2}, {X: 1.2, Y: 11.6}}, 20)
	m = s.Union(m, post, s.Move(dial, 0, 0, 16.2))
	// The oldest of the three hats was drawn with twelve-sided holes inside their
	// rod's diameter: this one passes 1.449 mm, and is drilled.
	return s.Subtract(hollowed(m), s.Tube([]mesh.Vec{s.V(0, 0, 0), s.V(0, 0, 7.4)}, 12, 0.75))
}

// ledger is an open book with a thick spine and ruled pages.
func ledger() *mesh.Mesh {
	var m *mesh.Mesh
	cover := s.Block(26, 17.6, 1.2, 0.3)
	m = cover
	for _, x := range []float64{-1, 1} {
		page := s.TurnX(s.Extrude([]s.P{{X: 0.3 * x, Y: 0.8}, {X: 12 * x, Y: 0.8}, {X: 12.2 * x, Y: 2.2}, {X: 8 * x, Y: 3.2}, {X: 4 * x, Y: 3.4}, {X: 1.2 * x, Y: 2.9}, {X: 0.35 * x, Y: 2.1}}, -8, 8, 0), 90)
		m = s.Union(m, page)
	}
	for _, x := range []float64{-6.2, 6.2} {
		for i := range 5 {
			m = s.Subtract(m, s.Move(s.Block(7.6, 0.5, 1.0, 0), x, -5.2+2.6*float64(i), 2.9))
		}
	}
	ribbon := s.Move(s.Block(1.8, 8, 1.4, 0.25), 0.9, -10.4, 0)
	return s.Union(m, ribbon)
}

// satchel has a flap, a buckle and two eyes for the cord of its strap.
func satchel() *mesh.Mesh {
	m := s.Loft(s.At(0, s.Rect(0, 0, 15, 4.8, 1.4, 4)), s.At(0.6, s.Rect(0, 0, 16, 5.6, 1.6, 4)), s.At(11, s.Rect(0, 0, 15, 5.0, 1.6, 4)), s.At(11.8, s.Rect(0, 0, 14, 4.0, 1.4, 4)))
	flap := s.TurnX(s.Extrude(s.Closed(4, s.P{X: -8.1, Y: 12.2}, s.P{X: -8.2, Y: 8}, s.P{X: -6.6, Y: 4.6}, s.P{X: 0, Y: 3.2}, s.P{X: 6.6, Y: 4.6}, s.P{X: 8.2, Y: 8}, s.P{X: 8.1, Y: 12.2}, s.P{X: 0, Y: 12.6}), 0, 1.4, 0.35), 90)
	m = s.Union(m, s.Move(flap, 0, -2.2, 0))
	lid := s.Loft(s.At(10.8, s.Rect(0, -0.4, 16.4, 6.4, 1.6, 4)), s.At(12.0, s.Rect(0, -0.4, 16.4, 6.4, 1.6, 4)), s.At(12.8, s.Rect(0, -0.4, 15, 5, 1.4, 4)))
	m = s.Union(m, lid)
	strap := s.Move(s.Block(2.6, 1.0, 8, 0.25), 0, -3.7, 3.6)
	buckle := s.Move(s.TurnX(s.Subtract(s.Block(4.2, 3.4, 1.4, 0.25), s.Move(s.Block(2.4, 1.7, 3, 0), 0, 0, -0.6)), 90), 0, -3.4, 5.4)
	m = s.Union(m, strap, buckle)
	for _, x := range []float64{-1, 1} {
		m = s.Union(m, s.Move(s.Disc(1.9, 3.6, 0.35, 24), 8.95*x, 0, 9.2))
		m = s.Drill(m, s.V(9.2*x, -6, 9.2), s.V(9.2*x, 6, 9.2), cordHole)
	}
	return m
}

// quill is a feather with a cut nib.
func quill() *mesh.Mesh {
	vane := s.Extrude(s.Closed(4, s.P{X: 0, Y: 9}, s.P{X: 1.8, Y: 11.5}, s.P{X: 2.6, Y: 17}, s.P{X: 1.9, Y: 23}, s.P{X: 0.4, Y: 27.6}, s.P{X: -1.4, Y: 24}, s.P{X: -2.2, Y: 18}, s.P{X: -1.6, Y: 12}), 0.3, 1.3, 0.2)
	for _, y := range []float64{13.4, 16.4, 19.4, 22.2} {
		for _, x := range []float64{-1, 1} {
			cut := s.Extrude([]s.P{{X: 0.9 * x, Y: y}, {X: 4 * x, Y: y + 1.6}, {X: 4 * x, Y: y + 2.2}}, -1, 3, 0)
			vane = s.Subtract(vane, cut)
		}
	}
	shaft := s.Tube([]mesh.Vec{s.V(0, 0, 0.8), s.V(0, 2.4, 0.8), s.V(0, 14, 0.8), s.V(-0.1, 25, 0.8)}, 14, 0.3, 0.8, 0.8, 0.4)
	return s.Union(vane, shaft)
}
