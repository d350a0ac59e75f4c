package main

import (
	s "cardback/cmd/demoparts/solid"
	"cardback/internal/mesh"
)

const dredgerDir = "05-walking-dredger"

// The dredger's shafts are rod of 2.0 mm; one cut serves both processes, so the
// holes take the larger allowance.
const (
	shaftHole = 2.3
	cordHole  = 1.1 // for elastic cord of 0.8 mm
)

// Where the hull is cut for small plates, and where its shafts lie.
const (
	cutX    = 29.0
	axleX   = 54.0
	axleZ   = 25.0
	doweled = 6.5 // depth of the dowel holes to each side of a cut
)

// walkingDredger is release 5: a barge of 172 mm on four bird's legs, with a
// crane. The hull is offered whole and in three pieces.
func walkingDredger() []file {
	var fs []file
	add := func(part string, threeMF bool, m *mesh.Mesh) {
		fs = append(fs, file{release: dredgerDir, part: part, cut: "any", threeMF: threeMF, mesh: s.Tidy(m)})
	}
	hull := dredgerHull()
	add("hull", true, hull)
	fore, mid, aft := dredgerPieces(hull)
	add("hull-fore", false, fore)
	add("hull-mid", false, mid)
	add("hull-aft", false, aft)
	add("wheelhouse", false, wheelhouse())
	add("funnel", false, funnel())
	add("leg-upper", false, legUpper())
	add("leg-lower", false, legLower())
	add("foot", false, birdFoot())
	add("turntable", false, turntable())
	add("boom", false, boom())
	add("bucket", true, bucket())
	return fs
}

// frame is one section of the hull at x: half-beam at the bilge and at the
// rail, height of the keel and of the rail.
func frame(x, bilge, beam, keel, rail float64) s.Ring {
	half := [][2]float64{ // y, z on the starboard side from the keel up
		{bilge * 0.55, keel}, {bilge * 0.9, keel + 1.2}, {bilge, keel + 3.2},
		{(bilge + beam*2) / 3, keel + 12}, {beam, rail - 9}, {beam, rail - 7.6}, {beam + 1.5, rail - 6.8}, {beam + 1.5, rail - 4.4}, {beam, rail - 3.6}, {beam, rail - 0.6}, {beam - 0.6, rail},
	}
	var r s.Ring
	for _, p := range half {
		r = append(r, s.V(x, p[0], p[1]))
	}
	for i := range half {
		p := half[len(half)-1-i]
		r = append(r, s.V(x, -p[0], p[1]))
	}
	return r
}

