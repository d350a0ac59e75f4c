package mesh

// packWalk is what the packer and the unpacker know alike while they walk over
// the triangles, from each to its neighbours. A gate is a side of a triangle met
// already, in the direction in which a neighbour would have it. The oldest open
// gate is asked next, and the answer is one step: no triangle is there, or one
// whose third corner is new, or is the end of a gate beside this one (to the
// right or to the left), or is far. So nearly all of a closed surface is told by
// three kinds of step in regular order, which deflate well. Where no gate is open
// the walk begins anew at a triangle whose corners are each new or far.
//
// The idea of telling a mesh as a walk that knows the border of what it has met
// is Touma and Gotsman's (Triangle mesh compression, 1998); the steps here are
// simpler, and know no difference between sound meshes and others.
type packWalk struct {
	gates []gate
	next  int               // the oldest that was not asked yet
	open  map[uint64]uint32 // by from and to: the newest open gate, plus one
	out   []uint32          // of each vertex: the newest gate that leaves it, plus one
	in    []uint32          // likewise, that leads to it
}

type gate struct {
	from, to, opposite uint32 // opposite is the third corner of the triangle met
	same, out, in      uint32 // the next older gate of the packWalk's list, plus one
	closed             bool
}

// Steps of the walk. A triangle wound against the gate adds turnedOver.
const (
	stepNone byte = iota
	stepNew
	stepRight
	stepLeft
	stepFar
	turnedOver
	stepEnd = 2 * turnedOver // no step is so great
)

func newPackWalk() *packWalk { return &packWalk{open: map[uint64]uint32{}} }

// vertex makes room for a new vertex.
func (w *packWalk) vertex() {
	w.out = append(w.out, 0)
	w.in = append(w.in, 0)
}

// ask closes the oldest open gate and returns it.
func (w *packWalk) ask() (g gate, ok bool) {
	for ; w.next < len(w.gates); w.next++ {
		if !w.gates[w.next].closed {
			g = w.gates[w.next]
			w.shut(g.from, g.to, uint32(w.next)+1)
			w.next++
			return g, true
		}
	}
	return gate{}, false
}

// shut closes gate number n−1, or, with n = 0, the newest open one from a vertex
// to another; ok says whether there was one.
func (w *packWalk) shut(from, to, n uint32) (ok bool) {
	key := uint64(from)<<32 | uint64(to)
	head := w.open[key]
	if head == 0 {
		return false
	}
	if n == 0 {
		n = head
	}
	w.gates[n-1].closed = true
	for head != 0 && w.gates[head-1].closed {
		head = w.gates[head-1].same
	}
	if head == 0 {
		delete(w.open, key)
	} else {
		w.open[key] = head
	}
	return true
}

// side tells the walk of one side of a triangle whose third corner is opposite.
func (w *packWalk) side(from, to, opposite uint32) {
	if w.shut(from, to, 0) {
		return
	}
	key := uint64(to)<<32 | uint64(from)
	n := uint32(len(w.gates)) + 1
	w.gates = append(w.gates, gate{from: to, to: from, opposite: opposite, same: w.open[key], out: w.out[to], in: w.in[from]})
	w.open[key], w.out[to], w.in[from] = n, n, n
}

// through tells the walk of the triangle behind gate g with third corner c.
func (w *packWalk) through(g gate, c uint32, over bool) {
	if over {
		w.side(g.from, c, g.to)
		w.side(c, g.to, g.from)
		return
	}
	w.side(g.to, c, g.from)
	w.side(c, g.from, g.to)
}

// right is the vertex to which the newest open gate from g's end leads, and left
// the one from which the newest to its start comes.
func (w *packWalk) right(g gate) (uint32, bool) {
	head := &w.out[g.to]
	for *head != 0 && w.gates[*head-1].closed {
		*head = w.gates[*head-1].out
	}
	if *head == 0 {
		return 0, false
	}
	return w.gates[*head-1].to, true
}

func (w *packWalk) left(g gate) (uint32, bool) {
	head := &w.in[g.from]
	for *head != 0 && w.gates[*head-1].closed {
		*head = w.gates[*head-1].in
	}
	if *head == 0 {
		return 0, false
	}
	return w.gates[*head-1].from, true
}
