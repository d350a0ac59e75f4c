package frontier

import (
	"context"
	"math"

	"cardback/internal/fit"
	"cardback/internal/fit/posture"
	"cardback/internal/mesh"
)

// axialSearch looks through all orientations of a part for the least boxes, as
// directions in which its longest chord lies on the plate and rolls about that
// chord. Frontier tells what for.
//
// Signs and the order of a box's sides do not matter, so directions v with
// 0 ≤ v₁ ≤ v₂ ≤ v₃ are enough, which are a 48th of all, if rolls of the part and of
// its mirror image are both looked at: an orientation with the sign of one axis
// changed, or two axes exchanged, is one of the mirror image.
type axialSearch struct {
	within  float64
	more    float64 // mm, added to each extent before it is rounded up
	steps   *staircase
	slop    float64
	points  []mesh.Vec       // of the part; Z is along the axis
	compass *posture.Compass // over points, where they are many
	work    int              // points looked at so far
}

// patch is a set of directions of the longest chord on the plate: a cell, with
// what is needed of it again and again.
type patch struct {
	posture.Cell
	v        mesh.Vec    // its middle
	p, q     mesh.Vec    // with v a right-handed frame
	ends     [4]mesh.Vec // its corners
	level    [3]float64  // √(1−v²) for each coordinate of v
	sin      float64     // of the greatest angle from v to a direction of the patch
	bend     float64     // 1 − its cosine
	twist    float64     // see split
	quarters *[4]*patch
}

// rolled is the orientations of a part, or of its mirror image, with its longest
// chord in a patch and a roll from angle − half to angle + half. A roll is that of
// the orientation which the least rotation from v brings there.
type rolled struct {
	*patch
	mirrored    bool
	angle, half float64
	*reaches
	chords [3]mesh.Vec // of the part, one for each axis of the plate
}

// reaches are the points that may reach farthest along each axis of the plate, and
// against it, in orientations that are at most an angle from some middle.
type reaches struct {
	along, against [3][]mesh.Vec
	angle          float64
}

// newPatch is the cell, with a frame of which the first axis is that nearest to p.
func newPatch(c posture.Cell, p mesh.Vec) *patch {
	out := &patch{Cell: c, v: c.Centre(), ends: c.Corners()}
	out.p = p.Sub(out.v.Scale(p.Dot(out.v)))
	out.p = out.p.Scale(1 / out.p.Norm())
	out.q = out.v.Cross(out.p)
	for _, k := range out.ends {
		out.sin = max(out.sin, k.Cross(out.v).Norm())
	}
	out.sin = min(out.sin, 1)
	cos := math.Sqrt(1 - float64(out.sin*out.sin))
	out.bend = float64(out.sin*out.sin) / (1 + cos)
	for i, x := range [3]float64{out.v.X, out.v.Y, out.v.Z} {
		out.level[i] = math.Sqrt(max(0, 1-float64(x*x)))
	}
	t := out.sin / (1 + cos) // the tangent of half the angle
	out.twist = 2 * math.Atan(float64(t*t)/max(1-float64(t*t), 1e-9))
	return out
}

// axial prepares the search. The part must have a point.
func axial(pt posture.Part, within float64, steps *staircase) *axialSearch {
	t := posture.NewTipping(pt)
	long := t.Longest()
	if long == (mesh.Vec{}) {
		long = mesh.Vec{Z: 1}
	}
	t.Stand(long.Scale(1 / long.Norm()))
	s := &axialSearch{within: within, more: fit.Tolerance, steps: steps, slop: pt.Slop}
	for _, v := range pt.Points {
		s.points = append(s.points, mesh.Vec{X: v.Dot(t.Right), Y: v.Dot(t.Ahead), Z: v.Dot(t.Up)})
	}
	if len(s.points) >= posture.ManyForCompass {
		s.compass = posture.NewCompass(s.points)
	}
	return s
}