func dredgerHull() *mesh.Mesh {
	m := s.Loft(
		frame(-86, 17, 25, 12, 43), frame(-84, 20, 28, 8.5, 42.5), frame(-76, 24, 31, 4, 41), frame(-64, 27, 33, 1, 39.5), frame(-48, 28, 33.6, 0, 38.5),
		frame(0, 28, 34, 0, 38), frame(44, 28, 33.6, 0, 39), frame(60, 26, 33, 2, 40.5), frame(72, 21, 30.4, 7, 42.5), frame(80, 14, 25.6, 14, 44.5), frame(86, 6, 17, 22, 46.4))
	// Deck and hold.
	var deck []s.Ring
	for _, q := range [][3]float64{{-82, 25, 0}, {-76, 28, 0}, {-48, 30.6, 0}, {0, 31, 0}, {44, 30.6, 0}, {60, 29.6, 0}, {71, 26, 0}, {78, 20, 0}} {
		deck = append(deck, s.Ring{s.V(q[0], -q[1], 34), s.V(q[0], q[1], 34), s.V(q[0], q[1], 60), s.V(q[0], -q[1], 60)})
	}
	m = s.Subtract(m, s.Loft(deck...))
	hold := s.Move(s.Extrude(s.Rect(0, 0, 62, 40, 5, 4), 9, 50, 0), 0, 0, 0)
	m = s.Subtract(m, hold)
	// Coaming round the hold.
	coaming := s.Subtract(s.Extrude(s.Rect(0, 0, 68, 46, 7, 5), 32.5, 38.6, 0.6), s.Extrude(s.Rect(0, 0, 62.3, 40.3, 5, 5), 30, 50, 0))
	m = s.Union(m, coaming)
	// Hubs for the legs.
	for _, x := range []float64{-axleX, axleX} {
		for _, y := range []float64{-1, 1} {
			hub := s.Move(s.TurnZ(s.Disc(9.0, 14, 0.9, 40), 90), x, 32*y, axleZ)
			boss := s.Move(s.TurnZ(s.Disc(5.6, 4, 0.5, 32), 90), x, 38*y, axleZ)
			m = s.Union(m, hub, boss)
			for i := range 6 {
				bolt := s.TurnY(s.Move(s.TurnZ(s.Disc(0.9, 2.2, 0.25, 6), 90), 7.3, 0, 0), 60*float64(i)+15)
				m = s.Union(m, s.Move(bolt, x, 39*y, axleZ))
			}
			m = s.Drill(m, s.V(x, 50*y, axleZ), s.V(x, 24*y, axleZ), shaftHole)
		}
	}
	// Portholes: rims and blind lights.
	for _, x := range []float64{-33, -20, -7, 7, 20, 33} {
		for _, y := range []float64{-1, 1} {
			rim := s.Move(s.TurnX(s.Torus(2.9, 0.75, 28, 8), 90), x, 33.1*y, 22)
			m = s.Union(m, rim)
			m = s.Drill(m, s.V(x, 40*y, 22), s.V(x, 30*y, 22), 4.6)
		}
	}
	// Hawse holes at the bow, and a ring for the turntable on the foredeck.
	for _, y := range []float64{-1, 1} {
		m = s.Drill(m, s.V(84, 30*y, 41.2), s.V(66, 8*y, 37), 3.4)
	}
	m = s.Union(m, s.Move(s.Lathe([]s.P{{X: 13.5, Y: 32}, {X: 13.5, Y: 35.4}, {X: 12.7, Y: 36.2}}, 48), 54, 0, 0))
	m = s.Drill(m, s.V(54, 0, 50), s.V(54, 0, 22), shaftHole)
	// Seat of the wheelhouse on the afterdeck, with two dowels.
	for _, y := range []float64{-10, 10} {
		m = s.Drill(m, s.V(-58, y, 50), s.V(-58, y, 27), shaftHole)
	}
	// Deck cleats.
	for _, x := range []float64{-72, 38, -38} {
		for _, y := range []float64{-1, 1} {
			cleat := s.Union(s.Tube([]mesh.Vec{s.V(-3.4, 0, 2.6), s.V(-1.8, 0, 2.2), s.V(1.8, 0, 2.2), s.V(3.4, 0, 2.6)}, 12, 0.9, 1.1, 1.1, 0.9), s.Move(s.Block(2.6, 2.0, 2.8, 0.2), 0, 0, -0.8))
			m = s.Union(m, s.Move(cleat, x, 26.2*y, 34))
		}
	}
	return m
}

// dredgerPieces cuts the hull in three and drills the cut faces for dowels.
func dredgerPieces(hull *mesh.Mesh) (fore, mid, aft *mesh.Mesh) {
	box := func(x0, x1 float64) *mesh.Mesh {
		return s.Move(s.Block(x1-x0, 200, 200, 0), (x0+x1)/2, 0, -50)
	}
	fore = s.Intersect(hull, box(cutX, 200))
	mid = s.Intersect(hull, box(-cutX, cutX))
	aft = s.Intersect(hull, box(-200, -cutX))
	for _, y := range []float64{-18, 18} {
		for _, x := range []float64{-cutX, cutX} {
			a, b := s.V(x-doweled, y, 4.6), s.V(x+doweled, y, 4.6)
			mid = s.Drill(mid, a, b, shaftHole)
			if x > 0 {
				fore = s.Drill(fore, a, b, shaftHole)
			} else {
				aft = s.Drill(aft, a, b, shaftHole)
			}
		}
	}
	return fore, mid, aft
}

