package main

import (
	s "cardback/cmd/demoparts/solid"
	"cardback/internal/mesh"
)

const lamplighterDir = "01-lamplighter"

// Pivots of the jointed figures. A rod of 1.5 mm turns freely in these holes:
// the diameters are the rod's plus the bench's hole allowance for the process.
const (
	pivotFilament = 1.8
	pivotResin    = 1.65
)

// Hinges: a tongue between the cheeks of a fork.
const (
	tongueW = 3.6 // width of a tongue
	slotW   = 4.0 // width of the slot that it turns in
)

// lamplighter is release 1: a jointed figure of 1:18, about 97 mm to the crown
// of the cap, on twelve lengths of 1.5 mm rod.
func lamplighter() []file {
	var fs []file
	add := func(part, cut string, m *mesh.Mesh) {
		fs = append(fs, file{release: lamplighterDir, part: part, cut: cut, mesh: s.Tidy(m)})
	}
	for _, p := range []struct {
		cut string
		d   float64
	}{{"filament", pivotFilament}, {"resin", pivotResin}} {
		add("head", p.cut, lampHead(p.d))
		add("pelvis", p.cut, lampPelvis(p.d, hipZ, hipFlare))
		add("upper-arm", p.cut, lampUpperArm(p.d))
		add("forearm", p.cut, lampForearm(p.d))
		add("hand", p.cut, lampHand(p.d))
		add("thigh", p.cut, lampThigh(p.d))
		add("shin", p.cut, lampShin(p.d))
		add("boot", p.cut, lampBoot(p.d))
	}
	add("torso", "filament", lampTorsoSnap(snapMouth))
	front, back := lampTorsoSplit()
	add("torso", "resin", front)
	add("torso-back", "resin", back)
	add("cap", "any", lampCap())
	add("scarf", "any", lampScarf())
	add("lamp-pole", "any", lampPole(true))
	add("lantern", "any", lampLantern())
	add("oil-can", "any", oilCan())
	return fs
}

// pin drills a pivot along x through m at height z and depth y.
func pin(m *mesh.Mesh, y, z, d float64) *mesh.Mesh {
	return s.Drill(m, s.V(-40, y, z), s.V(40, y, z), d)
}

// slot cuts the room for a tongue of radius r that turns about x at height z.
func slot(m *mesh.Mesh, y, z, r float64) *mesh.Mesh {
	return s.Subtract(m, s.Move(s.Disc(r, slotW, 0.01, 32), 0, y, z))
}

// limb lofts ovals: each section is height, half-width, half-depth, offset in y.
func limb(n int, power float64, sections ...[4]float64) *mesh.Mesh {
	var rings []s.Ring
	for _, q := range sections {
		rings = append(rings, s.At(q[0], s.Oval(0, q[3], q[1], q[2], power, n)))
	}
	return s.Loft(rings...)
}