// firstRolls and firstCells are into how many rolls a turn, and how often
// directions, are divided before any is done with: their boxes are put in first,
// so that large cells of poor orientations are soon done with.
const firstRolls, firstCells = 32, 3

// run puts boxes into the staircase until each orientation is covered: until one
// of them goes into every room, rounded down to the pitch, with within to spare
// for it. It is false where that takes more than most work.
func (s *axialSearch) run(ctx context.Context, most int) (ok bool, err error) {
	cells := []posture.Cell{{Face: 2, S: math.Pi / 8, T: math.Pi / 8, Half: math.Pi / 8}}
	for range firstCells {
		var next []posture.Cell
		for _, c := range cells {
			for _, k := range c.Quarters() {
				if k.S-k.Half < k.T+k.Half { // else v₁ > v₂ throughout
					next = append(next, k)
				}
			}
		}
		cells = next
	}
	whole := &reaches{angle: math.Inf(1)}
	for i := range 3 {
		whole.along[i], whole.against[i] = s.points, s.points
	}
	first := make([][]rolled, len(cells))
	for i, c := range cells {
		p := newPatch(c, mesh.Vec{X: 1, Y: -1})
		for k := range 2 * firstRolls {
			r := rolled{patch: p, reaches: whole, mirrored: k%2 == 1, angle: float64(k/2) * 2 * math.Pi / firstRolls, half: math.Pi / firstRolls}
			if ctx.Err() != nil {
				return false, ctx.Err()
			}
			m := r.rows()
			s.look(&r, m)
			s.put(s.box(r.chords, m))
			first[i] = append(first[i], r)
		}
	}
	for i := range first {
		// From all over, so that how far it has come is a sign of how far it will;
		// stride is prime to the number.
		const stride = 5
		at := i * stride % len(first)
		stack := first[at]
		first[at] = nil
		for n := 0; len(stack) > 0; n++ {
			if n%64 == 0 && ctx.Err() != nil {
				return false, ctx.Err()
			}
			if spent := s.spent(); spent > most || spent > most/4 && i < len(first)/16 {
				return false, nil
			}
			r := stack[len(stack)-1]
			stack = s.done(stack[:len(stack)-1], r)
		}
	}
	return true, ctx.Err()
}

// spent is the work so far, in points looked at.
func (s *axialSearch) spent() int {
	if s.compass != nil {
		return s.work + s.compass.Work
	}
	return s.work
}

// rows are the plate's axes as the part sees them, in the middle of r.
func (r *rolled) rows() [3]mesh.Vec {
	sin, cos := math.Sincos(r.angle)
	a := r.p.Scale(cos).Add(r.q.Scale(sin))
	b := r.q.Scale(cos).Sub(r.p.Scale(sin))
	if r.mirrored {
		b = b.Scale(-1)
	}
	return [3]mesh.Vec{{X: a.X, Y: b.X, Z: r.v.X}, {X: a.Y, Y: b.Y, Z: r.v.Y}, {X: a.Z, Y: b.Z, Z: r.v.Z}}
}

// look finds the longest chords along the plate's axes.
func (s *axialSearch) look(r *rolled, m [3]mesh.Vec) {
	// Twice the twist is more than all patches within this one add to its rolls:
	// in each of them it is less than half of what it was.
	if angle := math.Asin(r.sin) + r.half + 2*r.twist; angle < r.reaches.angle/2 && r.reaches.many() {
		r.reaches = s.nearer(r.reaches, m, angle)
	}
	for i, row := range m {
		r.chords[i] = farthestAlong(r.along[i], row).Sub(farthestAlong(r.against[i], row.Scale(-1)))
		s.work += len(r.along[i]) + len(r.against[i])
	}
}

func (n *reaches) many() bool {
	sum := 0
	for i := range 3 {
		sum += len(n.along[i]) + len(n.against[i])
	}
	return sum > 24
}

