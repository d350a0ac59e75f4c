package mesh

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"io"
	"math"
	"slices"

	"github.com/klauspost/compress/flate"
)

// A packed mesh is, in this order, with numbers as unsigned varints where no size
// is said:
//
//	8 bytes "cardmesh", 1 byte version
//	triangles, vertices
//	deflated, six columns:
//	    x of the vertices, each less the one before; y; z
//	    the first corner of the triangles, each less the one before; the second,
//	    less the first; the third, less the second, zigzag
//	zeros up to triangles/packRatio bytes, where it is shorter
//	4 bytes CRC-32 (Castagnoli) of all before, little-endian
//
// Vertices and triangles are those of Fingerprint, in its order: a coordinate is the
// 32-bit number of the same order (see ordered), and a triangle begins with its least
// corner. So x and the first corners never fall. Differences are modulo 2³².
const (
	packMagic   = "cardmesh"
	packVersion = 2

	// packRatio bounds what a reader is asked to believe: a packed mesh of n bytes
	// holds at most packRatio·n triangles. A very regular mesh could go far below a
	// quarter of a byte a triangle, and so could a bomb.
	packRatio = 4
)

// ErrEarlierForm is of bytes that an earlier program packed, in a form that is not read.
var ErrEarlierForm = errors.New("this mesh was packed by an earlier program; pack its working file again, or unpack it with that program")

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// Pack puts a mesh's geometry into few bytes: on most meshes a tenth of a binary
// STL, or a little less. What is kept is what Fingerprint identifies:
// coordinates rounded to 32-bit numbers, which triangles there are and their
// winding. So Unpack gives a mesh of the same fingerprint, and meshes with the
// same fingerprint give the same bytes; the order of triangles and vertices is
// not kept, and vertices that are equal in 32 bits become one.
//
// A coordinate beyond the range of 32-bit numbers, which no binary STL holds
// either, is packed as infinite, and Unpack refuses it.
func Pack(m *Mesh) []byte {
	points, triangles := inFingerprintOrder(m)
	out := append([]byte(packMagic), packVersion)
	out = binary.AppendUvarint(out, uint64(len(triangles)))
	out = binary.AppendUvarint(out, uint64(len(points)))
	var columns []byte
	put := func(v uint32) { columns = binary.AppendUvarint(columns, uint64(v)) }
	before := uint32(0)
	for _, p := range points {
		put(p.x - before)
		before = p.x
	}
	for _, p := range points {
		put(p.y)
	}
	for _, p := range points {
		put(p.z)
	}
	before = 0
	for _, t := range triangles {
		put(t[0] - before)
		before = t[0]
	}
	for _, t := range triangles {
		put(t[1] - t[0])
	}
	for _, t := range triangles {
		put(zigzag(t[2] - t[1]))
	}
	out = append(out, deflated(columns)...)
	for len(out) < len(triangles)/packRatio {
		out = append(out, 0)
	}
	return binary.LittleEndian.AppendUint32(out, crc32.Checksum(out, castagnoli))
}

// inFingerprintOrder are the points that triangles use, ascending, and the triangles
// between them.
func inFingerprintOrder(m *Mesh) (points []point32, triangles [][3]uint32) {
	all, rank := rankPoints(m.Vertices)
	place := make([]uint32, len(all)) // one for a point that is used, then its place
	for _, t := range m.Triangles {
		for _, v := range t {
			place[rank[v]] = 1
		}
	}
	for i, used := range place {
		if used != 0 {
			place[i] = uint32(len(points))
			points = append(points, all[i])
		}
	}
	triangles = make([][3]uint32, len(m.Triangles))
	for i, t := range m.Triangles {
		triangles[i] = leastTurn([3]uint32{place[rank[t[0]]], place[rank[t[1]]], place[rank[t[2]]]})
	}
	slices.SortFunc(triangles, func(a, b [3]uint32) int { return slices.Compare(a[:], b[:]) })
	return points, triangles
}

// deflated is b, compressed as well as deflate can. Writing to memory does not fail,
// nor does the level.
func deflated(b []byte) []byte {
	var out bytes.Buffer
	w, err := flate.NewWriter(&out, flate.BestCompression)
	if err == nil {
		_, err = w.Write(b)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		panic(err) // a fault of the library's
	}
	return out.Bytes()
}

