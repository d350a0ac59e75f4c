package mesh

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"math"
	"slices"
)

// fingerprintTag begins what is hashed; a change of the definition changes it.
const fingerprintTag = "cardback mesh 1\n"

// Fingerprint identifies the geometry: 64 hexadecimal digits, the SHA-256 of
//
//	the 16 bytes "cardback mesh 1\n", then
//	each triangle as nine little-endian IEEE 754 32-bit numbers
//	(x y z of its three corners, in millimetres),
//
// where each coordinate is rounded to the nearest 32-bit number and −0 is
// written 0; the corners are turned, keeping their order round the triangle, so
// that the least (by x, then y, then z) comes first, and of equal ones the turn
// that makes the least record; and the records are sorted, again as numbers in
// their order. A triangle that occurs twice is written twice.
//
// So it does not depend on the order of triangles or vertices, on which corner
// comes first, on normals, headers, welding or the kind of file; it does depend
// on the winding. Rounding to 32 bits is what makes one part the same in a
// binary STL and in the decimals of an ASCII STL or 3MF; it is at most
// 6·10⁻⁸ of the coordinate (8 nm at 150 mm), so meshes that differ by less
// than any printer can show may share a fingerprint.
func (m *Mesh) Fingerprint() string {
	points, rank := rankPoints(m.Vertices)

	// Counting sort by the first rank, then a small sort within each.
	start := make([]uint32, len(points)+1)
	for _, t := range m.Triangles {
		r := leastTurn([3]uint32{rank[t[0]], rank[t[1]], rank[t[2]]})
		start[r[0]+1]++
	}
	for i := range points {
		start[i+1] += start[i]
	}
	rest := make([]uint64, len(m.Triangles)) // second and third rank
	for _, t := range m.Triangles {
		r := leastTurn([3]uint32{rank[t[0]], rank[t[1]], rank[t[2]]})
		rest[start[r[0]]] = uint64(r[1])<<32 | uint64(r[2])
		start[r[0]]++
	}

	h := sha256.New()
	h.Write([]byte(fingerprintTag))
	buf := make([]byte, 0, 36*1024)
	from := uint32(0)
	for first := range points { // start[first] is now the end of its triangles
		group := rest[from:start[first]]
		from = start[first]
		slices.Sort(group)
		for _, g := range group {
			buf = points[first].append(buf)
			buf = points[g>>32].append(buf)
			buf = points[uint32(g)].append(buf)
			if len(buf) == cap(buf) {
				h.Write(buf)
				buf = buf[:0]
			}
		}
	}
	h.Write(buf)
	return hex.EncodeToString(h.Sum(nil))
}

// point32 is a vertex rounded to 32-bit numbers, as their order-keeping bits.
type point32 struct{ x, y, z uint32 }

func (p point32) compare(q point32) int {
	if p.x != q.x {
		return cmp.Compare(p.x, q.x)
	}
	if p.y != q.y {
		return cmp.Compare(p.y, q.y)
	}
	return cmp.Compare(p.z, q.z)
}

// rankPoints returns the distinct rounded points in ascending order and each
// vertex's place among them.
func rankPoints(vertices []Vec) (points []point32, rank []uint32) {
	type numbered struct {
		point32
		vertex uint32
	}
	all := make([]numbered, len(vertices))
	for i, v := range vertices {
		all[i] = numbered{point32{ordered(v.X), ordered(v.Y), ordered(v.Z)}, uint32(i)}
	}
	slices.SortFunc(all, func(a, b numbered) int { return a.compare(b.point32) })
	points = make([]point32, 0, len(all))
	rank = make([]uint32, len(all))
	for _, p := range all {
		if len(points) == 0 || points[len(points)-1] != p.point32 {
			points = append(points, p.point32)
		}
		rank[p.vertex] = uint32(len(points) - 1)
	}
	return points, rank
}

// ordered maps a number, rounded to 32 bits, to an integer of the same order:
// negative numbers have all bits turned over, others the sign bit set.
func ordered(v float64) uint32 {
	b := math.Float32bits(float32(v) + 0)
	if b&signBit != 0 {
		return ^b
	}
	return b | signBit
}

const signBit = 1 << 31

func (p point32) append(buf []byte) []byte {
	for _, o := range [3]uint32{p.x, p.y, p.z} {
		if o&signBit != 0 {
			o &^= signBit
		} else {
			o = ^o
		}
		buf = binary.LittleEndian.AppendUint32(buf, o)
	}
	return buf
}

// leastTurn turns a triangle of ranks into the least of its three turns.
func leastTurn(r [3]uint32) [3]uint32 {
	best := r
	for range 2 {
		r = [3]uint32{r[1], r[2], r[0]}
		if slices.Compare(r[:], best[:]) < 0 {
			best = r
		}
	}
	return best
}