// nearer leaves out points that do not reach as far as the farthest one in any
// direction that is at most an angle from an axis: those p for which that one, q, has
// (q−p)·axis > |q−p| sin angle.
func (s *axialSearch) nearer(n *reaches, m [3]mesh.Vec, angle float64) *reaches {
	out := &reaches{angle: angle}
	sin := 1.0
	if angle < math.Pi/2 {
		sin = math.Sin(angle)
	}
	const rounding = 1e-9
	sin = float64(sin*sin) + rounding
	few := func(points []mesh.Vec, axis mesh.Vec) (kept []mesh.Vec) {
		s.work += 2 * len(points)
		q := farthestAlong(points, axis)
		for _, p := range points {
			d := q.Sub(p)
			if a := d.Dot(axis); a <= 0 || float64(a*a) <= float64(d.Dot(d)*sin) {
				kept = append(kept, p)
			}
		}
		return kept
	}
	for i, row := range m {
		along, against := n.along[i], n.against[i]
		if c := s.compass; c != nil && math.IsInf(n.angle, 1) {
			along, against = c.At(c.Toward(row, angle)), c.At(c.Toward(row.Scale(-1), angle))
		}
		out.along[i], out.against[i] = few(along, row), few(against, row.Scale(-1))
	}
	return out
}

// farthestAlong is the point that reaches farthest in the direction.
func farthestAlong(points []mesh.Vec, v mesh.Vec) mesh.Vec {
	far, most := 0, math.Inf(-1)
	for k := range points {
		if d := points[k].Dot(v); d > most {
			far, most = k, d
		}
	}
	return points[far]
}

// box is that of the part, whose longest chords along the plate's axes these are.
func (s *axialSearch) box(chords, m [3]mesh.Vec) [3]int {
	side := func(i int) int { return s.steps.up(chords[i].Dot(m[i]) + s.more) }
	return sorted(side(0), side(1), side(2))
}

func (s *axialSearch) put(box [3]int) { s.work += s.steps.put(box) / 4 }

// room is what every room with within to spare for extents of at least l has.
func (s *axialSearch) room(l [3]float64) [3]int {
	side := func(i int) int { return s.steps.room(l[i], s.within, s.slop) }
	return sorted(side(0), side(1), side(2))
}

