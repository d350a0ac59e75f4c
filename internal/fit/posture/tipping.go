package posture

import (
	"math"

	"cardback/internal/fit/footprint"
	"cardback/internal/mesh"
	"cardback/internal/rotation"
)

// LocalSearches is how many times an improved posture is improved further by
// small steps; the branch and bound does not depend on it.
const LocalSearches = 24

// MostRounds is how often points that stick out are added to the chosen ones at one
// orientation before it is left: some ten are enough for anything but a part of very
// many points made so that each hides the next.
const MostRounds = 100

// Climbs is how many steps, taken or not, one such search may have: about
// twice what it takes to halve the first step down to 1e-12.
const Climbs = 80

// Tipping is one search for a tipped orientation.
type Tipping struct {
	Part
	Posture
	Chosen   map[int]bool // of part.points, those that the posture looks at
	moved    int          // by how many places the plate's axes are moved on
	best     float64      // the most to spare so far, over the chosen points
	Searches int
	Compass  *Compass // over part.points, where there is one
}

// NewTipping prepares a search. On a rectangular plate any side may stand for
// the height, as the part may be turned in any way: the shortest does, because
// it excludes most directions, and does so without a look at the footprint.
func NewTipping(pt Part) *Tipping {
	s := &Tipping{Part: pt, Chosen: map[int]bool{}, best: math.Inf(-1)}
	if room := pt.Room; !pt.Round {
		switch least := min(room.X, room.Y, room.Z); least {
		case room.Z:
		case room.X:
			s.moved, s.Part.Room = 1, mesh.Vec{X: room.Y, Y: room.Z, Z: room.X}
		default:
			s.moved, s.Part.Room = 2, mesh.Vec{X: room.Z, Y: room.X, Z: room.Y}
		}
	}
	s.Posture.Room, s.Posture.Round = s.Part.Room, pt.Round
	s.choose()
	return s
}

// OnPlate is a rotation found by the search, with the plate's own axes back in
// their places: row i of rot belongs to the axis i + moved. Going round by a
// place keeps it a rotation.
func (s *Tipping) OnPlate(rot [9]float64) (out [9]float64) {
	for i := range 9 {
		out[(i+3*s.moved)%9] = rot[i]
	}
	return out
}

// OffPlate undoes onPlate.
func (s *Tipping) OffPlate(rot [9]float64) (out [9]float64) {
	for i := range 9 {
		out[i] = rot[(i+3*s.moved)%9]
	}
	return out
}

// OnPlateRoom is the room by the plate's own axes.
func (s *Tipping) OnPlateRoom() mesh.Vec {
	r := s.Part.Room
	v := [3]float64{r.X, r.Y, r.Z}
	at := func(i int) float64 { return v[(i+3-s.moved)%3] }
	return mesh.Vec{X: at(0), Y: at(1), Z: at(2)}
}

func (pt Part) Diagonal() float64 {
	if pt.Round {
		return mesh.Vec{X: pt.Room.X, Z: pt.Room.Z}.Norm()
	}
	return pt.Room.Norm()
}

// manyPoints is the count up to which all points are looked at; of more, those
// farthest along probes spread over the sphere.
const manyPoints, probes = 64, 48

func (s *Tipping) choose() {
	n := len(s.Part.Points)
	if n <= manyPoints {
		for i := range n {
			s.add(i)
		}
		return
	}
	for k := range probes {
		// A spiral of equal areas over the half-sphere.
		z := (float64(k) + 0.5) / probes
		r := math.Sqrt(1 - float64(z*z))
		sin, cos := math.Sincos(float64(k) * math.Pi * (3 - math.Sqrt(5)))
		s.addExtremes(mesh.Vec{X: r * cos, Y: r * sin, Z: z})
	}
}

func (s *Tipping) add(i int) bool {
	if s.Chosen[i] {
		return false
	}
	s.Chosen[i] = true
	s.Posture.Points = append(s.Posture.Points, s.Part.Points[i])
	return true
}

// addExtremes adds the points farthest along v and against it; it reports
// whether either was new.
func (s *Tipping) addExtremes(v mesh.Vec) bool {
	if c := s.Compass; c != nil {
		a := s.add(c.Farthest(v.Scale(-1), c.Toward(v.Scale(-1), 0)))
		return s.add(c.Farthest(v, c.Toward(v, 0))) || a
	}
	low, high := 0, 0
	least, most := math.Inf(1), math.Inf(-1)
	for i, p := range s.Part.Points {
		d := p.Dot(v)
		if d < least {
			low, least = i, d
		}
		if d > most {
			high, most = i, d
		}
	}
	a, b := s.add(low), s.add(high)
	return a || b
}

// Longest returns the longest chord between two chosen points.
func (s *Tipping) Longest() mesh.Vec {
	var out mesh.Vec
	var most float64
	for i, p := range s.Posture.Points {
		for _, q := range s.Posture.Points[:i] {
			if d := p.Sub(q); d.Dot(d) > most {
				out, most = d, d.Dot(d)
			}
		}
	}
	return out
}

