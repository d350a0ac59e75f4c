package sound

import (
	"context"
	"slices"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

const (
	// mostProbes is how many corners of a shell are tried, spread over it, to find
	// one that lies on no other shell, and mostRays how many ways are looked from each.
	mostProbes, mostRays = 24, 8

	// mostPassed is how many triangles all looks together may pass, shared evenly
	// among the shells; each may pass fewestPassed at least.
	mostPassed, fewestPassed = 1 << 26, 1 << 12
)

// Nest sorts the shells: see Shells. Which of them lie in which is decided by
// winding numbers: from a corner of the shell, a segment to a point outside the
// mesh is followed, and each triangle that it goes through counts for or against
// its shell by exact predicates. Where it meets an edge, another one is tried.
//
// Where shells cross, one is not wholly within another, and no corner can speak
// for it: outward ones are given as overlapping, inward ones as breaking. Where
// they have room in common without crossing, as with faces in one plane, a shell
// is buried if all corners looked at say so.
func Nest(ctx context.Context, t *tree.Tree, top mesh.Topology, c Crossings) (Shells, error) {
	var out Shells
	m := t.Mesh
	bodies, of, err := bodiesOf(ctx, m, top)
	if err != nil || len(bodies) == 0 {
		return out, err
	}
	if err := pairTwins(ctx, m, top, of, bodies); err != nil {
		return out, err
	}
	shellOf := func(b int32) Shell {
		x := &bodies[b]
		return Shell{int(x.shell), int(x.triangles), x.volume, m.Vertices[m.Triangles[x.first][0]]}
	}
	double := func(list *[][2]Shell, count *int, a, b int32) {
		*count++
		if len(*list) < MostPlaces {
			*list = append(*list, [2]Shell{shellOf(a), shellOf(b)})
		}
	}
	for i := range bodies {
		if twin := bodies[i].twin; twin != int32(i) {
			double(&out.Coincident, &out.CoincidentCount, twin, int32(i))
		}
	}
	var contacts []contact
	if len(bodies) > 1 && (c.Count > 0 || c.Partial) {
		if contacts, out.Partial, err = contactsOf(ctx, t, top, of, bodies); err != nil {
			return out, err
		}
		for _, x := range contacts {
			a, b := &bodies[x.bodies[0]], &bodies[x.bodies[1]]
			if !x.through && !(a.outward() && b.outward()) {
				continue
			}
			a.crossed, b.crossed = a.crossed || x.through, b.crossed || x.through
			a.flush, b.flush = true, true
		}
	}
	depths := make([]depth, len(bodies))
	n := nester{t, top.ShellOf, of, bodies, m.Bounds(), max(fewestPassed, mostPassed/len(bodies))}
	err = parallel.Pieces(ctx, len(bodies), 16, func(_, lo, hi int) {
		for i := lo; i < hi && ctx.Err() == nil; i++ {
			if b := &bodies[i]; !b.crossed && b.twin == int32(i) {
				depths[i] = n.depthOf(int32(i))
			}
		}
	})
	if err != nil {
		return Shells{}, err
	}
	out.Partial = out.Partial || slices.ContainsFunc(depths, func(d depth) bool { return d.spent })
	within := func(i int32) bool { return bodies[i].outward() && depths[i].known && depths[i].around > 0 }
	for _, x := range contacts {
		i, j := x.bodies[0], x.bodies[1]
		a, b := &bodies[i], &bodies[j]
		if a.twin != i || b.twin != j || !a.outward() || !b.outward() || !x.through && (within(i) || within(j)) {
			continue
		}
		if len(out.OverlapPlaces) < MostPlaces {
			out.OverlapPlaces = append(out.OverlapPlaces, commonPoint(m, x.at))
		}
		double(&out.Overlapping, &out.OverlappingCount, i, j)
	}
	for i := range bodies {
		b, d := &bodies[i], depths[i]
		switch {
		case b.twin != int32(i):
		case b.crossed && !b.outward():
			out.Breaking = append(out.Breaking, shellOf(int32(i)))
		case b.crossed:
		case b.outward():
			if within(int32(i)) {
				out.Buried = append(out.Buried, shellOf(int32(i)))
			}
			if d.known && d.around < 0 {
				out.Reversed = append(out.Reversed, shellOf(int32(i)))
			}
		case !d.known:
			out.Undecided++
		case d.around > 0:
			out.Cavities = append(out.Cavities, shellOf(int32(i)))
		default:
			out.Inverted = append(out.Inverted, shellOf(int32(i)))
		}
	}
	return out, nil
}

// depth is how often other bodies lie around one, inward ones taken off.
type depth struct {
	around int
	known  bool
	spent  bool // looking ended at its bound before it was known
}

type nester struct {
	t       *tree.Tree
	shellOf []int32
	of      []int32
	bodies  []body
	bounds  mesh.Box
	most    int // triangles that looks from one body may pass
}

// ways are directions that no modelled edge or plane is likely to be along: their
// components have no simple ratio.
var ways = [mostRays]mesh.Vec{
	{X: 0.2371, Y: 0.3719, Z: 0.8976}, {X: -0.4157, Y: 0.1733, Z: -0.8929}, {X: 0.8839, Y: -0.2269, Z: 0.4091}, {X: -0.3467, Y: -0.8861, Z: 0.3079},
	{X: 0.5683, Y: 0.6637, Z: -0.4861}, {X: -0.7027, Y: 0.5417, Z: 0.4613}, {X: 0.1303, Y: -0.6211, Z: -0.7727}, {X: -0.9323, Y: -0.2801, Z: -0.2293},
}

// depthOf looks out from corners of body i until one tells for all other bodies,
// or, where the body is flush with another one, from all of them, and takes the least.
func (n *nester) depthOf(i int32) depth {
	b := &n.bodies[i]
	m := n.t.Mesh
	size := n.bounds.Size()
	reach := 4 * (size.X + size.Y + size.Z) // a way's greatest component is more than ½
	passed := 0
	probe := func(p mesh.Vec) (d depth, on bool) {
		for _, way := range ways {
			q := p.Add(way.Scale(reach))
			var w windings
			ok := true
			n.t.AlongRay(p, q.Sub(p), 1, func(tri int32) float64 {
				passed++
				if s := n.shellOf[tri]; s >= 0 && n.of[s] >= 0 && n.bodies[n.of[s]].twin != b.twin {
					c := cornersOf(m, tri)
					ok = ok && w.pass(&c, n.of[s], p, q)
				}
				if ok = ok && passed <= n.most; !ok {
					return -1 // look no further
				}
				return 1
			})
			if !ok {
				continue
			}
			for k := range w.bodies {
				if !slices.Contains(w.on, w.bodies[k]) {
					d.around += w.around[k]
				}
			}
			d.known = len(w.on) == 0
			return d, len(w.on) > 0
		}
		return depth{}, false
	}
	var last, least depth
	// The corners of triangles that lie evenly over the file, from the first one on.
	step := max(1, b.triangles/mostProbes)
	tried, at := 0, int32(0)
	for tri := b.first; tried < mostProbes && at < b.triangles && passed <= n.most; tri++ {
		if s := n.shellOf[tri]; s != b.shell {
			passed++
			continue
		}
		if at%step == 0 {
			tried++
			d, on := probe(m.Vertices[m.Triangles[tri][tried%3]])
			switch {
			case d.known && !b.flush:
				return d
			case d.known:
				if !least.known || d.around < least.around {
					least = d
				}
			case on:
				last = d
			}
		}
		at++
	}
	last.spent = passed > n.most && !least.known
	if least.known {
		return least
	}
	// Every corner lies on another body, so that the body is not strictly within
	// that one; what an outward one is in otherwise is known, an inward one is left open.
	if b.outward() {
		last.known = true
	}
	return last
}