// wheelhouse is a cabin with open windows; the front leans forward.
func wheelhouse() *mesh.Mesh {
	plan := s.Rect(0, 0, 34, 40, 3, 4)
	top := s.Rect(1.2, 0, 36.4, 40, 3, 4)
	m := s.Loft(s.At(0, s.Rect(0, 0, 33, 39, 3, 4)), s.At(0.6, plan), s.At(30, top))
	roof := s.Loft(s.At(29.4, s.Rect(1.2, 0, 40, 44, 4, 4)), s.At(30.2, s.Rect(1.2, 0, 42, 46, 4, 4)), s.At(31.6, s.Rect(1.2, 0, 42, 46, 4, 4)), s.At(34.4, s.Rect(1.2, 0, 30, 34, 4, 4)))
	m = s.Union(m, roof)
	m = s.Subtract(m, s.Loft(s.At(-2, s.Rect(0, 0, 28, 34, 2, 3)), s.At(26.6, s.Rect(1, 0, 30, 34, 2, 3)), s.At(28.4, s.Rect(1, 0, 24, 28, 2, 3))))
	// Windows right across, front and aft, and on both sides.
	pane := func(w, h float64) *mesh.Mesh { return s.Extrude(s.Rect(0, 0, w, h, 1.2, 3), -40, 40, 0) }
	for _, y := range []float64{-11.6, 0, 11.6} {
		m = s.Subtract(m, s.Move(s.TurnZ(s.TurnX(pane(9.2, 9.4), 90), 90), 0, y, 20))
	}
	for _, x := range []float64{-7.6, 9.4} {
		m = s.Subtract(m, s.Move(s.TurnX(pane(11, 9.4), 90), x, 0, 20))
	}
	// A rail, a plank line, a door with a handle.
	band := s.Subtract(s.Loft(s.At(12, s.Rect(0.5, 0, 36, 41.2, 3, 4)), s.At(13.6, s.Rect(0.5, 0, 36.2, 41.2, 3, 4))), s.Extrude(s.Rect(0, 0, 30, 36, 2, 3), 0, 30, 0))
	m = s.Union(m, band)
	door := s.Move(s.TurnZ(s.TurnX(s.Block(10, 11, 1.6, 0.3), 90), 90), -17.9, -8, 6)
	m = s.Union(m, door, s.Move(s.Ball(0.9, 16), -18.1, -5, 6))
	m = s.Union(m, s.Move(s.Lathe([]s.P{{X: 2.6, Y: 0}, {X: 2.6, Y: 3}, {X: 3.4, Y: 4.4}, {X: 2.0, Y: 6}}, 24), 8, 12, 32))
	lamp := s.Union(s.Lathe([]s.P{{X: 0.9, Y: 0}, {X: 0.9, Y: 9}}, 16), s.Move(s.Ball(2.1, 20), 0, 0, 10))
	return s.Union(m, s.Move(lamp, 8, -12, 31))
}

// funnel is a raked, banded stack with an open mouth.
func funnel() *mesh.Mesh {
	m := s.Lathe([]s.P{{X: 8.6, Y: 0}, {X: 9, Y: 0.5}, {X: 9, Y: 2.4}, {X: 7.2, Y: 3.4}, {X: 6.8, Y: 16}, {X: 7.5, Y: 16.6}, {X: 7.5, Y: 19}, {X: 6.8, Y: 19.6}, {X: 6.7, Y: 25}, {X: 7.5, Y: 25.6}, {X: 7.5, Y: 28}, {X: 6.7, Y: 28.6}, {X: 6.6, Y: 36}, {X: 8.0, Y: 37.6}, {X: 8.0, Y: 39.4}, {X: 7.2, Y: 40.2}}, 40)
	m = s.Subtract(m, s.Lathe([]s.P{{X: 4.6, Y: 8}, {X: 4.9, Y: 32}, {X: 6.2, Y: 42}}, 32))
	pipe := s.Tube(s.Curve(5, s.V(9.2, 0, 1), s.V(9.6, 0, 8), s.V(9.3, 0, 24), s.V(9.6, 0, 33), s.V(11.6, 0, 36.2)), 14, 1.15)
	m = s.Union(m, pipe)
	for _, z := range []float64{6, 22, 31} {
		m = s.Union(m, s.Move(s.Block(4.4, 1.8, 1.8, 0.2), 7.6, 0, z))
	}
	return s.Drill(m, s.V(0, 0, -2), s.V(0, 0, 6.4), shaftHole)
}

