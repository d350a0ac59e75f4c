package main

import (
	"math"

	s "cardback/cmd/demoparts/solid"
	"cardback/internal/mesh"
)

const eelDir = "07-eel-courier"

// Holes of the courier: a rod of 2.0 mm joins head and tail; cord closes the bag.
const eelJoint = 2.4 // the rod and the flexible allowance

// eelCourier is release 7: a long eel that carries the mail. Its tail is offered
// in a flexible cut only; everything else is rigid.
func eelCourier() []file {
	var fs []file
	add := func(part, cut string, m *mesh.Mesh) {
		fs = append(fs, file{release: eelDir, part: part, cut: cut, mesh: s.Tidy(m)})
	}
	add("head", "any", eelHead())
	add("jaw", "any", eelJaw())
	add("tail", "flexible", eelTail(eelLength))
	add("mailbag", "any", mailbag())
	add("cap", "any", courierCap())
	// The letter comes from another program, which worked out one corner twice.
	fs = append(fs, file{release: eelDir, part: "letter", cut: "any", mesh: s.Crack(s.Tidy(letter()), crackOfLetter)})
	return fs
}

// crackOfLetter, in mm, is what no printer shows and every count of edges does.
const crackOfLetter = 1e-5

const (
	eelLength = 104.0 // of the tail along y
	eelEdge   = 14.0  // radius of the bend in which it goes over an edge
)

// eelSpine is a point of the tail's spine and the way its back faces there. The tail
// lies on the ground for the length flat, and from there hangs over an edge.
func eelSpine(t, flat float64) (at, back mesh.Vec) {
	x := float64(17*math.Sin(2*math.Pi*1.25*t)) * (1 - 0.25*t)
	if over := eelLength*t - flat; over > 0 {
		bent := min(over, eelEdge*math.Pi/2)
		si, co := math.Sincos(bent / eelEdge)
		return s.V(x, flat+eelEdge*si, 7.4-4.4*t-eelEdge*(1-co)-(over-bent)), s.V(0, si, co)
	}
	return s.V(x, eelLength*t, 7.4-4.4*t), s.V(0, 0, 1)
}

// eelTail winds over the ground in three bends, ringed so that it flexes, with
// a fin along its back. Beyond the length flat it hangs down, as it may once printed.
func eelTail(flat float64) *mesh.Mesh {
	const n = 132
	var path, backs []mesh.Vec
	var plans [][]s.P
	for i := range n + 1 {
		t := float64(i) / n
		at, back := eelSpine(t, flat)
		path, backs = append(path, at), append(backs, back)
		r := 7.0 - 5.0*math.Pow(t, 1.4)
		if i > 6 && i%4 < 2 { // grooves between rings
			r -= 0.9 * (1 - 0.6*t)
		}
		plans = append(plans, s.Oval(0, 0, r, r, 2.2, 28))
	}
	m := s.Sweep(path, plans)
	// The fin: a thin band above the spine, cut into scallops.
	var rings []s.Ring
	for i := 12; i <= n; i += 2 {
		t := float64(i) / n
		h := (9.6 - 5.6*t) + 1.5*math.Abs(math.Sin(float64(i)*math.Pi/16))
		w := path[i].Sub(path[i-1]).Cross(backs[i])
		w = w.Scale(0.75 / w.Norm())
		lo, hi := path[i], path[i].Add(backs[i].Scale(h))
		rings = append(rings, s.Ring{lo.Sub(w), lo.Add(w), hi.Add(w.Scale(0.7)), hi.Sub(w.Scale(0.7))})
	}
	m = s.Union(m, s.Loft(rings...))
	d := path[1].Sub(path[0])
	d = d.Scale(1 / d.Norm())
	return s.Drill(m, path[0].Sub(d.Scale(4)), path[0].Add(d.Scale(14)), eelJoint)
}

