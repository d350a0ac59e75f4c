package pack

import (
	"bytes"
	"context"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"testing"

	"github.com/hpinc/go3mf"
	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/layout"
	"cardback/internal/longrun"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/plates"
)

// dredger is the demo's, surveyed once for all tests here.
var dredger = sync.OnceValues(func() (d struct {
	site  *release.Site
	r     *release.Release
	found survey.Survey
}, err error) {
	if d.site, err = release.Load("../../content"); err != nil {
		return d, err
	}
	for i := range d.site.Releases {
		if d.site.Releases[i].Slug == "walking-dredger" {
			d.r = &d.site.Releases[i]
		}
	}
	one := *d.site
	one.Releases = []release.Release{*d.r}
	one.Bench.Plates = nil // each is tried when it is wanted
	d.found, err = survey.Run(context.Background(), &one, nil, nil)
	return d, err
})

// small is the dredger laid on the small resin plate.
var small = sync.OnceValues(func() (*plates.Set, error) { return laid("small-resin") })

func laid(plate string) (*plates.Set, error) {
	d, err := dredger()
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(d.site.Bench.Plates, func(p bench.Plate) bool { return p.ID == plate })
	return plates.Lay(context.Background(), *d.r, d.site.Bench.Plates[i], d.found, nil, plates.Usual)
}

// smallDredger is a copy of small, for a test to change.
func smallDredger(t *testing.T) (*release.Site, *release.Release, *plates.Set) {
	t.Helper()
	set, err := small()
	require.NoError(t, err)
	d, err := dredger()
	require.NoError(t, err)
	own := *set
	own.Pieces = slices.Clone(set.Pieces)
	return d.site, d.r, &own
}