// lampHead is the head from the chin up, origin at the neck. A blind hole takes
// the neck pin.
func lampHead(d float64) *mesh.Mesh {
	skull := limb(36, 2.3,
		[4]float64{-1.2, 2.9, 2.9, 0.8}, [4]float64{0.2, 3.1, 3.1, 0.7}, [4]float64{0.9, 4.3, 4.6, 0},
		[4]float64{2.4, 5.0, 5.4, -0.2}, [4]float64{4.5, 5.6, 5.9, -0.1}, [4]float64{7.2, 6.0, 6.3, 0.1},
		[4]float64{9.8, 6.0, 6.4, 0.3}, [4]float64{12.2, 5.5, 5.9, 0.3}, [4]float64{14.0, 4.3, 4.6, 0.3},
		[4]float64{15.0, 2.6, 2.8, 0.3}, [4]float64{15.3, 1.0, 1.0, 0.3})
	nose := s.Loft(
		s.At(0, s.Rect(0, 0, 2.6, 3.0, 0.7, 4)), s.At(1.4, s.Rect(0, 0.2, 2.4, 2.6, 0.7, 4)), s.At(4.0, s.Rect(0, 1.1, 1.2, 1.2, 0.4, 4)))
	skull = s.Union(skull, s.Move(nose, 0, -6.1, 5.2))
	for _, x := range []float64{-1, 1} {
		ear := s.TurnZ(s.Ellipsoid(0.9, 1.6, 2.2, 16), 18*x)
		skull = s.Union(skull, s.Move(ear, 5.9*x, 0.9, 6.6))
		skull = s.Subtract(skull, s.Move(s.Ellipsoid(1.25, 1.3, 0.95, 16), 2.5*x, -6.25, 8.1))
		skull = s.Union(skull, s.Move(s.Ball(0.62, 14), 2.45*x, -5.55, 8.05))
		brow := s.Tube(s.Curve(4, s.V(0.9*x, -6.1, 9.2), s.V(2.5*x, -6.3, 9.9), s.V(4.3*x, -5.0, 9.3)), 10, 0.78)
		skull = s.Union(skull, brow)
	}
	// A walrus moustache and a square chin.
	for _, x := range []float64{-1, 1} {
		lip := s.Tube(s.Curve(4, s.V(-0.25*x, -5.9, 4.9), s.V(1.7*x, -6.1, 4.4), s.V(3.4*x, -5.4, 3.1), s.V(4.2*x, -4.6, 1.6)), 12,
			1.0, 1.05, 1.1, 1.15, 1.2, 1.2, 1.15, 1.05, 0.95, 0.8, 0.6, 0.45, 0.3)
		skull = s.Union(skull, lip)
	}
	return s.Drill(skull, s.V(0, 0.6, -3), s.V(0, 0.6, 5.4), d)
}

// lampCap is a sou'wester: a ribbed crown and a brim that falls long behind.
func lampCap() *mesh.Mesh {
	crown := limb(40, 2.2,
		[4]float64{-0.4, 7.2, 7.6, 0}, [4]float64{1.2, 7.2, 7.6, 0}, [4]float64{4.0, 6.9, 7.3, 0.1}, [4]float64{6.2, 5.9, 6.3, 0.2},
		[4]float64{7.5, 4.1, 4.3, 0.2}, [4]float64{7.9, 1.6, 1.7, 0.2})
	var low, high s.Ring
	for _, k := range []struct {
		r  *s.Ring
		dz float64
	}{{&low, 0}, {&high, 1.5}} {
		for _, p := range s.Oval(0, 2.0, 10.2, 12.6, 2, 48) {
			t := (p.Y + 10.6) / 25.2 // 0 at the front of the brim, 1 behind
			*k.r = append(*k.r, s.V(p.X, p.Y, 1.6-4.6*t*t-0.012*p.X*p.X+k.dz))
		}
	}
	brim := s.Loft(low, high)
	cap := s.Union(crown, brim)
	cap = s.Union(cap, s.Move(s.Torus(7.25, 0.55, 44, 8), 0, 0.05, 2.1))
	for _, a := range []float64{-60, -20, 20, 60, 100, 140, 180, 220} {
		seam := s.Tube(s.Curve(3, s.V(0, 7.0, 3.3), s.V(0, 6.4, 5.4), s.V(0, 4.3, 7.2), s.V(0, 1.2, 7.9)), 8, 0.32)
		cap = s.Union(cap, s.TurnZ(seam, a))
	}
	cap = s.Union(cap, s.Move(s.Ellipsoid(1.2, 1.2, 0.7, 16), 0, 0.1, 8.0))
	room := limb(36, 2.2,
		[4]float64{-9, 6.15, 6.55, 0.2}, [4]float64{2.4, 6.15, 6.55, 0.2}, [4]float64{4.4, 5.5, 5.9, 0.2}, [4]float64{5.9, 4.1, 4.4, 0.2}, [4]float64{6.4, 2.2, 2.4, 0.2})
	return s.Subtract(cap, room)
}