// eelHead: the neck's end at y = 0, snout towards −y; the mouth stands open.
func eelHead() *mesh.Mesh {
	sec := func(y, rx, rz, dz float64) s.Ring {
		var r s.Ring
		for _, p := range s.Oval(0, dz, rx, rz, 2.2, 36) {
			r = append(r, s.V(p.X, y, p.Y))
		}
		return r
	}
	m := s.Loft(sec(0, 6.8, 6.8, 0), sec(-1, 7.2, 7.2, 0), sec(-6, 7.6, 7.8, 0.4), sec(-13, 8.6, 8.6, 1.2), sec(-20, 8.8, 8.2, 1.8), sec(-27, 7.6, 6.6, 1.8), sec(-34, 5.6, 4.8, 1.2), sec(-39, 3.6, 3.4, 0.6), sec(-41, 1.6, 1.6, 0.2))
	// Mouth: a wedge taken out below.
	mouth := s.TurnY(s.TurnX(s.Extrude([]s.P{{X: -44, Y: -1.8}, {X: -15, Y: -2.6}, {X: -13.4, Y: -4.2}, {X: -10.9, Y: -5.2}, {X: -10.9, Y: -14}, {X: -44, Y: -14}}, -14, 14, 0), 90), 0)
	m = s.Subtract(m, s.TurnZ(mouth, 90))
	m = s.Subtract(m, s.Move(s.Disc(3.9, 13.0, 0.01, 36), 0, -14.4, -4.0)) // room for the jaw's barrel
	for _, x := range []float64{-1, 1} {
		eye := s.Union(s.Move(s.Ellipsoid(2.0, 3.0, 3.0, 26), 7.0*x, -20.5, 5.2), s.Move(s.TurnZ(s.Disc(1.5, 1.2, 0.3, 20), 12*x), 9.0*x, -21.1, 5.4))
		m = s.Union(m, eye)
		m = s.Subtract(m, s.Move(s.Ball(0.8, 14), 2.5*x, -39.0, 2.4))
		for i := range 3 { // gills
			gill := s.Tube(s.Curve(4, s.V(7.8*x, -5.4-2.2*float64(i), 5.2), s.V(9.2*x, -6.2-2.2*float64(i), 1.4), s.V(7.8*x, -5.8-2.2*float64(i), -2.8)), 10, 0.6)
			m = s.Subtract(m, gill)
		}
		// Whiskers.
		m = s.Union(m, s.Tube(s.Curve(5, s.V(3.0*x, -36, 0.6), s.V(7.4*x, -38.6, -0.4), s.V(10.4*x, -35.4, -3.2)), 10, 0.9))
		// Ears of the jaw's hinge.
		m = s.Union(m, s.Move(s.Disc(4.2, 2.0, 0.4, 28), 7.6*x, -14.4, -4.0))
	}
	for i := range 5 { // teeth
		for _, x := range []float64{-1, 1} {
			tooth := s.Loft(s.At(-3.4, s.Oval(0, 0, 0.5, 0.5, 2, 10)), s.At(-1.2, s.Oval(0, 0, 1.0, 1.0, 2, 10)))
			y := -22 - 3.4*float64(i)
			m = s.Union(m, s.Move(tooth, x*(6.0-0.95*float64(i)), y, 0))
		}
	}
	m = s.Drill(m, s.V(-20, -14.4, -4.0), s.V(20, -14.4, -4.0), pivotFilament)
	// Lugs for the bag's cord.
	for _, x := range []float64{-1, 1} {
		lug := s.Move(s.TurnZ(s.Disc(2.3, 2.6, 0.35, 24), 90), 8.2*x, -2.2, -1.6)
		m = s.Union(m, lug)
		m = s.Drill(m, s.V(8.6*x, -9, -1.6), s.V(8.6*x, 2, -1.6), cordHole)
	}
	m = s.Drill(m, s.V(0, 4, 0), s.V(0, -11, 0), eelJoint)
	// A peg hole for the cap.
	return s.Drill(m, s.V(0, -14, 12), s.V(0, -14, 5), clerkPivot)
}

// eelJaw hinges under the head.
func eelJaw() *mesh.Mesh {
	plan := s.Closed(5, s.P{X: -4.9, Y: 2.6}, s.P{X: 4.9, Y: 2.6}, s.P{X: 5.7, Y: -3}, s.P{X: 5.4, Y: -12}, s.P{X: 3.4, Y: -21}, s.P{X: 0, Y: -25}, s.P{X: -3.4, Y: -21}, s.P{X: -5.4, Y: -12}, s.P{X: -5.7, Y: -3})
	m := s.Loft(s.At(-3.4, s.Inset(plan, 2.4)), s.At(-2.0, s.Inset(plan, 0.8)), s.At(0, plan), s.At(1.0, s.Inset(plan, 0.4)))
	m = s.Union(m, s.Disc(2.9, 12.4, 0.4, 28))
	m = s.Subtract(m, s.Move(s.Ellipsoid(3.4, 9, 1.6, 24), 0, -11, 1.4))
	for i := range 4 {
		for _, x := range []float64{-1, 1} {
			tooth := s.Loft(s.At(-0.4, s.Oval(0, 0, 1.0, 1.0, 2, 10)), s.At(2.6, s.Oval(0, 0, 0.5, 0.5, 2, 10)))
			y := -9.4 - 3.6*float64(i)
			m = s.Union(m, s.Move(tooth, x*(4.7-0.85*float64(i)), y, 0))
		}
	}
	return pin(m, 0, 0, pivotFilament)
}

// footFillet, in mm, is the radius of the fillet round the bag's foot.
const footFillet = 2.4

