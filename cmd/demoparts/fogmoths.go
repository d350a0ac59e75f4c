package main

import (
	s "cardback/cmd/demoparts/solid"
	"cardback/internal/mesh"
)

const fogMothsDir = "03-fog-moths"

// Holes of the moths: the rod or wire and an allowance.
const (
	hingeHole = 1.1 // for wire of 0.8 mm
	standHole = 1.3 // for rod of 1.0 mm
	wingThick = 1.0
)

// fogMoths is release 3: a moth of about 115 mm span with hinged wings that hovers
// on a rod over a bank of fog, and a small one that sits.
func fogMoths() []file {
	var fs []file
	add := func(part, cut string, m *mesh.Mesh) {
		fs = append(fs, file{release: fogMothsDir, part: part, cut: cut, mesh: s.Tidy(m)})
	}
	add("body", "any", mothBody())
	add("forewing", "any", forewing())
	add("hindwing", "any", hindwing())
	add("antenna", "resin", mothAntenna()) // its teeth are finer than a filament nozzle
	add("fog-bank", "any", fogBank())
	add("small-moth", "any", smallMoth())
	return fs
}

// Hinge barrels along y: the wings' roots lie between the body's lugs.
var (
	foreBarrel = [2]float64{-8.15, -3.85}
	hindBarrel = [2]float64{-1.75, 2.55}
	lugs       = [][2]float64{{-10.2, -8.45}, {-3.55, -2.05}, {2.85, 4.6}}
)

// wing raises an outline to a thin plate, adds veins on its upper side and
// opens round windows in it.
func wing(outline []s.P, barrel [2]float64, veins [][]s.P, windows [][3]float64) *mesh.Mesh {
	m := s.Extrude(outline, 0, wingThick, 0.25)
	for _, v := range veins {
		var path []mesh.Vec
		for _, p := range v {
			path = append(path, s.V(p.X, p.Y, 0.72))
		}
		path = s.Curve(4, path...)
		radii := make([]float64, len(path))
		for i := range radii {
			radii[i] = 0.66 - 0.2*float64(i)/float64(len(radii)-1)
		}
		m = s.Union(m, s.Tube(path, 10, radii...))
	}
	for _, w := range windows {
		rim := s.Move(s.Torus(w[2]+0.35, 0.5, 32, 8), w[0], w[1], 0.78)
		m = s.Union(m, rim)
	}
	for _, w := range windows {
		m = s.Drill(m, s.V(w[0], w[1], -1), s.V(w[0], w[1], 3), 2*w[2])
	}
	root := s.Rod(s.V(0, barrel[0], 1.72), s.V(0, barrel[1], 1.72), 3.3, 20)
	m = s.Union(m, root)
	return s.Drill(m, s.V(0, barrel[0]-3, 1.72), s.V(0, barrel[1]+3, 1.72), hingeHole)
}

// forewing: scalloped, with one large window and a row of small ones.
func forewing() *mesh.Mesh {
	y := (foreBarrel[0] + foreBarrel[1]) / 2
	at := func(ps ...s.P) []s.P {
		for i := range ps {
			ps[i].Y += y
		}
		return ps
	}
	outline := s.Closed(4, at(
		s.P{X: 0.6, Y: -1.7}, s.P{X: 5, Y: -3.6}, s.P{X: 14, Y: -9.5}, s.P{X: 29, Y: -17}, s.P{X: 42, Y: -21.5}, s.P{X: 49.5, Y: -21.5}, s.P{X: 51.5, Y: -17.5},
		s.P{X: 49.2, Y: -12.5}, s.P{X: 50.2, Y: -8}, s.P{X: 47.2, Y: -3.8}, s.P{X: 47.4, Y: 0.6}, s.P{X: 43.6, Y: 4}, s.P{X: 41.6, Y: 8.2}, s.P{X: 36, Y: 8.4},
		s.P{X: 31, Y: 10}, s.P{X: 22, Y: 7}, s.P{X: 10, Y: 3.4}, s.P{X: 4, Y: 2.0}, s.P{X: 0.6, Y: 1.7})...)
	veins := [][]s.P{
		at(s.P{X: 2, Y: -0.9}, s.P{X: 14, Y: -7.3}, s.P{X: 30, Y: -15}, s.P{X: 46, Y: -19.5}),
		at(s.P{X: 3, Y: -0.4}, s.P{X: 14, Y: -4.4}, s.P{X: 24.5, Y: -10}, s.P{X: 36, Y: -14.2}, s.P{X: 47.2, Y: -14.6}),
		at(s.P{X: 3, Y: 0.1}, s.P{X: 14, Y: -1.8}, s.P{X: 24, Y: -2.6}, s.P{X: 34, Y: -2}, s.P{X: 45, Y: -2.6}),
		at(s.P{X: 3, Y: 0.6}, s.P{X: 14, Y: 1.2}, s.P{X: 24, Y: 3.4}, s.P{X: 34, Y: 6.3}),
	}
	windows := [][3]float64{{31, y - 7.6, 3.3}, {44.6, y - 9.4, 1.1}, {43.2, y - 5.4, 1.0}, {40.6, y + 1.2, 1.0}, {37, y + 4.4, 0.9}}
	return wing(outline, foreBarrel, veins, windows)
}

