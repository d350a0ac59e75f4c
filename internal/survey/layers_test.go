package survey_test

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/measure/slice"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
)

// boxes writes boxes, each given by its least and greatest corner, as one STL.
func boxes(t *testing.T, path string, corners ...[2]mesh.Vec) {
	t.Helper()
	m := &mesh.Mesh{}
	for _, c := range corners {
		base := uint32(len(m.Vertices))
		for i := range 8 {
			pick := func(bit int, lo, hi float64) float64 {
				if i>>bit&1 == 1 {
					return hi
				}
				return lo
			}
			m.Vertices = append(m.Vertices, mesh.Vec{X: pick(0, c[0].X, c[1].X), Y: pick(1, c[0].Y, c[1].Y), Z: pick(2, c[0].Z, c[1].Z)})
		}
		for _, q := range [][4]uint32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
			m.Triangles = append(m.Triangles, [3]uint32{base + q[0], base + q[1], base + q[2]}, [3]uint32{base + q[0], base + q[2], base + q[3]})
		}
	}
	f, err := os.Create(path)
	require.NoError(t, err)
	defer f.Close()
	require.NoError(t, mesh.WriteSTL(f, m, ""))
}

// layers surveys one part with one cut, as r.Print and p say.
func layers(t *testing.T, dir string, st *store.Store, p release.Part, print ...release.PrintSettings) map[*bench.Process]*survey.Layers {
	t.Helper()
	s := site(dir, release.CutAny)
	p.Cuts = s.Releases[0].Parts[0].Cuts
	s.Releases[0].Parts[0], s.Releases[0].Print = p, print
	got, err := survey.Run(t.Context(), s, st, nil)
	require.NoError(t, err)
	cs := got.Of(p.Cuts[0])
	require.NoError(t, cs.Err)
	return cs.Layers
}

func TestACutIsSlicedAsTheReleasePrintsIt(t *testing.T) {
	dir := t.TempDir()
	meshtest.WriteBox(t, filepath.Join(dir, "any.stl"), 30, 20, 10)
	got := layers(t, dir, nil, release.Part{}, release.PrintSettings{Process: bench.Filament, Layer: 0.16})
	require.Len(t, got, 2)
	resin, filament := got[bench.Resin], got[bench.Filament]
	require.Equal(t, 200, resin.Count) // check values, section 5: ceil(10/0.05 − 0.001)
	require.Equal(t, 63, filament.Count)
	require.InDelta(t, 600, resin.Peak, 1e-9)
	require.True(t, resin.Encloses)
	require.Nil(t, resin.Steep, "10 mm high is not flat")

	tilted := layers(t, dir, nil, release.Part{}, release.PrintSettings{Process: bench.Resin, Tilt: 30})
	require.Equal(t, slice.Pose{Tilt: 30, About: "x"}, tilted[bench.Resin].Pose)
	require.Equal(t, slice.Pose{}, tilted[bench.Filament].Pose)
	require.InDelta(t, 20*math.Sin(math.Pi/6)+10*math.Cos(math.Pi/6), tilted[bench.Resin].Height, 1e-6)
	require.InDelta(t, 600, tilted[bench.Resin].FlatPeak, 1e-9)

	own := layers(t, dir, nil, release.Part{Tilt: 90, TiltAbout: "y"}, release.PrintSettings{Process: bench.Resin, Tilt: 30})
	require.Equal(t, slice.Pose{Tilt: 90, About: "y"}, own[bench.Resin].Pose, "the part's own orientation outranks the release's")
	require.InDelta(t, 30, own[bench.Filament].Height, 1e-6)

	only := layers(t, dir, nil, release.Part{Only: bench.Resin})
	require.Len(t, only, 1)
}

// A plate of 2 mm tilted by a is cut level in strips of 2/sin a: about y they
// are 40 mm long, about x 50.
func TestAFlatPartIsTriedSteep(t *testing.T) {
	dir := t.TempDir()
	meshtest.WriteBox(t, filepath.Join(dir, "any.stl"), 50, 40, 2)
	got := layers(t, dir, nil, release.Part{})
	steep := got[bench.Resin].Steep
	require.NotNil(t, steep)
	require.Equal(t, slice.Pose{Tilt: 40, About: "y"}, steep.Pose)
	require.InDelta(t, 40*2/math.Sin(40*math.Pi/180), steep.Peak, 1e-3) // 32-bit corners of a tilted mesh
	require.Nil(t, got[bench.Filament].Steep, "nothing pulls at a layer of filament")
	require.Nil(t, layers(t, dir, nil, release.Part{Tilt: 10, TiltAbout: "x"})[bench.Resin].Steep)
}

// A table with one short leg: the short leg begins in mid-air. Its place is told
// on the part as it was supplied, however the part is tilted.
func TestPlacesAreToldAsSupplied(t *testing.T) {
	dir := t.TempDir()
	boxes(t, filepath.Join(dir, "any.stl"),
		[2]mesh.Vec{{X: 100, Y: 0, Z: 10}, {X: 130, Y: 10, Z: 15}},
		[2]mesh.Vec{{X: 100, Y: 0, Z: 0}, {X: 105, Y: 10, Z: 11}},
		[2]mesh.Vec{{X: 125, Y: 0, Z: 4}, {X: 130, Y: 10, Z: 11}})
	for _, pose := range []slice.Pose{{}, {Tilt: 20, About: "x"}, {Tilt: -20, About: "x"}} {
		l := layers(t, dir, nil, release.Part{Tilt: pose.Tilt, TiltAbout: pose.About})[bench.Resin]
		require.Equal(t, 1, l.IslandCount, "%v", pose)
		at := l.Islands[0].At
		require.InDelta(t, 127.5, at.X, 2.51)
		require.InDelta(t, 5, at.Y, 5.01)
		require.InDelta(t, 4, at.Z, 0.2) // a few layers
	}
}

func TestLayersAreKeptInTheStore(t *testing.T) {
	dir := t.TempDir()
	meshtest.WriteBox(t, filepath.Join(dir, "any.stl"), 50, 40, 2)
	st := store.Open(filepath.Join(t.TempDir(), "cache"), "salt")
	cold := layers(t, dir, st, release.Part{})
	require.Equal(t, cold, layers(t, dir, st, release.Part{}))
	finer := layers(t, dir, st, release.Part{}, release.PrintSettings{Process: bench.Resin, Layer: 0.025})
	require.Equal(t, 80, finer[bench.Resin].Count, "other settings are sliced anew")
	require.Equal(t, cold[bench.Filament], finer[bench.Filament])
}
