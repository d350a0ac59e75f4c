package main

import (
	"math"

	s "cardback/cmd/demoparts/solid"
	"cardback/internal/mesh"
)

const propsDir = "08-quayside-props"

// quaysideProps is release 8: small things for the other figures' hands and for
// the quay itself.
func quaysideProps() []file {
	var fs []file
	add := func(part string, threeMF bool, m *mesh.Mesh) {
		fs = append(fs, file{release: propsDir, part: part, cut: "any", threeMF: threeMF, mesh: s.Tidy(m)})
	}
	add("bottle", false, bottle())
	add("lantern-hook", false, lanternHook())
	add("oar", false, oar())
	add("bollard", false, bollard(true))
	add("gull", false, gull())
	add("crate", true, crate())
	add("bucket", false, pail())
	add("creel", false, creel())
	add("anchor", false, anchor())
	add("pulley", false, pulley())
	add("rope-coil", false, ropeCoil())
	return fs
}

func bottle() *mesh.Mesh {
	m := s.Lathe([]s.P{{X: 1.8, Y: 0}, {X: 2.1, Y: 0.3}, {X: 2.1, Y: 5.2}, {X: 1.7, Y: 6.2}, {X: 0.9, Y: 7.2}, {X: 0.8, Y: 9}, {X: 1.1, Y: 9.2}, {X: 1.1, Y: 9.8}, {X: 0.8, Y: 10}, {X: 0.7, Y: 10.9}}, 24)
	label := s.Intersect(s.Lathe([]s.P{{X: 2.3, Y: 1.4}, {X: 2.3, Y: 4.4}}, 24), s.Move(s.Block(3.6, 4, 8, 0), 0, -2, 0))
	return s.Union(m, label)
}

// lanternHook is a bracket for a wall, with a hole for a pin of 1.0 mm.
func lanternHook() *mesh.Mesh {
	plate := s.TurnX(s.Extrude(s.Rect(0, 0, 5.4, 16.4, 1.9, 5), 0, 1.8, 0.3), 90)
	arm := s.Tube(s.Curve(6, s.V(0, -0.6, 3), s.V(0, -6, 4.6), s.V(0, -12, 3.8), s.V(0, -15.4, 0.8), s.V(0, -13.8, -2.4), s.V(0, -10.8, -1.2)), 14, 0.9)
	brace := s.Tube(s.Curve(5, s.V(0, -0.8, -5), s.V(0, -4.6, -3), s.V(0, -7.2, 1), s.V(0, -8.2, 4.4)), 12, 0.75)
	m := s.Union(plate, arm, brace)
	for _, z := range []float64{-6.2, 6.2} {
		m = s.Drill(m, s.V(0, -4, z), s.V(0, 4, z), standHole)
	}
	return m
}

func oar() *mesh.Mesh {
	blade := s.Extrude(s.Closed(4, s.P{X: -1.2, Y: 0}, s.P{X: 1.2, Y: 0}, s.P{X: 3.2, Y: 6}, s.P{X: 4.0, Y: 16}, s.P{X: 3.6, Y: 26}, s.P{X: 0, Y: 27.4}, s.P{X: -3.6, Y: 26}, s.P{X: -4.0, Y: 16}, s.P{X: -3.2, Y: 6}), -0.6, 0.6, 0.25)
	loom := s.Tube([]mesh.Vec{s.V(0, 20, 0), s.V(0, 10, 0), s.V(0, 0, 0), s.V(0, -40, 0), s.V(0, -64, 0)}, 18, 0.7, 1.0, 1.35, 1.5, 1.6)
	grip := s.Move(s.TurnX(s.Lathe([]s.P{{X: 1.1, Y: 0}, {X: 1.4, Y: 0.6}, {X: 1.2, Y: 3}, {X: 1.4, Y: 6.6}, {X: 1.2, Y: 7.4}}, 18), 90), 0, -63.6, 0)
	m := s.Union(blade, loom, grip)
	collar := s.TurnX(s.Lathe([]s.P{{X: 1.7, Y: -3}, {X: 2.0, Y: -2.6}, {X: 2.0, Y: 2.6}, {X: 1.7, Y: 3}}, 20), 90)
	return s.Union(m, s.Move(collar, 0, -44, 0))
}

// A disc magnet of 3 × 1 mm lies in a pocket under each bollard, a little below
// its face.
const (
	magnetPocket = 3.3
	magnetDepth  = 1.2
)