// link is a flat bar with round ends about two pivots, one above the other.
func link(l, r0, r1, w, c float64) *mesh.Mesh {
	waist := s.Closed(6,
		s.P{X: -r0 * 0.92, Y: 0}, s.P{X: 0, Y: -r0 * 0.5}, s.P{X: r0 * 0.92, Y: 0},
		s.P{X: (r0 + r1) * 0.36, Y: l * 0.5}, s.P{X: r1 * 0.92, Y: l}, s.P{X: 0, Y: l + r1*0.5}, s.P{X: -r1 * 0.92, Y: l}, s.P{X: -(r0 + r1) * 0.36, Y: l * 0.5})
	bar := s.TurnZ(s.TurnX(s.Extrude(waist, -w/2, w/2, c), 90), 90) // plan's y becomes z, thickness lies along x
	return s.Union(bar, s.Disc(r0, w+0.6, 0.6, 40), s.Move(s.Disc(r1, w+0.6, 0.6, 40), 0, 0, l))
}

// legUpper: knee at the origin, hip 46 above.
func legUpper() *mesh.Mesh {
	m := link(46, 6.4, 8, 11, 0.8)
	for _, q := range [][2]float64{{14.5, 4.2}, {22.5, 5.2}, {32, 6.4}} {
		m = s.Drill(m, s.V(-20, 0, q[0]), s.V(20, 0, q[0]), q[1])
	}
	// The fork: round above, and open at the sides below, so that no sliver stands
	// beside the round.
	m = s.Subtract(m, s.Disc(7.6, 5.2, 0.01, 40), s.Move(s.Block(5.2, 30, 14.4, 0), 0, 0, -8))
	ram := s.Union(s.Tube([]mesh.Vec{s.V(0, -6.2, 14), s.V(0, -7.4, 30)}, 20, 2.4), s.Tube([]mesh.Vec{s.V(0, -7.2, 27), s.V(0, -7.9, 40)}, 16, 1.5))
	m = s.Union(m, ram, s.Move(s.Block(5, 8, 3, 0.4), 0, -4, 13), s.Move(s.Block(4.6, 8, 3, 0.4), 0, -4.6, 38))
	m = s.Union(m, s.Move(s.Disc(4.6, 14, 0.6, 6), 0, 0, 46))
	return pin(pin(m, 0, 0, shaftHole), 0, 46, shaftHole)
}

// legLower: ankle at the origin, knee 40 above.
func legLower() *mesh.Mesh {
	m := link(40, 5.2, 6.2, 4.0, 0.6)
	spine := limb(28, 2.4, [4]float64{6.5, 3.4, 2.8, 0}, [4]float64{8, 4.4, 3.9, 0}, [4]float64{14, 4.0, 3.7, 0}, [4]float64{25, 4.6, 4.6, 0.3}, [4]float64{29, 4.8, 4.6, 0.3}, [4]float64{31.4, 3.2, 3.4, 0})
	m = s.Union(m, spine)
	for _, z := range []float64{10, 12.4, 14.8} {
		m = s.Union(m, s.Move(s.Stretch(s.Torus(3.9, 0.9, 32, 8), 1.08, 1, 1), 0, 0, z))
	}
	m = s.Union(m, s.Move(s.TurnZ(s.Extrude([]s.P{{X: -4.6, Y: -1.1}, {X: -4.6, Y: 1.1}, {X: -8.4, Y: 0.4}, {X: -8.4, Y: -0.4}}, 18, 28, 0), -90), 0, 0, 0))
	return pin(pin(m, 0, 0, shaftHole), 0, 40, shaftHole)
}