// readAgain reads a 3MF with our own reader.
func readAgain(t *testing.T, data []byte) *mesh.Mesh {
	t.Helper()
	m, _, err := mesh.Read(t.Context(), bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	return m
}

// The dredger on the small resin plate: every file holds what its plate does, by
// three readers that know nothing of each other.
func TestPlateFilesReadBack(t *testing.T) {
	site, r, set := smallDredger(t)
	require.Greater(t, len(set.Layout.Plates), 1)
	require.Empty(t, set.Layout.Unplaced)
	for k, plate := range set.Layout.Plates[:longrun.Of(1, len(set.Layout.Plates))] {
		d, err := PlateFile(t.Context(), site, r, set, k, nil)
		require.NoError(t, err)
		require.Equal(t, KindPlate, d.Kind)

		// What should be there: the parts' volumes, from their own files.
		want := 0.0
		items := 0
		for _, at := range plate {
			data, err := os.ReadFile(set.Pieces[at.Piece].Cut.File)
			require.NoError(t, err)
			want += volume(readAgain(t, data))
			items++
		}

		ours := readAgain(t, d.Data)
		require.InEpsilon(t, want, volume(ours), 1e-9) // 64-bit sums of some 10⁵ terms
		requireWithin(t, set, ours.Bounds(), layout.Tolerance)

		var model go3mf.Model
		require.NoError(t, go3mf.NewDecoder(bytes.NewReader(d.Data), int64(len(d.Data))).Decode(&model))
		require.NoError(t, model.Validate())
		require.Equal(t, go3mf.UnitMillimeter, model.Units)
		require.Len(t, model.Build.Items, items)
		theirs := placedBy3MF(t, &model)
		// go3mf keeps 24 bits of a number, an error of 2⁻²⁴ for each coordinate and
		// each number of a transform, which is 6e-8 of the lengths.
		require.InEpsilon(t, want, volume(theirs), 1e-6)
		requireWithin(t, set, theirs.Bounds(), 1e-4)

		requireAssimp(t, d.Data, want, set)
	}
}

func requireWithin(t *testing.T, set *plates.Set, b mesh.Box, tol float64) {
	t.Helper()
	p := set.Plate
	require.GreaterOrEqual(t, b.Min.X, p.Margin-tol)
	require.GreaterOrEqual(t, b.Min.Y, p.Margin-tol)
	require.InDelta(t, 0, b.Min.Z, tol)
	require.LessOrEqual(t, b.Max.X, p.Width-p.Margin+tol)
	require.LessOrEqual(t, b.Max.Y, p.Depth-p.Margin+tol)
	require.LessOrEqual(t, b.Max.Z, p.Height+tol)
}

// placedBy3MF puts together what go3mf read, by the core specification's own rule:
// a row vector times the item's matrix.
func placedBy3MF(t *testing.T, model *go3mf.Model) *mesh.Mesh {
	t.Helper()
	out := &mesh.Mesh{}
	for _, it := range model.Build.Items {
		o, ok := model.FindObject(it.ObjectPath(), it.ObjectID)
		require.True(t, ok)
		m := go3mf.Matrix{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1}
		if it.HasTransform() {
			m = it.Transform
		}
		base := uint32(len(out.Vertices))
		for _, v := range o.Mesh.Vertices.Vertex {
			x, y, z := float64(v.X()), float64(v.Y()), float64(v.Z())
			at := func(j int) float64 {
				return x*float64(m[j]) + y*float64(m[4+j]) + z*float64(m[8+j]) + float64(m[12+j])
			}
			out.Vertices = append(out.Vertices, mesh.Vec{X: at(0), Y: at(1), Z: at(2)})
		}
		for _, f := range o.Mesh.Triangles.Triangle {
			out.Triangles = append(out.Triangles, [3]uint32{base + f.V1, base + f.V2, base + f.V3})
		}
	}
	return out
}

// requireAssimp has the file turned into an STL by assimp, which has a reader of
// its own, and measures that. It has to be there where CARDBACK_ASSIMP is
// strict.
func requireAssimp(t *testing.T, data []byte, want float64, set *plates.Set) {
	t.Helper()
	tool, err := exec.LookPath("assimp")
	if err != nil {
		if os.Getenv("CARDBACK_ASSIMP") == "strict" {
			require.NoError(t, err)
		}
		t.Log("assimp is not installed: the third reader is left out")
		return
	}
	dir := t.TempDir()
	file, stl := filepath.Join(dir, "plate.3mf"), filepath.Join(dir, "plate.stl")
	require.NoError(t, os.WriteFile(file, data, 0o644))
	said, err := exec.CommandContext(t.Context(), tool, "export", file, stl, "-fstlb").CombinedOutput()
	require.NoError(t, err, "%s", said)
	got, err := os.ReadFile(stl)
	require.NoError(t, err, "%s", said)
	m := readAgain(t, got)
	require.InEpsilon(t, want, volume(m), 1e-6) // 24 bits, as above
	requireWithin(t, set, m.Bounds(), 1e-4)
}

func TestPlateFileTellsWhatItIs(t *testing.T) {
	site, r, set := smallDredger(t)
	d, err := PlateFile(t.Context(), site, r, set, 0, nil)
	require.NoError(t, err)
	again, err := PlateFile(t.Context(), site, r, set, 0, nil)
	require.NoError(t, err)
	require.Equal(t, d.SHA256, again.SHA256)
	n := strconv.Itoa(len(set.Layout.Plates))
	require.Equal(t, "05-walking-dredger-small-resin-1-of-"+n+".3mf", d.Name)

	var model go3mf.Model
	require.NoError(t, go3mf.NewDecoder(bytes.NewReader(d.Data), int64(len(d.Data))).Decode(&model))
	meta := map[string]string{}
	for _, m := range model.Metadata {
		meta[m.Name.Local] = m.Value
	}
	l, ok := release.FindLicence(r.Licence)
	require.True(t, ok)
	require.Equal(t, d.Title, meta["Title"])
	require.Contains(t, meta["Title"], "small resin plate 1 of "+n)
	require.Equal(t, site.Designer, meta["Designer"])
	require.Contains(t, meta["LicenseTerms"], l.Label())
	require.Contains(t, meta["LicenseTerms"], l.URL)
	require.Equal(t, r.Released.Format("2006-01-02"), meta["CreationDate"])
	require.Contains(t, meta["Description"], strconv.Itoa(len(set.Layout.Plates[0]))+" piece")
	require.Contains(t, meta["Description"], "120 × 68 × 155 mm")
	names := map[string]bool{}
	for _, o := range model.Resources.Objects {
		names[o.Name] = true
	}
	for _, at := range set.Layout.Plates[0] {
		p := set.Pieces[at.Piece]
		require.Contains(t, names, strconv.Itoa(p.Number)+" "+p.Name())
	}

	_, err = PlateFile(t.Context(), site, r, set, len(set.Layout.Plates), nil)
	require.ErrorContains(t, err, "has no plate")
	set.Pieces[set.Layout.Plates[0][0].Piece].SHA256 = "another"
	_, err = PlateFile(t.Context(), site, r, set, 0, nil)
	require.ErrorContains(t, err, "has changed since it was measured")
}

// The dredger's hull is longer than any orientation lets it be on the small
// plate, and goes whole on the large one; both are proved.
func TestTheDredgersHullIsSplitOnTheSmallPlateAlone(t *testing.T) {
	_, _, small := smallDredger(t)
	require.Len(t, small.Splits, 1)
	require.Equal(t, "hull", small.Splits[0].Whole.Slug)
	require.Len(t, small.Splits[0].Parts, 3)
	require.Contains(t, small.Splits[0].Fit.Reason, "Proved")
	large, err := laid("large-resin")
	require.NoError(t, err)
	require.Empty(t, large.Splits)
	require.Equal(t, bench.Resin, large.Process)
	whole := 0
	for _, p := range large.Pieces {
		require.Empty(t, p.Part.Replaces)
		if p.Part.Slug == "hull" {
			whole++
			require.True(t, p.Fit.Verdict.Fits())
			require.False(t, math.IsNaN(p.Height))
		}
	}
	require.Equal(t, 1, whole)
}
