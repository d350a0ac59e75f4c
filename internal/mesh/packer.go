package mesh

import (
	"encoding/binary"
	"slices"
)

// packer walks over a mesh and writes down its steps. Triangles and points are
// those of Fingerprint, in its order, so that equal fingerprints make equal walks.
type packer struct {
	*packWalk
	deflater
	points    []point32
	triangles [][3]uint32 // of points, each beginning with its least, in ascending order
	met       []bool      // triangles

	// The sides that leave point p are sides[start[p]:start[p+1]]: where they lead,
	// times 2³², plus the triangle; ascending. From the first that leads to a
	// point, cursor finds the first of a triangle not met.
	start  []uint32
	sides  []uint64
	cursor []uint32

	number   []uint32 // of each point in the walk, plus one
	numbered []newVertex
	steps    []byte
	far      []byte
}

// newVertex is a vertex in the order of the walk, with the numbers of those that
// foretell it: beside, and beside + along − behind.
type newVertex struct {
	point                 uint32
	beside, along, behind uint32
}

func newPacker(m *Mesh) *packer {
	w := &packer{packWalk: newPackWalk()}
	var rank []uint32
	w.points, rank = rankPoints(m.Vertices)
	w.triangles = make([][3]uint32, len(m.Triangles))
	for i, t := range m.Triangles {
		w.triangles[i] = leastTurn([3]uint32{rank[t[0]], rank[t[1]], rank[t[2]]})
	}
	slices.SortFunc(w.triangles, func(a, b [3]uint32) int { return slices.Compare(a[:], b[:]) })
	w.met = make([]bool, len(w.triangles))
	w.number = make([]uint32, len(w.points))

	w.start = make([]uint32, len(w.points)+1)
	for _, t := range w.triangles {
		for _, v := range t {
			w.start[v+1]++
		}
	}
	for i := range w.points {
		w.start[i+1] += w.start[i]
	}
	w.sides = make([]uint64, 3*len(w.triangles))
	w.cursor = make([]uint32, len(w.sides))
	fill := slices.Clone(w.start)
	for i, t := range w.triangles {
		for k, v := range t {
			w.sides[fill[v]] = uint64(t[(k+1)%3])<<32 | uint64(i)
			fill[v]++
		}
	}
	for p := range w.points {
		slices.Sort(w.sides[w.start[p]:w.start[p+1]])
	}
	for i := range w.cursor {
		w.cursor[i] = uint32(i)
	}
	return w
}

// behind finds the first triangle not met that has a side from one point to
// another, and its third corner.
func (w *packer) behind(from, to uint32) (triangle int, third uint32, ok bool) {
	end := w.start[from+1]
	first, _ := slices.BinarySearch(w.sides[w.start[from]:end], uint64(to)<<32)
	at := w.start[from] + uint32(first)
	if at == end || uint32(w.sides[at]>>32) != to {
		return 0, 0, false
	}
	c := &w.cursor[at]
	for *c < end && uint32(w.sides[*c]>>32) == to && w.met[uint32(w.sides[*c])] {
		*c++
	}
	if *c == end || uint32(w.sides[*c]>>32) != to {
		return 0, 0, false
	}
	triangle = int(uint32(w.sides[*c]))
	t := w.triangles[triangle]
	for k := range 3 {
		if t[k] == from && t[(k+1)%3] == to {
			third = t[(k+2)%3]
		}
	}
	return triangle, third, true
}

func (w *packer) run() {
	begin := 0
	for {
		g, ok := w.ask()
		if !ok {
			for begin < len(w.triangles) && w.met[begin] {
				begin++
			}
			if begin == len(w.triangles) {
				return
			}
			w.anew(begin)
			continue
		}
		from, to := w.numbered[g.from].point, w.numbered[g.to].point
		over := byte(0)
		t, third, ok := w.behind(from, to)
		if !ok {
			if t, third, ok = w.behind(to, from); !ok {
				w.steps = append(w.steps, stepNone)
				continue
			}
			over = turnedOver
		}
		w.met[t] = true
		c := w.number[third] - 1 // meaningless while new
		right, hasRight := w.right(g)
		left, hasLeft := w.left(g)
		switch {
		case w.number[third] == 0:
			w.steps = append(w.steps, stepNew+over)
			c = w.meet(newVertex{third, g.from, g.to, g.opposite})
		case hasRight && right == c:
			w.steps = append(w.steps, stepRight+over)
		case hasLeft && left == c:
			w.steps = append(w.steps, stepLeft+over)
		default:
			w.steps = append(w.steps, stepFar+over)
			w.meetAgain(c)
		}
		w.through(g, c, over != 0)
	}
}

// anew begins the walk at a triangle.
func (w *packer) anew(triangle int) {
	w.met[triangle] = true
	var corner [3]uint32
	for k, p := range w.triangles[triangle] {
		if n := w.number[p]; n != 0 {
			w.steps = append(w.steps, stepFar)
			w.meetAgain(n - 1)
			corner[k] = n - 1
			continue
		}
		w.steps = append(w.steps, stepNew)
		b := newest(len(w.numbered), corner, k)
		corner[k] = w.meet(newVertex{p, b, b, b})
	}
	for k := range 3 {
		w.side(corner[k], corner[(k+1)%3], corner[(k+2)%3])
	}
}

// newest is the vertex from which corner k of a triangle that begins the walk is
// foretold: the corner before it, and for the first the newest vertex.
func newest(vertices int, corner [3]uint32, k int) uint32 {
	if k > 0 {
		return corner[k-1]
	}
	return uint32(max(vertices-1, 0))
}

func (w *packer) meet(v newVertex) uint32 {
	n := uint32(len(w.numbered))
	w.numbered = append(w.numbered, v)
	w.number[v.point] = n + 1
	w.vertex()
	return n
}

func (w *packer) meetAgain(n uint32) {
	w.far = binary.AppendUvarint(w.far, uint64(uint32(len(w.numbered))-1-n))
}