// hindwing: round, with a short tail.
func hindwing() *mesh.Mesh {
	outline := s.Closed(4,
		s.P{X: 0.6, Y: -1.4}, s.P{X: 5, Y: -2.4}, s.P{X: 14, Y: -4.2}, s.P{X: 25, Y: -4.0}, s.P{X: 33, Y: -0.5}, s.P{X: 35.6, Y: 5}, s.P{X: 33.2, Y: 9.4}, s.P{X: 33.6, Y: 14},
		s.P{X: 29.4, Y: 17}, s.P{X: 28.6, Y: 22}, s.P{X: 26.4, Y: 28.5}, s.P{X: 22.8, Y: 30.6}, s.P{X: 20.6, Y: 27}, s.P{X: 20, Y: 22.6}, s.P{X: 15, Y: 20.6}, s.P{X: 9.4, Y: 13.4}, s.P{X: 4, Y: 4.4}, s.P{X: 0.6, Y: 1.9})
	veins := [][]s.P{
		{{X: 2.5, Y: -0.5}, {X: 14, Y: -1.9}, {X: 24, Y: -0.9}, {X: 32, Y: 3}},
		{{X: 2.5, Y: 0.2}, {X: 11, Y: 3.8}, {X: 16, Y: 5.4}, {X: 25.4, Y: 13.6}, {X: 31, Y: 14.2}},
		{{X: 2.5, Y: 0.8}, {X: 9, Y: 7}, {X: 15.4, Y: 14.6}, {X: 22.6, Y: 22}, {X: 23.2, Y: 28}},
	}
	windows := [][3]float64{{22.2, 5.4, 2.7}, {17, 11.2, 1.1}, {20.8, 15.2, 1.2}}
	return wing(outline, hindBarrel, veins, windows)
}