// Torso: origin at the waist, shoulder pivot at this height and depth.
const (
	shoulderZ  = 19.5
	shoulderY  = 0.6
	torsoHalf  = 9.4 // half the width between the arms
	waistHoleZ = 6.0 // depth of the blind hole at the waist
	neckHoleZ  = 5.2 // and at the neck: it ends a wall above the shoulder rod
)

// lampTorso is the coat's body without its pivots.
func lampTorso() *mesh.Mesh {
	body := limb(44, 2.7,
		[4]float64{0, 7.3, 5.3, 0}, [4]float64{1.4, 7.6, 5.6, 0}, [4]float64{5, 7.9, 5.8, -0.1}, [4]float64{10, 8.9, 6.4, -0.3},
		[4]float64{15, 9.8, 6.7, -0.2}, [4]float64{19, 9.9, 6.3, 0.2}, [4]float64{22, 9.2, 5.6, 0.4}, [4]float64{24, 7.2, 4.8, 0.5}, [4]float64{25.2, 4.4, 4.0, 0.6}, [4]float64{26.6, 3.6, 3.6, 0.6})
	for _, x := range []float64{-1, 1} {
		cheek := s.Move(s.Disc(4.6, 3.0, 0.5, 32), x*(torsoHalf-1.5), shoulderY, shoulderZ)
		body = s.Union(body, cheek)
	}
	belt := limb(44, 2.7, [4]float64{1.9, 8.0, 6.0, 0}, [4]float64{2.3, 8.35, 6.35, 0}, [4]float64{4.3, 8.45, 6.45, 0}, [4]float64{4.7, 8.1, 6.1, 0})
	body = s.Union(body, belt)
	buckle := s.Move(s.TurnX(s.Block(4.4, 3.6, 1.6, 0.35), 90), 0, -5.9, 3.3)
	buckle = s.Subtract(buckle, s.Move(s.TurnX(s.Block(2.5, 1.7, 2, 0.1), 90), 0, -6.8, 3.3))
	body = s.Union(body, buckle)
	// The coat's edge and two rows of buttons.
	edge := s.Tube(s.Curve(5, s.V(2.6, -5.6, 4.6), s.V(2.9, -6.2, 9), s.V(2.6, -6.7, 14), s.V(1.2, -6.4, 19), s.V(-0.6, -5.0, 23)), 8, 0.5)
	body = s.Union(body, edge)
	for _, z := range []float64{7.2, 10.6, 14.0, 17.4} {
		for _, x := range []float64{-1.6, 4.6} {
			body = s.Union(body, s.Move(s.Ellipsoid(0.85, 0.7, 0.85, 14), x, -5.95-0.035*z, z))
		}
	}
	// Turned-up collar, open at the throat.
	collar := s.Subtract(
		limb(40, 2.2, [4]float64{22.6, 6.6, 5.6, 0.6}, [4]float64{24.0, 6.5, 5.6, 0.7}, [4]float64{27.4, 6.2, 5.7, 0.9}, [4]float64{27.8, 5.8, 5.4, 0.9}),
		limb(40, 2.2, [4]float64{24.6, 4.6, 3.9, 0.6}, [4]float64{25.4, 4.9, 4.3, 0.8}, [4]float64{28.6, 5.2, 4.7, 0.9}),
		s.Move(s.TurnX(s.Extrude([]s.P{{X: 0, Y: 0}, {X: 4.2, Y: 7}, {X: -4.2, Y: 7}}, 0, 12, 0), 90), 0, -1, 23.3))
	return s.Union(body, collar)
}

// lampPins drills the neck and the waist.
func lampPins(m *mesh.Mesh, d float64) *mesh.Mesh {
	m = s.Drill(m, s.V(0, 0.66, 30), s.V(0, 0.66, 26.6-neckHoleZ), d)
	return s.Drill(m, s.V(0, 0, -2), s.V(0, 0, waistHoleZ), d)
}

// snapMouth is how wide the shoulder sockets open: the rod is 1.5 mm, so the
// plastic gives by 0.15.
const snapMouth = 1.35

