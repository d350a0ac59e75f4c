package mesh

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/hschendel/stl"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/reference"
)

// soup draws a few triangles on a small grid, so that corners, edges and whole
// triangles often coincide, with −0 among the coordinates.
func soup(t *rapid.T) [][3]Vec {
	coordinate := rapid.SampledFrom([]float64{0, math.Copysign(0, -1), 1, -1, 0.1, 2.5})
	corner := rapid.Custom(func(t *rapid.T) Vec {
		return Vec{coordinate.Draw(t, "x"), coordinate.Draw(t, "y"), coordinate.Draw(t, "z")}
	})
	triangle := rapid.Custom(func(t *rapid.T) [3]Vec {
		return [3]Vec{corner.Draw(t, "a"), corner.Draw(t, "b"), corner.Draw(t, "c")}
	})
	return rapid.SliceOfN(triangle, 1, 40).Draw(t, "soup")
}

func welded(soup [][3]Vec) *Mesh {
	w := newWelder(0)
	for _, s := range soup {
		w.add(s[0], s[1], s[2])
	}
	return &w.mesh
}

func TestWeldingAgreesWithMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := soup(t)
		m := welded(s)
		numbers := map[Vec]uint32{} // Go's == makes −0 and 0 one key
		for i, corners := range s {
			for k, p := range corners {
				if _, ok := numbers[p]; !ok {
					numbers[p] = uint32(len(numbers))
				}
				require.Equal(t, numbers[p], m.Triangles[i][k])
				require.True(t, m.Vertices[numbers[p]] == p)
			}
		}
		require.Len(t, m.Vertices, len(numbers))
		for _, v := range m.Vertices {
			require.False(t, math.Signbit(v.X) && v.X == 0, "−0 is kept out")
		}
	})
}

// What a binary STL could not hold, being too near to 0, is 0.
func TestWeldingTakesNextToNothingForZero(t *testing.T) {
	const least = math.SmallestNonzeroFloat32
	m := welded([][3]Vec{{{X: 1e-200, Y: -5e-324, Z: -least / 2}, {X: least, Y: 1}, {}}})
	require.Equal(t, []Vec{{}, {X: least, Y: 1}}, m.Vertices)
	require.Equal(t, [][3]uint32{{0, 1, 0}}, m.Triangles)
	require.False(t, math.Signbit(m.Vertices[0].Z))
}

func TestWeldingGrows(t *testing.T) {
	want := torus(120, 80)
	w := newWelder(0)
	for i := range want.Triangles {
		w.add(want.Corners(i))
	}
	require.Len(t, w.mesh.Vertices, len(want.Vertices))
	require.Equal(t, want.Fingerprint(), w.mesh.Fingerprint())
}

func TestTopologyAgreesWithDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := welded(soup(t))
		got := m.Topology()

		type edge [2]uint32
		ways := map[edge][]int{} // +1 or −1 for each triangle along it
		at := map[edge][]int{}
		used := map[uint32]bool{}
		faces := 0
		for i, tri := range m.Triangles {
			if repeats(tri) {
				continue
			}
			faces++
			for k := range 3 {
				e, way := edge{tri[k], tri[(k+1)%3]}, 1
				if e[0] > e[1] {
					e, way = edge{e[1], e[0]}, -1
				}
				ways[e] = append(ways[e], way)
				at[e] = append(at[e], i)
				used[tri[k]] = true
			}
		}
		open, nonManifold, inconsistent := 0, 0, 0
		for _, w := range ways {
			switch {
			case len(w) == 1:
				open++
			case len(w) > 2:
				nonManifold++
			case w[0] == w[1]:
				inconsistent++
			}
		}
		// Shells by spreading the least number until nothing changes.
		shell := make([]int, len(m.Triangles))
		for i := range shell {
			shell[i] = i
		}
		for changed := true; changed; {
			changed = false
			for _, tris := range at {
				least := len(shell)
				for _, i := range tris {
					least = min(least, shell[i])
				}
				for _, i := range tris {
					changed = changed || shell[i] != least
					shell[i] = least
				}
			}
		}
		number := map[int]int32{}
		of := make([]int32, len(m.Triangles))
		for i, tri := range m.Triangles {
			if repeats(tri) {
				of[i] = -1
				continue
			}
			if _, ok := number[shell[i]]; !ok {
				number[shell[i]] = int32(len(number))
			}
			of[i] = number[shell[i]]
		}
		require.Equal(t, Topology{
			Edges: len(ways), OpenEdges: open, NonManifoldEdges: nonManifold, InconsistentEdges: inconsistent,
			Closed:               faces > 0 && open+nonManifold == 0,
			ConsistentlyOriented: inconsistent == 0,
			Shells:               len(number), ShellOf: of,
			UsedVertices: len(used), Euler: len(used) - len(ways) + faces,
		}, got)
	})
}

func TestFingerprintForgetsOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := soup(t)
		want := welded(s).Fingerprint()
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))

		mixed := append([][3]Vec(nil), s...)
		r.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		for i, c := range mixed {
			k := r.IntN(3)
			mixed[i] = [3]Vec{c[k], c[(k+1)%3], c[(k+2)%3]}
		}
		require.Equal(t, want, welded(mixed).Fingerprint(), "triangles shuffled, corners turned")

		apart := &Mesh{} // not welded, with a vertex that nothing uses, numbered backwards
		for i := len(s) - 1; i >= 0; i-- {
			n := uint32(len(apart.Vertices))
			apart.Vertices = append(apart.Vertices, s[i][2], s[i][1], s[i][0], Vec{7, 7, 7})
			apart.Triangles = append(apart.Triangles, [3]uint32{n + 2, n + 1, n})
		}
		require.Equal(t, want, apart.Fingerprint(), "not welded")

		var file bytes.Buffer
		require.NoError(t, WriteSTL(&file, welded(mixed), "another header"))
		read, _, err := readBytes(file.Bytes())
		require.NoError(t, err)
		require.Equal(t, want, read.Fingerprint(), "binary STL")

		read, _, err = readBytes([]byte(asciiSTL(apart)))
		require.NoError(t, err)
		require.Equal(t, want, read.Fingerprint(), "ASCII STL with 64-bit decimals")
	})
}

func TestFingerprintTellsApart(t *testing.T) {
	m := torus(12, 8)
	seen := map[string]string{m.Fingerprint(): "the mesh"}
	tell := func(what string, m *Mesh) {
		f := m.Fingerprint()
		require.Regexp(t, "^[0-9a-f]{64}$", f)
		require.Empty(t, seen[f], what)
		seen[f] = what
	}
	clone := func() *Mesh {
		return &Mesh{append([]Vec(nil), m.Vertices...), append([][3]uint32(nil), m.Triangles...)}
	}
	tell("mirrored", m.Mirrored())
	turned := clone()
	turned.Triangles[5][1], turned.Triangles[5][2] = turned.Triangles[5][2], turned.Triangles[5][1]
	tell("one triangle turned over", turned)
	moved := clone()
	moved.Vertices[3].X = float64(math.Nextafter32(float32(moved.Vertices[3].X), 100))
	tell("one coordinate by one 32-bit step", moved)
	less := clone()
	less.Triangles = less.Triangles[1:]
	tell("one triangle less", less)
	twice := clone()
	twice.Triangles = append(twice.Triangles, twice.Triangles[0])
	tell("one triangle twice", twice)
	thrice := clone()
	thrice.Triangles = append(thrice.Triangles, thrice.Triangles[0], thrice.Triangles[0])
	tell("one triangle three times", thrice)
	tell("nothing", &Mesh{})
}

// tetraFingerprint was had from a few lines of Python (struct and hashlib) that
// follow the docstring of Fingerprint.
const tetraFingerprint = "58f4400ae9548286bccaa02deb5eab1586a3d6599af03c1fc978dd50022cc47d"

func TestFingerprintIsAsDefined(t *testing.T) {
	require.Equal(t, tetraFingerprint, tetra.Fingerprint())
}