// birdFoot has three toes forward and a spur behind; the ankle is 10 up.
func birdFoot() *mesh.Mesh {
	web := s.Extrude(s.Closed(5, s.P{X: -3.4, Y: 12}, s.P{X: 3.4, Y: 12}, s.P{X: 5.4, Y: 2}, s.P{X: 15, Y: -12}, s.P{X: 17, Y: -17}, s.P{X: 12.6, Y: -17.6}, s.P{X: 7, Y: -15.4}, s.P{X: 2.6, Y: -19.6}, s.P{X: 0, Y: -22}, s.P{X: -2.6, Y: -19.6}, s.P{X: -7, Y: -15.4}, s.P{X: -12.6, Y: -17.6}, s.P{X: -17, Y: -17}, s.P{X: -15, Y: -12}, s.P{X: -5.4, Y: 2}), 0, 2.4, 0.5)
	toe := func(ps ...mesh.Vec) *mesh.Mesh {
		path := s.Curve(4, ps...)
		radii := make([]float64, len(path))
		for i := range radii {
			radii[i] = 2.7 - 1.5*float64(i)/float64(len(radii)-1)
		}
		return s.Tube(path, 16, radii...)
	}
	m := s.Union(web,
		toe(s.V(0, 2, 4.6), s.V(0, -8, 3.4), s.V(0, -16, 2.4), s.V(0, -22.4, 1.6)),
		toe(s.V(1, 2, 4.4), s.V(6, -6, 3.3), s.V(11.6, -13, 2.3), s.V(15.8, -17.4, 1.6)),
		toe(s.V(-1, 2, 4.4), s.V(-6, -6, 3.3), s.V(-11.6, -13, 2.3), s.V(-15.8, -17.4, 1.6)),
		toe(s.V(0, 0, 4.6), s.V(0, 6, 3.4), s.V(0, 11, 2.2), s.V(0, 14, 1.7)))
	m = s.Union(m, s.Move(s.Disc(5.4, 12, 0.7, 36), 0, 1, 10), s.Move(limb(28, 2.6, [4]float64{1, 6.2, 6.4, 0}, [4]float64{3, 6.0, 6.0, 0}, [4]float64{10, 5.7, 4.6, 0}), 0, 1, 0))
	m = s.Subtract(m, s.Move(s.Disc(6.4, 5.2, 0.01, 40), 0, 1, 10))
	m = cutBelow(m)
	return pin(m, 1, 10, shaftHole)
}

// turntable carries the boom between two cheeks.
func turntable() *mesh.Mesh {
	m := s.Lathe([]s.P{{X: 12.2, Y: 0}, {X: 13, Y: 0.6}, {X: 13, Y: 3.4}, {X: 12, Y: 4.4}, {X: 9, Y: 5}}, 48)
	cheek := s.TurnZ(s.TurnX(s.Extrude(s.Closed(5, s.P{X: -9, Y: 3}, s.P{X: 9, Y: 3}, s.P{X: 6.6, Y: 12}, s.P{X: 4.4, Y: 20}, s.P{X: 0, Y: 22.4}, s.P{X: -4.4, Y: 20}, s.P{X: -6.6, Y: 12}), -1.7, 1.7, 0.5), 90), 90)
	for _, x := range []float64{-1, 1} {
		c := s.Drill(cheek, s.V(-9, 0, 10), s.V(9, 0, 10), 4.4)
		m = s.Union(m, s.Move(c, x*5.4, 0, 0), s.Move(s.Disc(3.4, 2.0, 0.4, 32), x*7.4, 0, 18))
	}
	drum := s.Union(s.Disc(3.0, 9, 0.01, 32), s.Move(s.Disc(4.4, 1.2, 0.3, 32), 3.2, 0, 0), s.Move(s.Disc(4.4, 1.2, 0.3, 32), -3.2, 0, 0))
	m = s.Union(m, s.Move(drum, 0, -0.3, 8.6))
	m = pin(m, 0, 18, shaftHole)
	return s.Drill(m, s.V(0, 0, -2), s.V(0, 0, 4.2), shaftHole)
}