// lampTorsoSnap is the filament torso: one piece. The shoulder rod snaps from
// behind into two sockets whose mouths are narrower than the rod.
func lampTorsoSnap(mouth float64) *mesh.Mesh {
	m := pin(lampPins(lampTorso(), pivotFilament), shoulderY, shoulderZ, pivotFilament)
	trough := s.Move(s.Block(2*torsoHalf+8, 10, mouth, 0), 0, shoulderY+5, shoulderZ-mouth/2)
	wedge := func(x float64) s.Ring { // guides the rod into the mouth
		return s.Ring{s.V(x, 4.2, shoulderZ-0.4), s.V(x, 9.6, shoulderZ-2.6), s.V(x, 9.6, shoulderZ+2.6), s.V(x, 4.2, shoulderZ+0.4)}
	}
	lead := s.Loft(wedge(-20), wedge(20))
	return s.Subtract(m, trough, lead)
}

// lampTorsoSplit is the resin torso: cut along the shoulder pivot, to be glued
// round it, because a snap of brittle resin breaks.
func lampTorsoSplit() (front, back *mesh.Mesh) {
	m := pin(lampPins(lampTorso(), pivotResin), shoulderY, shoulderZ, pivotResin)
	const gap = 0.08 // to each side of the plate
	plan := []s.P{{X: -6.2, Y: 6.6}, {X: 6.2, Y: 6.6}, {X: 6.9, Y: 16}, {X: 5.2, Y: 22.4}, {X: -5.2, Y: 22.4}, {X: -6.9, Y: 16}}
	block := func(p []s.P, y float64) *mesh.Mesh { return s.Move(s.TurnX(s.Extrude(p, -20, 0, 0), 90), 0, y, 0) }
	front = s.Subtract(m, block(plan, shoulderY))
	back = s.Intersect(m, block(s.Inset(plan, gap), shoulderY+0.05))
	return front, s.TurnX(back, 90)
}

// hipZ is the height of the hip's pivot above the waist, and hipFlare that at which
// the coat's skirt flares out over the thighs, clear of their heads.
const (
	hipZ     = -6.0
	hipFlare = -1.7
)

// lampPelvis: origin at the waist; the hip pivot runs right through, at height hip,
// and the skirt flares from the height flare up.
func lampPelvis(d, hip, flare float64) *mesh.Mesh {
	m := limb(40, 2.7,
		[4]float64{-8.6, 3.7, 3.4, 0}, [4]float64{-7.6, 4.0, 4.2, 0}, [4]float64{flare, 4.0, 4.9, 0}, [4]float64{flare + 0.3, 6.6, 5.1, 0}, [4]float64{flare + 0.8, 7.4, 5.4, 0}, [4]float64{-0.5, 7.4, 5.4, 0}, [4]float64{0, 7.0, 5.0, 0})
	for _, x := range []float64{-1, 1} {
		m = s.Union(m, s.Move(s.Disc(3.6, 1.6, 0.3, 28), x*3.6, 0, hip))
	}
	fly := s.Tube(s.Curve(4, s.V(0, -5.0, -1.4), s.V(0.9, -4.7, -4), s.V(0.1, -3.5, -7.9)), 8, 0.6)
	m = s.Union(m, fly)
	m = pin(m, 0, hip, d)
	return s.Drill(m, s.V(0, 0, -4.1), s.V(0, 0, 3), d)
}

