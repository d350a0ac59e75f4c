package mesh

import (
	"encoding/binary"
	"hash/crc32"
)

// A packed mesh is, in this order, with numbers as unsigned varints where no size
// is said:
//
//	8 bytes "cardmesh", 1 byte version
//	triangles, vertices
//	the steps of the walk over the triangles, see packWalk (a stream)
//	the vertices met again far from where the walk is, counted back from the
//	newest, as varints (a stream)
//	x, y and z of the vertices in the order of the walk (a byte that says how
//	they are foretold, and a stream, for each)
//	zeros up to triangles/packRatio bytes, where it is shorter
//	4 bytes CRC-32 (Castagnoli) of all before, little-endian
//
// A stream is its length, the length of what follows, and that: deflated where
// it is shorter so, else as it is.
const (
	packMagic   = "cardmesh"
	packVersion = 1

	// packRatio bounds what a reader is asked to believe: a packed mesh of n bytes
	// holds at most packRatio·n triangles. A very regular mesh could go far below a
	// quarter of a byte a triangle, and so could a bomb.
	packRatio = 4
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// Pack puts a mesh's geometry into few bytes: on most meshes between a tenth and
// a sixth of a binary STL. What is kept is what Fingerprint identifies:
// coordinates rounded to 32-bit numbers, which triangles there are and their
// winding. So Unpack gives a mesh of the same fingerprint, and meshes with the
// same fingerprint give the same bytes; the order of triangles and vertices is
// not kept, and vertices that are equal in 32 bits become one.
//
// A coordinate beyond the range of 32-bit numbers, which no binary STL holds
// either, is packed as infinite, and Unpack refuses it.
func Pack(m *Mesh) []byte {
	w := newPacker(m)
	w.run()
	out := append([]byte(packMagic), packVersion)
	out = binary.AppendUvarint(out, uint64(len(w.triangles)))
	out = binary.AppendUvarint(out, uint64(len(w.numbered)))
	out = w.appendStream(out, w.steps)
	out = w.appendStream(out, w.far)
	for axis := range 3 {
		out = w.appendAxis(out, axis)
	}
	for len(out) < len(w.triangles)/packRatio {
		out = append(out, 0)
	}
	return binary.LittleEndian.AppendUint32(out, crc32.Checksum(out, castagnoli))
}

// Unpack reads what Pack wrote. Whatever the bytes, it takes time and memory in
// proportion to their number: four triangles, and so some 2 KB, for each at most.
// The error is an *Error.
func Unpack(data []byte) (*Mesh, error) {
	body := len(data) - 4
	if body < len(packMagic)+1 || string(data[:len(packMagic)]) != packMagic {
		return nil, refuse("this is not a packed mesh: it does not begin with %q", packMagic)
	}
	if v := data[len(packMagic)]; v != packVersion {
		return nil, refuse("the packed mesh has version %d; this program reads version %d", v, packVersion)
	}
	if crc32.Checksum(data[:body], castagnoli) != binary.LittleEndian.Uint32(data[body:]) {
		return nil, refuse("the packed mesh is damaged: its checksum does not agree with it")
	}
	r := &packReader{rest: data[len(packMagic)+1 : body]}
	triangles := r.count("triangles", packRatio*uint64(body+4)+packRatio)
	vertices := r.count("vertices", 3*triangles)
	// Each gate is passed once, each triangle opens at most three and begins the
	// walk anew at most once, with three steps.
	steps := r.stream("steps of the walk", 6*triangles)
	far := r.stream("vertices met again", 3*triangles*binary.MaxVarintLen32)
	u := &unpacker{steps: steps, far: far, mesh: &Mesh{}}
	for axis := range 3 {
		u.axes[axis] = r.axis(vertices)
	}
	if r.err != nil {
		return nil, r.err
	}
	for _, b := range r.rest {
		if b != 0 {
			return nil, refuse("the packed mesh has bytes after its end")
		}
	}
	return u.run(int(triangles), int(vertices))
}
