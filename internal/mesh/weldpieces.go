package mesh

import (
	"context"
	"math"
	"math/bits"
	"math/rand/v2"
	"sync"

	"cardback/internal/parallel"
)

// Welding in pieces. The triangles are cut into pieces. Each piece welds its own
// corners in a table that stays in the processor's cache, and sorts its distinct
// corners into shards by their hash. Then each shard welds what all pieces have
// for it, in the pieces' order. A corner's first occurrence is thereby known, so
// vertices are numbered in the order of first occurrence, exactly as by adding
// one corner after another (welder, which text and 3MF use, whose corners come
// one by one and have 64 bits). Neither the size of pieces nor the number of
// shards nor the hash shows in the result.

// pieceTriangles is the size of a piece: its corners, its table and what is read
// of the file take about half a megabyte, the usual size of a core's own cache.
const pieceTriangles = 1 << 13

// mostPiece is the greatest size of a piece: a slot of its table has 16 bits for
// the number of a corner.
const mostPiece = (1<<16 - 1) / 3

// shardBitsFor gives the number of shards as a power of two: so many that a
// shard's table stays in the cache too, and at most 1024, as each piece keeps a
// number for each shard.
func shardBitsFor(triangles int) int {
	return min(10, bits.Len(uint(triangles>>14)))
}

// corner32 is a point as the bits of three 32-bit numbers, none of them −0.
type corner32 struct{ x, y, z uint32 }

func (c corner32) finite() bool {
	const exponent = 0xff << 23
	return c.x&exponent != exponent && c.y&exponent != exponent && c.z&exponent != exponent
}

func (c corner32) vec() Vec {
	wide := func(b uint32) float64 { return float64(math.Float32frombits(b)) }
	return Vec{wide(c.x), wide(c.y), wide(c.z)}
}

// cornerHash multiplies the corner's bits, mixed with two random numbers, to 128
// bits and folds the halves together. The numbers are drawn for each mesh, so
// that no file can be made whose corners fall together.
type cornerHash [2]uint64

func (s cornerHash) of(c corner32) uint64 {
	hi, lo := bits.Mul64((uint64(c.x)|uint64(c.y)<<32)^s[0], uint64(c.z)^s[1])
	return hi ^ lo
}

// filed is a distinct corner of a piece, in its shard; local is its number
// within the piece.
type filed struct {
	corner32
	local uint32
}

// weldedPiece is what a piece found.
type weldedPiece struct {
	distinct []filed  // by shard, within a shard in the order of first occurrence
	ends     []uint32 // by shard: where it ends in distinct
	base     uint32   // how many distinct corners all pieces before have
	vertices uint32   // how many vertices occur first in this piece; then the number of the first
	fault    error
}

func (p *weldedPiece) shard(s int) []filed {
	from := uint32(0)
	if s > 0 {
		from = p.ends[s-1]
	}
	return p.distinct[from:p.ends[s]]
}

// pieceWelder holds what the steps of weldPieces share.
type pieceWelder struct {
	mesh      *Mesh
	hash      cornerHash
	shardBits int
	size      int // of a piece, in triangles
	pieces    []weldedPiece
	// first gives, for the distinct corners of all pieces one after another, the
	// place in this list of the first equal one; then, for those that are the
	// first, their vertex with the numbered bit set.
	first   []uint32
	scratch sync.Pool // of *pieceScratch
}

// numbered marks an entry that holds a vertex. Places stay below it: there are
// at most three for a triangle.
const numbered = 1 << 31

// weldPieces makes a mesh of n triangles, whose corners read appends to a list,
// three for each triangle from lo to hi−1. It is called from several goroutines,
// each range once. The error is that of the lowest range, or the context's.
func weldPieces(ctx context.Context, n, size, shardBits int, read func(lo, hi int, corners []corner32) ([]corner32, error)) (*Mesh, error) {
	w := &pieceWelder{
		mesh:      &Mesh{Triangles: make([][3]uint32, n)},
		hash:      cornerHash{rand.Uint64(), rand.Uint64()},
		shardBits: shardBits,
		size:      size,
		pieces:    make([]weldedPiece, parallel.Count(n, size)),
	}
	err := parallel.Pieces(ctx, n, size, func(i, lo, hi int) { w.weldPiece(i, lo, hi, read) })
	if err != nil {
		return nil, err
	}
	all := uint32(0)
	for i := range w.pieces {
		p := &w.pieces[i]
		if p.fault != nil {
			return nil, p.fault
		}
		p.base = all
		all += uint32(len(p.distinct))
	}
	w.first = make([]uint32, all)
	if err := parallel.Tasks(ctx, 1<<shardBits, w.weldShard); err != nil {
		return nil, err
	}
	if err := parallel.Tasks(ctx, len(w.pieces), w.countVertices); err != nil {
		return nil, err
	}
	vertices := uint32(0)
	for i := range w.pieces {
		p := &w.pieces[i]
		p.vertices, vertices = vertices, vertices+p.vertices
	}
	w.mesh.Vertices = make([]Vec, vertices)
	if err := parallel.Tasks(ctx, len(w.pieces), w.makeVertices); err != nil {
		return nil, err
	}
	return w.mesh, parallel.Pieces(ctx, n, size, w.renumber)
}