// lampUpperArm: origin at the shoulder pivot; the arm hangs outward along +x.
func lampUpperArm(d float64) *mesh.Mesh {
	cx := 3.6
	m := s.Move(limb(32, 2.3,
		[4]float64{-12.8, 3.5, 3.4, 0}, [4]float64{-10, 3.7, 3.7, 0}, [4]float64{-5, 4.0, 4.3, 0}, [4]float64{-1, 4.0, 4.8, 0}, [4]float64{2.2, 3.3, 4.4, 0}, [4]float64{4.0, 2.0, 2.9, 0}, [4]float64{4.6, 0.8, 1.3, 0}), cx, 0, 0)
	m = s.Union(m, s.Move(s.Disc(4.5, 3.2, 0.4, 32), 1.6, 0, 0))
	m = s.Union(m, s.Move(s.Disc(3.7, 7.2, 0.5, 32), cx, 0, -14.5))
	band := s.Move(limb(32, 2.3, [4]float64{-9.2, 4.0, 4.0, 0}, [4]float64{-8.9, 4.3, 4.3, 0}, [4]float64{-7.5, 4.3, 4.4, 0}, [4]float64{-7.2, 4.0, 4.1, 0}), cx, 0, 0)
	m = s.Union(m, band)
	m = s.Subtract(m, s.Move(s.Disc(4.3, slotW, 0.01, 36), cx, 0, -14.5))
	m = s.Drill(m, s.V(-2, 0, 0), s.V(4.6, 0, 0), d)
	return pin(m, 0, -14.5, d)
}

// lampForearm: origin at the elbow; a deep cuff and a blind hole at the wrist.
func lampForearm(d float64) *mesh.Mesh {
	m := limb(32, 2.3,
		[4]float64{-12.2, 3.3, 3.4, 0}, [4]float64{-9.6, 3.4, 3.5, 0}, [4]float64{-6.4, 3.2, 3.4, 0}, [4]float64{-5.0, 2.7, 3.1, 0}, [4]float64{-4.2, 1.75, 2.7, 0}, [4]float64{-1, 1.72, 2.6, 0})
	m = s.Union(m, s.Disc(3.6, tongueW, 0.4, 32))
	cuff := limb(32, 2.3, [4]float64{-12.5, 3.7, 3.8, 0}, [4]float64{-12.1, 4.15, 4.25, 0}, [4]float64{-8.3, 4.35, 4.5, 0}, [4]float64{-7.9, 3.9, 4.0, 0})
	m = s.Union(m, cuff)
	for _, z := range []float64{-11.2, -9.4} {
		m = s.Union(m, s.Move(s.Ellipsoid(0.75, 0.75, 0.75, 14), 4.1, 0.6, z))
	}
	m = pin(m, 0, 0, d)
	return s.Drill(m, s.V(0, 0, -14), s.V(0, 0, -6.6), d)
}

// lampHand: origin at the wrist; a mitten closed round a pole of 3 mm.
func lampHand(d float64) *mesh.Mesh {
	m := limb(32, 2.4,
		[4]float64{-8.6, 2.4, 3.5, -1.0}, [4]float64{-8.0, 3.0, 4.4, -1.0}, [4]float64{-6.0, 3.2, 4.9, -1.1}, [4]float64{-3.4, 3.1, 4.8, -1.0}, [4]float64{-2.2, 2.9, 3.6, -0.3}, [4]float64{-1.4, 2.6, 3.0, 0}, [4]float64{0, 2.4, 2.5, 0})
	for i, z := range []float64{-7.5, -6.0, -4.5} {
		r := 1.15 - 0.06*float64(2-i)
		m = s.Union(m, s.Tube(s.Curve(3, s.V(2.4, -1.4, z), s.V(2.2, -4.9, z), s.V(-0.6, -5.7, z), s.V(-2.5, -4.8, z)), 12, r))
	}
	m = s.Union(m, s.Tube(s.Curve(4, s.V(-1.9, -1.4, -2.8), s.V(-3.0, -3.9, -3.2), s.V(-2.0, -5.5, -3.8)), 12, 1.2))
	m = s.Drill(m, s.V(-0.1, poleY, -12), s.V(-0.1, poleY, 3), poleHole)
	return s.Drill(m, s.V(0, 0.35, 2), s.V(0, 0.35, -5.0), d)
}

const (
	poleD    = 3.0
	poleHole = 3.3
	poleY    = -3.15 // of the pole in the fist, clear of the wrist's rod
)

