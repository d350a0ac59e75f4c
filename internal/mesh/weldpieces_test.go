package mesh

import (
	"bytes"
	"context"
	"encoding/binary"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"testing"
	"testing/iotest"

	"github.com/hschendel/stl"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/reference"
)

// independentSTL reads a binary STL with hschendel/stl and welds one corner
// after another: the slow way to what readSTLBinary gives.
func independentSTL(t require.TestingT, file []byte) *Mesh {
	solid, err := stl.ReadAll(bytes.NewReader(file))
	require.NoError(t, err)
	w := newWelder(0)
	at := func(v stl.Vec3) Vec { return Vec{float64(v[0]), float64(v[1]), float64(v[2])} }
	for _, s := range solid.Triangles {
		w.add(at(s.Vertices[0]), at(s.Vertices[1]), at(s.Vertices[2]))
	}
	return &w.mesh
}

// requireSameBits compares meshes to the last bit, −0 and 0 told apart.
func requireSameBits(t require.TestingT, want, got *Mesh) {
	require.Equal(t, want.Triangles, got.Triangles)
	require.Len(t, got.Vertices, len(want.Vertices))
	for i, v := range want.Vertices {
		for k := range 3 {
			require.Equal(t, math.Float64bits(v.Component(k)), math.Float64bits(got.Vertices[i].Component(k)), "vertex %d", i)
		}
	}
}

// rawSTL is a binary STL of corners as they are, −0 and all that WriteSTL would
// not write included.
func rawSTL(soup [][3][3]float32) []byte {
	file := make([]byte, 80, stlHeader+stlRecord*len(soup))
	file = binary.LittleEndian.AppendUint32(file, uint32(len(soup)))
	for _, corners := range soup {
		file = append(file, make([]byte, 12)...)
		for _, p := range corners {
			for _, x := range p {
				file = binary.LittleEndian.AppendUint32(file, math.Float32bits(x))
			}
		}
		file = append(file, 0, 0)
	}
	return file
}

// drawSoup draws triangles of which many share corners, or all do, or hardly any.
func drawSoup(t *rapid.T) [][3][3]float32 {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
	values := []float32{0, float32(math.Copysign(0, -1)), 1, -1, 0.1, math.SmallestNonzeroFloat32, -math.SmallestNonzeroFloat32, math.MaxFloat32, -math.MaxFloat32, 1e-40}
	for range rapid.SampledFrom([]int{0, 0, 5, 500}).Draw(t, "more values") {
		values = append(values, float32(r.NormFloat64()))
	}
	values = values[:rapid.IntRange(1, len(values)).Draw(t, "values")]
	soup := make([][3][3]float32, rapid.IntRange(1, 400).Draw(t, "triangles"))
	for i := range soup {
		for k := range 3 {
			for x := range 3 {
				soup[i][k][x] = values[r.IntN(len(values))]
			}
		}
	}
	return soup
}

func TestPiecesWeldAsOneAfterAnother(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		soup := drawSoup(t)
		file := rawSTL(soup)
		want := independentSTL(t, file)
		size := rapid.SampledFrom([]int{1, 2, 3, 7, 64, 399, 400, mostPiece}).Draw(t, "size")
		shards := rapid.IntRange(0, 10).Draw(t, "shards")
		records := recordReader{at: bytes.NewReader(file)}
		got, err := weldPieces(context.Background(), len(soup), size, shards, records.read)
		require.NoError(t, err)
		requireSameBits(t, want, got)

		// However little a Read gives.
		under := bytes.NewReader(file)
		short := rapid.SampledFrom([]func(io.Reader) io.Reader{iotest.OneByteReader, iotest.HalfReader}).Draw(t, "reader")
		got, _, err = Read(context.Background(), seekable{short(under), under}, int64(len(file)))
		require.NoError(t, err)
		requireSameBits(t, want, got)
	})
}