func TestSTLRoundTrip(t *testing.T) {
	m := torus(30, 20)
	var a, b bytes.Buffer
	require.NoError(t, WriteSTL(&a, m, "solid of revolution, whose header is cut after eighty bytes, since that is its length"))
	require.NoError(t, WriteSTL(&b, m, "solid of revolution, whose header is cut after eighty bytes, since that is its length"))
	require.Equal(t, a.Bytes(), b.Bytes())
	require.Equal(t, 84+50*len(m.Triangles), a.Len())
	read, info, err := readBytes(a.Bytes())
	require.NoError(t, err)
	require.Equal(t, Info{Format: STLBinary}, info)
	require.Equal(t, m.Fingerprint(), read.Fingerprint())

	// hschendel/stl recomputes normals from the winding; ours must agree to the
	// rounding of 32 bits of a unit vector and of its own 32-bit arithmetic.
	solid, err := stl.ReadAll(bytes.NewReader(a.Bytes()))
	require.NoError(t, err)
	ours := append([]stl.Triangle(nil), solid.Triangles...)
	solid.RecalculateNormals()
	for i := range ours {
		for k := range 3 {
			require.InDelta(t, solid.Triangles[i].Normal[k], ours[i].Normal[k], 1e-4)
		}
	}

	flat := &Mesh{Vertices: []Vec{{}, {X: 1}, {X: 2}}, Triangles: [][3]uint32{{0, 1, 2}}}
	a.Reset()
	require.NoError(t, WriteSTL(&a, flat, ""))
	require.Equal(t, make([]byte, 12), a.Bytes()[84:96], "no area, no normal")

	far := &Mesh{Vertices: []Vec{{}, {X: 1e39}, {Y: 1}}, Triangles: [][3]uint32{{0, 1, 2}}}
	require.ErrorContains(t, WriteSTL(&a, far, ""), "triangle 1 has a corner that a 32-bit number cannot hold")
}

func Test3MFRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := soup(t)
		for i := range s { // coordinates that need all 64 bits
			for k := range 3 {
				s[i][k] = s[i][k].Scale(1.0 / 3)
			}
		}
		m := welded(s)
		kept := 0
		for _, tri := range m.Triangles {
			if !repeats(tri) {
				kept++
			}
		}
		objects := []Object3MF{{Name: "arm <left> & \"right\"", Mesh: m}}
		var a, b bytes.Buffer
		err := Write3MF(&a, objects, []Metadata{{"Title", "a < b & c"}, {"LicenseTerms", "CC0"}})
		if kept == 0 {
			require.ErrorContains(t, err, "has no triangle")
			return
		}
		require.NoError(t, err)
		require.NoError(t, Write3MF(&b, objects, []Metadata{{"Title", "a < b & c"}, {"LicenseTerms", "CC0"}}))
		require.Equal(t, a.Bytes(), b.Bytes())
		read, info, err := readBytes(a.Bytes())
		require.NoError(t, err)
		for _, b := range info.Breaches {
			require.Less(t, kept, 4) // what has fewer triangles is no solid, and that is said
			require.Contains(t, b, "a solid has 4 at least")
		}
		info.Breaches = nil
		require.Equal(t, Info{Format: ThreeMF}, info)
		var want []Vec
		for i, tri := range m.Triangles {
			if !repeats(tri) {
				a, b, c := m.Corners(i)
				want = append(want, a, b, c)
			}
		}
		var got []Vec
		for i := range read.Triangles {
			a, b, c := read.Corners(i)
			got = append(got, a, b, c)
		}
		require.Equal(t, want, got, "to the last bit")
	})
}