// bollard stands on a flat foot, with or without the pocket for its magnet.
func bollard(pocket bool) *mesh.Mesh {
	m := s.Lathe([]s.P{{X: 7.6, Y: 0}, {X: 8, Y: 0.4}, {X: 8, Y: 1.8}, {X: 7.4, Y: 2.4}, {X: 5.2, Y: 3.4}, {X: 4.4, Y: 6}, {X: 4.2, Y: 11}, {X: 4.6, Y: 13}, {X: 6.4, Y: 14.4}, {X: 6.8, Y: 15.6}, {X: 6.4, Y: 17}, {X: 4.4, Y: 18.4}, {X: 1.6, Y: 19}}, 36)
	m = s.Union(m, s.Tube([]mesh.Vec{s.V(-9.4, 0, 9.6), s.V(-8.8, 0, 9.6), s.V(8.8, 0, 9.6), s.V(9.4, 0, 9.6)}, 18, 0.9, 1.4, 1.4, 0.9))
	for i := range 6 {
		a := 60*float64(i) + 30
		m = s.Union(m, s.TurnZ(s.Move(s.Extrude(s.Oval(0, 0, 0.95, 0.95, 2, 6), 1.2, 3.0, 0.2), 6.5, 0, 0), a))
	}
	if pocket {
		m = s.Drill(m, s.V(0, 0, -2), s.V(0, 0, magnetDepth), magnetPocket)
	}
	return m
}

// gull stands on one leg's worth of post, beak to the wind.
func gull() *mesh.Mesh {
	sec := func(y, rx, rz, z float64) s.Ring {
		var r s.Ring
		for _, p := range s.Oval(0, z, rx, rz, 2, 26) {
			r = append(r, s.V(p.X, y, p.Y))
		}
		return r
	}
	m := s.Loft(sec(13, 1.3, 0.75, 7.6), sec(9, 2.0, 1.15, 7.6), sec(4, 3.0, 2.6, 7.6), sec(-1, 3.4, 3.3, 7.9), sec(-4.4, 2.6, 2.8, 8.8), sec(-6.2, 1.4, 1.6, 9.8))
	neck := s.Tube(s.Curve(4, s.V(0, -3.4, 8.8), s.V(0, -5.4, 11), s.V(0, -6.0, 13.4)), 20, 2.3, 2.2, 2.1, 2.0, 1.95, 1.9, 1.85, 1.8, 1.8)
	m = s.Union(m, neck, s.Move(s.Ellipsoid(1.95, 2.3, 1.9, 24), 0, -6.4, 14.0))
	beak := s.Sweep(s.Curve(3, s.V(0, -7.6, 13.9), s.V(0, -9.8, 13.6), s.V(0, -11.0, 12.7)), [][]s.P{s.Oval(0, 0, 0.95, 0.95, 2, 14), s.Oval(0, 0, 0.85, 0.85, 2, 14), s.Oval(0, 0, 0.75, 0.8, 2, 14), s.Oval(0, 0, 0.65, 0.75, 2, 14), s.Oval(0, 0, 0.6, 0.7, 2, 14), s.Oval(0, 0, 0.45, 0.5, 2, 14), s.Oval(0, 0, 0.25, 0.25, 2, 14)})
	m = s.Union(m, beak)
	for _, x := range []float64{-1, 1} {
		wing := s.TurnZ(s.TurnX(s.Extrude(s.Closed(4, s.P{X: -6, Y: 0.6}, s.P{X: -3, Y: 3}, s.P{X: 3, Y: 3.1}, s.P{X: 9, Y: 1.4}, s.P{X: 14.6, Y: 0.55}, s.P{X: 14.8, Y: -0.95}, s.P{X: 9, Y: -1.6}, s.P{X: 2, Y: -2.4}, s.P{X: -4, Y: -2}), -0.8, 0.8, 0.3), 90), 90)
		wing = s.TurnY(s.TurnZ(wing, 5*x), -10*x)
		m = s.Union(m, s.Move(wing, 3.0*x, 1, 8.2), s.Move(s.Ball(0.42, 12), 1.62*x, -7.2, 14.6))
		leg := s.Tube([]mesh.Vec{s.V(1.3*x, 0.6, 6), s.V(1.3*x, 0.2, 0.6)}, 12, 0.85, 0.85)
		foot := s.Extrude([]s.P{{X: 1.3*x - 0.8, Y: 1.2}, {X: 1.3*x + 0.8, Y: 1.2}, {X: 1.3*x + 1.7, Y: -2.6}, {X: 1.3 * x, Y: -2.2}, {X: 1.3*x - 1.7, Y: -2.6}}, 0, 1.4, 0)
		m = s.Union(m, leg, foot)
	}
	return m
}

