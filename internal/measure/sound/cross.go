package sound

import (
	"context"
	"iter"
	"slices"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// Cross finds the pairs of triangles that cross or touch otherwise than along
// what they share. Each pair is decided exactly; see meet for the definition,
// which is that of CGAL's self_intersections (Polygon mesh processing manual).
// Triangles without area take no part.
//
// Time is in proportion to the pairs of triangles whose boxes meet, up to a
// bound: where it is reached, Partial is set, and Count says how many were found
// until then. shellOf is as in mesh.Topology; without it Within stays 0.
func Cross(ctx context.Context, t *tree.Tree, shellOf []int32) (Crossings, error) {
	m := t.Mesh
	var found []taskCrossings
	var last []pair // by task: the one looked at last
	var cut []bool  // by task: it ended at its bound
	ration := ration{most: mostLooks + looksEach*len(m.Triangles)}
	err := t.Pairs(ctx, func(tasks int) {
		found = make([]taskCrossings, tasks)
		last, cut = make([]pair, tasks), make([]bool, tasks)
		ration.begin(tasks)
	}, func(task int, pairs iter.Seq2[int32, int32]) {
		looks := ration.of(task)
		for a, b := range pairs {
			if !looks.more() {
				cut[task] = true
				break
			}
			last[task] = pair{min(a, b), max(a, b)}
			if hasRepeat(m.Triangles[a]) || hasRepeat(m.Triangles[b]) {
				continue
			}
			if how := meet(m, a, b); how != apart && haveArea(m, a, b) {
				found[task].add(pair{min(a, b), max(a, b)}, how)
				if how == through && shellOf != nil && shellOf[a] == shellOf[b] {
					found[task].within++
				}
			}
		}
		looks.end()
	})
	if err != nil {
		return Crossings{}, err
	}
	all := Crossings{}
	tasks, partial := ration.spent()
	if all.Partial = partial; partial {
		all.Looked = ration.total
		// The first task that was cut or, where each that counts was whole, the last of
		// them that had a pair.
		at := slices.Index(cut[:tasks], true)
		if at < 0 {
			at = tasks - 1
		}
		for ; at > 0 && last[at] == (pair{}); at-- {
		}
		p := whereabouts(m, last[at])
		all.Past = &p
	}
	var crossing, touching []pair
	for i := range found[:tasks] {
		f := &found[i]
		all.Count += f.crossing.count + f.touching.count
		all.Touching += f.touching.count
		all.Within += f.within
		crossing = append(crossing, f.crossing.kept...)
		touching = append(touching, f.touching.kept...)
	}
	all.Places = spread(m, crossing, touching)
	return all, nil
}

// haveArea decides exactly whether both triangles have an area.
func haveArea(m *mesh.Mesh, a, b int32) bool {
	s, t := cornersOf(m, a), cornersOf(m, b)
	return s.hasArea() && t.hasArea()
}

func hasRepeat(t [3]uint32) bool { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0] }

// pair is two triangles, the lesser number first.
type pair [2]int32

// taskCrossings are what one task found.
type taskCrossings struct {
	crossing, touching sample
	within             int // crossing pairs in one shell
}

func (f *taskCrossings) add(p pair, how meeting) {
	if how == through {
		f.crossing.add(p)
	} else {
		f.touching.add(p)
	}
}

// sample counts pairs and keeps an even choice of them: every stride-th, where
// the stride doubles each time that too many are kept.
type sample struct {
	count int
	kept  []pair
	skip  int // stride less 1
}

// mostKept is how many pairs a task keeps to choose places from. Half of it, which
// is what is left when the stride doubles, is more than MostPlaces.
const mostKept = 64

func (s *sample) add(p pair) {
	if s.count&s.skip == 0 {
		if len(s.kept) == mostKept {
			for i := range mostKept / 2 {
				s.kept[i] = s.kept[2*i]
			}
			s.kept = s.kept[:mostKept/2]
			s.skip = 2*s.skip + 1
		}
		if s.count&s.skip == 0 {
			s.kept = append(s.kept, p)
		}
	}
	s.count++
}