// mothBody: origin midway between the hinges, head towards −y.
func mothBody() *mesh.Mesh {
	// Built upright along z (head up), then laid down.
	thorax := limb(32, 2.1,
		[4]float64{-7, 3.0, 2.8, 0}, [4]float64{-5, 4.2, 4.0, 0}, [4]float64{0, 4.7, 4.5, 0}, [4]float64{5, 4.6, 4.4, 0}, [4]float64{8.5, 3.6, 3.5, 0}, [4]float64{10.2, 2.2, 2.2, 0})
	var belly []s.P
	belly = append(belly, s.P{X: 0.4, Y: -31.2})
	for i := range 7 {
		z := -30.4 + 3.6*float64(i)
		r := 1.5 + 0.42*float64(i)
		belly = append(belly, s.P{X: r, Y: z}, s.P{X: r + 0.75, Y: z + 1.6}, s.P{X: r + 0.5, Y: z + 3.0})
	}
	belly = append(belly, s.P{X: 2.6, Y: -4.6})
	m := s.Union(thorax, s.Lathe(belly, 32))
	// Three ruffs of fur behind the head: toothed collars.
	for i, z := range []float64{8.4, 5.6, 2.6} {
		r := []float64{4.1, 5.2, 5.5}[i]
		var low, mid, high []s.P
		for k := range 44 {
			q := s.Oval(0, 0, 1, 0.96, 2, 44)[k]
			d := r + 0.55*float64(k%2)
			low = append(low, s.P{X: q.X * d, Y: q.Y * d})
			mid = append(mid, s.P{X: q.X * (r + 0.1), Y: q.Y * (r + 0.1)})
			high = append(high, s.P{X: q.X * (r - 1.0), Y: q.Y * (r - 1.0)})
		}
		m = s.Union(m, s.Loft(s.At(z-1.5, high), s.At(z-1.7, low), s.At(z-0.4, mid), s.At(z+0.9, high)))
	}
	head := s.Move(s.Ellipsoid(2.9, 2.6, 2.4, 28), 0, 0, 11.6)
	m = s.Union(m, head)
	for _, x := range []float64{-1, 1} {
		m = s.Union(m, s.Move(s.Ball(1.55, 20), 2.15*x, 0.5, 12.3))
		// Sockets for the antennae.
		// Square, as the pegs are, so that the combs cannot turn.
		socket := []s.P{{X: -0.52, Y: -0.52}, {X: 0.52, Y: -0.52}, {X: 0.52, Y: 0.52}, {X: -0.52, Y: 0.52}}
		m = s.Subtract(m, s.Sweep([]mesh.Vec{s.V(1.05*x, 1.0, 12.2), s.V(2.3*x, 2.8, 17)}, [][]s.P{socket, socket}))
		// Lugs of the hinge.
		for _, l := range lugs {
			lug := s.Union(
				s.Rod(s.V(5.8*x, 1.2, -l[0]), s.V(5.8*x, 1.2, -l[1]), 4.0, 20),
				s.Move(s.Block(4.4, 2.2, l[1]-l[0]-0.1, 0.2), 3.9*x, 1.2, -l[1]+0.05))
			m = s.Union(m, lug)
		}
		m = s.Drill(m, s.V(5.8*x, 1.2, -14), s.V(5.8*x, 1.2, 16), hingeHole)
		// Legs folded along the belly.
		for i := range 3 {
			z := 6.0 - 3.4*float64(i)
			leg := s.Tube(s.Curve(4, s.V(1.6*x, -3.0, z), s.V(3.4*x, -4.9, z-1), s.V(3.0*x, -5.2, z-4), s.V(1.9*x, -5.5, z-6)), 10, 0.78)
			m = s.Union(m, leg)
		}
	}
	m = s.Drill(m, s.V(0, -12, -1), s.V(0, 1.4, -1), standHole)
	return s.TurnX(m, 90) // head towards −y, belly down
}

// mothAntenna is a feathered comb on a peg.
func mothAntenna() *mesh.Mesh {
	var right, left []s.P
	for i := range 9 {
		y := 4.2 + 1.9*float64(i)
		w := []float64{1.6, 2.5, 3.0, 3.2, 3.1, 2.8, 2.4, 1.9, 1.5}[i]
		right = append(right, s.P{X: 0.5, Y: y}, s.P{X: 0.5 + w, Y: y + 0.9}, s.P{X: 0.5 + w, Y: y + 1.5}, s.P{X: 0.5, Y: y + 0.85})
		left = append(left, s.P{X: -0.5, Y: y}, s.P{X: -0.5 - w, Y: y + 0.9}, s.P{X: -0.5 - w, Y: y + 1.5}, s.P{X: -0.5, Y: y + 0.85})
	}
	plan := []s.P{{X: -0.42, Y: 0}, {X: 0.42, Y: 0}}
	plan = append(plan, right...)
	plan = append(plan, s.P{X: 0.35, Y: 22.4}, s.P{X: -0.35, Y: 22.4})
	for i := range left {
		plan = append(plan, left[len(left)-1-i])
	}
	// Swept back: each point is drawn aside by the square of its height.
	for i, p := range plan {
		plan[i].X += 0.012 * p.Y * p.Y
	}
	return s.Extrude(plan, 0, 0.9, 0)
}

