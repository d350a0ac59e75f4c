package mesh

import (
	"math"
	"math/bits"
	"math/rand/v2"
)

// welder gathers triangles and makes corners with equal coordinates one vertex.
// The table is open-addressed with linear probing and holds vertex numbers plus
// one, so an empty slot is 0 and the coordinates are stored once only.
type welder struct {
	mesh  Mesh
	first int // vertices below this number belong to an earlier scope
	table []uint32
	mask  uint64
	seed  [3]uint64
}

// minTable is the table's least size, a power of two.
const minTable = 1 << 8

// newWelder reserves room for the given number of triangles, which the caller
// must have checked against the size of the input.
func newWelder(triangles int) *welder {
	w := &welder{seed: [3]uint64{rand.Uint64(), rand.Uint64(), rand.Uint64()}}
	w.mesh.Triangles = make([][3]uint32, 0, triangles)
	// A closed triangle mesh has V = F/2 + 2 − 2g (Euler, with 3F = 2E), so half
	// the triangles is the usual number of vertices; append grows it for others.
	w.mesh.Vertices = make([]Vec, 0, triangles/2+64)
	w.resize(tableSize(triangles/2 + 64))
	return w
}

// tableSize is a power of two that leaves at least a quarter of the slots free
// for n vertices.
func tableSize(n int) int {
	size := minTable
	for size*3/4 < n {
		size *= 2
	}
	return size
}

// scope ends the sharing of vertices with what was added before, and fits the
// table to the number of vertices to come, so that many small scopes after a
// large one do not clear the large one's table each time.
func (w *welder) scope(vertices int) {
	w.first = len(w.mesh.Vertices)
	if size := tableSize(vertices); size != len(w.table) {
		w.resize(size)
	} else {
		clear(w.table)
	}
}

// add appends one triangle.
func (w *welder) add(a, b, c Vec) {
	w.mesh.Triangles = append(w.mesh.Triangles, [3]uint32{w.vertex(a), w.vertex(b), w.vertex(c)})
}

// vertex returns the number of the vertex at p, which is made if new. Without
// −0, equal coordinates have equal bits from here on.
func (w *welder) vertex(p Vec) uint32 {
	p = Vec{held(p.X), held(p.Y), held(p.Z)}
	slot := w.hash(p) & w.mask
	for {
		entry := w.table[slot]
		if entry == 0 {
			break
		}
		if w.mesh.Vertices[entry-1] == p {
			return entry - 1
		}
		slot = (slot + 1) & w.mask
	}
	w.mesh.Vertices = append(w.mesh.Vertices, p)
	n := uint32(len(w.mesh.Vertices))
	w.table[slot] = n
	if held := len(w.mesh.Vertices) - w.first; held*4 > len(w.table)*3 {
		w.resize(2 * len(w.table))
	}
	return n - 1
}

// held is x, or 0 for −0 and for what is nearer to 0 than any 32-bit number, which
// decimals can write and a binary STL cannot. It is what a mesh of such numbers
// is worth, and it keeps exact tests of many corners from taking for ever.
func held(x float64) float64 {
	if math.Abs(x) < math.SmallestNonzeroFloat32 {
		return 0
	}
	return x
}

func (w *welder) resize(size int) {
	w.table = make([]uint32, size)
	w.mask = uint64(size - 1)
	for i := w.first; i < len(w.mesh.Vertices); i++ {
		slot := w.hash(w.mesh.Vertices[i]) & w.mask
		for w.table[slot] != 0 {
			slot = (slot + 1) & w.mask
		}
		w.table[slot] = uint32(i + 1)
	}
}

// hash multiplies the coordinates' bits to 128 bits and folds the halves
// together, twice: coordinates on a grid differ only in a few high bits, which a
// plain sum would throw together. The seeds are random, so that no file can be
// made whose corners all fall on one slot; vertices are numbered as they first
// occur, so nothing that comes out depends on the seeds.
func (w *welder) hash(p Vec) uint64 {
	hi, lo := bits.Mul64(math.Float64bits(p.X)^w.seed[0], math.Float64bits(p.Y)^w.seed[1])
	hi, lo = bits.Mul64(hi^lo^w.seed[2], math.Float64bits(p.Z)^w.seed[1])
	return hi ^ lo
}