// boom is a lattice girder of 100 mm, lying on its side, with a sheave slot at
// the tip and an eye for the cord.
func boom() *mesh.Mesh {
	outline := []s.P{{X: -5, Y: -4}, {X: -2, Y: -6}, {X: 12, Y: -7}, {X: 92, Y: -3.6}, {X: 95.4, Y: -3.2}, {X: 97.4, Y: -1}, {X: 97.4, Y: 1.4}, {X: 95.4, Y: 3.2}, {X: 92, Y: 3.6}, {X: 12, Y: 7}, {X: -2, Y: 6}, {X: -5, Y: 4}}
	m := s.Extrude(outline, -3.4, 3.4, 0.6)
	for i := range 7 {
		x0 := 9.6 + 11.3*float64(i)
		x1 := x0 + 9.2
		h := func(x float64) float64 { return 7 - 3.4*(x-12)/80 - 1.9 }
		up := []s.P{{X: x0, Y: -h(x0)}, {X: x1, Y: -h(x1)}, {X: x0, Y: h(x0) - 2.0}}
		down := []s.P{{X: x1 + 0.2, Y: h(x1)}, {X: x0 + 1.9, Y: h(x0)}, {X: x1 + 0.2, Y: -h(x1) + 1.9}}
		if i%2 == 1 {
			up = []s.P{{X: x0, Y: h(x0)}, {X: x0, Y: -h(x0) + 2.0}, {X: x1, Y: h(x1)}}
			down = []s.P{{X: x1 + 0.2, Y: -h(x1)}, {X: x1 + 0.2, Y: h(x1) - 1.9}, {X: x0 + 1.9, Y: -h(x0)}}
		}
		m = s.Subtract(m, s.Extrude(up, -8, 8, 0), s.Extrude(down, -8, 8, 0))
	}
	// Open sides: the girder is two lattices joined by its chords.
	m = s.Subtract(m, s.Loft(
		s.Ring{s.V(16, -12, -1.5), s.V(16, 12, -1.5), s.V(16, 12, 1.5), s.V(16, -12, 1.5)},
		s.Ring{s.V(84, -12, -1.5), s.V(84, 12, -1.5), s.V(84, 12, 1.5), s.V(84, -12, 1.5)}))
	m = s.Union(m, s.Move(s.TurnY(s.Disc(5, 7.4, 0.5, 36), 90), 0, 0, 0))
	m = s.Subtract(m, s.Move(s.Block(8, 12, 2.6, 0), 95.6, 0, -1.3))
	m = s.Drill(m, s.V(0, 0, -9), s.V(0, 0, 9), shaftHole)
	return s.Drill(m, s.V(94.6, 0, -9), s.V(94.6, 0, 9), cordHole)
}

// bucket is an open grab with five teeth and two ears.
func bucket() *mesh.Mesh {
	side := []s.P{{X: -10, Y: 16}, {X: -11, Y: 8}, {X: -8, Y: 2}, {X: -3, Y: 0}, {X: 3, Y: 0.4}, {X: 9, Y: 3.4}, {X: 15, Y: 8.6}, {X: 14, Y: 10}, {X: 11, Y: 16}}
	out := s.TurnZ(s.TurnX(s.Extrude(side, -12, 12, 0.7), 90), -90)
	in := s.TurnZ(s.TurnX(s.Extrude([]s.P{{X: -8.4, Y: 20}, {X: -9.2, Y: 8.4}, {X: -6.8, Y: 3.6}, {X: -2.7, Y: 2}, {X: 2.4, Y: 2.3}, {X: 8, Y: 5}, {X: 18, Y: 13.2}, {X: 18, Y: 20}}, -10.2, 10.2, 0), 90), -90)
	m := s.Subtract(out, in)
	for i := range 5 {
		tooth := s.Loft(
			s.Ring{s.V(-1.4, 0, -1.1), s.V(1.4, 0, -1.1), s.V(1.4, 0, 1.1), s.V(-1.4, 0, 1.1)},
			s.Ring{s.V(-0.9, 6.0, -0.75), s.V(0.9, 6.0, -0.75), s.V(0.9, 6.0, 0.75), s.V(-0.9, 6.0, 0.75)})
		tooth = s.TurnZ(s.TurnX(tooth, -40), 180)
		m = s.Union(m, s.Move(tooth, -9.6+4.8*float64(i), -12.4, 7.4))
	}
	for _, x := range []float64{-1, 1} {
		ear := s.Union(s.Disc(3.2, 2.4, 0.4, 28), s.Move(s.Block(2.4, 6, 6, 0.3), 0, 0, -5.6))
		m = s.Union(m, s.Move(ear, 10.9*x, 0.5, 19))
	}
	for _, z := range []float64{5.4, 9.6} {
		m = s.Union(m, s.Move(s.Block(20, 1.8, 1.4, 0.3), 0, 10.2, z))
	}
	return pin(m, 0.5, 19, cordHole)
}
