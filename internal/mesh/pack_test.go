package mesh

import (
	"context"
	"encoding/binary"
	"hash/crc32"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/longrun"
	"cardback/internal/reference"
)

// requirePacked packs a mesh and holds what comes back to the fingerprint and to
// the invariants of a Mesh.
func requirePacked(t require.TestingT, m *Mesh) []byte {
	packed := Pack(m)
	back, err := Unpack(packed)
	require.NoError(t, err)
	require.Equal(t, m.Fingerprint(), back.Fingerprint())
	require.Len(t, back.Triangles, len(m.Triangles))
	seen := map[Vec]bool{}
	for _, v := range back.Vertices {
		require.False(t, seen[v], "a vertex comes twice")
		seen[v] = true
	}
	return packed
}

func stlSize(m *Mesh) int { return 84 + 50*len(m.Triangles) }

// A quarter of a binary STL is what a sealed revision may take. What was measured
// over the 160 files with more than 100 triangles: 6.7 % in the middle, 12.6 % at
// worst. Smaller ones are held to the 40 bytes that every packed mesh has, their
// numbers, and three bytes a triangle; a file of scattered triangles that share no corner, whose numbers are
// random, is as large as its numbers are, and is told apart.
func TestPackedMeshesAreSmall(t *testing.T) {
	longrun.Only(t, "reads some hundred files")
	scattered := filepath.Join(reference.Folder, "general", "soup.stl")
	var shares []float64
	for _, dir := range []string{reference.Folder, filepath.Join("..", "..", "content")} {
		if _, err := os.Stat(dir); err != nil {
			t.Skipf("%s is not there", dir)
		}
		require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if ext := strings.ToLower(filepath.Ext(path)); err != nil || d.IsDir() || ext != ".stl" && ext != ".3mf" {
				return err
			}
			m, _, err := ReadFile(context.Background(), path)
			if err != nil {
				return nil // refused files are the readers' tests
			}
			packed, err := packedAndBack(m)
			require.NoError(t, err, path)
			share := float64(len(packed)) / float64(stlSize(m))
			switch {
			case path == scattered:
				require.Less(t, len(packed), 37*len(m.Triangles), path) // 36 bytes are nine numbers
			case len(m.Triangles) > 100:
				require.Less(t, share, 0.25, path)
				shares = append(shares, share)
			default:
				require.Less(t, len(packed), 40+12*len(m.Vertices)+3*len(m.Triangles), path)
			}
			return nil
		}))
	}
	slices.Sort(shares)
	t.Logf("%d meshes: median %.1f %%, worst %.1f %%", len(shares), 100*shares[len(shares)/2], 100*shares[len(shares)-1])
	require.Greater(t, len(shares), 100)
}

func packedAndBack(m *Mesh) ([]byte, error) {
	packed := Pack(m)
	back, err := Unpack(packed)
	if err == nil && back.Fingerprint() != m.Fingerprint() {
		err = refuse("the fingerprint is another")
	}
	return packed, err
}

// What a mesh of one triangle takes is what every packed mesh takes at least.
func TestPackedMeshesHaveAFixedCost(t *testing.T) {
	packed := requirePacked(t, &Mesh{Vertices: []Vec{{}, {X: 1}, {Y: 1}}, Triangles: [][3]uint32{{0, 1, 2}}})
	require.LessOrEqual(t, len(packed), 30+36)
	requirePacked(t, &Mesh{})
}

// Any heap of triangles comes back: repeated corners, triangles that occur twice,
// edges of many triangles, windings at odds, −0.
func TestPackKeepsAnyHeap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		requirePacked(t, welded(soup(t)))
	})
}

// Numbers of all sizes come back, down to the least 32-bit number and up to the
// greatest, and those that 32 bits cannot hold are rounded as Fingerprint does.
func TestPackKeepsNumbersOfAnySize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.OneOf(rapid.Float64Range(-1000, 1000), rapid.Float64Range(-math.MaxFloat32, math.MaxFloat32),
			rapid.SampledFrom([]float64{math.SmallestNonzeroFloat32, -math.SmallestNonzeroFloat32, math.MaxFloat32, -math.MaxFloat32, math.Copysign(0, -1)}))
		w := newWelder(0)
		var points []Vec
		for range rapid.IntRange(3, 12).Draw(t, "points") {
			points = append(points, Vec{coordinate.Draw(t, "x"), coordinate.Draw(t, "y"), coordinate.Draw(t, "z")})
		}
		one := rapid.IntRange(0, len(points)-1)
		for range rapid.IntRange(1, 20).Draw(t, "triangles") {
			w.add(points[one.Draw(t, "a")], points[one.Draw(t, "b")], points[one.Draw(t, "c")])
		}
		requirePacked(t, &w.mesh)
	})
}

// The bytes are those of the geometry: another order of triangles, vertices and
// corners gives the same.
func TestPackDoesNotKnowTheOrder(t *testing.T) {
	m := torus(40, 30)
	want := Pack(m)
	rng := rand.New(rand.NewPCG(1, 2))
	place := rng.Perm(len(m.Vertices))
	other := &Mesh{Vertices: make([]Vec, len(m.Vertices))}
	for i, p := range place {
		other.Vertices[p] = m.Vertices[i]
	}
	for _, i := range rng.Perm(len(m.Triangles)) {
		tri, k := m.Triangles[i], rng.IntN(3)
		other.Triangles = append(other.Triangles, [3]uint32{uint32(place[tri[k]]), uint32(place[tri[(k+1)%3]]), uint32(place[tri[(k+2)%3]])})
	}
	require.Equal(t, want, Pack(other))
}

