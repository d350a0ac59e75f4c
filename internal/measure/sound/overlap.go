package sound

import (
	"cmp"
	"context"
	"iter"
	"slices"

	"cardback/internal/measure/exact"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// contact is a pair of bodies, the lesser number first, and how they meet.
type contact struct {
	bodies [2]int32
	through,
	entering bool // at one place at least
	at pair // triangles that show it
}

// mostContacts is how many pairs of bodies one task keeps.
const mostContacts = 1 << 10

// contactsOf finds which bodies cross, and which have room in common without any
// two triangles passing through each other: where a face of one lies in a face of
// the other with both solids on one side, or where one goes on inside from a
// point within a face of the other. Pairs that only touch are left out.
func contactsOf(ctx context.Context, t *tree.Tree, top mesh.Topology, of []int32, bodies []body) (contacts []contact, partial bool, err error) {
	m := t.Mesh
	bodyOf := func(tri int32) int32 {
		if s := top.ShellOf[tri]; s >= 0 {
			return of[s]
		}
		return -1
	}
	var found []map[[2]int32]contact
	var full []bool
	ration := ration{most: mostLooks + looksEach*len(m.Triangles)}
	err = t.Pairs(ctx, func(tasks int) {
		found = make([]map[[2]int32]contact, tasks)
		full = make([]bool, tasks)
		ration.begin(tasks)
	}, func(task int, pairs iter.Seq2[int32, int32]) {
		looks := ration.of(task)
		known := map[[2]int32]contact{}
		for a, b := range pairs {
			if !looks.more() {
				break
			}
			i, j := bodyOf(a), bodyOf(b)
			if i < 0 || j < 0 || bodies[i].twin == bodies[j].twin {
				continue
			}
			if i > j {
				i, j, a, b = j, i, b, a
			}
			c := known[[2]int32{i, j}]
			if c.through {
				continue
			}
			how := meet(m, a, b)
			if how == apart || !haveArea(m, a, b) {
				continue
			}
			was := c
			c.bodies = [2]int32{i, j}
			c.through = how == through
			if how == touch && !c.entering {
				s, u := cornersOf(m, a), cornersOf(m, b)
				c.entering = sameSide(&s, &u) || enters(&u, &s) || enters(&s, &u)
			}
			if c.through != was.through || c.entering != was.entering {
				c.at = pair{min(a, b), max(a, b)}
				known[c.bodies] = c
			}
			if len(known) > mostContacts {
				full[task] = true
				break
			}
		}
		found[task] = known
		looks.end()
	})
	if err != nil {
		return nil, false, err
	}
	tasks, partial := ration.spent()
	for i, known := range found[:tasks] {
		partial = partial || full[i]
		for _, c := range known {
			contacts = append(contacts, c)
		}
	}
	slices.SortFunc(contacts, func(a, b contact) int {
		return cmp.Or(slices.Compare(a.bodies[:], b.bodies[:]), slices.Compare(a.at[:], b.at[:]))
	})
	joined := contacts[:0]
	for _, c := range contacts {
		if n := len(joined); n > 0 && joined[n-1].bodies == c.bodies {
			if c.through && !joined[n-1].through {
				joined[n-1].at = c.at
			}
			joined[n-1].through = joined[n-1].through || c.through
			joined[n-1].entering = joined[n-1].entering || c.entering
			continue
		}
		joined = append(joined, c)
	}
	return joined, partial, nil
}

// sidesExactly are the sides of s's plane on which t's corners lie.
func sidesExactly(s, t *corners) [3]int {
	p := s.plane()
	side, _ := sides(&p, t)
	settle(&side, s, t)
	return side
}

// sameSide reports whether two triangles lie in one plane, face the same way and
// have an area in common.
func sameSide(s, t *corners) bool {
	if sidesExactly(s, t) != [3]int{} {
		return false
	}
	k := projection(s)
	if turn(k, s[0], s[1], s[2]) != turn(k, t[0], t[1], t[2]) {
		return false
	}
	return !besideASide(k, s, t) && !besideASide(k, t, s)
}

// besideASide reports whether t lies beyond one of s's sides, or on it. Two
// triangles in a plane have no area in common just if that is so for one of them.
func besideASide(k int, s, t *corners) bool {
	way := turn(k, s[0], s[1], s[2])
	for i := range 3 {
		a, b := s[i], s[(i+1)%3]
		if turn(k, a, b, t[0]) != way && turn(k, a, b, t[1]) != way && turn(k, a, b, t[2]) != way {
			return true
		}
	}
	return false
}

// enters reports whether t goes on behind s from a point within s: t has a corner
// behind it, and a corner or a side in its plane with a point inside s.
func enters(t, s *corners) bool {
	side := sidesExactly(s, t)
	if min(side[0], side[1], side[2]) >= 0 {
		return false
	}
	for k := range 3 {
		l := (k + 1) % 3
		if side[k] == 0 && s.placeOf(t[k]) == inside {
			return true
		}
		if side[k] == 0 && side[l] == 0 && s.cutInPlane(t[k], t[l]) {
			return true
		}
	}
	return false
}

// cutInPlane reports whether the segment pq of the plane has a point inside s: it
// has if s does not lie to one side of its line, and both ends are not beyond or
// on one of s's sides.
func (s *corners) cutInPlane(p, q mesh.Vec) bool {
	k := projection(s)
	way := turn(k, s[0], s[1], s[2])
	var of [3]int
	for i := range 3 {
		of[i] = turn(k, p, q, s[i])
		a, b := s[i], s[(i+1)%3]
		if turn(k, a, b, p) != way && turn(k, a, b, q) != way {
			return false
		}
	}
	return straddles(of)
}

// windings adds up, for each body that the segment from p to q goes through, how
// often it is left less how often it is entered: what comes of it is how often
// the body lies around p, if q is outside. ok is false where the segment touches
// an edge, so that another one must be tried.
type windings struct {
	bodies []int32
	around []int
	on     []int32 // bodies on whose surface p lies
}

func (w *windings) add(body int32, n int) {
	i := slices.Index(w.bodies, body)
	if i < 0 {
		i = len(w.bodies)
		w.bodies, w.around = append(w.bodies, body), append(w.around, 0)
	}
	w.around[i] += n
}

// pass takes a triangle of a body into account. ok is false where the segment
// meets its border, so that another segment must be tried.
func (w *windings) pass(s *corners, body int32, p, q mesh.Vec) (ok bool) {
	ofP, ofQ := exact.Side(s[0], s[1], s[2], p), exact.Side(s[0], s[1], s[2], q)
	switch {
	case ofP == 0 && ofQ == 0:
		if !s.hasArea() { // its neighbours have its sides too
			return true
		}
		if s.placeOf(p) != outside {
			w.lieOn(body)
			return true
		}
		return !s.crossedInPlane(p, q)
	case ofP == 0:
		if s.placeOf(p) != outside {
			w.lieOn(body)
		}
		return true
	case ofP*ofQ >= 0:
		return true
	}
	switch s.placeOfPiercing(p, q) {
	case border:
		return false
	case inside:
		w.add(body, ofQ) // out through the front: +1
	}
	return true
}

func (w *windings) lieOn(body int32) {
	if !slices.Contains(w.on, body) {
		w.on = append(w.on, body)
	}
}