// cutBelow takes away everything under z = 0.
func cutBelow(m *mesh.Mesh) *mesh.Mesh {
	return s.Subtract(m, s.Move(s.Block(300, 300, 100, 0), 0, 0, -100))
}

// fogBank is the stand: rolling fog with a lamp's chimney standing out of it.
func fogBank() *mesh.Mesh {
	m := s.Ellipsoid(20, 13, 7.2, 40)
	for _, b := range [][6]float64{{-15, -2, 1, 13, 10, 6.2}, {14, 3, 1, 14, 10.5, 6}, {4, -7.5, 0.6, 12, 9, 5.8}, {-6, 7.5, 0.8, 12.4, 8.6, 6.1}, {-24.5, 3, 0.4, 8.6, 6.8, 4.2}, {24.5, -2.5, 0.3, 9, 6.6, 4.0}} {
		m = s.Union(m, s.Move(s.Ellipsoid(b[3], b[4], b[5], 32), b[0], b[1], b[2]))
	}
	post := s.Lathe([]s.P{{X: 2.4, Y: 2}, {X: 2.4, Y: 8.6}, {X: 3.4, Y: 9.2}, {X: 3.4, Y: 10.4}, {X: 2.7, Y: 11}, {X: 2.7, Y: 13.4}, {X: 3.1, Y: 13.8}, {X: 3.1, Y: 14.6}, {X: 1.9, Y: 15.4}}, 24)
	m = s.Union(m, s.Move(post, 0, 1, 0))
	m = cutBelow(m)
	return s.Drill(m, s.V(0, 1, 3.0), s.V(0, 1, 20), standHole)
}

// smallMoth sits with its wings up: one piece, 33 mm across.
func smallMoth() *mesh.Mesh {
	fore := s.Closed(3, s.P{X: 0, Y: -1.2}, s.P{X: 6, Y: -4.4}, s.P{X: 13, Y: -8}, s.P{X: 16.6, Y: -7}, s.P{X: 15.8, Y: -3.4}, s.P{X: 15, Y: -0.4}, s.P{X: 11.6, Y: 2.4}, s.P{X: 6, Y: 1.8}, s.P{X: 0, Y: 1.2})
	hind := s.Closed(3, s.P{X: 0, Y: 0.2}, s.P{X: 5, Y: 0.6}, s.P{X: 10, Y: 2.2}, s.P{X: 11.4, Y: 6}, s.P{X: 8.6, Y: 9.4}, s.P{X: 5, Y: 9.8}, s.P{X: 1.6, Y: 6}, s.P{X: 0, Y: 3})
	m := s.TurnX(limb(24, 2, [4]float64{-9.5, 0.5, 0.5, 0}, [4]float64{-7, 1.3, 1.3, 0}, [4]float64{-3, 1.9, 1.9, 0}, [4]float64{-2.2, 1.5, 1.5, 0}, [4]float64{0, 2.2, 2.2, 0}, [4]float64{2.6, 2.1, 2.0, 0}, [4]float64{3.4, 1.2, 1.2, 0}, [4]float64{4.6, 1.5, 1.4, 0}, [4]float64{5.6, 0.9, 0.9, 0}), 90)
	for _, x := range []float64{-1, 1} {
		for i, plan := range [][]s.P{fore, hind} {
			w := s.Extrude(plan, 0, 0.95, 0.2)
			c := []s.P{{X: 11.2, Y: -3.2}, {X: 6.8, Y: 5}}[i]
			w = s.Drill(w, s.V(c.X, c.Y, -1), s.V(c.X, c.Y, 2), []float64{2.4, 1.9}[i])
			w = s.TurnY(s.Move(w, 0.6, 0, 0.1-0.7*float64(i)), -16-7*float64(i))
			if x < 0 {
				w = s.Mirror(w)
			}
			m = s.Union(m, w)
		}
		m = s.Union(m, s.Tube(s.Curve(4, s.V(0.5*x, -4.6, 0.6), s.V(1.8*x, -7.4, 1.8), s.V(4.4*x, -9.4, 2.2)), 10, 0.76))
	}
	return s.Drill(m, s.V(0, 0, -4), s.V(0, 0, 0.9), standHole)
}