// Seeds are upward directions worth trying first: the part's own axes, and
// those that lay its longest chord along a diagonal of the plate, rolled about
// that chord in twelve steps.
func (s *Tipping) Seeds(along mesh.Vec) []mesh.Vec {
	out := []mesh.Vec{{X: 1}, {Y: 1}, {Z: 1}}
	l := along.Norm()
	if l == 0 {
		return out
	}
	s.Stand(along.Scale(1 / l))
	rise := s.Part.Room.Z / s.Part.Diagonal()
	across := math.Sqrt(max(0, 1-float64(rise*rise)))
	right, ahead, chord := s.Right, s.Ahead, s.Up
	for k := range 12 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 6)
		v := chord.Scale(rise).Add(right.Scale(across * cos)).Add(ahead.Scale(across * sin))
		out = append(out, v.Scale(1/v.Norm()))
	}
	return out
}

// Try looks for a fit at up and, where that is the best so far, near it. What
// it returns has been checked on all points.
func (s *Tipping) Try(up mesh.Vec) ([9]float64, bool) {
	s.Stand(up)
	clearance, f := s.Posture.Clearance()
	if clearance < -s.Part.Slop && clearance > s.best && s.Searches < LocalSearches {
		s.Searches++
		up, _ = s.Improve(up, clearance)
		s.Stand(up)
		clearance, f = s.Posture.Clearance()
	}
	for range MostRounds {
		if clearance < -s.Part.Slop {
			break
		}
		rot := s.Rotation(f)
		if s.Part.Clearance(rot) >= -s.Part.Slop {
			return rot, true
		}
		if !s.StickOut(rot) {
			break
		}
		s.Stand(up)
		clearance, f = s.Posture.Clearance()
	}
	s.best = max(s.best, clearance)
	return rotation.Identity, false
}

// StickOut adds the points that reach farthest in the orientation; it reports
// whether any was new.
func (s *Tipping) StickOut(rot [9]float64) bool {
	if s.Compass == nil {
		s.Work += 8 * len(s.Part.Points) // checked once and gone through three times
	}
	added := false
	for i := range 3 {
		added = s.addExtremes(mesh.Vec{X: rot[3*i], Y: rot[3*i+1], Z: rot[3*i+2]}) || added
	}
	if s.Part.Round {
		turned, number := s.Afoot(rot)
		s.Work += 8 * len(turned)
		k := footprint.LeastCircle(footprint.Corners(nil, append([]mesh.Vec(nil), turned...)))
		for i, v := range turned {
			if k.Distance(v) >= k.R*(1-1e3*footprint.Nearly) {
				added = s.add(number(i)) || added
			}
		}
	}
	return added
}

// Improve climbs from up towards more to spare.
func (s *Tipping) Improve(up mesh.Vec, clearance float64) (mesh.Vec, float64) {
	return s.Climb(up, clearance, func(more float64) float64 {
		if most := s.Part.Room.Z - s.Height(); most <= more {
			return most
		}
		got, _ := s.Posture.Clearance()
		return got
	}, func(clearance float64) float64 {
		if clearance > -0.01 && clearance < -s.Part.Slop { // so near that the last digits decide
			return 1e-12
		}
		return 1e-7
	})
}

// Afoot are the points, turned, that may be corners of the footprint, and which of the
// part's points they are.
func (s *Tipping) Afoot(rot [9]float64) (turned []mesh.Vec, number func(int) int) {
	if c := s.Compass; c != nil {
		from := c.level(mesh.Vec{X: rot[6], Y: rot[7], Z: rot[8]})
		return c.turned(rot, from), func(i int) int { return int(from[i]) }
	}
	turned = make([]mesh.Vec, len(s.Part.Points))
	for i, v := range s.Part.Points {
		turned[i] = rotation.Apply(rot, v)
	}
	return turned, func(i int) int { return i }
}

// Climb goes from up by steps in six directions, halved when none helps and
// turned a little each time, so as not to stall on a ridge. value measures the
// posture as it stands, and may stop early where that is no more than it is
// given; least is the shortest step that is worth it at a value.
func (s *Tipping) Climb(up mesh.Vec, value float64, measure, least func(float64) float64) (mesh.Vec, float64) {
	turn, step := 0.0, 0.2
	for range Climbs {
		if step < least(value) {
			break
		}
		s.Stand(up)
		right, ahead := s.Right, s.Ahead
		better := false
		for k := range 6 {
			sin, cos := math.Sincos(turn + float64(k)*math.Pi/3)
			v := up.Add(right.Scale(step * cos)).Add(ahead.Scale(step * sin))
			v = v.Scale(1 / v.Norm())
			s.Stand(v)
			if got := measure(value); got > value {
				up, value, better = v, got, true
				break
			}
		}
		turn += 2.4 // near the golden angle: directions do not repeat
		if !better {
			step /= 2
		}
	}
	return up, value
}