// lampThigh: origin at the knee, hip 18 above; the inner face is flat.
func lampThigh(d float64) *mesh.Mesh {
	m := limb(36, 2.5,
		[4]float64{1.6, 4.0, 4.1, 0}, [4]float64{4, 4.1, 4.4, 0}, [4]float64{9, 4.3, 5.0, 0.1}, [4]float64{15, 4.3, 5.4, 0.1}, [4]float64{18.5, 4.1, 5.0, 0}, [4]float64{21.2, 3.6, 3.7, 0}, [4]float64{22.4, 3.0, 2.2, 0})
	m = s.Union(m, s.Disc(4.1, 7.8, 0.5, 36))
	// Outside pocket flap.
	flap := s.Move(s.TurnZ(s.TurnX(s.Block(5.4, 4.6, 1.4, 0.4), 90), 90), 3.5, 0, 13)
	m = s.Union(m, flap, s.Move(s.Ball(0.75, 14), 4.85, 0, 12))
	m = slot(m, 0, 0, 4.9)
	return pin(pin(m, 0, 0, d), 0, 18, d)
}

// lampShin: origin at the ankle, knee 18 above.
func lampShin(d float64) *mesh.Mesh {
	m := limb(36, 2.4,
		[4]float64{1, 1.75, 2.4, 0}, [4]float64{4.4, 1.75, 2.7, 0}, [4]float64{5.0, 3.3, 3.5, 0}, [4]float64{7, 3.5, 3.8, 0.2}, [4]float64{10, 3.7, 4.2, 0.5}, [4]float64{12, 3.6, 4.0, 0.4}, [4]float64{13.0, 2.8, 3.3, 0.2}, [4]float64{13.6, 1.75, 2.8, 0}, [4]float64{17, 1.72, 2.7, 0})
	m = s.Union(m, s.Disc(3.4, tongueW, 0.4, 32))
	m = s.Union(m, s.Move(s.Disc(3.8, tongueW, 0.4, 32), 0, 0, 18))
	for _, z := range []float64{6.4, 8.2} {
		m = s.Union(m, s.Move(limb(36, 2.4, [4]float64{-0.55, 3.45, 3.7, 0}, [4]float64{-0.2, 3.9, 4.15, 0}, [4]float64{0.2, 3.9, 4.15, 0}, [4]float64{0.55, 3.45, 3.7, 0}), 0, 0.2, z))
	}
	knee := s.Move(s.TurnX(limb(20, 2.3, [4]float64{0, 2.5, 2.4, 0}, [4]float64{1.0, 2.2, 2.1, 0}, [4]float64{1.5, 1.2, 1.2, 0}), 90), 0, -3.2, 11.4)
	m = s.Union(m, knee)
	return pin(pin(m, 0, 0, d), 0, 18, d)
}

// lampBoot: origin on the ground under the ankle, which is 9.5 up.
func lampBoot(d float64) *mesh.Mesh {
	foot := func(w, toe, heel float64) []s.P {
		var out []s.P
		for _, p := range s.Oval(0, 0, 1, 1, 2.4, 40) {
			y := (heel+toe)/2 + p.Y*(heel-toe)/2
			k := w * (1 - 0.14*(p.Y+1)/2)
			out = append(out, s.P{X: p.X * k, Y: y})
		}
		return out
	}
	sole := s.Loft(s.At(0, foot(4.3, -10.2, 5.4)), s.At(0.4, foot(4.7, -10.7, 5.8)), s.At(1.9, foot(4.7, -10.7, 5.8)), s.At(2.3, foot(4.4, -10.4, 5.5)))
	arch := s.Move(s.TurnZ(s.TurnX(s.Extrude([]s.P{{X: -2.2, Y: -1}, {X: 1.6, Y: -1}, {X: 1.6, Y: 1.1}, {X: -1.4, Y: 1.1}}, -8, 8, 0), 90), 90), 0, 1.6, 0)
	sole = s.Subtract(sole, arch)
	upper := s.Loft(s.At(1.8, foot(4.0, -9.9, 5.0)), s.At(3.4, foot(4.15, -10.0, 5.1)), s.At(5.2, foot(4.15, -8.6, 5.3)), s.At(6.6, foot(4.2, -6.4, 5.4)), s.At(8.4, foot(4.35, -5.3, 5.5)), s.At(11.4, foot(4.35, -5.0, 5.2)), s.At(12.0, foot(4.0, -4.7, 4.9)))
	m := s.Union(sole, upper)
	m = s.Union(m, s.Loft(s.At(10.4, foot(4.55, -5.2, 5.4)), s.At(10.7, foot(4.85, -5.5, 5.7)), s.At(12.3, foot(4.85, -5.5, 5.7)), s.At(12.7, foot(4.55, -5.2, 5.4))))
	for _, q := range [][2]float64{{-7.15, 6.1}, {-5.9, 7.3}, {-5.25, 8.5}} {
		lace := s.Tube([]mesh.Vec{s.V(-1.9, q[0]+0.3, q[1]), s.V(0, q[0], q[1]), s.V(1.9, q[0]+0.3, q[1])}, 10, 0.65)
		m = s.Union(m, lace)
	}
	m = s.Subtract(m, s.Move(s.Block(slotW+0.1, 14, 9, 0), 0, 0, 9.5))
	m = slot(m, 0, 9.5, 3.7)
	return pin(m, 0, 9.5, d)
}