// Unpack reads what Pack wrote. Whatever the bytes, it takes time and memory in
// proportion to their number: four triangles with three vertices each, and so some
// 500 bytes of memory, for each at most; and there are no more than MaxTriangles. The error is ErrEarlierForm or an *Error.
func Unpack(data []byte) (*Mesh, error) {
	body := len(data) - 4
	if body < len(packMagic)+1 || string(data[:len(packMagic)]) != packMagic {
		return nil, refuse("this is not a packed mesh: it does not begin with %q", packMagic)
	}
	switch v := data[len(packMagic)]; {
	case v < packVersion:
		return nil, ErrEarlierForm
	case v > packVersion:
		return nil, refuse("the packed mesh has version %d; this program reads version %d", v, packVersion)
	}
	if crc32.Checksum(data[:body], castagnoli) != binary.LittleEndian.Uint32(data[body:]) {
		return nil, refuse("the packed mesh is damaged: its checksum does not agree with it")
	}
	rest := bytes.NewReader(data[len(packMagic)+1 : body])
	triangles, err := binary.ReadUvarint(rest)
	if err != nil {
		return nil, refuse("the packed mesh ends too soon")
	}
	if triangles > min(packRatio*uint64(len(data)), MaxTriangles) {
		return nil, refuse("the packed mesh claims more triangles than its length allows")
	}
	vertices, err := binary.ReadUvarint(rest)
	if err != nil {
		return nil, refuse("the packed mesh ends too soon")
	}
	if vertices > 3*triangles {
		return nil, refuse("the packed mesh claims more vertices than its triangles have corners")
	}
	inflated := flate.NewReader(rest) // reads no byte too many: rest is an io.ByteReader
	r := columnReader{from: bufio.NewReader(inflated)}
	m := r.mesh(int(triangles), int(vertices))
	if r.err == nil {
		if _, err := r.from.ReadByte(); err != io.EOF {
			r.err = refuse("the packed mesh goes on after its last triangle")
		}
	}
	for r.err == nil {
		b, err := rest.ReadByte()
		if err != nil {
			return m, nil
		}
		if b != 0 {
			r.err = refuse("the packed mesh has bytes after its end")
		}
	}
	return nil, r.err
}

// columnReader reads the columns. After an error all numbers are zero.
type columnReader struct {
	from *bufio.Reader
	err  error
}

func (r *columnReader) next() uint32 {
	if r.err != nil {
		return 0
	}
	v, err := binary.ReadUvarint(r.from)
	if err != nil || v > math.MaxUint32 {
		r.err = refuse("the packed mesh ends too soon, or holds what is no 32-bit number")
		return 0
	}
	return uint32(v)
}

// mesh reads the six columns. It means nothing where r.err is set.
func (r *columnReader) mesh(triangles, vertices int) *Mesh {
	points := make([]point32, vertices)
	x := uint32(0)
	for i := range points {
		x += r.next()
		points[i].x = x
	}
	for i := range points {
		points[i].y = r.next()
	}
	m := &Mesh{Vertices: make([]Vec, vertices), Triangles: make([][3]uint32, triangles)}
	for i := range points {
		p := &points[i]
		p.z = r.next()
		at := Vec{fromOrdered(p.x), fromOrdered(p.y), fromOrdered(p.z)}
		switch {
		case r.err != nil:
			return nil
		case !finite(at):
			r.err = refuse("the packed mesh has a coordinate that is not a finite number")
		case i > 0 && points[i-1].compare(*p) >= 0:
			r.err = refuse("the packed mesh has vertices out of their order")
		}
		m.Vertices[i] = Vec{at.X + 0, at.Y + 0, at.Z + 0} // never −0
	}
	first := uint32(0)
	for i := range m.Triangles {
		first += r.next()
		m.Triangles[i][0] = first
	}
	for i := range m.Triangles {
		m.Triangles[i][1] = m.Triangles[i][0] + r.next()
	}
	for i := range m.Triangles {
		t := &m.Triangles[i]
		t[2] = t[1] + unzigzag(r.next())
		if r.err == nil && max(t[0], t[1], t[2]) >= uint32(vertices) {
			r.err = refuse("the packed mesh names a vertex that it has not")
		}
	}
	return m
}

// fromOrdered undoes ordered.
func fromOrdered(o uint32) float64 {
	if o&signBit != 0 {
		return float64(math.Float32frombits(o &^ signBit))
	}
	return float64(math.Float32frombits(^o))
}

func zigzag(d uint32) uint32   { return d<<1 ^ uint32(int32(d)>>31) }
func unzigzag(z uint32) uint32 { return z>>1 ^ -(z & 1) }