// least bounds from below the extents along the three axes in all orientations of
// r, and says how much of what they lose against its middle is lost to rolling
// and how much to the directions of its patch, of the one that loses most of each.
//
// The extent is at least that of a fixed chord c. In the middle of r its coordinate
// along an axis of the plate is
//
//	c·row = c∥ v + x,
//
// with c∥ its part along the longest chord, v that axis' coordinate of the longest
// chord's direction, and x what its part square to that, of length c⊥, adds.
//
// Rolled by τ, x becomes α cos τ + β sin τ, which is least at an end of the roll
// or, where that lies within, at −√(α²+β²).
//
// In another direction v' of the patch, at an angle β ≤ δ from v towards the unit
// vector t, the first summand is c∥ v'. As β is the least rotation, the part y of
// the chord square to v, of length c⊥, loses (y·t)[v sin β + t (1−cos β)] of its
// coordinate, and as (y·t) sin β = y·v', both together are, but for the last term
// of no more than c⊥√(1−v²)(1−cos δ), the product of v' with
//
//	g = c∥ (the plate's axis) − v y.
//
// v' is Σλₖvₖ over the patch's corners vₖ, λ ≥ 0, made a unit vector, for which
// |Σλₖvₖ| is between cos δ Σλₖ and Σλₖ: so g·v' is at least the least g·vₖ, or that
// over cos δ where it is negative. Rolling by τ turns y by as much, which takes
// no more than v c⊥ 2 sin(τ/2) sin δ.
func (s *axialSearch) least(r *rolled, m [3]mesh.Vec) (l [3]float64, toRoll, toPatch float64) {
	sin, cos := math.Sincos(r.half)
	turned := 2 * math.Sin(r.half/2)
	for i, row := range m {
		c := r.chords[i]
		x := float64(c.X*row.X) + float64(c.Y*row.Y)
		slope := float64(c.X*row.Y) - float64(c.Y*row.X) // of the mirror image, −β
		along, across := float64(c.Z*row.Z), math.Sqrt(float64(c.X*c.X)+float64(c.Y*c.Y))
		if x+along < 0 { // chords of another orientation may point the other way
			c, x, along = c.Scale(-1), -x, -along
		}
		rolledX := float64(x*cos) - float64(math.Abs(slope)*sin)
		if x < 0 && float64(math.Abs(slope)*cos) < float64(-x*sin) {
			rolledX = -math.Sqrt(float64(x*x) + float64(slope*slope))
		}
		g := mesh.Vec{
			X: -float64(row.Z * (float64(c.X*m[0].X) + float64(c.Y*m[0].Y))),
			Y: -float64(row.Z * (float64(c.X*m[1].X) + float64(c.Y*m[1].Y))),
			Z: -float64(row.Z * (float64(c.X*m[2].X) + float64(c.Y*m[2].Y))),
		}
		switch i {
		case 0:
			g.X += c.Z
		case 1:
			g.Y += c.Z
		default:
			g.Z += c.Z
		}
		least := min(g.Dot(r.ends[0]), g.Dot(r.ends[1]), g.Dot(r.ends[2]), g.Dot(r.ends[3]))
		if least < 0 {
			least /= 1 - r.bend
		}
		least -= float64(across * r.bend * r.level[i])
		l[i] = rolledX + least - float64(row.Z*across*r.sin*turned)
		toRoll, toPatch = max(toRoll, x-rolledX), max(toPatch, along-least)
	}
	return l, toRoll, toPatch
}

// done adds to the stack what is left of r to be looked at.
func (s *axialSearch) done(stack []rolled, r rolled) []rolled {
	m := r.rows()
	s.work += 30 // about as much time as so many points
	if l, _, _ := s.least(&r, m); s.steps.has(s.room(l)) {
		return stack // by the chords of a larger cell
	}
	s.look(&r, m)
	l, toRoll, toPatch := s.least(&r, m)
	room := s.room(l)
	if s.steps.has(room) {
		return stack
	}
	if box := s.box(r.chords, m); atMost(box, room) {
		s.put(box)
		return stack
	}
	return r.split(stack, toRoll > toPatch)
}

// split adds the two halves of r's rolls to the stack, or its rolls over each
// quarter of its patch. The frame of a quarter is that of the patch brought to its
// middle by the least rotation. To bring an orientation there at first and from
// there to its own direction is to roll it by the excess of the triangle of the
// three directions besides, of which two sides are at most δ: by no more than
// twist, as tan(E/2) = tan(a/2) tan(b/2) sin C / (1 + tan(a/2) tan(b/2) cos C).
func (r *rolled) split(stack []rolled, roll bool) []rolled {
	if roll {
		half := r.half / 2
		for _, by := range [2]float64{-half, half} {
			k := *r
			k.angle, k.half = r.angle+by, half
			stack = append(stack, k)
		}
		return stack
	}
	if r.patch.quarters == nil {
		var kids [4]*patch
		for i, c := range r.Cell.Quarters() {
			if c.S-c.Half >= c.T+c.Half {
				continue
			}
			w := c.Centre()
			kids[i] = newPatch(c, r.p.Sub(r.v.Add(w).Scale(r.p.Dot(w)/(1+r.v.Dot(w)))))
		}
		r.patch.quarters = &kids
	}
	for _, kid := range r.patch.quarters {
		if kid != nil {
			k := *r
			k.patch, k.half = kid, r.half+r.twist
			stack = append(stack, k)
		}
	}
	return stack
}