// pieceScratch is what one goroutine needs for one piece or shard at a time.
type pieceScratch struct {
	corners []corner32
	points  []corner32 // distinct ones
	places  []uint32   // of the points, in pieceWelder.first
	table   []uint32
}

func (w *pieceWelder) take() *pieceScratch {
	if s, ok := w.scratch.Get().(*pieceScratch); ok {
		return s
	}
	return &pieceScratch{}
}

// clearTable makes an empty table with at least a quarter of its slots free for
// n entries, and returns its mask.
func (s *pieceScratch) clearTable(n int) uint64 {
	size := tableSize(n)
	if cap(s.table) < size {
		s.table = make([]uint32, size)
	} else {
		s.table = s.table[:size]
		clear(s.table)
	}
	return uint64(size - 1)
}

// weldPiece reads piece i, gives its triangles local numbers, and files its
// distinct corners.
func (w *pieceWelder) weldPiece(i, lo, hi int, read func(lo, hi int, corners []corner32) ([]corner32, error)) {
	p, s := &w.pieces[i], w.take()
	defer w.scratch.Put(s)
	if s.corners, p.fault = read(lo, hi, s.corners[:0]); p.fault != nil {
		return
	}
	mask := s.clearTable(len(s.corners))
	s.points = s.points[:0]
	for t := range w.mesh.Triangles[lo:hi] {
		corners := (*[3]corner32)(s.corners[3*t:])
		triangle := &w.mesh.Triangles[lo+t]
		for k, c := range corners {
			// A slot holds 16 bits of the hash and the local number plus one.
			h := w.hash.of(c)
			tag, slot := uint32(h>>32)&^0xffff, h&mask
			for {
				entry := s.table[slot]
				if entry == 0 {
					s.points = append(s.points, c)
					s.table[slot] = tag | uint32(len(s.points))
					triangle[k] = uint32(len(s.points) - 1)
					break
				}
				if number := entry&0xffff - 1; entry&^0xffff == tag && s.points[number] == c {
					triangle[k] = number
					break
				}
				slot = (slot + 1) & mask
			}
		}
	}
	shift := 64 - w.shardBits
	p.ends = make([]uint32, 1<<w.shardBits)
	for _, c := range s.points {
		p.ends[w.hash.of(c)>>shift]++
	}
	start := uint32(0)
	for k, n := range p.ends { // now where a shard begins, and after filing where it ends
		p.ends[k] = start
		start += n
	}
	p.distinct = make([]filed, len(s.points))
	for local, c := range s.points {
		end := &p.ends[w.hash.of(c)>>shift]
		p.distinct[*end] = filed{c, uint32(local)}
		*end++
	}
}

// weldShard finds the first of equal corners in one shard.
func (w *pieceWelder) weldShard(shard int) {
	s := w.take()
	defer w.scratch.Put(s)
	n := 0
	for i := range w.pieces {
		n += len(w.pieces[i].shard(shard))
	}
	mask := s.clearTable(n)
	s.points, s.places = s.points[:0], s.places[:0]
	for i := range w.pieces {
		p := &w.pieces[i]
		for _, f := range p.shard(shard) {
			place := p.base + f.local
			for slot := w.hash.of(f.corner32) & mask; ; slot = (slot + 1) & mask {
				entry := s.table[slot]
				if entry == 0 {
					s.points, s.places = append(s.points, f.corner32), append(s.places, place)
					s.table[slot] = uint32(len(s.points))
					w.first[place] = place
					break
				}
				if s.points[entry-1] == f.corner32 {
					w.first[place] = s.places[entry-1]
					break
				}
			}
		}
	}
}

func (w *pieceWelder) countVertices(i int) {
	p := &w.pieces[i]
	for k := range uint32(len(p.distinct)) {
		if w.first[p.base+k] == p.base+k {
			p.vertices++
		}
	}
}

// makeVertices numbers the vertices that occur first in piece i.
func (w *pieceWelder) makeVertices(i int) {
	p := &w.pieces[i]
	vertex := p.vertices
	for k := range uint32(len(p.distinct)) {
		if w.first[p.base+k] == p.base+k {
			w.first[p.base+k] = vertex | numbered
			vertex++
		}
	}
	for _, f := range p.distinct {
		if v := w.first[p.base+f.local]; v&numbered != 0 {
			w.mesh.Vertices[v&^numbered] = f.vec()
		}
	}
	p.distinct, p.ends = nil, nil
}

// renumber turns the local numbers of a piece's triangles into vertices.
func (w *pieceWelder) renumber(i, lo, hi int) {
	first, base := w.first, w.pieces[i].base
	for t := lo; t < hi; t++ {
		for k, local := range w.mesh.Triangles[t] {
			v := first[base+local]
			if v&numbered == 0 {
				v = first[v]
			}
			w.mesh.Triangles[t][k] = v &^ numbered
		}
	}
}