// mailbag is a drum bag with a flap, ribs and two eyes for the cord.
func mailbag() *mesh.Mesh {
	m := s.Loft(s.At(0, s.Rect(0, 0, 22, 11, 3, 5)), s.At(0.8, s.Rect(0, 0, 24, 12.6, 3.4, 5)), s.At(9, s.Rect(0, 0, 25.4, 13.6, 3.6, 5)), s.At(17, s.Rect(0, 0, 23, 11.4, 3.2, 5)), s.At(18.4, s.Rect(0, 0, 20, 8.6, 2.6, 5)))
	// The foot's fillet runs out on the plate: down to nothing, as a knife's edge does.
	var foot []s.Ring
	for _, z := range []float64{0, 0.1, 0.25, 0.5, 0.9, 1.5, footFillet} {
		up := footFillet - z
		out := footFillet - float64(math.Sqrt(footFillet*footFillet-up*up))
		foot = append(foot, s.At(z, s.Rect(0, 0, 23+2*out, 12+2*out, 3+out, 5)))
	}
	m = s.Union(m, s.Loft(foot...))
	flap := s.TurnX(s.Extrude(s.Closed(4, s.P{X: -11.8, Y: 18.4}, s.P{X: -12.6, Y: 12}, s.P{X: -10, Y: 7.4}, s.P{X: 0, Y: 4.6}, s.P{X: 10, Y: 7.4}, s.P{X: 12.6, Y: 12}, s.P{X: 11.8, Y: 18.4}, s.P{X: 0, Y: 19}), 0, 2.0, 0.5), 90)
	m = s.Union(m, s.Move(flap, 0, -5.6, 0))
	horn := s.TurnX(s.Torus(2.9, 0.8, 30, 10), 90)
	m = s.Union(m, s.Move(horn, 0.6, -7.7, 11.4), s.Move(s.TurnY(s.TurnX(s.Extrude([]s.P{{X: 2, Y: -0.7}, {X: 6.6, Y: -1.9}, {X: 6.6, Y: 1.9}, {X: 2, Y: 0.7}}, -0.8, 0.8, 0.2), 90), -20), 0.6, -7.7, 11.4))
	for _, x := range []float64{-7.2, 7.2} {
		m = s.Union(m, s.Loft(s.At(0.4, s.Rect(x, 0, 2.2, 13.8, 0.4, 2)), s.At(9, s.Rect(x, 0, 2.2, 15.0, 0.4, 2)), s.At(16, s.Rect(x*0.95, 0, 2.2, 13.2, 0.4, 2))))
	}
	for _, x := range []float64{-1, 1} {
		m = s.Union(m, s.Move(s.Disc(2.4, 3.8, 0.4, 26), 13.05*x, 0, 13.6))
		m = s.Drill(m, s.V(13.45*x, -9, 13.6), s.V(13.45*x, 9, 13.6), cordHole)
	}
	return m
}

// courierCap is a pillbox with a badge and a feather of sea grass.
func courierCap() *mesh.Mesh {
	m := s.Lathe([]s.P{{X: 5.4, Y: 0}, {X: 5.9, Y: 0.5}, {X: 5.9, Y: 1.8}, {X: 5.5, Y: 2.2}, {X: 5.9, Y: 5.4}, {X: 6.2, Y: 5.8}, {X: 6.2, Y: 6.6}, {X: 5.6, Y: 7.2}, {X: 2.0, Y: 7.8}}, 40)
	peak := s.Extrude(s.Closed(5, s.P{X: -5.2, Y: -2}, s.P{X: 5.2, Y: -2}, s.P{X: 5.0, Y: -7}, s.P{X: 0, Y: -9.6}, s.P{X: -5.0, Y: -7}), 0.2, 1.4, 0.35)
	m = s.Union(m, s.TurnX(peak, 6))
	badge := s.TurnX(s.Lathe([]s.P{{X: 1.7, Y: 0}, {X: 1.7, Y: 1.2}, {X: 1.2, Y: 1.6}}, 6), 90)
	m = s.Union(m, s.Move(badge, 0, -5.0, 4.0))
	plume := s.Sweep(s.Curve(5, s.V(4.6, 1, 2), s.V(6.2, 1.6, 8), s.V(5.4, 3.2, 14), s.V(7.6, 5.2, 19)), func() [][]s.P {
		var out [][]s.P
		for i := range 16 {
			t := float64(i) / 15
			out = append(out, s.Oval(0, 0, 0.85+0.35*math.Sin(math.Pi*t), 0.85+1.4*math.Sin(math.Pi*t), 2, 14))
		}
		return out
	}())
	m = s.Union(m, plume)
	return s.Drill(m, s.V(0, 0, -2), s.V(0, 0, 5.2), clerkPivot)
}

// letter is sealed with wax.
func letter() *mesh.Mesh {
	m := s.Block(14, 9, 1.4, 0.25)
	for _, x := range []float64{-1, 1} {
		m = s.Subtract(m, s.Tube([]mesh.Vec{s.V(8*x, 5.4, 1.5), s.V(0, -0.6, 1.5)}, 8, 0.4))
	}
	return s.Union(m, s.Move(s.Lathe([]s.P{{X: 1.9, Y: 0}, {X: 2.1, Y: 0.4}, {X: 1.9, Y: 0.8}, {X: 1.2, Y: 0.9}}, 18), 0, -0.4, 1.2))
}
