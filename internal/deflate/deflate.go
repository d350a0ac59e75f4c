// Package deflate answers one question: what are these bytes as a zip holds them?
//
// Its type is [Packed]: the deflated bytes with what a zip says of the file beside them.
// One that was made once can be put into any number of archives as it is, and kept
// meanwhile. The same bytes give the same Packed, on every machine: the compressor is a
// pinned library's, at one level.
//
// Sources: RFC 1951 (deflate), PKWARE APPNOTE 6.3 (zip).
package deflate

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"

	"github.com/klauspost/compress/flate"
)

// level is flate's usual compromise.
const level = 6

// NewWriter deflates what is written to it into w; it has to be closed.
func NewWriter(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, level) }

// Packed is a file, deflated, or as it is where that is no longer. It is not written to
// after it was made.
type Packed struct {
	Size   int64 // of the file, in bytes
	CRC32  uint32
	SHA256 string // of the file, 64 hexadecimal digits
	Stored bool   // Bytes are the file's own
	Bytes  []byte `json:"-"`
}

// Of packs what r holds, from its start. The errors are those of r.
func Of(r io.ReadSeeker) (Packed, error) {
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return Packed{}, err
	}
	var out bytes.Buffer
	w, err := NewWriter(&out)
	if err != nil {
		return Packed{}, err
	}
	sum, crc := sha256.New(), crc32.NewIEEE()
	size, err := io.Copy(io.MultiWriter(w, sum, crc), r)
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		return Packed{}, err
	}
	p := Packed{Size: size, CRC32: crc.Sum32(), SHA256: hex.EncodeToString(sum.Sum(nil)), Bytes: out.Bytes()}
	if int64(out.Len()) < size {
		return p, nil
	}
	p.Stored, p.Bytes = true, make([]byte, size)
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return Packed{}, err
	}
	_, err = io.ReadFull(r, p.Bytes)
	return p, err
}

// OfBytes is Of what is in memory.
func OfBytes(data []byte) (Packed, error) { return Of(bytes.NewReader(data)) }

// errDamaged is for a Packed that is not what it says.
var errDamaged = errors.New("the packed bytes are damaged")

// Unpacked is the file. It is an error where that does not have the size and the
// SHA-256 stated.
func (p Packed) Unpacked() ([]byte, error) {
	data := p.Bytes
	if !p.Stored {
		// One more than there is: a Packed that holds more than it says is damaged.
		var out bytes.Buffer
		out.Grow(int(min(p.Size, mostRatio*int64(len(p.Bytes)))) + bytes.MinRead)
		if _, err := out.ReadFrom(io.LimitReader(flate.NewReader(bytes.NewReader(p.Bytes)), p.Size+1)); err != nil {
			return nil, fmt.Errorf("%w: %w", errDamaged, err)
		}
		data = out.Bytes()
	}
	if sum := sha256.Sum256(data); int64(len(data)) != p.Size || hex.EncodeToString(sum[:]) != p.SHA256 {
		return nil, errDamaged
	}
	return data, nil
}

// mostRatio is above deflate's greatest ratio, 1032: what Size may claim.
const mostRatio = 1040

// Marshal writes p down: a line of JSON, then Bytes.
func (p Packed) Marshal() ([]byte, error) {
	head, err := json.Marshal(p)
	if err != nil {
		return nil, err
	}
	out := make([]byte, 0, len(head)+1+len(p.Bytes))
	return append(append(append(out, head...), '\n'), p.Bytes...), nil
}

// Unmarshal reads what Marshal wrote. The result shares the bytes of data.
func Unmarshal(data []byte) (Packed, error) {
	var p Packed
	head, body, ok := bytes.Cut(data, []byte{'\n'})
	if !ok {
		return p, errDamaged
	}
	if err := json.Unmarshal(head, &p); err != nil {
		return p, fmt.Errorf("%w: %w", errDamaged, err)
	}
	if p.Size < 0 || p.Stored && p.Size != int64(len(body)) {
		return p, errDamaged
	}
	p.Bytes = body
	return p, nil
}