// Meshes that would make a careless walk slow: a book of pages on one spine, a
// fan with a hub, one triangle many times.
func TestPackIsQuickOnCrowdedPlaces(t *testing.T) {
	const n = 60_000
	book, fan, pile := &Mesh{Vertices: []Vec{{}, {Z: 1}}}, &Mesh{Vertices: []Vec{{}}}, &Mesh{Vertices: []Vec{{}, {X: 1}, {Y: 1}}}
	for i := range uint32(n) {
		angle := float64(i) / n * 6
		p := Vec{math.Cos(angle), math.Sin(angle), float64(i % 3)}
		book.Vertices = append(book.Vertices, p)
		book.Triangles = append(book.Triangles, [3]uint32{i % 2, 1 - i%2, i + 2})
		fan.Vertices = append(fan.Vertices, p)
		fan.Triangles = append(fan.Triangles, [3]uint32{0, i, i + 1})
		pile.Triangles = append(pile.Triangles, [3]uint32{i % 3, (i + 1) % 3, (i + 2) % 3})
	}
	for _, m := range []*Mesh{book, fan, pile} {
		_, err := packedAndBack(m) // a quadratic walk would take a minute
		require.NoError(t, err)
	}
}

// sealed puts the right checksum under changed bytes.
func sealed(body []byte) []byte {
	return binary.LittleEndian.AppendUint32(slices.Clone(body), crc32.Checksum(body, castagnoli))
}

// columns is a packed mesh without its checksum: its counts of triangles and vertices,
// and numbers in its columns.
func columns(triangles, vertices uint64, numbers ...uint64) []byte {
	out := append([]byte(packMagic), packVersion)
	out = binary.AppendUvarint(binary.AppendUvarint(out, triangles), vertices)
	var raw []byte
	for _, n := range numbers {
		raw = binary.AppendUvarint(raw, n)
	}
	return append(out, deflated(raw)...)
}

func TestUnpackRefuses(t *testing.T) {
	good := Pack(torus(12, 8))
	body := good[:len(good)-4]
	head := slices.Clone(body[:len(packMagic)+1])
	huge := binary.AppendUvarint(slices.Clone(head), 1<<40)
	for _, c := range []struct {
		name string
		data []byte
		want string
	}{
		{"empty", nil, "does not begin"},
		{"a text", []byte("solid a packed mesh this is not"), "does not begin"},
		{"a later version", sealed(append([]byte(packMagic), 9, 0, 0)), "version 9"},
		{"cut short", good[:len(good)-1], "damaged"},
		{"a bit turned", append(append(slices.Clone(good[:40]), good[40]^1), good[41:]...), "damaged"},
		{"nothing after the head", sealed(head), "ends too soon"},
		{"too many triangles", sealed(huge), "claims more triangles"},
		{"too many vertices", sealed(columns(2, 7)), "claims more vertices"},
		{"half of it", sealed(body[:len(body)/2]), "ends too soon"},
		{"more after it", sealed(append(slices.Clone(body), 1)), "after its end"},
		{"another column", sealed(columns(0, 0, 1)), "after its last triangle"},
		{"a number too large", sealed(columns(1, 1, 1<<40)), "no 32-bit number"},
		{"a vertex twice", sealed(columns(1, 2, 1<<31, 0, 1<<31, 1<<31, 1<<31, 1<<31)), "out of their order"},
		{"a vertex that it has not", sealed(columns(1, 1, 1<<31, 1<<31, 1<<31, 0, 0, 2)), "a vertex that it has not"},
		{"an infinite coordinate", sealed(columns(1, 1, 0xff800000, 1<<31, 1<<31, 0, 0, 0)), "finite"},
	} {
		m, err := Unpack(c.data)
		require.ErrorContains(t, err, c.want, c.name)
		require.ErrorAs(t, err, new(*Error), c.name)
		require.Nil(t, m, c.name)
	}
	_, err := Unpack(sealed(append([]byte(packMagic), 1, 0, 0)))
	require.ErrorIs(t, err, ErrEarlierForm)
	// A coordinate that 32 bits cannot hold is packed, and refused.
	_, err = Unpack(Pack(&Mesh{Vertices: []Vec{{X: 1e39}, {X: 1}, {Y: 1}}, Triangles: [][3]uint32{{0, 1, 2}}}))
	require.ErrorContains(t, err, "finite")
}

// FuzzUnpack changes what is under the checksum, which is made right again.
func FuzzUnpack(f *testing.F) {
	for _, m := range []*Mesh{{}, tetra, torus(5, 4), {Vertices: []Vec{{}, {X: 1}, {Y: 1}, {Z: 1}}, Triangles: [][3]uint32{{0, 1, 2}, {0, 1, 2}, {0, 1, 3}, {3, 3, 0}}}} {
		p := Pack(m)
		f.Add(p[len(packMagic)+1 : len(p)-4])
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		m, err := Unpack(sealed(append(append([]byte(packMagic), packVersion), body...)))
		if err != nil {
			require.Nil(t, m)
			require.ErrorAs(t, err, new(*Error))
			return
		}
		require.LessOrEqual(t, len(m.Triangles), packRatio*(len(body)+20))
		for i, tri := range m.Triangles {
			for _, v := range tri {
				require.Less(t, int(v), len(m.Vertices))
			}
			a, b, c := m.Corners(i)
			require.True(t, finite(a) && finite(b) && finite(c))
		}
		_, err = packedAndBack(m)
		require.NoError(t, err)
	})
}

func BenchmarkPack(b *testing.B) {
	m := torus(1000, 500)
	packed := Pack(m)
	b.Run("pack/size=1M", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			Pack(m)
		}
		b.ReportMetric(float64(len(packed))/float64(stlSize(m)), "of-stl")
	})
	b.Run("unpack/size=1M", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := Unpack(packed); err != nil {
				b.Fatal(err)
			}
		}
	})
}