func Test3MFPlacesCopies(t *testing.T) {
	var file bytes.Buffer
	require.NoError(t, Write3MF(&file, []Object3MF{{Name: "a", Mesh: tetra, At: []Vec{{}, {X: 5}, {Y: -2.5}}}, {Name: "b", Mesh: tetra}}, nil))
	m, _, err := readBytes(file.Bytes())
	require.NoError(t, err)
	require.Equal(t, 4, m.Topology().Shells)
	require.Equal(t, Box{Vec{0, -2.5, 0}, Vec{6, 1, 1}}, m.Bounds())

	for fault, try := range map[string]func() error{
		"a 3MF needs an object":                   func() error { return Write3MF(&file, nil, nil) },
		`3MF defines no metadata named "Subject"`: func() error { return Write3MF(&file, []Object3MF{{Mesh: tetra}}, []Metadata{{"Subject", ""}}) },
		`metadata "Title" is given twice`: func() error {
			return Write3MF(&file, []Object3MF{{Mesh: tetra}}, []Metadata{{"Title", "a"}, {"Title", "b"}})
		},
		"placed beyond the range": func() error {
			return Write3MF(&file, []Object3MF{{Mesh: tetra, At: []Vec{{X: math.Inf(1)}}}}, nil)
		},
	} {
		require.ErrorContains(t, try(), fault)
	}
}

// TestPairsAreOnePart reads the same part from two files of the shared set.
func TestPairsAreOnePart(t *testing.T) {
	reference.Files(t) // skips where the set is absent
	read := func(name string) *Mesh {
		m, _, err := ReadFile(context.Background(), filepath.Join(reference.Folder, name))
		require.NoError(t, err)
		return m
	}
	for _, pair := range [][2]string{
		{"stl-dialects/polytopes-cube.ascii.stl", "stl-dialects/polytopes-cube.bin.stl"},
		{"stl-dialects/polytopes-tetrahedron.ascii.stl", "stl-dialects/polytopes-tetrahedron.bin.stl"},
		{"stl-dialects/polytopes-tetrahedron.ascii.stl", "stl-dialects/polytopes-tetrahedron.min.ascii.stl"},
		{"stl-dialects/polytopes-tetrahedronIrregular.ascii.stl", "stl-dialects/polytopes-tetrahedronIrregular.bin.stl"},
		{"stl-dialects/polytopes-triangle.ascii.stl", "stl-dialects/polytopes-triangle.bin.stl"},
		{"stl-dialects/polytopes-unitCube.ascii.stl", "stl-dialects/polytopes-unitCube.binary.stl"},
		{"derived/Trigger_SO101-solid-header.stl", "arm/Trigger_SO101.stl"},
		{"derived/Trigger_SO101-trailing.stl", "arm/Trigger_SO101.stl"},
		{"stl-dialects/polytopes-tetrahedronMinusZero.bin.stl", "stl-dialects/polytopes-tetrahedron.bin.stl"},
	} {
		a, b := read(pair[0]), read(pair[1])
		require.Equal(t, a.Fingerprint(), b.Fingerprint(), pair)
	}
	require.NotEqual(t, read("walker-base/leg.stl").Fingerprint(), read("derived/leg-inverted.stl").Fingerprint())
	require.NotEqual(t, read("walker-base/footL.stl").Fingerprint(), read("walker-base/footR.stl").Fingerprint())
}

// TestRoundedPairsAgreeToTheirDigits: two pairs of the shared set whose text was
// written with seven digits are not the same to 32 bits, and so differ in
// fingerprint, but nowhere by more than half of the last digit.
func TestRoundedPairsAgreeToTheirDigits(t *testing.T) {
	reference.Files(t)
	for _, c := range []struct {
		text, binary string
		half         float64
	}{
		{"gearwheel.ascii.stl", "gearwheel.bin.stl", 0.5e-5},            // to 99.99999
		{"assimp-Spider_ascii.stl", "assimp-Spider_binary.stl", 0.5e-6}, // to 9.999999
	} {
		a, _, err := ReadFile(context.Background(), filepath.Join(reference.Folder, "stl-dialects", c.text))
		require.NoError(t, err)
		b, _, err := ReadFile(context.Background(), filepath.Join(reference.Folder, "stl-dialects", c.binary))
		require.NoError(t, err)
		require.Equal(t, a.Triangles, b.Triangles)
		for i := range a.Vertices {
			for k := range 3 {
				require.InDelta(t, a.Vertices[i].Component(k), b.Vertices[i].Component(k), c.half)
			}
		}
		require.Equal(t, a.Topology(), b.Topology())
		require.NotEqual(t, a.Fingerprint(), b.Fingerprint())
	}
}
