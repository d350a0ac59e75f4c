package sound

import (
	"cmp"
	"context"
	"encoding/binary"
	"hash/maphash"
	"math"
	"slices"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
)

// body is a closed shell, wound one way throughout, that encloses something.
type body struct {
	shell, first, triangles int32 // its number, its first triangle, how many
	volume                  float64
	box                     mesh.Box
	twin                    int32 // the first body that is the same surface, or its own number
	crossed                 bool  // another body passes through it
	flush                   bool  // it has room in common with another one, and neither passes through
}

func (b *body) outward() bool { return b.volume > 0 }

// bodiesOf lists the bodies, by shell. of gives the number in the list for each
// shell, −1 for shells that are none.
func bodiesOf(ctx context.Context, m *mesh.Mesh, top mesh.Topology) (bodies []body, of []int32, err error) {
	of = make([]int32, top.Shells)
	if !top.Closed || !top.ConsistentlyOriented {
		err = eachEdge(ctx, m, func(_, _ uint32, sides []sided) {
			if len(sides) != 2 || sides[0].downward() == sides[1].downward() {
				of[top.ShellOf[sides[0].triangle()]] = -1
			}
		})
		if err != nil {
			return nil, nil, err
		}
	}
	for s := range of {
		if of[s] == 0 {
			of[s] = int32(len(bodies))
			bodies = append(bodies, body{shell: int32(s)})
		}
	}
	volumes := make([]exact.Sum, len(bodies))
	for i, s := range top.ShellOf {
		if s < 0 || of[s] < 0 {
			continue
		}
		b := &bodies[of[s]]
		t := cornersOf(m, int32(i))
		if b.triangles == 0 {
			b.first, b.box = int32(i), t.box()
		}
		b.triangles++
		b.box = joined(b.box, t.box())
		// About the shell's own first corner, whose distance to any other corner is
		// at most the diagonal of its box.
		o := m.Vertices[m.Triangles[b.first][0]]
		volumes[of[s]].Add(t[0].Sub(o).Dot(t[1].Sub(o).Cross(t[2].Sub(o))))
	}
	kept := bodies[:0]
	for i, b := range bodies {
		b.volume = volumes[i].Value() / 6
		if nothingButRounding(b.volume, b.triangles, b.box.Size().Norm()) {
			of[b.shell] = -1
			continue
		}
		of[b.shell] = int32(len(kept))
		b.twin = int32(len(kept))
		kept = append(kept, b)
	}
	return kept, of, ctx.Err()
}

// nothingButRounding says whether the volume added up from n triangles whose
// corners are at most r from the point it is taken about may be that. A triple
// product of such vectors has an error of at most 8u times its terms taken
// positive (see package exact), and these come to at most 6r³; the vectors
// themselves carry an error of u·r each, for 3·u·r³ more at most. A sixth of
// both, for n triangles: less than 9nur³.
func nothingButRounding(volume float64, n int32, r float64) bool {
	return math.Abs(volume) <= 9*0x1p-53*float64(n)*r*r*r
}

func joined(a, b mesh.Box) mesh.Box {
	return mesh.Box{
		Min: mesh.Vec{X: min(a.Min.X, b.Min.X), Y: min(a.Min.Y, b.Min.Y), Z: min(a.Min.Z, b.Min.Z)},
		Max: mesh.Vec{X: max(a.Max.X, b.Max.X), Y: max(a.Max.Y, b.Max.Y), Z: max(a.Max.Z, b.Max.Z)},
	}
}

func compareVec(a, b mesh.Vec) int {
	return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y), cmp.Compare(a.Z, b.Z))
}

func compareBox(a, b mesh.Box) int {
	return cmp.Or(compareVec(a.Min, b.Min), compareVec(a.Max, b.Max))
}

// pairTwins finds bodies of the same triangles, whatever their vertices' numbers,
// their winding and their order, and sets their twins. Only bodies with the same
// box and as many triangles are looked at, all of one such group at a time.
func pairTwins(ctx context.Context, m *mesh.Mesh, top mesh.Topology, of []int32, bodies []body) error {
	order := make([]int32, len(bodies))
	for i := range order {
		order[i] = int32(i)
	}
	alike := func(i, j int32) int {
		a, b := &bodies[i], &bodies[j]
		return cmp.Or(cmp.Compare(a.triangles, b.triangles), compareBox(a.box, b.box))
	}
	slices.SortFunc(order, func(i, j int32) int { return cmp.Or(alike(i, j), cmp.Compare(i, j)) })
	group := make([]int32, len(bodies)) // its number from 1, 0 for a body that is alone
	groups := int32(0)
	for lo := 0; lo < len(order); {
		hi := lo + 1
		for hi < len(order) && alike(order[lo], order[hi]) == 0 {
			hi++
		}
		if hi > lo+1 {
			groups++
			for _, i := range order[lo:hi] {
				group[i] = groups
			}
		}
		lo = hi
	}
	if groups == 0 {
		return nil
	}
	// The triangles of bodies in groups, by body, and within it by hash.
	type hashed struct {
		hash uint64
		body int32
		tri  int32
	}
	var all []hashed
	seed := maphash.MakeSeed() // decides only in which order equal things are compared
	for i, s := range top.ShellOf {
		if s >= 0 && of[s] >= 0 && group[of[s]] > 0 {
			all = append(all, hashed{hashOf(seed, m, int32(i)), of[s], int32(i)})
		}
	}
	slices.SortFunc(all, func(a, b hashed) int {
		return cmp.Or(cmp.Compare(a.body, b.body), cmp.Compare(a.hash, b.hash), cmp.Compare(a.tri, b.tri))
	})
	first := make([]int, len(bodies))
	for i := len(all) - 1; i >= 0; i-- {
		first[all[i].body] = i
	}
	same := func(i, j int32) bool {
		a, b := all[first[i]:], all[first[j]:]
		for k := range bodies[i].triangles {
			if a[k].hash != b[k].hash || sorted(m, a[k].tri) != sorted(m, b[k].tri) {
				return false
			}
		}
		return true
	}
	// Bodies of a group that are the same have the same sum of hashes, so that
	// sorting by it brings them together.
	sums := make([]uint64, len(bodies))
	for _, h := range all {
		sums[h.body] += h.hash
	}
	slices.SortFunc(order, func(i, j int32) int {
		return cmp.Or(cmp.Compare(group[i], group[j]), cmp.Compare(sums[i], sums[j]), cmp.Compare(i, j))
	})
	for k := 1; k < len(order); k++ {
		i, j := order[k-1], order[k]
		if group[i] > 0 && group[i] == group[j] && sums[i] == sums[j] && same(bodies[i].twin, j) {
			bodies[j].twin = bodies[i].twin
		}
		if k%4096 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
	}
	return ctx.Err()
}

// sorted are a triangle's corners in ascending order.
func sorted(m *mesh.Mesh, tri int32) corners {
	c := cornersOf(m, tri)
	slices.SortFunc(c[:], compareVec)
	return c
}

func hashOf(seed maphash.Seed, m *mesh.Mesh, tri int32) uint64 {
	var text [72]byte
	for i, p := range sorted(m, tri) {
		for k := range 3 {
			binary.LittleEndian.PutUint64(text[24*i+8*k:], math.Float64bits(p.Component(k)+0)) // −0 is 0
		}
	}
	return maphash.Bytes(seed, text[:])
}
