package meshfile

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash/maphash"
	"io"
	"os"
	"sync"
)

// errChanged is for a file that is not what it was when its hash was taken.
var errChanged = errors.New("the file changed while it was being read; leave it alone and run this again")

// steadyBlock is how many bytes are compared at a time: a file of 5 million triangles
// has some 4000 blocks.
const steadyBlock = 64 << 10

// steady reads a file of which the hash was taken before, and gives no byte that
// differs from what was hashed: what is kept under the hash is the answer for
// those bytes, even where somebody writes into the file meanwhile. In the first
// pass each block has a sum of its own, under a seed that is new in each run (64 bits: two
// blocks agree by accident once in 10¹⁹ times); every block read is held against it. So
// the file need not be held in memory.
type steady struct {
	f    *os.File
	size int64
	sums []uint64

	turn sync.Mutex
	at   int64  // of Read
	held int    // number of the block in block, -1 for none
	last []byte // that block
}

var steadySeed = maphash.MakeSeed()

// newSteady reads f through, and returns it with its SHA-256.
func newSteady(f *os.File) (*steady, string, error) {
	s := &steady{f: f, held: -1}
	whole := sha256.New()
	block := make([]byte, steadyBlock)
	for {
		n, err := io.ReadFull(f, block)
		if n > 0 {
			s.size += int64(n)
			s.sums = append(s.sums, maphash.Bytes(steadySeed, block[:n]))
			whole.Write(block[:n])
		}
		switch err {
		case nil:
		case io.EOF, io.ErrUnexpectedEOF:
			return s, hex.EncodeToString(whole.Sum(nil)), nil
		default:
			return nil, "", err
		}
	}
}

// hold brings block i into last.
func (s *steady) hold(i int) error {
	if s.held == i {
		return nil
	}
	s.held = -1
	start := int64(i) * steadyBlock
	if s.last == nil {
		s.last = make([]byte, steadyBlock)
	}
	s.last = s.last[:min(steadyBlock, s.size-start)]
	if _, err := s.f.ReadAt(s.last, start); err != nil {
		if err == io.EOF {
			return errChanged // it is shorter than it was
		}
		return err
	}
	if maphash.Bytes(steadySeed, s.last) != s.sums[i] {
		return errChanged
	}
	s.held = i
	return nil
}

// ReadAt is io.ReaderAt's.
func (s *steady) ReadAt(p []byte, at int64) (n int, err error) {
	s.turn.Lock()
	defer s.turn.Unlock()
	return s.readAt(p, at)
}

func (s *steady) readAt(p []byte, at int64) (n int, err error) {
	if at < 0 {
		return 0, errors.New("a place before the file's start")
	}
	for len(p) > 0 {
		if at >= s.size {
			return n, io.EOF
		}
		i := int(at / steadyBlock)
		if err := s.hold(i); err != nil {
			return n, err
		}
		k := copy(p, s.last[at-int64(i)*steadyBlock:])
		n, at, p = n+k, at+int64(k), p[k:]
	}
	return n, nil
}

// Read is io.Reader's.
func (s *steady) Read(p []byte) (int, error) {
	s.turn.Lock()
	defer s.turn.Unlock()
	n, err := s.readAt(p, s.at)
	s.at += int64(n)
	if n > 0 && err == io.EOF {
		err = nil
	}
	return n, err
}

// Seek is io.Seeker's.
func (s *steady) Seek(offset int64, whence int) (int64, error) {
	s.turn.Lock()
	defer s.turn.Unlock()
	switch whence {
	case io.SeekCurrent:
		offset += s.at
	case io.SeekEnd:
		offset += s.size
	}
	if offset < 0 {
		return s.at, errors.New("a place before the file's start")
	}
	s.at = offset
	return offset, nil
}
