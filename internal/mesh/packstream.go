package mesh

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"

	"github.com/klauspost/compress/flate"
)

// How a coordinate is foretold from vertices met before. What is written is the
// difference, as a zigzag 32-bit number, between the coordinate and what was
// foretold, both as integers in the order of the numbers (see ordered). So
// nothing is lost, and near ones differ in their low bytes alone.
const (
	foretellNothing   byte = iota // the coordinate as it is
	foretellBeside                // that of the vertex at the gate's start
	foretellFlat                  // that which makes a parallelogram with the triangle met
	foretellEnd                   // no way is so great
	foretellByPlanes  byte = 4    // added: first the high bytes of all, then the next, …
	packSample             = 1 << 16
	foretoldDecisions      = foretellByPlanes + foretellEnd
)

// foretold is the integer expected, given the coordinates of the three vertices.
// Sums of three 32-bit numbers are rounded twice, to 64 bits and to 32, the same on every
// machine.
func foretold(way byte, beside, along, behind uint32) uint32 {
	switch way {
	case foretellBeside:
		return beside
	case foretellFlat:
		return ordered(fromOrdered(beside) + fromOrdered(along) - fromOrdered(behind))
	}
	return 1 << 31 // that of 0
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

func (p point32) axis(k int) uint32 { return [3]uint32{p.x, p.y, p.z}[k] }

// axisBytes is one coordinate of the given vertices, foretold in one way.
func (w *packer) axisBytes(vertices []newVertex, axis int, decision byte) []byte {
	way, planes := decision%foretellByPlanes, decision >= foretellByPlanes
	out := make([]byte, 4*len(vertices))
	of := func(n uint32) uint32 { return w.points[w.numbered[n].point].axis(axis) }
	for i, v := range vertices {
		expected := foretold(foretellNothing, 0, 0, 0)
		if i > 0 {
			expected = foretold(way, of(v.beside), of(v.along), of(v.behind))
		}
		z := zigzag(w.points[v.point].axis(axis) - expected)
		if planes {
			for k := range 4 {
				out[k*len(vertices)+i] = byte(z >> (24 - 8*k))
			}
		} else {
			binary.BigEndian.PutUint32(out[4*i:], z)
		}
	}
	return out
}

// appendAxis writes one coordinate of all vertices in the way that is shortest
// for the first packSample of them.
func (w *packer) appendAxis(out []byte, axis int) []byte {
	sample := w.numbered[:min(len(w.numbered), packSample)]
	best, least := byte(0), math.MaxInt
	for d := range foretoldDecisions {
		if d%foretellByPlanes >= foretellEnd {
			continue
		}
		if n := len(w.deflate(w.axisBytes(sample, axis, d))); n < least {
			best, least = d, n
		}
	}
	return w.appendStream(append(out, best), w.axisBytes(w.numbered, axis, best))
}

// deflater compresses as well as deflate can. Its writer is large, so it is made
// once for a mesh. Writing to memory does not fail, nor does the level.
type deflater struct{ w *flate.Writer }

func (d *deflater) deflate(b []byte) []byte {
	var out bytes.Buffer
	var err error
	if d.w == nil {
		d.w, err = flate.NewWriter(&out, flate.BestCompression)
	} else {
		d.w.Reset(&out)
	}
	if err == nil {
		_, err = d.w.Write(b)
	}
	if err == nil {
		err = d.w.Close()
	}
	if err != nil {
		panic(err) // a fault of the library's
	}
	return out.Bytes()
}

func (d *deflater) appendStream(out, raw []byte) []byte {
	packed := d.deflate(raw)
	if len(packed) >= len(raw) {
		packed = raw
	}
	out = binary.AppendUvarint(out, uint64(len(raw)))
	out = binary.AppendUvarint(out, uint64(len(packed)))
	return append(out, packed...)
}

// packReader takes a packed mesh apart. After an error everything is empty.
type packReader struct {
	rest []byte
	err  error
}

func (r *packReader) number() uint64 {
	v, n := binary.Uvarint(r.rest)
	if n <= 0 {
		r.fail("ends too soon")
		return 0
	}
	r.rest = r.rest[n:]
	return v
}

func (r *packReader) fail(text string) {
	if r.err == nil {
		r.err = refuse("the packed mesh %s", text)
	}
	r.rest = nil
}

func (r *packReader) count(what string, most uint64) uint64 {
	v := r.number()
	if v > most {
		r.fail("claims more " + what + " than its length allows")
		return 0
	}
	return v
}

// stream reads a stream of at most the given length.
func (r *packReader) stream(what string, most uint64) []byte {
	raw := r.count(what, most)
	packed := r.number()
	if packed > uint64(len(r.rest)) || packed > raw {
		r.fail("ends within its " + what)
		return nil
	}
	body := r.rest[:packed]
	r.rest = r.rest[packed:]
	if packed == raw {
		return body
	}
	const mostDeflated = 1040 // deflate's greatest ratio is 1032
	if raw > packed*mostDeflated {
		r.fail("claims more " + what + " than its length allows")
		return nil
	}
	out := make([]byte, raw)
	from := flate.NewReader(bytes.NewReader(body))
	if _, err := io.ReadFull(from, out); err != nil {
		r.fail("has damaged " + what)
		return nil
	}
	if n, _ := from.Read(make([]byte, 1)); n != 0 {
		r.fail("has more " + what + " than it says")
		return nil
	}
	return out
}

// packedAxis is one coordinate of all vertices.
type packedAxis struct {
	decision byte
	bytes    []byte
}

func (r *packReader) axis(vertices uint64) packedAxis {
	if len(r.rest) == 0 {
		r.fail("ends too soon")
		return packedAxis{}
	}
	d := r.rest[0]
	r.rest = r.rest[1:]
	if d >= foretoldDecisions || d%foretellByPlanes >= foretellEnd {
		r.fail("foretells coordinates in a way that this program does not know")
		return packedAxis{}
	}
	b := r.stream("coordinates", 4*vertices)
	if uint64(len(b)) != 4*vertices {
		r.fail("has not as many coordinates as vertices")
		return packedAxis{}
	}
	return packedAxis{d, b}
}

// at is what is written of the i-th of n.
func (a *packedAxis) at(i, n int) uint32 {
	if a.decision < foretellByPlanes {
		return binary.BigEndian.Uint32(a.bytes[4*i:])
	}
	return uint32(a.bytes[i])<<24 | uint32(a.bytes[n+i])<<16 | uint32(a.bytes[2*n+i])<<8 | uint32(a.bytes[3*n+i])
}