// lampScarf is a loose ring of knitted stripes with two ends.
func lampScarf() *mesh.Mesh {
	m := s.Stretch(s.Torus(5.6, 1.5, 40, 14), 1.05, 0.98, 1.15)
	end := func(x, lean, l float64) *mesh.Mesh {
		e := s.Block(3.6, 1.5, l, 0.35)
		for i := range 3 {
			e = s.Union(e, s.Move(s.Block(4.0, 1.9, 0.9, 0.3), 0, 0, 1.2+1.7*float64(i)))
		}
		for i := range 2 { // a fringe of three strands
			e = s.Subtract(e, s.Move(s.Block(0.4, 4, 0.9, 0), -0.7+1.4*float64(i), 0, -0.1))
		}
		return s.Move(s.TurnY(e, lean), x, -6.3, -l-0.3)
	}
	m = s.Union(m, end(1.4, -8, 12), end(-1.9, 10, 9.4))
	return s.Union(m, s.Move(s.Ellipsoid(2.2, 1.6, 1.9, 20), -0.2, -6.2, -0.6))
}

// lampPole is 124 mm long: on the small resin plate it lies only across the
// diagonal. It is drawn lying along x, with or without the wick trimmer on its hook.
func lampPole(trimmer bool) *mesh.Mesh {
	path := []mesh.Vec{s.V(0, 0, 0), s.V(0, 0, 40), s.V(0, 0, 80), s.V(0, 0, 106)}
	m := s.Tube(path, 20, poleD/2)
	m = s.Union(m, s.Move(s.Lathe([]s.P{{X: 0.5, Y: -4.2}, {X: 1.1, Y: -3.2}, {X: 1.9, Y: -1}, {X: 2.1, Y: 2}, {X: 2.1, Y: 5}, {X: 1.8, Y: 5.6}}, 24), 0, 0, 0))
	for _, z := range []float64{46, 49, 52, 55, 58, 61} {
		m = s.Union(m, s.Move(s.Stretch(s.Torus(1.42, 0.42, 24, 8), 1, 1, 1.2), 0, 0, z))
	}
	m = s.Union(m, s.Move(s.Lathe([]s.P{{X: 1.7, Y: 0}, {X: 2.3, Y: 0.5}, {X: 2.3, Y: 3}, {X: 1.9, Y: 3.6}, {X: 1.9, Y: 7}, {X: 2.2, Y: 7.5}, {X: 2.2, Y: 8.6}, {X: 1.4, Y: 9.6}}, 24), 0, 0, 99))
	hook := s.Tube(s.Curve(6, s.V(0, 0, 105), s.V(0.4, 0, 112), s.V(3.6, 0, 115.6), s.V(7.2, 0, 113.6), s.V(7.4, 0, 109.4), s.V(4.6, 0, 107.8)), 12,
		1.0)
	m = s.Union(m, hook)
	if trimmer {
		m = s.Union(m, s.Move(wickTrimmer(), 0.3, 0, 111.8))
	}
	return s.TurnX(s.TurnY(m, 90), 90)
}

