package main

import (
	"math"

	s "cardback/cmd/demoparts/solid"
	"cardback/internal/mesh"
)

// poses lists the figures that are also shown put together, as they stand. They are
// made of the parts of the filament print, turned about their pivots and otherwise as
// they are; rods, and what a figure only holds, are left out.
func poses() []file {
	return []file{
		{release: lamplighterDir, cut: "pose", threeMF: true, mesh: lamplighterPose()},
		{release: fogMothsDir, cut: "pose", threeMF: true, mesh: fogMothPose()},
		{release: eelDir, cut: "pose", threeMF: true, mesh: eelPose()},
	}
}

// asDrawn is a finished part where its own code draws it: Tidy rests it on the
// plate, and this takes it back to its pivots.
func asDrawn(m *mesh.Mesh) *mesh.Mesh {
	b := m.Bounds()
	c := b.Centre()
	return s.Move(s.Tidy(m), c.X, c.Y, b.Min.Z)
}

// together is some bodies in one mesh, side by side as they are.
func together(parts ...*mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{}
	for _, p := range parts {
		n := uint32(len(out.Vertices))
		out.Vertices = append(out.Vertices, p.Vertices...)
		for _, t := range p.Triangles {
			out.Triangles = append(out.Triangles, [3]uint32{t[0] + n, t[1] + n, t[2] + n})
		}
	}
	return out
}

// bothSides is a limb and its mirrored twin.
func bothSides(m *mesh.Mesh) *mesh.Mesh { return together(m, s.Mirror(m)) }

// onFloor lowers a figure to z = 0.
func onFloor(m *mesh.Mesh) *mesh.Mesh { return s.Rest32(s.Move(m, 0, 0, -m.Bounds().Min.Z)) }

// Heights of the lamplighter's joints, from the lengths of the parts between them.
const (
	lampKnee     = 9.5 + 18
	lampHip      = lampKnee + 18
	lampWaist    = lampHip - hipZ
	lampShoulder = lampWaist + shoulderZ
	lampNeck     = lampWaist + 26.6
	lampCrown    = lampNeck + 1.2 + 15.3
	lampLegX     = 8.7 // the middle of a leg: the pelvis's ear and half a thigh from the middle
	lampElbowX   = 3.6 // from the shoulder outwards, and
	lampElbowZ   = -14.5
)

// lamplighterPose stands with the forearms raised, clear of the thighs.
func lamplighterPose() *mesh.Mesh {
	const d = pivotFilament
	leg := s.Move(together(
		s.Move(asDrawn(lampThigh(d)), 0, 0, lampKnee),
		s.Move(asDrawn(lampShin(d)), 0, 0, 9.5),
		asDrawn(lampBoot(d)),
	), lampLegX, 0, 0)
	// From the elbow down: the hand's pivot is 0.35 behind its own axis, and its back
	// lies on the cuff's end.
	fore := together(asDrawn(lampForearm(d)), s.Move(asDrawn(lampHand(d)), 0, -0.35, -12.5))
	arm := together(asDrawn(lampUpperArm(d)), s.Move(s.TurnX(fore, -70), lampElbowX, 0, lampElbowZ))
	arm = s.Move(s.TurnX(arm, 8), torsoHalf+0.1, shoulderY, lampShoulder)
	return onFloor(together(
		bothSides(leg),
		s.Move(asDrawn(lampPelvis(d, hipZ, hipFlare)), 0, 0, lampWaist),
		s.Move(asDrawn(lampTorsoSnap(snapMouth)), 0, 0, lampWaist),
		bothSides(arm),
		s.Move(s.TurnX(asDrawn(lampScarf()), -8), 0, 0.4, lampNeck+2.3),
		s.Move(asDrawn(lampHead(d)), 0, 0.06, lampNeck+1.2),
		s.Move(asDrawn(lampCap()), 0, 0.06, lampCrown-6.4),
	))
}

// fogMothPose hovers over the fog with its wings raised, on the stand's rod: 90 mm
// from the floor of the one hole to that of the other.
func fogMothPose() *mesh.Mesh {
	const hingeX, hingeZ, rise = 5.8, 1.2, 90 + 3.0 - 1.4
	wing := func(m *mesh.Mesh, up float64) *mesh.Mesh {
		return s.Move(s.TurnY(s.Move(asDrawn(m), 0, 0, -1.72), -up), hingeX, 0, hingeZ)
	}
	comb := s.Move(s.Mirror(asDrawn(mothAntenna())), 0, 0, -0.45)
	comb = s.Move(s.TurnZ(s.TurnX(comb, 20), 194.6), 1.2, -12.8, 1.2)
	moth := together(asDrawn(mothBody()), bothSides(together(wing(forewing(), 5), wing(hindwing(), 2), comb)))
	rod := s.Rod(s.V(0, 1, 3), s.V(0, 1, 3+90), 1, 12)
	return onFloor(together(asDrawn(fogBank()), rod, s.Move(moth, 0, 0, rise)))
}

// eelPose lies on a shelf with its tail over the edge. Without the shelf, which is in
// no file, it does not stay so.
func eelPose() *mesh.Mesh {
	const flat = 48
	from, _ := eelSpine(0, flat)
	to, _ := eelSpine(1./132, flat)
	along := math.Atan2(to.Y-from.Y, to.X-from.X) * 180 / math.Pi
	head := together(
		asDrawn(eelHead()),
		s.Move(s.TurnX(asDrawn(eelJaw()), 6), 0, -14.4, -4),
		s.Move(asDrawn(courierCap()), 0, -14, 9),
	)
	head = s.Move(s.TurnZ(head, along-90), from.X, from.Y, from.Z)
	return onFloor(together(head, asDrawn(eelTail(flat))))
}
