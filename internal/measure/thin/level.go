package thin

import (
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

const (
	// least is how far, in mm, material of about one thickness runs on to be a wall or a
	// pin: 0.8 mm, the width of a disc of half a square millimetre, two lines of filament;
	// what is shorter is a grain of the surface at any printer. wallRun and pinRun are the
	// same in thicknesses: a bar less than twice as wide as thick is none of a wall's
	// (see slender), a pin shorter than thick is a bump.
	least   = 0.7978845608028654 // √(4·0.5/π)
	wallRun = 2
	pinRun  = 1
	// steps is how many steps such a run takes, and halvings how often the last one is
	// halved: runs are found too short by less than 2·run/(steps·2^halvings), a
	// twentieth of their length, which is forgiven.
	steps, halvings = 6, 3
	forgiven        = 1 - 2./(steps<<halvings)
)

// run is how far a wall or a pin of a thickness has to run on.
func run(thickness float64, pin bool) float64 {
	if pin {
		return max(least, pinRun*thickness)
	}
	return max(least, wallRun*thickness)
}

// The walk that tells walls and pins from edges and points.
//
// Where two faces meet at an angle, or a fillet runs out into a flat, the solid is as
// thin as one likes, and nothing there has to stand by itself: a printer rounds it off.
// What has to stand is material that goes on. So one walks from the middle of the solid
// along its middle sheet, and a wall is where in every direction, both ways together,
// the solid stays between 1/band and band of its thickness for run. A pin is where it
// does so along its axis.
//
// On a wedge of angle 2a it is x·2·tan a thick at x from the edge, and stays in the
// band over (band − 1/band)·thickness/(2·tan a): it is a wall where 2·tan a is at
// most 0.225, which is 12.8°, from the thickness 2·tan a·0.8/0.45 mm on, and
// nowhere if it is blunter. A cone is a pin up to 25.4°, likewise. Where a fillet of
// radius R runs out into a flat it is x²/2R thick, and stays in the band over
// 0.224·√(2R·thickness): it is a wall where that comes to run, for 0.8 mm from
// 6.4/R mm on, and from 0.025·R on nowhere: for R under 16 mm nowhere at all.

// walker is where one stands: in the middle of the solid, across which m is.
type walker struct {
	c         inner
	m         mesh.Vec
	thickness float64 // or most, where it is that or more
}

// stand puts a walker in the middle of the solid next to c, within reach along m, and
// turns m square to the middle sheet: half way between the two faces' normals. Of a
// solid thicker than most nothing more is known.
func (pr *probe) stand(c inner, m mesh.Vec, reach, most float64) (walker, bool) {
	for range 2 {
		s, ok := pr.at(c, m, reach, most)
		if !ok {
			return walker{}, false
		}
		if s.Enter < 0 || s.Leave < 0 || s.Length() > most {
			return walker{c, m, math.Inf(1)}, true
		}
		half := (s.From + s.To) / 2
		c = inner{c.p.Add(m.Scale(half)), pr.ruler.Known(half)}
		a, ok1 := normal(pr.mesh, int(s.Leave))
		b, ok2 := normal(pr.mesh, int(s.Enter))
		if !ok1 || !ok2 {
			return walker{}, false
		}
		turned, ok := unit(a.Sub(b))
		if !ok || turned.Dot(m) < 0.5 { // not the two sides of one thing
			return walker{c, m, s.Length()}, true
		}
		if turned.Dot(m) > 0.9999 { // 0.8°: a thickness 1e-4 too great at most
			return walker{c, turned, s.Length()}, true
		}
		m, reach = turned, s.Length()
	}
	s, ok := pr.at(c, m, reach, most)
	if !ok || s.Enter < 0 || s.Leave < 0 || s.Length() > most {
		return walker{c, m, math.Inf(1)}, ok
	}
	half := (s.From + s.To) / 2
	return walker{inner{c.p.Add(m.Scale(half)), pr.ruler.Known(half)}, m, s.Length()}, true
}

// stop is why a walk ended.
type stop int8

const (
	goesOn stop = iota // it had gone as far as was asked
	grows              // the solid gets thicker
	ends               // it gets thinner, or ends
)

// walk goes from w along e (a unit vector) as long as the solid stays in the band
// about thickness, at most far, in steps of step.
func (pr *probe) walk(w walker, e mesh.Vec, thickness, far, step float64) (gone float64, why stop) {
	halved := 0
	for gone < far {
		flat, ok := unit(e.Sub(w.m.Scale(e.Dot(w.m))))
		if !ok {
			return gone, ends
		}
		ahead, ok := pr.step(w.c, flat.Scale(step))
		if !ok {
			return gone, ends
		}
		next, ok := pr.stand(ahead, w.m, step, 2*thickness)
		switch {
		case !ok:
			why = ends
		case next.thickness > band*thickness:
			why = grows
		case next.thickness < thickness/band, next.m.Dot(w.m) < 0.5:
			why = ends
		default:
			gone += step
			e, w = flat, next
			if halved == 0 {
				continue
			}
		}
		if halved == halvings {
			return gone, why
		}
		halved++
		step /= 2
	}
	return gone, goesOn
}

// both walks both ways along a line until enough, and says how far that came to.
func (pr *probe) both(w walker, e mesh.Vec, thickness, enough, step float64) (gone float64, one, other stop) {
	a, one := pr.walk(w, e, thickness, enough, step)
	if a >= enough {
		return a, one, goesOn
	}
	b, other := pr.walk(w, e.Scale(-1), thickness, enough-a, step)
	return a + b, one, other
}

// goesOn reports whether the solid at g is a wall or a pin: see above.
func (pr *probe) goesOn(g *gauge) bool {
	w, ok := pr.stand(inner{g.c, g.winding}, g.m, g.thickness, 2*g.thickness)
	if !ok {
		return false
	}
	enough := run(w.thickness, g.pin)
	step := enough / steps
	if g.pin {
		gone, _, _ := pr.both(w, g.axis, w.thickness, enough, step)
		return gone >= forgiven*enough
	}
	for _, e := range sheet(w.m) {
		if gone, _, _ := pr.both(w, e, w.thickness, enough, step); gone < forgiven*enough {
			return false
		}
	}
	return true
}

// sheet are four directions at right angles to m, 45° apart.
func sheet(m mesh.Vec) [4]mesh.Vec {
	u := across(m)
	v := m.Cross(u)
	const half = math.Sqrt2 / 2
	return [4]mesh.Vec{u, v, u.Add(v).Scale(half), u.Sub(v).Scale(half)}
}

// level tells the gauges that are of walls and pins from those that are of edges and
// points. Walks take long and neighbours are much alike, so they begin at a few gauges
// of each cube from a run to half a run wide; what lies in its or an adjoining cube,
// within a run of one from which the solid goes on, level with it and in the band,
// is part of it. partial is as for gaugeAll.
func level(ctx context.Context, pr *probe, all []gauge, centre mesh.Vec) (partial bool, err error) {
	const tries = 5
	type room struct {
		cell
		class int32 // power of two of the thickness
		pin   bool
	}
	size := func(class int32) float64 { return least * math.Exp2(float64(max(class, 0))) }
	classOf := func(t float64) int32 { return int32(math.Floor(math.Log2(t))) }
	rooms := map[room][]int32{}
	var order []room
	for i := range all {
		g := &all[i]
		k := room{class: classOf(g.thickness), pin: g.pin}
		k.cell = cellOf(g.c.Sub(centre), size(k.class))
		if rooms[k] == nil {
			order = append(order, k)
		}
		rooms[k] = append(rooms[k], int32(i))
	}
	firm := make([]int32, len(order)) // of each room, the gauge from which the solid goes on
	const few = 8
	left := make([]bool, parallel.Count(len(order), few))
	err = parallel.Pieces(ctx, len(order), few, func(piece, lo, hi int) {
		pr := pr.another()
		for k := lo; k < hi && ctx.Err() == nil; k++ {
			firm[k] = -1
			if left[piece] = pr.spent((hi-lo)*tries, walkWork); left[piece] {
				continue
			}
			in := rooms[order[k]]
			for n := range min(tries, len(in)) {
				if i := in[n*len(in)/min(tries, len(in))]; pr.goesOn(&all[i]) {
					firm[k] = i
					break
				}
			}
		}
	})
	if err != nil {
		return false, err
	}
	for k, i := range firm {
		if i < 0 {
			continue
		}
		g := &all[i]
		g.level = true
		reach := run(g.thickness, g.pin)
		for class := order[k].class - 1; class <= order[k].class+1; class++ {
			c := cellOf(g.c.Sub(centre), size(class))
			n := int64(1)
			if class < order[k].class {
				n = 2 // they are half as wide
			}
			for x := c[0] - n; x <= c[0]+n; x++ {
				for y := c[1] - n; y <= c[1]+n; y++ {
					for z := c[2] - n; z <= c[2]+n; z++ {
						for _, j := range rooms[room{cell{x, y, z}, class, g.pin}] {
							o := &all[j]
							d := o.c.Sub(g.c)
							if d.Norm() <= reach && math.Abs(d.Dot(g.m)) <= g.thickness/2+lean*d.Norm() &&
								o.thickness <= band*g.thickness && o.thickness >= g.thickness/band {
								o.level = true
							}
						}
					}
				}
			}
		}
	}
	return slices.Contains(left, true), nil
}