// wickTrimmer is the spike on the pole's hook.
func wickTrimmer() *mesh.Mesh {
	return s.Lathe([]s.P{{X: 0.9, Y: 0}, {X: 1.3, Y: 1}, {X: 1.3, Y: 3}, {X: 0.7, Y: 6.2}, {X: 0.25, Y: 8}}, 16)
}

// lampLantern is a six-sided lantern with open windows and a flame inside.
func lampLantern() *mesh.Mesh {
	hex := func(r float64) []s.P { return s.Oval(0, 0, r, r, 2, 6) }
	body := s.Loft(s.At(0, hex(4.6)), s.At(0.5, hex(5.2)), s.At(1.6, hex(5.2)), s.At(2.1, hex(4.5)), s.At(11.2, hex(5.3)), s.At(11.6, hex(6.1)), s.At(12.6, hex(6.1)), s.At(13.6, hex(4.4)), s.At(15.8, hex(2.6)), s.At(16.2, hex(2.6)), s.At(16.8, hex(2.1)), s.At(18.4, hex(2.1)), s.At(18.8, hex(2.8)), s.At(19.4, hex(2.8)), s.At(20.4, hex(0.9)))
	body = s.Subtract(body, s.Loft(s.At(2.4, hex(3.1)), s.At(10.8, hex(3.9)), s.At(12.8, hex(1.5))))
	for i := range 3 {
		win := s.Move(s.TurnX(s.Extrude([]s.P{{X: -1.45, Y: 3.3}, {X: 1.45, Y: 3.3}, {X: 1.75, Y: 10}, {X: 0.9, Y: 10.7}, {X: -0.9, Y: 10.7}, {X: -1.75, Y: 10}}, -9, 9, 0), 90), 0, 0, 0)
		body = s.Subtract(body, s.TurnZ(win, 60*float64(i)))
	}
	flame := s.Lathe([]s.P{{X: 1.0, Y: 1.8}, {X: 1.0, Y: 4.2}, {X: 0.6, Y: 4.4}, {X: 0.7, Y: 4.9}, {X: 1.25, Y: 6}, {X: 1.15, Y: 7}, {X: 0.8, Y: 8.4}, {X: 0.6, Y: 9.4}}, 20)
	body = s.Union(body, flame)
	return s.Union(body, s.Move(s.TurnX(s.Torus(2.0, 0.8, 28, 10), 90), 0, 0, 22.0))
}

// oilCan is the lamplighter's long-spouted can.
func oilCan() *mesh.Mesh {
	m := s.Lathe([]s.P{{X: 4.0, Y: 0}, {X: 4.4, Y: 0.4}, {X: 4.4, Y: 1.0}, {X: 4.1, Y: 1.3}, {X: 4.0, Y: 4.6}, {X: 3.7, Y: 5.4}, {X: 2.2, Y: 7.4}, {X: 1.5, Y: 8.0}, {X: 1.5, Y: 9.0}, {X: 1.9, Y: 9.3}, {X: 1.9, Y: 10.1}, {X: 1.2, Y: 10.5}}, 32)
	spout := s.Tube(s.Curve(4, s.V(3.0, 0, 3.0), s.V(6.4, 0, 6.2), s.V(8.6, 0, 10.2), s.V(10.6, 0, 12.0)), 12, 1.0, 1.0, 0.98, 0.97, 0.95, 0.94, 0.92, 0.91, 0.89, 0.88, 0.87, 0.86, 0.85)
	handle := s.Tube(s.Curve(5, s.V(-3.4, 0, 2.2), s.V(-6.6, 0, 3.4), s.V(-6.8, 0, 7.0), s.V(-2.4, 0, 7.4)), 12, 0.9)
	return s.Union(m, spout, handle)
}