// crate is slatted, open above, with rope holes in its ends.
func crate() *mesh.Mesh {
	m := s.Subtract(s.Block(26, 18, 14, 0.3), s.Move(s.Block(23, 15, 20, 0), 0, 0, 1.6))
	for _, z := range []float64{4.4, 9.0} {
		for _, y := range []float64{-1, 1} {
			m = s.Subtract(m, s.Move(s.Block(20, 4, 1.2, 0), 0, 9*y, z))
		}
	}
	for _, x := range []float64{-11.6, 11.6} {
		for _, y := range []float64{-1, 1} {
			m = s.Union(m, s.Move(s.Block(2.6, 2.0, 15, 0.3), x, 8.6*y, 0))
		}
	}
	for _, x := range []float64{-1, 1} {
		for _, z := range []float64{4.4, 9.0} {
			m = s.Subtract(m, s.Move(s.Block(4, 12, 0.9, 0), 13*x, 0, z))
		}
		for _, y := range []float64{-3.2, 3.2} {
			m = s.Drill(m, s.V(9*x, y, 12), s.V(16*x, y, 12), cordHole)
		}
	}
	for i := range 3 {
		m = s.Subtract(m, s.Move(s.Block(21, 1.0, 6, 0), 0, -4+4*float64(i), -2))
	}
	return m
}

// pail has ears for a wire handle of 0.8 mm.
func pail() *mesh.Mesh {
	m := s.Lathe([]s.P{{X: 4.0, Y: 0}, {X: 4.2, Y: 0.3}, {X: 4.9, Y: 3.0}, {X: 5.3, Y: 3.2}, {X: 5.4, Y: 4.2}, {X: 5.15, Y: 4.4}, {X: 5.85, Y: 8.3}, {X: 6.3, Y: 8.5}, {X: 6.4, Y: 9.8}, {X: 6.1, Y: 10.1}}, 36)
	m = s.Subtract(m, s.Lathe([]s.P{{X: 3.1, Y: 1.2}, {X: 4.75, Y: 11}}, 36))
	for _, x := range []float64{-1, 1} {
		m = s.Union(m, s.Move(s.Disc(2.1, 1.8, 0.3, 24), 6.1*x, 0, 10.1))
	}
	return s.Drill(m, s.V(-9, 0, 10.2), s.V(9, 0, 10.2), hingeHole)
}

// creel is a lobster pot: hoops on a slatted floor, with a net's mouth.
func creel() *mesh.Mesh {
	m := s.Block(28, 17, 1.6, 0.3)
	for i := range 3 {
		m = s.Subtract(m, s.Move(s.Block(24, 1.6, 4, 0), 0, -4.6+4.6*float64(i), -1))
	}
	arch := func(x, r float64) *mesh.Mesh {
		var path []mesh.Vec
		for i := range 25 {
			si, co := math.Sincos(math.Pi * float64(i) / 24)
			path = append(path, s.V(x, -7.4*co, 0.8+12.6*si))
		}
		return s.Tube(path, 12, r)
	}
	for _, x := range []float64{-12.6, -4.2, 4.2, 12.6} {
		m = s.Union(m, arch(x, 0.95))
	}
	for _, a := range []float64{25, 58, 90, 122, 155} {
		si, co := math.Sincos(a * math.Pi / 180)
		m = s.Union(m, s.Tube([]mesh.Vec{s.V(-13.6, -7.4*co, 0.8+12.6*si), s.V(13.6, -7.4*co, 0.8+12.6*si)}, 10, 0.85))
	}
	for _, x := range []float64{-1, 1} {
		ring := s.Move(s.TurnY(s.Torus(3.0, 0.85, 28, 10), 90), 12.6*x, 0, 6.2)
		m = s.Union(m, ring)
		for _, a := range []float64{0, 120, 240} {
			si, co := math.Sincos((a + 90) * math.Pi / 180)
			r := 5.4
			if a == 0 {
				r = 7.2
			}
			m = s.Union(m, s.Tube([]mesh.Vec{s.V(12.6*x, 2.9*co, 6.2+2.9*si), s.V(12.7*x, (r+0.7)*co, 6.2+(r-0.1)*si)}, 10, 0.8))
		}
	}
	return m
}

