package mesh

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"sync"
)

// A binary STL is a header of 80 bytes and a 32-bit count, then 50 bytes a
// triangle: normal, three corners (12 numbers of 32 bits), 16 bits of attribute.
const (
	stlHeader = 84
	stlRecord = 50
)

// readSTLBinary reads a file of the given size whose header counts so many
// triangles. Blocks of records are read, decoded and welded side by side; see
// pieceWelder. Where several triangles are faulty, the first is named.
func readSTLBinary(ctx context.Context, r io.ReadSeeker, size, count int64) (*Mesh, Info, error) {
	info := Info{Format: STLBinary}
	if err := judgeSTL(size, count); err != nil {
		return nil, info, err
	}
	length := stlHeader + stlRecord*count
	if size > length {
		info.Notes = append(info.Notes, fmt.Sprintf("%d bytes after the last triangle were passed over.", size-length))
	}
	records := recordReader{at: readerAt(ctx, r)}
	m, err := weldPieces(ctx, int(count), pieceTriangles, shardBitsFor(int(count)), records.read)
	if err != nil {
		return nil, info, err
	}
	return m, info, nil
}

// judgeSTL refuses what the header and the size alone tell against.
func judgeSTL(size, count int64) error {
	whole := (size - stlHeader) / stlRecord
	switch {
	case count > whole && whole == 0:
		return refuse("truncated, or not a mesh: as a binary STL the header promises %d triangles and the file has none", count)
	case count > whole:
		return refuse("truncated: the header promises %d triangles and the file has %d whole ones", count, whole)
	case count == 0 && size > stlHeader:
		return refuse("no triangles: the header counts 0, though %d bytes follow", size-stlHeader)
	case count == 0:
		return refuse("no triangles: the header counts 0")
	case count > MaxTriangles:
		return refuse("%d triangles; at most %d are read", count, MaxTriangles)
	}
	return nil
}

// recordReader decodes runs of records.
type recordReader struct {
	at     io.ReaderAt
	blocks sync.Pool // of *[]byte
}

// read appends the corners of triangles lo to hi−1, three each.
func (r *recordReader) read(lo, hi int, corners []corner32) ([]corner32, error) {
	length := (hi - lo) * stlRecord
	block, _ := r.blocks.Get().(*[]byte)
	if block == nil || len(*block) < length {
		made := make([]byte, length)
		block = &made
	}
	defer r.blocks.Put(block)
	b := (*block)[:length]
	n, err := r.at.ReadAt(b, stlHeader+int64(lo)*stlRecord)
	if n < length {
		if err == nil || err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		return corners, fmt.Errorf("read binary STL: %w", err)
	}
	for i := lo; i < hi; i++ {
		record := b[:stlRecord:stlRecord]
		b = b[stlRecord:]
		p := cornerOf(record[12:24])
		q := cornerOf(record[24:36])
		s := cornerOf(record[36:48])
		if !p.finite() || !q.finite() || !s.finite() {
			return corners, refuse("triangle %d has a corner that is not a number or is infinite", i+1)
		}
		corners = append(corners, p, q, s)
	}
	return corners, nil
}

func cornerOf(b []byte) corner32 {
	return corner32{
		withoutMinusZero(binary.LittleEndian.Uint32(b)),
		withoutMinusZero(binary.LittleEndian.Uint32(b[4:])),
		withoutMinusZero(binary.LittleEndian.Uint32(b[8:])),
	}
}

// withoutMinusZero turns the bits of −0, which equals 0, into those of 0, so
// that equal numbers have equal bits.
func withoutMinusZero(bits uint32) uint32 {
	if bits == signBit {
		return 0
	}
	return bits
}

// readerAt is r for reading at any place from several goroutines. Files and
// bytes in memory can do so themselves. For others seeking and reading take
// turns: they may well have a ReadAt, but one of a part they are made of, which
// would pass by what their Read does beside reading.
func readerAt(ctx context.Context, r io.ReadSeeker) io.ReaderAt {
	switch r := r.(type) {
	case *os.File:
		return r
	case *bytes.Reader:
		return r
	}
	return &seekingReader{ctx: ctx, r: r}
}

type seekingReader struct {
	ctx  context.Context
	turn sync.Mutex
	r    io.ReadSeeker
}

func (s *seekingReader) ReadAt(p []byte, at int64) (int, error) {
	s.turn.Lock()
	defer s.turn.Unlock()
	if _, err := s.r.Seek(at, io.SeekStart); err != nil {
		return 0, err
	}
	return io.ReadFull(&window{ctx: s.ctx, r: s.r, length: int64(len(p))}, p)
}
