package mesh

import (
	"bytes"
	"encoding/binary"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// sparse is a file of zeros but for its beginning, of any size. It fails the test
// where more than its first block is read.
type sparse struct {
	t    *testing.T
	head []byte
	at   int64
	size int64
}

func (s *sparse) ReadAt(p []byte, at int64) (int, error) {
	require.Less(s.t, at, int64(4096), "no more than the beginning may be read")
	clear(p)
	if at < int64(len(s.head)) {
		copy(p, s.head[at:])
	}
	return len(p), nil
}

func (s *sparse) Read(p []byte) (int, error) {
	n, err := s.ReadAt(p, s.at)
	s.at += int64(n)
	return n, err
}

func (s *sparse) Seek(to int64, whence int) (int64, error) {
	require.Equal(s.t, io.SeekStart, whence)
	s.at = to
	return to, nil
}

func stlHead(count uint32) []byte { return binary.LittleEndian.AppendUint32(make([]byte, 80), count) }

// Files of gigabytes are refused by their first bytes and their size, in Read and in
// Judge alike, and nothing else of them is read.
func TestSizesAreJudgedFromTheHeaderAlone(t *testing.T) {
	for _, row := range []struct {
		head []byte
		size int64
		says string
	}{
		{stlHead(50_000_000), 84 + 50*50_000_000, "50000000 triangles; at most 10000000 are read"},
		{stlHead(10_000_001), 84 + 50*10_000_001, "10000001 triangles; at most 10000000 are read"},
		{stlHead(100_000_001), 84 + 50*100_000_001, "100000001 triangles; at most 10000000 are read"},
		{stlHead(1<<32 - 1), 5_000_000_000, "truncated: the header promises 4294967295 triangles and the file has 99999998 whole ones"},
		{stlHead(0), 5_000_000_000, `neither STL nor 3MF: this is text that begins "\x00\x00`},
		{[]byte("solid x\n" + strings.Repeat("facet normal 0 0 1\n", 60)), 5_000_000_000, "a text STL of 5000000000 bytes; at most 4000000000 are read"},
	} {
		_, _, err := Read(t.Context(), &sparse{t: t, head: row.head, size: row.size}, row.size)
		require.ErrorContains(t, err, row.says)
		require.ErrorContains(t, Judge(&sparse{t: t, head: row.head, size: row.size}, row.size), row.says)
	}
}

// What Judge refuses, Read refuses in the same words.
func FuzzJudgingAgreesWithReading(f *testing.F) {
	f.Add([]byte("solid\nendsolid\n"))
	f.Add(stlHead(2))
	f.Add([]byte("PK\x03\x04"))
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		judged := Judge(bytes.NewReader(data), int64(len(data)))
		_, _, err := Read(t.Context(), bytes.NewReader(data), int64(len(data)))
		if judged != nil {
			require.Equal(t, judged, err)
		}
	})
}

// A text that begins like an STL and goes on in zeros is not read to its end.
func TestARunOfZeroBytesInATextEnds(t *testing.T) {
	text := append([]byte("solid x\n"), make([]byte, maxZeros+1000)...)
	_, _, err := Read(t.Context(), bytes.NewReader(text), int64(len(text)))
	require.ErrorContains(t, err, "more than 1048576 zero bytes in a row, where text is expected")
	text = append([]byte("solid x\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n"), make([]byte, 5000)...)
	m, _, err := Read(t.Context(), bytes.NewReader(text), int64(len(text)))
	require.NoError(t, err)
	require.Len(t, m.Triangles, 1)
}

func TestNoPartReachesFartherThanTenKilometres(t *testing.T) {
	m := &Mesh{Vertices: []Vec{{}, {X: maxCoordinate}, {Y: -maxCoordinate}}, Triangles: [][3]uint32{{0, 1, 2}}}
	require.NoError(t, m.CheckReach())
	m.Vertices = append(m.Vertices, Vec{Z: 1e30})
	require.NoError(t, m.CheckReach(), "a corner of no triangle")
	m.Triangles = append(m.Triangles, [3]uint32{0, 1, 3})
	require.EqualError(t, m.CheckReach(), "triangle 2 has a corner at (0, 0, 1e+30) mm, more than 10 km from the origin, where no part is; is the file damaged, or its unit wrong?")
}