// anchor has a stock, a ring and flukes; it lies flat.
func anchor() *mesh.Mesh {
	arms := s.Extrude(s.Closed(5, s.P{X: 0, Y: -13.6}, s.P{X: 7, Y: -11.6}, s.P{X: 11.4, Y: -5.4}, s.P{X: 9.6, Y: -5.0}, s.P{X: 5.8, Y: -9.2}, s.P{X: 0, Y: -10.6}, s.P{X: -5.8, Y: -9.2}, s.P{X: -9.6, Y: -5.0}, s.P{X: -11.4, Y: -5.4}, s.P{X: -7, Y: -11.6}), -1.3, 1.3, 0.3)
	m := s.Union(arms, s.Tube([]mesh.Vec{s.V(0, -12, 0), s.V(0, 11, 0)}, 18, 1.5, 1.2))
	for _, x := range []float64{-1, 1} {
		fluke := s.Extrude([]s.P{{X: 12.9 * x, Y: -2.6}, {X: 7.4 * x, Y: -5.0}, {X: 11.4 * x, Y: -8.4}}, -1.2, 1.2, 0.35)
		m = s.Union(m, fluke, s.Move(s.Ball(1.7, 18), 8.4*x, 8.4, 0))
	}
	m = s.Union(m, s.Tube([]mesh.Vec{s.V(-8.4, 8.4, 0), s.V(8.4, 8.4, 0)}, 16, 0.9))
	m = s.Union(m, s.Move(s.Disc(2.2, 2.6, 0.4, 24), 0, 12, 0))
	return s.Drill(m, s.V(-9, 12.2, 0), s.V(9, 12.2, 0), hingeHole)
}

// pulley is a block with one sheave slot, for elastic cord.
func pulley() *mesh.Mesh {
	m := s.TurnX(s.Extrude(s.Closed(5, s.P{X: 0, Y: -6.4}, s.P{X: 3.6, Y: -4.4}, s.P{X: 4.4, Y: 0}, s.P{X: 3.6, Y: 4.4}, s.P{X: 0, Y: 6.4}, s.P{X: -3.6, Y: 4.4}, s.P{X: -4.4, Y: 0}, s.P{X: -3.6, Y: -4.4}), -3.1, 3.1, 0.6), 90)
	m = s.Subtract(m, s.Move(s.Block(12, 2.0, 8.4, 0), 0, 0, -4.2))
	sheave := s.TurnX(s.Lathe([]s.P{{X: 3.3, Y: -1.2}, {X: 3.3, Y: -0.75}, {X: 2.6, Y: -0.2}, {X: 2.6, Y: 0.2}, {X: 3.3, Y: 0.75}, {X: 3.3, Y: 1.2}}, 28), 90)
	m = s.Union(m, sheave)
	for _, z := range []float64{-1, 1} {
		m = s.Union(m, s.Move(s.TurnX(s.Disc(2.2, 2.6, 0.35, 22), 0), 0, 0, 6.9*z))
		m = s.Drill(m, s.V(-5, 0, 7.1*z), s.V(5, 0, 7.1*z), cordHole)
	}
	return m
}

// ropeCoil is a rope laid down in five turns, its end thrown over the last.
func ropeCoil() *mesh.Mesh {
	turns := [][3]float64{{6.4, 0.1, 0}, {6.1, -0.25, 0.2}, {6.5, 0.2, -0.2}, {6.0, 0.1, 0.3}, {6.3, -0.2, -0.1}}
	var m *mesh.Mesh
	for i, t := range turns {
		ring := s.Move(s.TurnX(s.Torus(t[0], 1.05, 44, 12), 1.5*t[1]), t[1], t[2], 1.1+1.62*float64(i))
		if m == nil {
			m = ring
		} else {
			m = s.Union(m, ring)
		}
	}
	end := s.Tube(s.Curve(5, s.V(-5.6, 2.6, 7.4), s.V(-3.0, 5.2, 9.2), s.V(1.6, 6.4, 9.4), s.V(5.6, 6.6, 7.6), s.V(8.2, 7.0, 4.0), s.V(10.4, 8.2, 1.2), s.V(13.4, 9.2, 1.05)), 12, 1.05)
	whip := s.Tube([]mesh.Vec{s.V(11.6, 8.6, 1.06), s.V(13.0, 9.07, 1.06)}, 14, 1.3)
	return s.Union(m, end, whip)
}