// Pieces of the real size, full to the last slot with distinct corners, and
// several shards.
func TestPiecesWeldLargeMeshes(t *testing.T) {
	for name, m := range map[string]*Mesh{"torus": torus(300, 200), "loose": loose(40_000)} {
		t.Run(name, func(t *testing.T) {
			var file bytes.Buffer
			require.NoError(t, WriteSTL(&file, m, ""))
			want := independentSTL(t, file.Bytes())
			got, _, err := readBytes(file.Bytes())
			require.NoError(t, err)
			requireSameBits(t, want, got)
			records := recordReader{at: bytes.NewReader(file.Bytes())}
			got, err = weldPieces(context.Background(), len(m.Triangles), mostPiece, 3, records.read)
			require.NoError(t, err)
			requireSameBits(t, want, got)
		})
	}
}

// loose is n triangles that share no corner.
func loose(n int) *Mesh {
	m := &Mesh{}
	for i := range n {
		v, x := uint32(3*i), float64(i)
		m.Vertices = append(m.Vertices, Vec{x, 0, 0}, Vec{x, 1, 0}, Vec{x, 0, 1})
		m.Triangles = append(m.Triangles, [3]uint32{v, v + 1, v + 2})
	}
	return m
}

func TestSharedMeshesReadAsByTheLibrary(t *testing.T) {
	read := 0
	for _, ref := range reference.Files(t) {
		path := ref.Path()
		m, info, err := ReadFile(context.Background(), path)
		if err != nil || info.Format != STLBinary {
			continue
		}
		file, err := os.ReadFile(path)
		require.NoError(t, err)
		// The library takes a file for binary by its length alone, to the byte.
		file = file[:stlHeader+stlRecord*int(binary.LittleEndian.Uint32(file[80:]))]
		requireSameBits(t, independentSTL(t, file), m)
		read++
	}
	require.Greater(t, read, 50)
}

// The first faulty triangle is named, in whatever piece it is.
func TestTheFirstFaultIsNamed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		soup := drawSoup(t)
		faults := []float32{float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1))}
		first := len(soup)
		for range rapid.IntRange(1, 4).Draw(t, "faults") {
			at := rapid.IntRange(0, len(soup)-1).Draw(t, "at")
			soup[at][rapid.IntRange(0, 2).Draw(t, "corner")][rapid.IntRange(0, 2).Draw(t, "axis")] = rapid.SampledFrom(faults).Draw(t, "fault")
			first = min(first, at)
		}
		records := recordReader{at: bytes.NewReader(rawSTL(soup))}
		_, err := weldPieces(context.Background(), len(soup), rapid.IntRange(1, 100).Draw(t, "size"), 2, records.read)
		require.Equal(t, refuse("triangle %d has a corner that is not a number or is infinite", first+1), err)
	})
}

// A file that ends before its size says so is not a fault of its content.
func TestAFileThatShrinks(t *testing.T) {
	file := rawSTL(make([][3][3]float32, 100))
	inTurns := bytes.NewReader(file[:2000])
	for name, r := range map[string]io.ReadSeeker{
		"in place": bytes.NewReader(file[:2000]),
		"in turns": seekable{inTurns, inTurns},
	} {
		_, _, err := Read(context.Background(), r, int64(len(file)))
		require.ErrorIs(t, err, io.ErrUnexpectedEOF, name)
		require.ErrorContains(t, err, "read binary STL: ", name)
	}
}

func TestMinusZeroIsZero(t *testing.T) {
	minus := float32(math.Copysign(0, -1))
	m, _, err := readBytes(rawSTL([][3][3]float32{{{minus, 0, minus}, {0, minus, 0}, {1, minus, 0}}}))
	require.NoError(t, err)
	requireSameBits(t, &Mesh{[]Vec{{}, {X: 1}}, [][3]uint32{{0, 0, 1}}}, m)
}

// seekable reads through one and seeks in what that one reads.
type seekable struct {
	io.Reader
	io.Seeker
}
